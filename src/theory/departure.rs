use super::curve::Curve;

/// By how much the covariance of two units of one layout differs from that of units laid independently: nil or below
/// where the layout keeps them apart.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Departure {
    #[default]
    None,
    /// The same however many of the layout's units are read.
    Always(f64),
    /// In the mean over the pairs of n units at equal distances.
    Spaced(Spaced),
    /// The sum of several.
    Both(Vec<Departure>),
}

/// Units at equal distances across a room.
#[derive(Clone, Debug, PartialEq)]
pub struct Spaced {
    /// Covariance by the distance of two units, m.
    profile: Curve,
    room_m: f64,
    /// Covariance of two units laid independently.
    independent: f64,
    factor: f64,
}

/// More units than this lie as close as they ever may; what remains falls with their number.
const MOST_SUMMED: f64 = 1_000.0;

impl Departure {
    /// For `n` units of the layout.
    pub fn of(&self, n: f64) -> f64 {
        match self {
            Departure::None => 0.0,
            Departure::Always(departure) => *departure,
            Departure::Spaced(spaced) => spaced.of(n),
            Departure::Both(all) => all.iter().map(|departure| departure.of(n)).sum(),
        }
    }

    /// The same times a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        match self {
            Departure::None => Departure::None,
            Departure::Always(departure) => Departure::Always(factor * departure),
            Departure::Spaced(spaced) => Departure::Spaced(Spaced { factor: factor * spaced.factor, ..spaced.clone() }),
            Departure::Both(all) => Departure::Both(all.iter().map(|departure| departure.scaled(factor)).collect()),
        }
    }
}

impl Departure {
    /// Both together: of what is added up and varies independently.
    pub fn plus(&self, other: &Self) -> Self {
        match (self, other) {
            (Departure::None, one) | (one, Departure::None) => one.clone(),
            (Departure::Always(one), Departure::Always(two)) => Departure::Always(one + two),
            (Departure::Both(all), one) | (one, Departure::Both(all)) => {
                Departure::Both(all.iter().cloned().chain([one.clone()]).collect())
            }
            (one, two) => Departure::Both(vec![one.clone(), two.clone()]),
        }
    }
}

impl Spaced {
    pub fn new(profile: Curve, room_m: f64, independent: f64) -> Self {
        Self { profile, room_m, independent, factor: 1.0 }
    }

    /// Mean over the pairs of n units at distances k room / n: `2 / (n (n - 1)) sum_k (n - k) C(k room / n)`, less the
    /// covariance of independent ones.
    fn of(&self, n: f64) -> f64 {
        if n < 2.0 {
            return 0.0;
        }
        let m = n.min(MOST_SUMMED).round();
        let sum: f64 = (1..m as usize).map(|k| (m - k as f64) * self.profile.at(k as f64 * self.room_m / m)).sum();
        let departure = 2.0 * sum / (m * (m - 1.0)) - self.independent;
        // The variance of the mean of ever more units tends to that of a whole area: the departure falls as 1 / (n - 1).
        self.factor * departure * (m - 1.0) / (n - 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_over_pairs_is_the_plain_one() {
        let c = |h: f64| (-h / 3.0).exp();
        let spaced = Spaced::new(Curve::new(20.0, 400, c), 20.0, 0.25);
        for n in [2, 3, 7] {
            let mut values = Vec::new();
            for i in 0..n {
                for j in 0..i {
                    values.push(c((i - j) as f64 * 20.0 / n as f64));
                }
            }
            let plain = values.iter().sum::<f64>() / values.len() as f64 - 0.25;
            let departure = Departure::Spaced(spaced.clone());
            assert!((departure.of(n as f64) - plain).abs() < 1e-5, "{n}");
            assert!((departure.scaled(3.0).of(n as f64) - 3.0 * plain).abs() < 3e-5, "{n}");
        }
        assert_eq!(spaced.of(1.0), 0.0);
        let tail = spaced.of(1_000_000.0) * 999_999.0;
        assert!((tail / (spaced.of(1_000.0) * 999.0) - 1.0).abs() < 1e-12);
    }
}
