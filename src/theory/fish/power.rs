//! How many belts a change of biomass takes by a rule of thumb; for counts see [`crate::analysis::counts::LogRatioPlan`].

use crate::analysis::normal_quantile;

/// Units in each of two periods, not rounded, with which two means whose ratio is `ratio` are told apart on the logarithm when
/// single units are lognormal with a coefficient of variation: `2 (z + z')^2 ln(1 + cv^2) / ln^2 ratio`. Units are independent,
/// sites and years do not differ: what differs between them comes on top.
pub fn lognormal_units(cv: f64, ratio: f64, power: f64, alpha: f64) -> f64 {
    let reach = normal_quantile(1.0 - 0.5 * alpha) + normal_quantile(power);
    let log_ratio = libm::log(ratio);
    2.0 * reach * reach * libm::log1p(cv * cv) / (log_ratio * log_ratio)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::counts::{LogRatioPlan, units_for_k};

    const CHANGES: [f64; 5] = [0.5, 0.7, 0.8, 1.5, 2.0];

    /// Belts of 30 x 2 m in each period, two-sided 5 %, power 80 %: counts by group as at Little Cayman (mean and k computed from
    /// open data, 1,141 belts of 1999-2023); units computed. The last is for a standard error of 20 % of the mean.
    #[test]
    fn belts_for_changes_of_counts() {
        for (group, mean, k, belts, for_error) in [
            ("parrotfish", 16.9, 4.69, [10, 36, 89, 26, 9], 7),
            ("surgeonfish", 6.06, 4.67, [16, 52, 127, 34, 12], 10),
            ("grouper", 1.35, 3.81, [45, 144, 346, 85, 27], 26),
            ("butterflyfish", 1.43, 1.41, [58, 193, 472, 124, 41], 36),
            ("grunt", 4.65, 0.553, [70, 256, 647, 190, 65], 51),
            ("snapper", 2.81, 0.50, [83, 301, 757, 220, 75], 59),
            ("jacks", 1.07, 0.31, [152, 539, 1349, 383, 129], 105),
            ("chub", 1.04, 0.135, [290, 1059, 2677, 784, 266], 210),
            ("barracuda", 0.054, 0.20, [1071, 3392, 8145, 1951, 618], 588),
        ] {
            for (ratio, expected) in CHANGES.into_iter().zip(belts) {
                let plan = LogRatioPlan { first_mean: mean, second_mean: ratio * mean, k };
                assert_belts(group, ratio, plan.replicates_for(0.8, 0.05), expected);
            }
            assert_belts(group, 0.2, units_for_k(mean, k, 0.2), for_error);
        }
    }

    /// The same for biomass (computed).
    #[test]
    fn belts_for_changes_of_biomass() {
        for (cv, belts) in [
            (0.5, [8, 28, 71]),
            (0.73, [14, 53, 135]),
            (1.0, [23, 86, 219]),
            (1.2, [30, 111, 282]),
            (1.7, [45, 168, 429]),
            (2.2, [58, 218, 557]),
        ] {
            for (ratio, expected) in CHANGES.into_iter().zip(belts) {
                assert_belts("biomass", ratio, lognormal_units(cv, ratio, 0.8, 0.05), expected);
            }
        }
    }

    #[track_caller]
    fn assert_belts(what: &str, change: f64, found: f64, expected: u64) {
        assert!(
            found.ceil() == expected as f64 || found.round() == expected as f64,
            "{what} {change}: {found} {expected}"
        );
    }
}
