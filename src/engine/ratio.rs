//! Totals of sites compared by the logarithm of their ratio.

use super::estimate::ZoneEstimate;
use super::plan::Plan;
use crate::analysis::counts::{CountLaw, Totals};
use crate::analysis::{Sample, TTest};
use crate::design::Comparison;

/// Compares the totals of two visits or groups of sites.
#[derive(Clone, Copy, Debug)]
pub struct RatioTest {
    pub law: CountLaw,
    /// A total is so many times a site mean.
    pub search: f64,
    /// The same sites were read twice.
    pub pairs: bool,
}

impl RatioTest {
    /// The test of a comparison, where it is one of totals.
    pub fn of(plan: &Plan, comparison: Comparison) -> Option<Self> {
        match comparison {
            Comparison::Totals { law, search } => {
                Some(Self { law, search, pairs: plan.same_sites && law.knows_pairs() })
            }
            Comparison::Means(_) | Comparison::Sizes => None,
        }
    }

    /// ln of the second density over the first. Where the test has no answer but the ratio exists, its variance is nil; where
    /// nothing was counted on one side, the estimate is not a number.
    pub fn change(&self, first: &[f64], later: &[f64]) -> ZoneEstimate {
        let (first, later) = (self.totals(first), self.totals(later));
        let fit = self.fit(&first, &later);
        let ratio = || libm::log(later.iter().sum::<f64>() / first.iter().sum::<f64>());
        match fit {
            Some(fit) => told(fit.estimate(), fit.error() * fit.error(), fit.df()),
            None => told(finite(ratio()), 0.0, 1.0),
        }
    }

    fn fit(&self, first: &[f64], later: &[f64]) -> Option<TTest> {
        let first = Totals::of_equal_effort(first, self.search).ok()?;
        let later = Totals::of_equal_effort(later, self.search).ok()?;
        self.law.log_ratio(self.pairs, first, later).ok()
    }

    /// ln of the density of one visit, its error by the spread of the sites.
    pub fn level(&self, means: &[f64]) -> ZoneEstimate {
        let sample = Sample::of(means);
        let mean = sample.of_mean();
        let relative = mean.variance / (sample.mean * sample.mean);
        told(finite(libm::log(sample.mean)), relative, mean.df)
    }

    /// Counts are whole, site means were divided.
    fn totals(&self, means: &[f64]) -> Vec<f64> {
        means.iter().map(|mean| (mean * self.search).round()).collect()
    }
}

fn told(estimate: f64, variance: f64, df: f64) -> ZoneEstimate {
    ZoneEstimate { estimate, variance, spread: variance * variance / df }
}

fn finite(value: f64) -> f64 {
    if value.is_finite() { value } else { f64::NAN }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAIRS: RatioTest = RatioTest { law: CountLaw::QuasiPoisson, search: 0.4, pairs: true };

    /// Counts 3, 4, 5 and 1, 4, 1 in 40 m2, told per 100 m2: the worked pairs of `analysis::counts`.
    #[test]
    fn densities_become_counts_again() {
        let (first, later) = ([7.5, 10.0, 12.5], [2.5, 10.0, 2.5]);
        let found = PAIRS.change(&first, &later);
        let fit = PAIRS.fit(&[3.0, 4.0, 5.0], &[1.0, 4.0, 1.0]).unwrap();
        assert_eq!((found.estimate, found.variance), (fit.estimate(), fit.error().powi(2)));
        assert!((found.estimate + libm::log(2.0)).abs() < 1e-12 && found.part().df == 2.0);
        let groups = RatioTest { pairs: false, ..PAIRS }.change(&first, &later);
        assert!((groups.estimate - found.estimate).abs() < 1e-12 && groups.part().df == 4.0);
    }

    #[test]
    fn what_has_no_ratio_or_no_spread_is_told_apart() {
        let nothing = PAIRS.change(&[7.5, 10.0], &[0.0, 0.0]);
        assert!(nothing.estimate.is_nan() && PAIRS.level(&[0.0, 0.0]).estimate.is_nan());
        let even = PAIRS.change(&[5.0, 10.0], &[5.0, 10.0]);
        assert_eq!((even.estimate, even.variance), (0.0, 0.0));
    }

    #[test]
    fn one_visit_has_the_relative_error_of_its_mean() {
        let level = PAIRS.level(&[2.0, 4.0, 6.0]);
        assert!((level.estimate - libm::log(4.0)).abs() < 1e-15);
        assert!((level.variance - 4.0 / 3.0 / 16.0).abs() < 1e-15 && (level.part().df - 2.0).abs() < 1e-12);
    }
}
