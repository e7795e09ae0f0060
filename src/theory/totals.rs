//! Totals of sites compared by the logarithm of their ratio: what its error is, and what a test of counts takes it for.

use super::on_scale::SiteMeanMoments;
use crate::analysis::Part;
use crate::analysis::counts::CountLaw;
use crate::analysis::transforms::Scale;

/// Totals of so many sites at two visits, or in two groups of so many.
#[derive(Clone, Copy, Debug)]
pub(super) struct Totals {
    /// Of densities, site by site.
    pub site_means: SiteMeanMoments,
    pub sites: f64,
    /// A total is so many times a site mean.
    pub search: f64,
    /// The test compares the two visits of each site.
    pub pairs: bool,
}

impl Totals {
    /// Moments of ln of the mean density over all sites, by the delta method to the second order ([`SiteMeanMoments::on`]).
    pub fn estimate(&self) -> SiteMeanMoments {
        let mean = &self.site_means;
        let over_sites = SiteMeanMoments {
            variances: mean.variances.map(|variance| variance / self.sites),
            covariance: mean.covariance / self.sites,
            ..*mean
        };
        over_sites.on(Scale::Log { plus: 0.0 })
    }

    /// The variance that Wald's test takes ln of the ratio to have, in the mean, and its degrees of freedom: its own formula
    /// with the moments of totals in the place of their estimates. Few sites spread about that, and k by maximum likelihood
    /// lies above its moments: simulation shows both.
    pub fn error_of_test(&self, law: CountLaw) -> Part {
        let [first, second] = self.site_means.means.map(|mean| self.search * mean);
        let [v1, v2] = self.site_means.variances.map(|variance| self.search * self.search * variance);
        let poisson = (1.0 / first + 1.0 / second) / self.sites;
        let of_groups = 2.0 * (self.sites - 1.0);
        match law {
            // Pearson's chi-squared of each group is (n - 1) variance / mean.
            CountLaw::QuasiPoisson if !self.pairs => {
                Part { variance: 0.5 * (v1 / first + v2 / second) * poisson, df: of_groups }
            }
            CountLaw::QuasiPoisson => {
                Part { variance: self.dispersion_of_pairs([first, second], [v1, v2]) * poisson, df: self.sites - 1.0 }
            }
            // The moment estimate of 1 / k over both groups, never below Poisson.
            CountLaw::NegativeBinomial => {
                let alpha = (v1 - first + v2 - second) / (first * first + second * second);
                Part { variance: poisson + 2.0 * alpha.max(0.0) / self.sites, df: of_groups }
            }
        }
    }

    /// Mean dispersion of pairs. Given what a site has at both visits together, S, its second count is off by a binomial part,
    /// p (1 - p) S, and by what its own years, new places and patches change by a factor, in proportion to S squared: so rich
    /// sites are further off than one dispersion for all allows, and the mean of squares over S is below what it ought to be.
    fn dispersion_of_pairs(&self, [first, second]: [f64; 2], [v1, v2]: [f64; 2]) -> f64 {
        let covariance = self.search * self.search * self.site_means.covariance;
        let both = first + second;
        let p = second / both;
        let binomial = p * (1.0 - p);
        let off = (1.0 - p) * (1.0 - p) * v2 + p * p * v1 - 2.0 * binomial * covariance;
        let square_of_both = v1 + v2 + 2.0 * covariance + both * both;
        let factor = (off - binomial * both) / square_of_both;
        (1.0 + factor * both / binomial).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn totals(means: [f64; 2], variances: [f64; 2], covariance: f64, pairs: bool) -> Totals {
        let site_means = SiteMeanMoments { means, variances, covariance, poor: false };
        Totals { site_means, sites: 10.0, search: 4.0, pairs }
    }

    /// Poisson totals of 4 x 5 and 4 x 2.5 animals: every law has the error of Poisson.
    #[test]
    fn poisson_totals_have_the_error_of_poisson() {
        let poisson = |pairs| totals([5.0, 2.5], [5.0 / 4.0, 2.5 / 4.0], 0.0, pairs);
        let expected = (1.0 / 20.0 + 1.0 / 10.0) / 10.0;
        for (law, pairs, df) in [
            (CountLaw::QuasiPoisson, false, 18.0),
            (CountLaw::QuasiPoisson, true, 9.0),
            (CountLaw::NegativeBinomial, false, 18.0),
        ] {
            let test = poisson(pairs).error_of_test(law);
            assert!((test.variance / expected - 1.0).abs() < 1e-12 && test.df == df, "{law:?} {test:?}");
        }
        // The error itself, up to the second order of the delta method.
        let estimate = poisson(false).estimate();
        let variance = estimate.variances[0] + estimate.variances[1];
        assert!((variance / expected - 1.0).abs() < 0.02, "{variance} {expected}");
    }

    /// Counts in proportion to a Poisson count are what quasi-Poisson takes for true; negative binomial ones of one k are not
    /// (their ratio of variance to mean falls with the mean), but are what the other test takes for true.
    #[test]
    fn each_law_is_right_about_its_own_counts() {
        let truth = |totals: &Totals| {
            let [m1, m2] = totals.site_means.means;
            let [v1, v2] = totals.site_means.variances;
            (v1 / (m1 * m1) + v2 / (m2 * m2) - 2.0 * totals.site_means.covariance / (m1 * m2)) / totals.sites
        };
        let in_proportion = totals([5.0, 2.5], [15.0 / 4.0, 7.5 / 4.0], 0.0, false);
        let test = in_proportion.error_of_test(CountLaw::QuasiPoisson);
        assert!((test.variance / truth(&in_proportion) - 1.0).abs() < 1e-12);
        let of_k = |mean: f64| (mean + 4.0 * mean * mean / 1.5) / 4.0;
        let aggregated = totals([5.0, 2.5], [of_k(5.0), of_k(2.5)], 0.0, false);
        let test = aggregated.error_of_test(CountLaw::NegativeBinomial);
        assert!((test.variance / truth(&aggregated) - 1.0).abs() < 1e-12);
        assert!(aggregated.error_of_test(CountLaw::QuasiPoisson).variance > 1.05 * truth(&aggregated));
    }

    /// Site densities that differ but do not move leave binomial pairs, whose dispersion is 1; sites that move by factors of
    /// their own make the test take the error for too small.
    #[test]
    fn pairs_that_move_by_factors_are_taken_for_less() {
        let still = totals([5.0, 5.0], [10.0 + 5.0 / 4.0; 2], 10.0, true);
        assert!((still.dispersion_of_pairs([20.0; 2], [180.0; 2]) - 1.0).abs() < 1e-12);
        let moving = totals([5.0, 5.0], [10.0 + 5.0 / 4.0; 2], 7.0, true);
        let truth = 2.0 * (11.25 - 7.0) / 25.0 / 10.0;
        let test = moving.error_of_test(CountLaw::QuasiPoisson);
        assert!(0.5 * truth < test.variance && test.variance < 0.9 * truth, "{test:?} {truth}");
    }
}
