//! One k for many groups of units, whatever their means.

use crate::analysis::degenerate::Degenerate;
use crate::analysis::gamma::{digamma_difference, trigamma_difference};
use crate::analysis::newton::{At, falling_root};

/// The k of negative binomial counts in groups (the belts of one site and visit), each group with a mean of its own.
///
/// Given the total of a group of equal units, its counts depend on k alone (they are Dirichlet-multinomial), so that the
/// means need not be estimated: likelihood that estimates one mean for every two or three belts makes k far too high (the
/// paired belts of `tests/pilot_counts.rs`: fourfold). Conditioning on totals for this is common practice; the formula was
/// derived here. Errors are those of independent clusters (sites): the sum of squared scores over the squared curvature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConditionalK {
    /// Infinite where counts vary no more than Poisson.
    pub k: f64,
    /// One standard error of ln k; NaN where k is infinite.
    pub log_k_error: f64,
}

/// The range of ln k that is searched.
const LOG_K: [f64; 2] = [-12.0, 14.0];

/// `clusters[site][group][unit]`; groups of one unit or without any animal tell nothing.
///
/// # Errors
/// Where no group tells anything, or where no group has animals in more than one unit (k is then as small as can be).
pub fn conditional_k(clusters: &[Vec<Vec<f64>>]) -> Result<ConditionalK, Degenerate> {
    let telling: Vec<Vec<Group>> = clusters
        .iter()
        .map(|groups| groups.iter().filter_map(|counts| Group::of(counts)).collect())
        .filter(|groups: &Vec<Group>| !groups.is_empty())
        .collect();
    if telling.is_empty() {
        return Err(Degenerate::AllZero);
    }
    let score = |groups: &[Group], log_k: f64| {
        let k = libm::exp(log_k);
        groups.iter().fold(At { value: 0.0, slope: 0.0 }, |sum, group| {
            let own = group.log_k_score(k);
            At { value: sum.value + own.value, slope: sum.slope + own.slope }
        })
    };
    let all = |log_k: f64| {
        telling.iter().fold(At { value: 0.0, slope: 0.0 }, |sum, groups| {
            let own = score(groups, log_k);
            At { value: sum.value + own.value, slope: sum.slope + own.slope }
        })
    };
    let excess: f64 = telling.iter().flatten().map(Group::excess).sum();
    if excess <= 0.0 || all(LOG_K[1]).value >= 0.0 {
        return Ok(ConditionalK { k: f64::INFINITY, log_k_error: f64::NAN });
    }
    let log_k = falling_root(LOG_K[0], LOG_K[1], 0.0, all).filter(|log_k| LOG_K[0] + 1.0 < *log_k);
    let log_k = log_k.ok_or(Degenerate::NotConverged)?;
    let curvature = -all(log_k).slope;
    if !(curvature > 0.0) {
        return Err(Degenerate::NotConverged);
    }
    let squares: f64 = telling.iter().map(|groups| score(groups, log_k).value).map(|value| value * value).sum();
    // Few clusters: never less than if the law were right.
    let log_k_error = (squares.sqrt() / curvature).max(1.0 / curvature.sqrt());
    Ok(ConditionalK { k: libm::exp(log_k), log_k_error })
}

/// The counts of one group that has two units or more and an animal.
struct Group<'a> {
    counts: &'a [f64],
    total: f64,
}

impl<'a> Group<'a> {
    fn of(counts: &'a [f64]) -> Option<Self> {
        let total: f64 = counts.iter().sum();
        (counts.len() >= 2 && total > 0.0).then_some(Self { counts, total })
    }

    /// Slope and curvature of the log likelihood on ln k.
    fn log_k_score(&self, k: f64) -> At {
        let units = self.counts.len() as f64;
        let found = self.counts.iter().filter(|count| **count > 0.0);
        let (first, second) = found.fold((0.0, 0.0), |(first, second), &count| {
            (first + digamma_difference(k, count), second + trigamma_difference(k, count))
        });
        let first = first - units * digamma_difference(units * k, self.total);
        let second = second - units * units * trigamma_difference(units * k, self.total);
        At { value: k * first, slope: k * first + k * k * second }
    }

    /// Pairs of animals in one unit beyond those that chance puts there: the sign tells whether k is finite.
    fn excess(&self) -> f64 {
        let pairs: f64 = self.counts.iter().map(|count| count * (count - 1.0)).sum();
        pairs - self.total * (self.total - 1.0) / self.counts.len() as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Moments;
    use crate::analysis::gamma::ln_gamma_difference;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Gamma, Poisson};

    /// Log likelihood given the totals, straight from its definition.
    fn likelihood(clusters: &[Vec<Vec<f64>>], k: f64) -> f64 {
        let of = |counts: &Vec<f64>| {
            let (units, total) = (counts.len() as f64, counts.iter().sum::<f64>());
            counts.iter().map(|&count| ln_gamma_difference(k, count)).sum::<f64>()
                - ln_gamma_difference(units * k, total)
        };
        clusters.iter().flatten().map(of).sum()
    }

    fn drawn(random: &mut ChaCha8Rng, k: f64, units: usize, sites: usize) -> Vec<Vec<Vec<f64>>> {
        let patch = Gamma::new(k, 1.0 / k).unwrap();
        let mut count = |mean: f64| {
            let mean: f64 = mean * patch.sample(random);
            if mean > 1e-12 { Poisson::new(mean).unwrap().sample(random) } else { 0.0 }
        };
        // Means from 0.3 to 20.
        let means = (0..sites).map(|site| 0.3 * libm::pow(70.0, site as f64 / sites as f64));
        means.map(|mean| vec![(0..units).map(|_| count(mean)).collect()]).collect()
    }

    #[test]
    fn it_is_the_top_of_the_likelihood() {
        let clusters = drawn(&mut ChaCha8Rng::seed_from_u64(1), 0.5, 5, 40);
        let found = conditional_k(&clusters).unwrap();
        let top = likelihood(&clusters, found.k);
        assert!(top > likelihood(&clusters, 1.01 * found.k) && top > likelihood(&clusters, 0.99 * found.k));
    }

    #[test]
    fn pairs_of_belts_give_back_the_k_they_were_drawn_with() {
        let mut random = ChaCha8Rng::seed_from_u64(2);
        for k in [0.4, 3.0] {
            let (mut found, mut held) = (Moments::default(), 0);
            for _ in 0..200 {
                let fit = conditional_k(&drawn(&mut random, k, 2, 150)).unwrap();
                found.push(libm::log(fit.k));
                held += u32::from((libm::log(fit.k / k)).abs() < 1.96 * fit.log_k_error);
            }
            // The skew of ln k for 150 pairs leaves a bias of a few hundredths.
            assert!((found.mean() - libm::log(k)).abs() < 4.0 * found.mean_measured().error + 0.04, "{k} {found:?}");
            assert!((183..=200).contains(&held), "{k}: {held} of 200 intervals of 95 % hold it");
        }
    }

    #[test]
    fn what_varies_no_more_than_poisson_has_no_k_and_nothing_is_refused() {
        let even = vec![vec![vec![3.0, 3.0, 4.0]], vec![vec![1.0, 2.0]]];
        assert_eq!(conditional_k(&even).unwrap().k, f64::INFINITY);
        assert_eq!(conditional_k(&[vec![vec![0.0, 0.0]], vec![vec![5.0]]]), Err(Degenerate::AllZero));
        assert_eq!(conditional_k(&[vec![vec![0.0, 9.0]], vec![vec![7.0, 0.0]]]), Err(Degenerate::NotConverged));
    }
}
