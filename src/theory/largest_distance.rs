//! How often a test of the largest of several differences rejects: of the distance of Kolmogorov and Smirnov between two
//! distribution functions of size, when whole sites are exchanged.
//!
//! An approximation. The differences of the mean distribution functions of sites, looked at at several sizes, are taken as
//! normal. The critical value of the exchanges is that of the largest difference where nothing changed, on the sites' own
//! spread: a root of a chi-squared over its degrees of freedom, common to all sizes, so that a single size is the t test
//! exactly. P is a whole number of steps (few sites have few arrangements), so that the level is alpha rounded down.

use super::quadrature::Rule;
use crate::analysis::{Tail, chi_squared_quantile};
use crate::random::normal_from_uniform;
use std::sync::LazyLock;

/// The largest number of sizes that are looked at.
pub const MOST_SIZES: usize = 8;

/// Points of the rule over normals.
const POINTS: usize = 4096;

/// Independent normals, evenly spread over all directions: steps by powers of the root of `x^(d + 1) = x + 1` (Roberts 2018,
/// "The unreasonable effectiveness of quasirandom sequences"; from memory).
static NORMALS: LazyLock<Vec<[f64; MOST_SIZES]>> = LazyLock::new(|| {
    let mut root = 1.5f64;
    for _ in 0..60 {
        root = libm::pow(1.0 + root, 1.0 / (MOST_SIZES as f64 + 1.0));
    }
    let step = |axis: usize| libm::pow(1.0 / root, axis as f64 + 1.0);
    let at = |point: usize, axis: usize| {
        let place = 0.5 + (point as f64 + 1.0) * step(axis);
        normal_from_uniform((place - place.floor()).clamp(1e-9, 1.0 - 1e-9))
    };
    (0..POINTS).map(|point| std::array::from_fn(|axis| at(point, axis))).collect()
});

/// Differences at several sizes that are about normal.
#[derive(Clone, Debug, PartialEq)]
pub struct Differences {
    /// Of the second distribution function less the first, at each size; at most [`MOST_SIZES`].
    pub expected: Vec<f64>,
    pub covariance: Vec<Vec<f64>>,
    /// Degrees of freedom of the spread of sites.
    pub df: f64,
}

impl Differences {
    /// How often the test of this alpha rejects, where no p below `least_p` can come out and p goes by steps of it. NaN where
    /// nothing varies.
    ///
    /// `Tail::Upper` is the distance by which sizes are larger at the second, as in the test.
    pub fn rejects(&self, (alpha, least_p): (f64, f64), tail: Tail) -> f64 {
        let level = ((alpha / least_p + 1e-9).floor() * least_p).min(alpha);
        let Some(root) = self.lower_root() else { return f64::NAN };
        if level <= 0.0 {
            return 0.0;
        }
        let one = |difference: f64| match tail {
            Tail::Two => difference.abs(),
            Tail::Lower => difference,
            Tail::Upper => -difference,
        };
        let (mut none, mut changed) = (Vec::with_capacity(POINTS), Vec::with_capacity(POINTS));
        for normals in NORMALS.iter() {
            let (mut by_chance, mut with_change) = (0.0f64, 0.0f64);
            for (row, expected) in root.iter().zip(&self.expected) {
                let error: f64 = row.iter().zip(normals).map(|(factor, normal)| factor * normal).sum();
                by_chance = by_chance.max(one(error));
                with_change = with_change.max(one(expected + error));
            }
            none.push(by_chance);
            changed.push(with_change);
        }
        none.sort_unstable_by(f64::total_cmp);
        changed.sort_unstable_by(f64::total_cmp);
        let spreads: Vec<(f64, f64)> = Rule::legendre(24)
            .pairs()
            .map(|(at, weight)| ((chi_squared_quantile(at, self.df) / self.df).sqrt(), weight))
            .collect();
        let beyond = |of: &[f64], critical: f64| -> f64 {
            spreads.iter().map(|(spread, weight)| weight * share_above(of, critical * spread)).sum()
        };
        let most = none[POINTS - 1];
        // Sparse tails of few sites: what is beyond every point is not told apart.
        let (mut low, mut high) = (0.0, 1e3 * most);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if beyond(&none, middle) > level { low = middle } else { high = middle }
        }
        beyond(&changed, high)
    }

    /// Lower triangle L with `L L' = covariance`; what is no longer free is nil. `None` where nothing varies.
    fn lower_root(&self) -> Option<Vec<Vec<f64>>> {
        let number = self.expected.len().min(MOST_SIZES);
        let largest = (0..number).map(|i| self.covariance[i][i]).fold(0.0, f64::max);
        if !(largest > 0.0 && self.df > 0.0) {
            return None;
        }
        let mut root = vec![vec![0.0; number]; number];
        for i in 0..number {
            for j in 0..=i {
                let told: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
                let left = self.covariance[i][j] - told;
                root[i][j] = match i == j {
                    true => left.max(0.0).sqrt(),
                    false if root[j][j] > 1e-6 * largest.sqrt() => left / root[j][j],
                    false => 0.0,
                };
            }
        }
        Some(root)
    }
}

/// Share of sorted values above a limit, straight between neighbours.
fn share_above(sorted: &[f64], limit: f64) -> f64 {
    let place = sorted.partition_point(|value| *value <= limit);
    if place == 0 || place == sorted.len() {
        return 1.0 - place as f64 / sorted.len() as f64;
    }
    let (low, high) = (sorted[place - 1], sorted[place]);
    let within = if high > low { (limit - low) / (high - low) } else { 0.0 };
    1.0 - (place as f64 - 0.5 + within).min(sorted.len() as f64) / sorted.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::CriticalT;
    use crate::theory::t_power_at;

    #[test]
    fn one_size_is_a_t_test() {
        for (df, shift) in [(7.0, 2.0), (7.0, 3.5), (18.0, 3.0), (60.0, 1.0)] {
            for tail in [Tail::Two, Tail::Lower] {
                let differences = Differences { expected: vec![0.02 * shift], covariance: vec![vec![4e-4]], df };
                let found = differences.rejects((0.05, 1e-9), tail);
                // The lower tail of sizes is a rise of the distribution function.
                let as_rise = if tail == Tail::Lower { Tail::Upper } else { tail };
                let critical = CriticalT::new(0.05, as_rise);
                let exact = t_power_at(shift, df, critical.at(df), as_rise);
                assert!((found - exact).abs() < 0.012, "{df} {shift} {tail:?}: {found} {exact}");
            }
        }
    }

    /// The distance of Kolmogorov and Smirnov of many sizes is beyond b with `2 exp(-2 b^2)`, 5 % at 1.358 (Smirnov 1948, from
    /// memory); at sizes whose shares are d apart as if b were higher by `.5826 sqrt(d)` (Siegmund 1985, Sequential Analysis; from
    /// memory): 1.6 %.
    #[test]
    fn a_bridge_at_several_sizes_is_no_wider_than_a_whole_one() {
        let places: Vec<f64> = (1..=MOST_SIZES).map(|k| k as f64 / (MOST_SIZES as f64 + 1.0)).collect();
        let covariance: Vec<Vec<f64>> =
            places.iter().map(|a| places.iter().map(|b| a.min(*b) * (1.0 - a.max(*b))).collect()).collect();
        let bridge = |shift: f64| Differences {
            expected: places.iter().map(|a| shift * 4.0 * a * (1.0 - a)).collect(),
            covariance: covariance.clone(),
            df: 1e6,
        };
        assert!((bridge(0.0).rejects((0.05, 1e-9), Tail::Two) - 0.05).abs() < 1e-3);
        let root = bridge(0.0).lower_root().unwrap();
        let beyond = NORMALS.iter().filter(|normals| {
            let largest = |row: &Vec<f64>| row.iter().zip(*normals).map(|(l, n)| l * n).sum::<f64>().abs();
            root.iter().map(largest).fold(0.0, f64::max) > 1.358
        });
        let share = beyond.count() as f64 / POINTS as f64;
        let exact = 2.0 * (-2.0 * (1.358f64 + 0.5826 / 3.0).powi(2)).exp();
        // One error of a share of so many points, were they random: .002.
        assert!((share - exact).abs() < 0.006, "{share} {exact}");
        let powers = [0.5, 1.0, 2.0].map(|shift| bridge(shift).rejects((0.05, 1e-9), Tail::Two));
        assert!(powers[0] > 0.05 && powers[1] > powers[0] && powers[2] > 0.9, "{powers:?}");
        // One side of it sees all, the other nothing.
        let sides = [Tail::Lower, Tail::Upper].map(|tail| bridge(1.0).rejects((0.05, 1e-9), tail));
        assert!(sides[0] > powers[1] && sides[1] < 0.01, "{sides:?} {powers:?}");
    }

    #[test]
    fn few_arrangements_have_a_lower_level() {
        let differences = Differences { expected: vec![0.0], covariance: vec![vec![1.0]], df: 5.0 };
        let at = |least_p: f64| differences.rejects((0.05, least_p), Tail::Two);
        assert_eq!(at(1.0 / 16.0), 0.0);
        assert!((at(1.0 / 32.0) - 1.0 / 32.0).abs() < 2e-3 && (at(1.0 / 64.0) - 3.0 / 64.0).abs() < 2e-3);
        let nothing = Differences { expected: vec![0.1], covariance: vec![vec![0.0]], df: 5.0 };
        assert!(nothing.rejects((0.05, 0.01), Tail::Two).is_nan());
    }
}
