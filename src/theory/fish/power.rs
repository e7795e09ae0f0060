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
    use crate::analysis::presence::negative_binomial_zero;
    use crate::analysis::{CriticalT, Sample, TTest, Tail};
    use crate::measures::Rate;
    use crate::random::{Key, stream};
    use rand_distr::{Distribution, Gamma, Poisson};

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

    /// Occupancy of belts and their CV within a site at the mean over all sites (computed). Of belts seen, where sites differ,
    /// .99, .60, .44 and .13 had one: k within a site is not enough, sites must differ as well.
    #[test]
    fn occupancy_and_spread_within_a_site() {
        for (group, mean, k, occupied, cv) in [
            ("parrotfish", 16.9, 4.69, 0.999, 0.522),
            ("grouper", 1.35, 3.81, 0.685, 1.002),
            ("snapper", 2.81, 0.50, 0.611, 1.535),
            ("jacks", 1.07, 0.31, 0.371, 2.040),
        ] {
            let found = 1.0 - negative_binomial_zero(mean, k);
            assert!((found - occupied).abs() < 0.01, "{group} {found}");
            let found = libm::sqrt(units_for_k(mean, k, 1.0));
            assert!((found - cv).abs() < 0.002, "{group} {found}");
        }
    }

    /// How often two tests see a change of negative binomial counts in `units` belts each: Wald's with k known, and Welch's on
    /// ln(x + 1).
    fn seen(mean: f64, ratio: f64, k: f64, units: usize, runs: u64, seed: u64) -> [Rate; 2] {
        let mut random = stream(Key::seed(seed));
        let patch = Gamma::new(k, 1.0 / k).unwrap();
        let critical = CriticalT::new(0.05, Tail::Two);
        let mut hits = [0; 2];
        for _ in 0..runs {
            let counts = [mean, ratio * mean].map(|mean| -> Vec<f64> {
                let mut belt = || {
                    let mean: f64 = mean * patch.sample(&mut random);
                    if mean > 1e-9 { Poisson::new(mean).unwrap().sample(&mut random) } else { 0.0 }
                };
                (0..units).map(|_| belt()).collect()
            });
            let [first_mean, second_mean] = [&counts[0], &counts[1]].map(|counts| Sample::of(counts).mean);
            if first_mean > 0.0 && second_mean > 0.0 {
                let error = LogRatioPlan { first_mean, second_mean, k }.error(units as f64);
                let z = libm::log(second_mean / first_mean) / error;
                hits[0] += u64::from(z.abs() > normal_quantile(0.975));
            }
            let [first, second] =
                counts.map(|counts| Sample::of(&counts.iter().map(|x| libm::log1p(*x)).collect::<Vec<f64>>()));
            let welch = TTest::welch(first, second);
            hits[1] += u64::from(welch.is_some_and(|test| test.rejects(&critical, 0.0)));
        }
        hits.map(|hits| Rate::new(hits, runs))
    }

    /// A halving at the numbers above: power .79-.82 with k known, .69-.78 by Welch's test on logarithms, false alarms of Wald's
    /// test .045-.06 (simulated before by other code, 4,000 runs), within .03.
    fn halving(groups: &[(&str, f64, f64, usize)], runs: u64) {
        for (place, (group, mean, k, units)) in groups.iter().enumerate() {
            let seed = 300 + place as u64;
            let [wald, welch] = seen(*mean, 0.5, *k, *units, runs, seed).map(Rate::value);
            assert!((0.76..=0.85).contains(&wald), "{group}: {wald}");
            // Of counts that are nearly all 0 or 1 the logarithm takes nothing away.
            assert!(*mean < 1.0 || ((0.66..=0.81).contains(&welch) && welch < wald), "{group}: {welch}");
            let [alarms, of_welch] = seen(*mean, 1.0, *k, *units, runs, seed + 50).map(Rate::value);
            assert!((0.035..=0.07).contains(&alarms), "{group}: {alarms}");
            assert!((0.03..=0.065).contains(&of_welch), "{group}: {of_welch}");
        }
    }

    #[test]
    fn halvings_are_seen_as_often_as_planned() {
        halving(&[("parrotfish", 16.9, 4.69, 10), ("grouper", 1.35, 3.81, 45), ("jacks", 1.07, 0.31, 152)], 2_000);
    }

    #[test]
    #[ignore = "the other groups, and more runs"]
    fn halvings_of_all_groups_are_seen_as_often_as_planned() {
        halving(
            &[
                ("parrotfish", 16.9, 4.69, 10),
                ("surgeonfish", 6.06, 4.67, 16),
                ("grouper", 1.35, 3.81, 45),
                ("butterflyfish", 1.43, 1.41, 58),
                ("grunt", 4.65, 0.553, 70),
                ("snapper", 2.81, 0.50, 83),
                ("jacks", 1.07, 0.31, 152),
                ("chub", 1.04, 0.135, 290),
                ("barracuda", 0.054, 0.20, 1071),
            ],
            10_000,
        );
    }

    #[track_caller]
    fn assert_belts(what: &str, change: f64, found: f64, expected: u64) {
        assert!(
            found.ceil() == expected as f64 || found.round() == expected as f64,
            "{what} {change}: {found} {expected}"
        );
    }
}
