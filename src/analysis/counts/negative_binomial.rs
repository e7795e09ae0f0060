//! The negative binomial by maximum likelihood, for one group of sites or two with a common k.

use super::totals::{Totals, ratio_exists};
use crate::analysis::degenerate::Degenerate;
use crate::analysis::estimate::{Part, TTest};
use crate::analysis::gamma::{digamma_difference, ln_gamma_difference, trigamma_difference};
use crate::analysis::newton::{At, falling_root};

/// A fit of `variance = mean + mean^2 / k` to the totals of sites, with a density per group and one k.
///
/// The likelihood is that of Bliss & Fisher 1953 (Biometrics 9:176; from memory), with logarithmic link, efforts as
/// offsets, and k searched on its logarithm; the densities are at their best for every k.
#[derive(Clone, Copy, Debug)]
pub struct NegativeBinomial<const GROUPS: usize> {
    /// Count per effort of each group.
    pub densities: [f64; GROUPS],
    /// Aggregation; infinite where counts vary no more than Poisson, which is then what was fitted.
    pub k: f64,
    /// One standard error of ln k, from the curvature of the likelihood; NaN where k is infinite.
    pub log_k_error: f64,
    pub log_likelihood: f64,
    /// `sum w` over the sites of each group, `w = mean / (1 + mean / k)`: the inverse of the variance of a log density.
    information: [f64; GROUPS],
    sites: usize,
}

/// The range of ln k that is searched: from nearly all animals at one site to variances that no survey could tell from
/// Poisson.
const LOG_K: [f64; 2] = [-25.0, 20.0];

impl NegativeBinomial<1> {
    /// One group; needs two sites and an animal.
    pub fn one(totals: Totals) -> Result<Self, Degenerate> {
        if totals.sites() < 2 {
            return Err(Degenerate::TooFew);
        }
        if totals.total() == 0.0 {
            return Err(Degenerate::AllZero);
        }
        Self::fit([totals])
    }
}

impl NegativeBinomial<2> {
    /// Two groups with a common k; needs a site in each, three in all, and an animal in each.
    pub fn two(first: Totals, second: Totals) -> Result<Self, Degenerate> {
        if first.sites() == 0 || second.sites() == 0 || first.sites() + second.sites() < 3 {
            return Err(Degenerate::TooFew);
        }
        ratio_exists(&first, &second)?;
        Self::fit([first, second])
    }

    /// `ln(second / first)` with Wald's error, `1 / sum w` for each group, taken with t on `n1 + n2 - 2` degrees of freedom.
    ///
    /// Wald's test takes a normal distribution; with few sites, k by maximum likelihood is too high (Lloyd-Smith 2007,
    /// PLoS ONE 2:e180, as cited) and the test rejects too often. t mends a part of this only: look at the false alarms.
    pub fn log_ratio(&self) -> Result<TTest, Degenerate> {
        let estimate = libm::log(self.densities[1] / self.densities[0]);
        let variance = 1.0 / self.information[0] + 1.0 / self.information[1];
        TTest::new(estimate, Part { variance, df: (self.sites - 2) as f64 }).ok_or(Degenerate::NotConverged)
    }
}

impl<const GROUPS: usize> NegativeBinomial<GROUPS> {
    /// `1 / k`, nil for Poisson.
    pub fn alpha(&self) -> f64 {
        1.0 / self.k
    }

    /// One standard error of k, by its logarithm.
    pub fn k_error(&self) -> f64 {
        self.k * self.log_k_error
    }

    /// One standard error of `1 / k`.
    pub fn alpha_error(&self) -> f64 {
        self.alpha() * self.log_k_error
    }

    fn fit(groups: [Totals; GROUPS]) -> Result<Self, Degenerate> {
        let poisson = groups.map(|group| group.rate());
        let spread = Spread::of(&groups, &poisson);
        let (low, high) = (LOG_K[0], LOG_K[1]);
        let score = |log_k: f64| {
            let k = libm::exp(log_k);
            Some(log_k_score(&groups, &densities_at(&groups, &poisson, k)?, k))
        };
        let at = |log_k: f64| score(log_k).unwrap_or(At { value: f64::NAN, slope: f64::NAN });
        // No more spread than Poisson: the likelihood rises with k for ever.
        if spread.excess <= 0.0 || at(high).value >= 0.0 {
            return Ok(Self::at_poisson(groups, poisson));
        }
        let log_k = falling_root(low, high, libm::log(spread.squares / spread.excess), at);
        let log_k = log_k.filter(|log_k| low + 1.0 < *log_k).ok_or(Degenerate::NotConverged)?;
        let k = libm::exp(log_k);
        let densities = densities_at(&groups, &poisson, k).ok_or(Degenerate::NotConverged)?;
        let curvature = -log_k_score(&groups, &densities, k).slope;
        if !(curvature > 0.0) {
            return Err(Degenerate::NotConverged);
        }
        Ok(Self {
            densities,
            k,
            log_k_error: 1.0 / curvature.sqrt(),
            log_likelihood: per_site(&groups, &densities).map(|(count, mean)| log_probability(count, mean, k)).sum(),
            information: information(&groups, &densities, k),
            sites: per_site(&groups, &densities).count(),
        })
    }

    fn at_poisson(groups: [Totals; GROUPS], densities: [f64; GROUPS]) -> Self {
        let poisson = |(count, mean): (f64, f64)| count * libm::log(mean) - mean - libm::lgamma(count + 1.0);
        Self {
            densities,
            k: f64::INFINITY,
            log_k_error: f64::NAN,
            log_likelihood: per_site(&groups, &densities).map(poisson).sum(),
            information: information(&groups, &densities, f64::INFINITY),
            sites: per_site(&groups, &densities).count(),
        }
    }
}

/// How far the squares about Poisson means exceed the counts: the sign of the likelihood's slope at `1 / k = 0`, and the
/// moment estimate of `1 / k` when divided by the squares of the means.
struct Spread {
    excess: f64,
    squares: f64,
}

impl Spread {
    fn of<const GROUPS: usize>(groups: &[Totals; GROUPS], densities: &[f64; GROUPS]) -> Self {
        let mut spread = Self { excess: 0.0, squares: 0.0 };
        for (count, mean) in per_site(groups, densities) {
            spread.excess += (count - mean) * (count - mean) - count;
            spread.squares += mean * mean;
        }
        spread
    }
}

/// (count, expected count) of every site of every group.
fn per_site<'a>(groups: &'a [Totals<'a>], densities: &'a [f64]) -> impl Iterator<Item = (f64, f64)> + 'a {
    groups
        .iter()
        .zip(densities)
        .flat_map(|(group, density)| group.iter().map(move |(count, effort)| (count, density * effort)))
}

/// The densities at which the likelihood is largest for a given k: totals over efforts where all efforts are equal, else
/// the roots of `sum (count - mean) / (1 + mean / k)` on the logarithm.
fn densities_at<const GROUPS: usize>(
    groups: &[Totals; GROUPS],
    poisson: &[f64; GROUPS],
    k: f64,
) -> Option<[f64; GROUPS]> {
    let mut densities = *poisson;
    for (group, density) in groups.iter().zip(&mut densities) {
        if !group.has_equal_effort() {
            *density = density_at(group, k)?;
        }
    }
    Some(densities)
}

fn density_at(group: &Totals, k: f64) -> Option<f64> {
    let highest = group.iter().map(|(count, effort)| count / effort).fold(0.0, f64::max);
    // At the highest density seen no term is positive; 50 below it on the logarithm all animals together outweigh the rest.
    let high = libm::log(highest);
    let log_density = falling_root(high - 50.0, high, libm::log(group.rate()), |log_density| {
        let density = libm::exp(log_density);
        let (mut value, mut slope) = (0.0, 0.0);
        for (count, effort) in group.iter() {
            let mean = density * effort;
            let wide = 1.0 + mean / k;
            value += (count - mean) / wide;
            slope -= mean * (1.0 + count / k) / (wide * wide);
        }
        At { value, slope }
    })?;
    Some(libm::exp(log_density))
}

/// First and second derivative of the log likelihood in ln k, densities held.
fn log_k_score<const GROUPS: usize>(groups: &[Totals; GROUPS], densities: &[f64; GROUPS], k: f64) -> At {
    let (mut first, mut second) = (0.0, 0.0);
    for (count, mean) in per_site(groups, densities) {
        let both = k + mean;
        first += digamma_difference(k, count) - libm::log1p(mean / k) + (mean - count) / both;
        second += trigamma_difference(k, count) + 1.0 / k - 2.0 / both + (k + count) / (both * both);
    }
    At { value: k * first, slope: k * k * second + k * first }
}

fn information<const GROUPS: usize>(groups: &[Totals; GROUPS], densities: &[f64; GROUPS], k: f64) -> [f64; GROUPS] {
    let mut information = [0.0; GROUPS];
    for (group, (density, sum)) in groups.iter().zip(densities.iter().zip(&mut information)) {
        *sum = group.iter().map(|(_, effort)| density * effort / (1.0 + density * effort / k)).sum();
    }
    information
}

/// ln of the probability of a count; counts between whole numbers by the gamma function.
fn log_probability(count: f64, mean: f64, k: f64) -> f64 {
    let of_count = if count == 0.0 { 0.0 } else { count * libm::log(mean / (k + mean)) };
    ln_gamma_difference(k, count) - libm::lgamma(count + 1.0) - k * libm::log1p(mean / k) + of_count
}

#[cfg(test)]
mod tests {
    use super::*;

    fn equal(counts: &[f64]) -> Totals<'_> {
        Totals::of_equal_effort(counts, 1.0).unwrap()
    }

    /// Slow twin: the likelihood itself, nowhere larger than at the fit.
    #[test]
    fn no_neighbour_is_likelier_also_with_unequal_efforts() {
        let (counts, efforts) = ([0.0, 3.0, 11.0, 2.0, 55.0, 1.0], [1.0, 2.0, 2.0, 0.5, 4.0, 1.0]);
        let totals = Totals::new(&counts, &efforts).unwrap();
        let fit = NegativeBinomial::one(totals).unwrap();
        let likelihood = |density: f64, k: f64| -> f64 {
            totals.iter().map(|(count, effort)| log_probability(count, density * effort, k)).sum()
        };
        let best = likelihood(fit.densities[0], fit.k);
        assert!((best - fit.log_likelihood).abs() < 1e-12);
        for (density, k) in [(1.001, 1.0), (0.999, 1.0), (1.0, 1.001), (1.0, 0.999), (1.001, 1.001), (0.999, 1.001)] {
            assert!(likelihood(fit.densities[0] * density, fit.k * k) < best, "{density} {k}");
        }
        assert!((fit.densities[0] - totals.rate()).abs() > 1e-3, "the rate depends on k here");
    }

    /// Units of effort are a matter of taste: k, the ratio and its error do not see them.
    #[test]
    fn the_unit_of_effort_does_not_matter() {
        let (a, b) = ([0.0, 3.0, 11.0, 2.0, 5.0], [1.0, 9.0, 0.0, 20.0, 7.0]);
        let fit = |effort| {
            NegativeBinomial::two(
                Totals::of_equal_effort(&a, effort).unwrap(),
                Totals::of_equal_effort(&b, effort).unwrap(),
            )
            .unwrap()
        };
        let (one, other) = (fit(1.0), fit(250.0));
        assert!((one.k / other.k - 1.0).abs() < 1e-10);
        let (one, other) = (one.log_ratio().unwrap(), other.log_ratio().unwrap());
        assert!((one.estimate() - other.estimate()).abs() < 1e-12 && (one.error() - other.error()).abs() < 1e-10);
        assert_eq!(one.df(), 8.0);
    }

    /// Equal efforts given one by one take the same road as one effort for all; nearly equal ones the other road.
    #[test]
    fn equal_and_nearly_equal_efforts_agree() {
        let counts = [0.0, 3.0, 11.0, 2.0, 5.0];
        let same = NegativeBinomial::one(equal(&counts)).unwrap();
        let nearly = NegativeBinomial::one(Totals::new(&counts, &[1.0, 1.0, 1.0, 1.0, 1.0 + 1e-9]).unwrap()).unwrap();
        assert!((same.k / nearly.k - 1.0).abs() < 1e-7 && (same.densities[0] / nearly.densities[0] - 1.0).abs() < 1e-7);
    }

    #[test]
    fn counts_no_more_spread_than_poisson_are_poisson() {
        let fit = NegativeBinomial::two(equal(&[3.0, 4.0, 5.0]), equal(&[8.0, 9.0])).unwrap();
        assert_eq!((fit.k, fit.alpha()), (f64::INFINITY, 0.0));
        let test = fit.log_ratio().unwrap();
        assert!((test.error() - (1.0 / 12.0 + 1.0 / 17.0_f64).sqrt()).abs() < 1e-14);
        assert!(fit.log_k_error.is_nan() && fit.log_likelihood.is_finite());
        // A little more than Poisson: a large k that is found, with nearly the same likelihood.
        let wide = [2.0, 6.0, 5.0, 1.0, 9.0, 4.0, 3.0, 2.0, 8.0, 3.0, 1.0, 7.0];
        let fit = NegativeBinomial::one(equal(&wide)).unwrap();
        assert!(1.0 < fit.k && fit.k < 1e4, "{}", fit.k);
    }

    #[test]
    fn no_answer_has_a_name() {
        assert_eq!(NegativeBinomial::one(equal(&[4.0])).unwrap_err(), Degenerate::TooFew);
        assert_eq!(NegativeBinomial::one(equal(&[0.0, 0.0])).unwrap_err(), Degenerate::AllZero);
        let two = |a, b| NegativeBinomial::two(equal(a), equal(b)).unwrap_err();
        assert_eq!(two(&[0.0, 0.0], &[0.0]), Degenerate::AllZero);
        assert_eq!(two(&[0.0, 0.0], &[1.0, 5.0]), Degenerate::ZeroInOneGroup);
        assert_eq!(two(&[1.0], &[5.0]), Degenerate::TooFew);
    }

    /// One rich site among empty ones, thousands of animals, hundredths of animals: an answer, finite throughout.
    #[test]
    fn extreme_counts_are_fitted() {
        for counts in [
            vec![0.0, 0.0, 0.0, 0.0, 5.0],
            vec![0.0, 0.0, 0.0, 0.0, 1e6],
            vec![1.0, 1e7, 3.0],
            vec![0.01, 0.0, 7.5, 0.3],
        ] {
            let fit = NegativeBinomial::one(equal(&counts)).unwrap();
            assert!(fit.k > 0.0 && fit.log_k_error > 0.0 && fit.log_likelihood.is_finite(), "{counts:?} {fit:?}");
        }
    }
}
