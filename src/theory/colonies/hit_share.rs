use crate::analysis::beta_quantile;
use crate::theory::inverse_count::{inverse_count, minus_ln_none};

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
}
