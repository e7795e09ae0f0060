//! Rare animals: seen or not seen, how surely, and how many there may be where none was seen.

use super::distributions::{beta_quantile, normal_quantile};
use super::one_way::Interval;

/// Units in which at least one animal was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Presence {
    pub occupied: f64,
    pub units: f64,
}

impl Presence {
    /// From the counts of units; units that could not be read (NaN) are left out.
    pub fn of(counts: &[f64]) -> Self {
        let read = || counts.iter().filter(|count| !count.is_nan());
        Self { occupied: read().filter(|count| **count > 0.0).count() as f64, units: read().count() as f64 }
    }

    /// The share of units occupied; NaN without units. It rises with the size of a unit: shares of units of different size
    /// are not to be compared.
    pub fn share(self) -> f64 {
        self.occupied / self.units
    }

    /// The score interval (Wilson 1927, Journal of the American Statistical Association 22:209; from memory), for independent
    /// units: right on average over true shares. `None` without units.
    pub fn wilson(self, alpha: f64) -> Option<Interval> {
        if !(self.units > 0.0) {
            return None;
        }
        let z = normal_quantile(1.0 - 0.5 * alpha);
        let (share, squared) = (self.share(), z * z / self.units);
        let centre = share + 0.5 * squared;
        let reach = (squared * (share * (1.0 - share) + 0.25 * squared)).sqrt();
        let end = |sign: f64| ((centre + sign * reach) / (1.0 + squared)).clamp(0.0, 1.0);
        // At none and at all the formula's end is exact but for rounding.
        let low = if self.occupied == 0.0 { 0.0 } else { end(-1.0) };
        let high = if self.occupied == self.units { 1.0 } else { end(1.0) };
        Some(Interval { low, high })
    }

    /// The exact interval (Clopper & Pearson 1934, Biometrika 26:404; from memory), for independent units: never right less often
    /// than it says, as a rule more often. `None` without units.
    pub fn clopper_pearson(self, alpha: f64) -> Option<Interval> {
        if !(self.units > 0.0) {
            return None;
        }
        let (seen, not_seen) = (self.occupied, self.units - self.occupied);
        let low = if seen == 0.0 { 0.0 } else { beta_quantile(0.5 * alpha, seen, not_seen + 1.0) };
        let high = if not_seen == 0.0 { 1.0 } else { beta_quantile(1.0 - 0.5 * alpha, seen + 1.0, not_seen) };
        Some(Interval { low, high })
    }
}

/// The share of units occupied at each site, for a t test or a permutation over sites: units of one site share its animals, so
/// that sites are the replicates and the intervals above are for a single site only. `None` when a site has no unit.
pub fn site_shares(sites: &[Presence]) -> Option<Vec<f64>> {
    sites.iter().map(|site| (site.units > 0.0).then(|| site.share())).collect()
}

/// The chance that at least one of `units` independent units has an animal when each has one with `probability`.
pub fn chance_of_one(probability: f64, units: f64) -> f64 {
    if probability >= 1.0 {
        return if units > 0.0 { 1.0 } else { 0.0 };
    }
    -libm::expm1(units * libm::log1p(-probability))
}

/// The same when what is known is the probability that a unit (or all units of a site together) has none: an exact zero
/// probability of clustered animals goes in here, never one of a distribution that merely has their mean and variance.
pub fn chance_of_one_by_zero(zero_probability: f64, units: f64) -> f64 {
    if zero_probability <= 0.0 { chance_of_one(1.0, units) } else { -libm::expm1(units * libm::log(zero_probability)) }
}

/// The least whole number of independent units with which the chance of at least one reaches `chance`; infinite when units
/// have no chance at all.
pub fn units_for_chance(probability: f64, chance: f64) -> f64 {
    if probability >= 1.0 {
        return 1.0;
    }
    if !(probability > 0.0) {
        return f64::INFINITY;
    }
    let units = libm::log1p(-chance) / libm::log1p(-probability);
    // A whole number that was missed by rounding is not rounded up.
    (units - 1e-9).ceil().max(1.0)
}

/// Probability that a unit with `mean` animals expected has none when they lie independently of each other.
pub fn poisson_zero(mean: f64) -> f64 {
    libm::exp(-mean)
}

/// Probability of none in a negative binomial, `(1 + mean / k)^-k`: right for counts that are one, and for nothing else.
pub fn negative_binomial_zero(mean: f64, k: f64) -> f64 {
    if k.is_infinite() { poisson_zero(mean) } else { libm::exp(-k * libm::log1p(mean / k)) }
}

/// The density that would have been missed altogether with probability `alpha` when none was seen on `area`, animals lying
/// independently: `-ln(alpha) / area`, 3.00 / area for 5 % (exact Poisson limit; common practice, no source).
///
/// Absence cannot be shown: this is what can be said instead. Where animals are clustered the limit is higher.
pub fn upper_limit_when_none(area: f64, alpha: f64) -> f64 {
    -libm::log(alpha) / area
}

/// The same for `units` independent units of `unit_area` whose counts are negative binomial with k: the density at which all
/// are empty with probability `alpha`, `k (alpha^(-1 / (k units)) - 1) / unit_area`.
pub fn upper_limit_when_none_clustered(units: f64, unit_area: f64, k: f64, alpha: f64) -> f64 {
    if k.is_infinite() {
        return upper_limit_when_none(units * unit_area, alpha);
    }
    k * libm::expm1(-libm::log(alpha) / (k * units)) / unit_area
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::binomial_cdf;

    fn close(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} against {expected}");
    }

    /// Newcombe 1998, Statistics in Medicine 17:857, table I (limits from memory; further digits computed).
    #[test]
    fn wilsons_interval_of_newcombe() {
        for (occupied, units, low, high) in [
            (81.0, 263.0, 0.255289, 0.366210),
            (15.0, 148.0, 0.062386, 0.160487),
            (0.0, 20.0, 0.0, 0.161125),
            (1.0, 29.0, 0.006113, 0.171755),
            (29.0, 29.0, 0.883030, 1.0),
        ] {
            let interval = Presence { occupied, units }.wilson(0.05).unwrap();
            close(interval.low, low, 5e-7);
            close(interval.high, high, 5e-7);
        }
    }

    /// How often the intervals hold the truth, by adding up all outcomes; computed.
    #[test]
    fn intervals_hold_the_truth_as_often_as_computed() {
        for (units, share, wilson, exact) in [
            (10.0, 0.5, 0.978516, 0.978516),
            (20.0, 0.1, 0.956826, 0.988747),
            (50.0, 0.2, 0.950701, 0.967062),
            (50.0, 0.05, 0.962224, 0.988214),
        ] {
            let held = |interval: fn(Presence, f64) -> Option<Interval>| -> f64 {
                (0..=units as u32)
                    .map(f64::from)
                    .filter(|&occupied| interval(Presence { occupied, units }, 0.05).unwrap().holds(share))
                    .map(|seen| binomial_cdf(seen, units, share) - binomial_cdf(seen - 1.0, units, share))
                    .sum()
            };
            close(held(Presence::wilson), wilson, 1e-6);
            close(held(Presence::clopper_pearson), exact, 1e-6);
        }
    }

    #[test]
    fn the_exact_limit_of_none_in_closed_form() {
        let none = Presence { occupied: 0.0, units: 20.0 };
        close(none.clopper_pearson(0.05).unwrap().high, 1.0 - libm::pow(0.025, 1.0 / 20.0), 1e-12);
        assert_eq!(none.clopper_pearson(0.05).unwrap().low, 0.0);
        assert!(Presence { occupied: 0.0, units: 0.0 }.wilson(0.05).is_none());
        assert!(Presence::of(&[]).clopper_pearson(0.05).is_none());
    }

    #[test]
    fn units_are_occupied_by_anything_above_nil() {
        let presence = Presence::of(&[0.0, 2.0, f64::NAN, 0.5, 0.0]);
        assert_eq!(presence, Presence { occupied: 2.0, units: 4.0 });
        assert_eq!(site_shares(&[presence, Presence::of(&[1.0])]), Some(vec![0.5, 1.0]));
        assert_eq!(site_shares(&[presence, Presence::of(&[])]), None);
    }

    #[test]
    fn chance_of_at_least_one() {
        close(chance_of_one(0.1, 3.0), 1.0 - 0.729, 1e-15);
        close(chance_of_one(1e-12, 10.0), 1e-11, 1e-21);
        assert_eq!((chance_of_one(0.0, 10.0), chance_of_one(1.0, 2.0), chance_of_one(1.0, 0.0)), (0.0, 1.0, 0.0));
        close(chance_of_one_by_zero(0.9, 3.0), chance_of_one(0.1, 3.0), 1e-15);
        assert_eq!(chance_of_one_by_zero(0.0, 1.0), 1.0);
        // 29 units at 10 %: 0.9^28 = .0523, 0.9^29 = .0471.
        assert_eq!(units_for_chance(0.1, 0.95), 29.0);
        assert_eq!((units_for_chance(0.5, 0.75), units_for_chance(0.99, 0.5)), (2.0, 1.0));
        assert_eq!((units_for_chance(0.0, 0.95), units_for_chance(1.0, 0.95)), (f64::INFINITY, 1.0));
    }

    #[test]
    fn clustering_leaves_more_units_empty_and_raises_the_limit() {
        close(negative_binomial_zero(2.0, 0.5), 1.0 / 5f64.sqrt(), 1e-15);
        assert!(negative_binomial_zero(2.0, 0.5) > negative_binomial_zero(2.0, 5.0));
        close(negative_binomial_zero(2.0, 1e9), poisson_zero(2.0), 1e-8);
        close(upper_limit_when_none(1.0, 0.05), 2.995_732, 1e-6);
        let (units, area, k) = (12.0, 0.001, 0.4);
        let limit = upper_limit_when_none_clustered(units, area, k, 0.05);
        close(libm::pow(negative_binomial_zero(limit * area, k), units), 0.05, 1e-12);
        assert!(limit > upper_limit_when_none(units * area, 0.05));
        let free = upper_limit_when_none_clustered(units, area, f64::INFINITY, 0.05);
        assert_eq!(free, upper_limit_when_none(units * area, 0.05));
    }
}
