//! The distribution function of the sizes that belts write, at several sizes at once.

use super::moments::ColonyTheory;
use crate::analysis::ColonyIndicator;
use crate::survey::coral_belt::CoralBelt;
use crate::theory::UnitMoments;

/// Moments of the shares of a belt's colonies below several sizes, and between every two of them: from their variances follow
/// all covariances of the distribution function, `2 Cov(F, G) = Var F + Var G - Var(G - F)`.
#[derive(Clone, Debug)]
pub struct SizeDistribution {
    /// In the order of the sizes.
    pub below: Vec<UnitMoments>,
    /// `between[i][j - i - 1]` of the sizes i and j > i.
    pub between: Vec<Vec<UnitMoments>>,
}

impl SizeDistribution {
    /// At these sizes, m, which rise.
    pub(crate) fn new(sizes_m: &[f64], of: impl Fn(f64, f64) -> UnitMoments) -> Self {
        let between = |i: usize| sizes_m[i + 1..].iter().map(|&to_m| of(sizes_m[i], to_m)).collect();
        Self {
            below: sizes_m.iter().map(|&to_m| of(0.0, to_m)).collect(),
            between: (0..sizes_m.len()).map(between).collect(),
        }
    }
}

impl ColonyTheory {
    /// Of so many limits between classes of size (m) those that part the colonies written at the first visit most evenly.
    pub(crate) fn even_sizes(&self, belt: &CoralBelt, size: (f64, f64), limits_m: &[f64], number: usize) -> Vec<f64> {
        let sizes = self.sizes(belt, size, &[]);
        let written = self.sizes_there(&sizes[0], 0, None);
        let below: Vec<f64> = limits_m.iter().map(|limit| written.mean(|d| f64::from(u8::from(d < *limit)))).collect();
        let nearest = |k: usize| {
            let wanted = (k as f64 + 1.0) / (number as f64 + 1.0);
            let apart = |at: &usize| (below[*at] - wanted).abs();
            (0..limits_m.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)))
        };
        let mut chosen: Vec<usize> = (0..number).filter_map(nearest).collect();
        chosen.dedup();
        chosen.into_iter().filter(|&at| 0.0 < below[at] && below[at] < 1.0).map(|at| limits_m[at]).collect()
    }

    /// The distribution of sizes that a belt of `size` (length, width) writes, at these sizes (m).
    pub(crate) fn distribution(&self, belt: &CoralBelt, size: (f64, f64), sizes_m: &[f64]) -> SizeDistribution {
        let class = |from_m, to_m| ColonyIndicator::ClassShare { from_m, to_m };
        let means = self.means(belt, size, class(0.0, f64::INFINITY));
        SizeDistribution::new(sizes_m, |from_m, to_m| means.of(class(from_m, to_m)))
    }
}
