use crate::analysis::beta_quantile;

/// `m E[1 / n | n > 0]` of a count n of mean m and variance V: how much more a mean over n colonies varies than one over m.
/// For a negative binomial count (a Poisson count where V is not above m); only the spread of n matters here, not how
/// often it is 0.
pub(super) fn inverse_count(mean: f64, variance: f64) -> f64 {
    let squared_cv = variance / (mean * mean);
    let k = aggregation(mean, variance);
    let ln_none = -minus_ln_none(mean, variance);
    if ln_none < -600.0 {
        // Many and even: the inverse of a gamma variable has the mean 1 / (m (1 - cv^2)).
        return 1.0 / (1.0 - squared_cv.min(0.5));
    }
    let none = libm::exp(ln_none);
    let (mut chance, mut sum, mut all, mut n) = (none, 0.0, none, 0.0);
    // To where nothing is left, or a count so large that the rest cannot matter.
    while all < 1.0 - 1e-12 && n < 1e6 {
        chance *= (n + k) / (n + 1.0) * mean / (mean + k);
        n += 1.0;
        all += chance;
        sum += chance / n;
        if n > mean && chance < 1e-16 {
            break;
        }
    }
    mean * sum / (1.0 - none)
}

/// k of a negative binomial count; large where the variance is not above the mean.
fn aggregation(mean: f64, variance: f64) -> f64 {
    if variance > mean * (1.0 + 1e-6) { mean * mean / (variance - mean) } else { 1e6 }
}

/// Minus the logarithm of the chance of a count of 0.
fn minus_ln_none(mean: f64, variance: f64) -> f64 {
    let k = aggregation(mean, variance);
    k * libm::log1p(mean / k)
}

/// A storm as it is felt by what is summed over an area of which a varying share is hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct HitShare {
    /// Mean and variance of the share.
    pub(super) mean: f64,
    pub(super) variance: f64,
    /// What a place that is hit has of the count, over what another has.
    pub(super) ratio: f64,
}

/// Levels of the share of an area that is hit.
const LEVELS: usize = 24;

/// An area of which a given share is hit.
pub(super) struct HitLevel {
    /// Share of its colonies that stand where it was hit.
    pub(super) colonies_hit: f64,
    /// `m E[1 / n | n > 0]`, as [`inverse_count`], with the m of all areas.
    pub(super) inverse: f64,
    /// The chance that it has any colony.
    pub(super) any: f64,
}

impl HitShare {
    /// Equally likely levels of the share, taken for a beta variable, where the count has this mean and variance over all
    /// areas. A storm makes two levels of a count, which no negative binomial has: given the share, the count is one with
    /// the relative variance that the storm leaves.
    pub(super) fn levels(&self, mean: f64, variance: f64) -> Vec<HitLevel> {
        // The count with a share x hit, over the mean count.
        let level = |x: f64| (1.0 - x + x * self.ratio) / (1.0 - self.mean + self.mean * self.ratio);
        let by_storm = self.variance * (level(1.0) - level(0.0)).powi(2);
        let rest = ((variance - mean) / (mean * mean) - by_storm).max(0.0);
        // Belts far smaller than the patches are hit whole or not at all.
        let concentration = (self.mean * (1.0 - self.mean) / self.variance - 1.0).clamp(0.01, 1e6);
        let quantile = |p: f64| beta_quantile(p, self.mean * concentration, (1.0 - self.mean) * concentration);
        let shares = (0..LEVELS).map(|i| quantile((i as f64 + 0.5) / LEVELS as f64));
        let of = |x: f64| {
            let count = mean * level(x);
            let variance = count + rest * count * count;
            (count > 0.0).then(|| HitLevel {
                colonies_hit: x * self.ratio / (1.0 - x + x * self.ratio),
                inverse: mean / count * inverse_count(count, variance),
                any: 1.0 - libm::exp(-minus_ln_none(count, variance)),
            })
        };
        shares.filter_map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_are_nearly_the_mean_and_few_are_one() {
        // Second order: 1 + V / m^2.
        for (mean, variance) in [(100.0, 100.0), (100.0, 300.0), (900.0, 9000.0)] {
            let second_order = 1.0 + variance / (mean * mean);
            let found = inverse_count(mean, variance);
            assert!((found / second_order - 1.0).abs() < 0.003, "{mean} {variance}: {found} {second_order}");
        }
        // Where hardly any belt has two colonies, n is 1 where there is any.
        assert!((inverse_count(0.001, 0.001) - 0.001).abs() < 1e-6);
        // Poisson of mean 2: sum of 2^n / (n! n) / (e^2 - 1), computed.
        let exact: f64 = (1..40)
            .fold((0.0, 1.0), |(sum, term), n| {
                let term = term * 2.0 / f64::from(n);
                (sum + term / f64::from(n), term)
            })
            .0
            / 2f64.exp_m1();
        assert!((inverse_count(2.0, 2.0) - 2.0 * exact).abs() < 1e-5);
    }

    /// Half of the areas are hit whole and keep a tenth: the mean of the two levels.
    #[test]
    fn a_storm_makes_two_levels() {
        let (low, high) = (20.0, 200.0);
        let mean = 0.5 * (low + high);
        let hit = HitShare { mean: 0.5, variance: 0.2499, ratio: 0.1 };
        let variance = mean + 0.25 * (high - low) * (high - low);
        let found = mean_inverse(&hit.levels(mean, variance));
        let exact = 0.5 * mean * (inverse_count(low, low) / low + inverse_count(high, high) / high);
        assert!((found / exact - 1.0).abs() < 0.01, "{found} {exact}");
        // A storm that leaves the same everywhere is none.
        let none = HitShare { mean: 0.3, variance: 0.1, ratio: 1.0 }.levels(50.0, 80.0);
        assert!((mean_inverse(&none) / inverse_count(50.0, 80.0) - 1.0).abs() < 1e-9);
        let hit_colonies: f64 = none.iter().map(|level| level.colonies_hit).sum::<f64>() / LEVELS as f64;
        assert!((hit_colonies - 0.3).abs() < 0.01, "{hit_colonies}");
    }

    fn mean_inverse(levels: &[HitLevel]) -> f64 {
        levels.iter().map(|level| level.inverse).sum::<f64>() / levels.len() as f64
    }

    #[test]
    fn large_and_even_counts_pass_into_the_formula() {
        let (below, above) = (inverse_count(590.0, 600.0), inverse_count(640.0, 650.0));
        assert!((below - above).abs() < 2e-4, "{below} {above}");
    }
}
