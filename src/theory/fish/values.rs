use super::lengths::{Place, Series, over_lengths};
use crate::design::FishMeasure;
use crate::reef::fish::{FishLengths, LengthWeight, Sighting};
use crate::survey::fish_sheet::LengthReader;

/// Moments of what is told of the fish of a group that come near enough: fish that are overlooked for their length count
/// nil. Of one fish, and of two of one school.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValueMoments {
    /// Mean and mean square.
    pub first: f64,
    pub square: f64,
    /// Mean product of the values of two fish of one school.
    pub pair: f64,
    /// Of being seen: share, and share of pairs of which both are.
    seen: f64,
    both_seen: f64,
    /// Mean value of a fish times whether another of its school is seen.
    pair_with_seen: f64,
}

impl ValueMoments {
    /// The same of the value less a number for each fish that is seen: what the error of a mean over fish is made of.
    pub fn less(&self, number: f64) -> Self {
        Self {
            first: self.first - number * self.seen,
            square: self.square - 2.0 * number * self.first + number * number * self.seen,
            pair: self.pair - 2.0 * number * self.pair_with_seen + number * number * self.both_seen,
            pair_with_seen: self.pair_with_seen - number * self.both_seen,
            ..*self
        }
    }

    /// The same less the mean of those that are seen.
    pub fn less_own_mean(&self) -> Self {
        if self.seen > 0.0 { self.less(self.first / self.seen) } else { *self }
    }

    /// The same of being seen itself.
    pub fn of_seen(&self) -> Self {
        Self { first: self.seen, square: self.seen, pair: self.both_seen, pair_with_seen: self.both_seen, ..*self }
    }
}

/// What a measure tells of the fish of a group, as they are read.
pub fn value_moments(
    (lengths, law, sighting): (FishLengths, LengthWeight, &Sighting),
    reader: &LengthReader,
    measure: FishMeasure,
) -> ValueMoments {
    let limit = match measure {
        FishMeasure::LongerThan(cm) | FishMeasure::ShareLongerThan(cm) => cm,
        _ => 0.0,
    };
    let (mut of_seen, mut of_value, mut both) = (Series::default(), Series::default(), Series::default());
    let (mut seen_share, mut first, mut square) = (0.0, 0.0, 0.0);
    over_lengths((lengths, law, sighting), reader, limit, |Place { probability, seen, value: of, polynomials }| {
        let (value, value_square) = match measure {
            FishMeasure::Density => (1.0, 1.0),
            FishMeasure::Biomass => (of.weight, of.weight_square),
            FishMeasure::LongerThan(_) | FishMeasure::ShareLongerThan(_) => (of.from, of.from),
            FishMeasure::MeanLength => (of.cm, of.cm_square),
        };
        seen_share += probability * seen;
        first += probability * seen * value;
        square += probability * seen * value_square;
        of_seen.add(&polynomials, probability, seen);
        of_value.add(&polynomials, probability, seen * value);
        both.add(&polynomials, probability, seen * (1.0 + value));
    });
    let alike = lengths.alike_in_school;
    let (both_seen, pair) = (of_seen.product(alike), of_value.product(alike));
    // (1 + v)(1 + v') = 1 + v + v' + v v' over pairs of which both are seen.
    let pair_with_seen = 0.5 * (both.product(alike) - both_seen - pair);
    ValueMoments { first, square, pair, seen: seen_share, both_seen, pair_with_seen }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Moments;
    use crate::random::{Key, Purpose, normal_from_uniform};
    use crate::survey::fish_sheet::{ClassValue, LengthClasses};

    #[test]
    fn two_fish_of_a_school_drawn_one_by_one() {
        let sighting = Sighting { half_seen_cm: Some(12.0), ln_sd: 0.4, ..Sighting::ALL };
        let lengths = FishLengths { mean_cm: 16.0, cv: 0.35, alike_in_school: 0.5 };
        let law = LengthWeight { a: 0.02, b: 3.0 };
        let reader =
            LengthReader { bias: 0.05, cv: 0.1, classes: Some(LengthClasses::of(5.0)), value: ClassValue::Midpoint };
        let key = Key::seed(17);
        let normal = |i: u64| normal_from_uniform(key.uniform(Purpose::Test, i));
        for measure in
            [FishMeasure::Density, FishMeasure::Biomass, FishMeasure::MeanLength, FishMeasure::LongerThan(20.0)]
        {
            let exact = value_moments((lengths, law, &sighting), &reader, measure);
            let less = exact.less(0.7 * exact.first);
            let (mut first, mut square, mut pair, mut of_less) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
            for i in 0..120_000 {
                let fish = [0, 1].map(|j| {
                    let cm = lengths.length_cm(normal(7 * i), normal(7 * i + 1 + j));
                    let is_seen = key.uniform(Purpose::Test, 7 * i + 3 + j) < sighting.length_chance(cm);
                    let written = reader.read(cm, normal(7 * i + 5 + j));
                    let value = match measure {
                        FishMeasure::Biomass => written.weight_g(reader.value, law),
                        FishMeasure::MeanLength => written.length_cm(reader.value),
                        FishMeasure::LongerThan(limit) => f64::from(u8::from(written.middle_cm() >= limit)),
                        _ => 1.0,
                    };
                    let seen = f64::from(u8::from(is_seen));
                    (seen * value, seen * (value - 0.7 * exact.first))
                });
                first.push(fish[0].0);
                square.push(fish[0].0 * fish[0].0);
                pair.push(fish[0].0 * fish[1].0);
                of_less.push(fish[0].1 * fish[1].1);
            }
            for (drawn, exact) in
                [(first, exact.first), (square, exact.square), (pair, exact.pair), (of_less, less.pair)]
            {
                let drawn = Moments::of(&drawn).mean_measured();
                let apart = (drawn.value - exact).abs();
                assert!(apart < 4.0 * drawn.error + 1e-9, "{measure:?}: {drawn:?}, {exact}");
            }
        }
    }
}
