//! The beta-binomial by maximum likelihood: a share per group, one correlation for all.

use super::shares::{Marked, Shares, logit};
use crate::analysis::degenerate::Degenerate;
use crate::analysis::estimate::{Part, TTest};
use crate::analysis::newton::{At, falling_root};

/// Shares whose true value varies from replicate to replicate by a beta distribution.
///
/// `rho` is the correlation of two things of one replicate, `1 / (a + b + 1)` of the beta's parameters. With
/// `theta = rho / (1 - rho)` the probability of y of n is proportional to
/// `prod_{r<y} (p + r theta) prod_{r<n-y} (1 - p + r theta) / prod_{r<n} (1 + r theta)` (Skellam 1948, Journal of the Royal
/// Statistical Society B 10:257; Crowder 1978, Applied Statistics 27:34; from memory), which keeps its digits down to the
/// binomial at theta = 0. Counts must be whole. An oracle of tests: no study asks for it.
#[derive(Clone, Debug)]
pub struct BetaBinomial {
    pub shares: Vec<f64>,
    /// 0 where the binomial fits.
    pub rho: f64,
    /// With the binomial coefficients.
    pub log_likelihood: f64,
    information: Information,
    df: f64,
}

impl BetaBinomial {
    pub fn fit(shares: &Shares) -> Result<Self, Degenerate> {
        shares.logits_exist()?;
        let groups = shares.groups();
        if groups.iter().flatten().any(|replicate| replicate.marked.fract() != 0.0 || replicate.of.fract() != 0.0) {
            return Err(Degenerate::BadValue);
        }
        let theta = best_theta(groups).ok_or(Degenerate::NotConverged)?;
        let best = best_shares(groups, theta).ok_or(Degenerate::NotConverged)?;
        let information = Information::of(groups, &best, theta);
        let per_group = groups.iter().zip(&best);
        let log_likelihood = per_group
            .flat_map(|(group, &share)| group.iter().map(move |replicate| log_probability(replicate, share, theta)))
            .sum();
        Ok(Self { shares: best, rho: theta / (1.0 + theta), log_likelihood, information, df: shares.df() })
    }

    /// The logits of the shares, in the order of the groups.
    pub fn logits(&self) -> Vec<f64> {
        self.shares.iter().map(|&share| logit(share)).collect()
    }

    /// `logit(share of second) - logit(share of first)`, by the numbers of two groups, with Wald's error from the observed
    /// information (the correlation's uncertainty included) and t on replicates less groups.
    pub fn logit_difference(&self, first: usize, second: usize) -> Result<TTest, Degenerate> {
        let slope = |group: usize| 1.0 / (self.shares[group] * (1.0 - self.shares[group]));
        let logits = self.logits();
        let variance = slope(first) * slope(first) * self.information.covariance(first, first)
            + slope(second) * slope(second) * self.information.covariance(second, second)
            - 2.0 * slope(first) * slope(second) * self.information.covariance(first, second);
        let part = Part { variance, df: self.df };
        TTest::new(logits[second] - logits[first], part).ok_or(Degenerate::NotConverged)
    }
}

/// Derivatives of the log likelihood of one replicate, with p the share.
#[derive(Clone, Copy, Debug, Default)]
struct Slopes {
    p: f64,
    theta: f64,
    p_p: f64,
    p_theta: f64,
    theta_theta: f64,
}

impl Slopes {
    fn add(&mut self, replicate: &Marked, share: f64, theta: f64) {
        let (marked, of) = (replicate.marked as u64, replicate.of as u64);
        for r in 0..marked {
            let r = r as f64;
            let term = 1.0 / (share + r * theta);
            self.p += term;
            self.theta += r * term;
            self.p_p -= term * term;
            self.p_theta -= r * term * term;
            self.theta_theta -= r * r * term * term;
        }
        for r in 0..of - marked {
            let r = r as f64;
            let term = 1.0 / (1.0 - share + r * theta);
            self.p -= term;
            self.theta += r * term;
            self.p_p -= term * term;
            self.p_theta += r * term * term;
            self.theta_theta -= r * r * term * term;
        }
        for r in 0..of {
            let r = r as f64;
            let term = 1.0 / (1.0 + r * theta);
            self.theta -= r * term;
            self.theta_theta += r * r * term * term;
        }
    }

    fn of_group(group: &[Marked], share: f64, theta: f64) -> Self {
        let mut slopes = Self::default();
        for replicate in group {
            slopes.add(replicate, share, theta);
        }
        slopes
    }
}

/// The likelihood is concave in a share, so there is one best; searched between the ends, which have no finite value.
fn best_share(group: &[Marked], theta: f64) -> Option<f64> {
    let (marked, of) = group.iter().fold((0.0, 0.0), |(marked, of), r| (marked + r.marked, of + r.of));
    falling_root(0.0, 1.0, marked / of, |share| {
        let slopes = Slopes::of_group(group, share, theta);
        At { value: slopes.p, slope: slopes.p_p }
    })
}

fn best_shares(groups: &[Vec<Marked>], theta: f64) -> Option<Vec<f64>> {
    groups.iter().map(|group| best_share(group, theta)).collect()
}

/// The theta at which the likelihood with the best shares is largest; 0 where it falls from there on.
fn best_theta(groups: &[Vec<Marked>]) -> Option<f64> {
    let profile = |theta: f64| {
        let shares = best_shares(groups, theta)?;
        let information = Information::of(groups, &shares, theta);
        let value = groups.iter().zip(&shares).map(|(group, &p)| Slopes::of_group(group, p, theta).theta).sum();
        Some(At { value, slope: -information.theta_alone })
    };
    if profile(0.0)?.value <= 0.0 {
        return Some(0.0);
    }
    const HIGHEST: f64 = 1e4;
    if profile(HIGHEST)?.value > 0.0 {
        return None;
    }
    // On ln theta, so that very small and very large values are found with equal ease.
    let root = falling_root(libm::log(1e-12), libm::log(HIGHEST), libm::log(0.05), |log_theta| {
        let theta = libm::exp(log_theta);
        profile(theta).map_or(At { value: f64::NAN, slope: f64::NAN }, |At { value, slope }| At {
            value: value * theta,
            slope: slope * theta * theta + value * theta,
        })
    })?;
    Some(libm::exp(root))
}

/// The observed information of (shares, theta): shares of different groups do not meet, so that it is inverted by hand.
#[derive(Clone, Debug)]
struct Information {
    per_share: Vec<f64>,
    share_theta: Vec<f64>,
    /// What is known of theta once the shares are fitted.
    theta_alone: f64,
    /// At theta = 0 the binomial is what was fitted, and theta has no uncertainty of its own.
    at_boundary: bool,
}

impl Information {
    fn of(groups: &[Vec<Marked>], shares: &[f64], theta: f64) -> Self {
        let slopes: Vec<Slopes> =
            groups.iter().zip(shares).map(|(group, &share)| Slopes::of_group(group, share, theta)).collect();
        let per_share: Vec<f64> = slopes.iter().map(|s| -s.p_p).collect();
        let share_theta: Vec<f64> = slopes.iter().map(|s| -s.p_theta).collect();
        let shared: f64 = per_share.iter().zip(&share_theta).map(|(a, c)| c * c / a).sum();
        let theta_alone = -slopes.iter().map(|s| s.theta_theta).sum::<f64>() - shared;
        Self { per_share, share_theta, theta_alone, at_boundary: theta == 0.0 }
    }

    fn covariance(&self, first: usize, second: usize) -> f64 {
        let own = if first == second { 1.0 / self.per_share[first] } else { 0.0 };
        if self.at_boundary {
            return own;
        }
        let reach = |group: usize| self.share_theta[group] / self.per_share[group];
        own + reach(first) * reach(second) / self.theta_alone
    }
}

fn log_probability(replicate: &Marked, share: f64, theta: f64) -> f64 {
    let Marked { marked, of } = *replicate;
    let rising = |from: f64, terms: f64| -> f64 { (0..terms as u64).map(|r| libm::log(from + r as f64 * theta)).sum() };
    let ways = libm::lgamma(of + 1.0) - libm::lgamma(marked + 1.0) - libm::lgamma(of - marked + 1.0);
    ways + rising(share, marked) + rising(1.0 - share, of - marked) - rising(1.0, of)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn group(pairs: &[(f64, f64)]) -> Vec<Marked> {
        pairs.iter().map(|&(marked, of)| Marked::new(marked, of).unwrap()).collect()
    }

    #[test]
    fn probabilities_of_all_counts_add_up_to_one() {
        for theta in [0.0, 0.01, 1.0, 30.0] {
            let sum: f64 = (0..=12)
                .map(|marked| {
                    let replicate = Marked { marked: marked as f64, of: 12.0 };
                    libm::exp(log_probability(&replicate, 0.3, theta))
                })
                .sum();
            assert!((sum - 1.0).abs() < 1e-13, "{theta}: {sum}");
        }
    }

    /// Slow twin: the likelihood itself, nowhere larger than at the fit.
    #[test]
    fn no_neighbour_is_likelier() {
        let data = [group(&[(1.0, 9.0), (7.0, 12.0), (3.0, 30.0)]), group(&[(9.0, 10.0), (2.0, 9.0), (11.0, 17.0)])];
        let fit = BetaBinomial::fit(&Shares::new(&[&data[0], &data[1]]).unwrap()).unwrap();
        let theta = fit.rho / (1.0 - fit.rho);
        let likelihood = |shift: [f64; 2], factor: f64| -> f64 {
            (0..2)
                .flat_map(|g| data[g].iter().map(move |replicate| (g, replicate)))
                .map(|(g, replicate)| log_probability(replicate, fit.shares[g] + shift[g], theta * factor))
                .sum()
        };
        let best = likelihood([0.0, 0.0], 1.0);
        assert!((best - fit.log_likelihood).abs() < 1e-12);
        for (shift, factor) in [
            ([1e-3, 0.0], 1.0),
            ([-1e-3, 0.0], 1.0),
            ([0.0, 1e-3], 1.0),
            ([0.0, -1e-3], 1.0),
            ([0.0, 0.0], 1.01),
            ([0.0, 0.0], 0.99),
        ] {
            assert!(likelihood(shift, factor) < best, "{shift:?} {factor}");
        }
    }

    /// Without extra variation the fit is the binomial, with its own errors.
    #[test]
    fn a_binomial_stays_one() {
        let (a, b) = (group(&[(5.0, 10.0), (10.0, 20.0)]), group(&[(2.0, 8.0), (1.0, 4.0)]));
        let shares = Shares::new(&[&a, &b]).unwrap();
        let fit = BetaBinomial::fit(&shares).unwrap();
        assert_eq!(fit.rho, 0.0);
        let (own, williams) = (fit.logit_difference(0, 1).unwrap(), shares.williams().unwrap());
        let williams = williams.logit_difference(0, 1).unwrap();
        assert!((own.estimate() - williams.estimate()).abs() < 1e-10);
        assert!((own.error() - williams.error()).abs() < 1e-10);
    }

    #[test]
    fn all_or_nothing_in_every_replicate_has_no_largest_likelihood() {
        let (a, b) = (group(&[(9.0, 9.0), (0.0, 8.0)]), group(&[(7.0, 7.0), (0.0, 9.0)]));
        assert_eq!(BetaBinomial::fit(&Shares::new(&[&a, &b]).unwrap()).unwrap_err(), Degenerate::NotConverged);
        let part = group(&[(1.5, 9.0), (2.0, 8.0)]);
        assert_eq!(BetaBinomial::fit(&Shares::new(&[&part]).unwrap()).unwrap_err(), Degenerate::BadValue);
    }
}
