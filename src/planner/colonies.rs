//! How many colonies a diver writes down on one coral belt: rows of a sheet, seconds for each.

use crate::analysis::{ColonyIndicator, negative_binomial_quantile, poisson_quantile};
use crate::engine::Plan;
use crate::survey::{Dimensions, MethodKind};
use serde::Serialize;

/// Colonies on one belt in the zone that has most of them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColoniesOnBelt {
    pub zone: String,
    pub mean: f64,
    /// No more than so many on 95 in 100 belts, if counts are negative binomial.
    pub high: usize,
}

/// The share of belts on which a sheet shall be long enough: 19 of 20, a choice.
pub const BELTS_BELOW: f64 = 0.95;

/// By formula, at the first visit: mean and variance of a belt over all sites. `None` for what is no coral belt, and where every
/// zone is a map or has no colonies.
pub fn colonies_on_belt(plan: &Plan, kind: &MethodKind, dimensions: Dimensions) -> Option<ColoniesOnBelt> {
    let MethodKind::CoralBelt { belt, .. } = kind else { return None };
    let area = dimensions.searched_m2()?;
    let of_zone = |(zone, theory): (&crate::design::Zone, &crate::theory::ReefTheory)| {
        let moments = theory.law()?.colony_moments(&plan.study, (belt, dimensions), ColonyIndicator::Density);
        let (mean, variance) = (moments.mean[0] * area, moments.variance[0] * area * area);
        (mean > 0.0).then(|| ColoniesOnBelt {
            zone: zone.name.clone(),
            mean,
            high: high_count(mean, variance) as usize,
        })
    };
    let zones = plan.study.zones.iter().zip(&plan.theories).filter_map(of_zone);
    zones.max_by(|one, other| one.mean.total_cmp(&other.mean))
}

/// The quantile of a negative binomial with this mean and variance.
fn high_count(mean: f64, variance: f64) -> f64 {
    let size = mean * mean / (variance - mean);
    if size > 0.0 && size < 1e6 {
        negative_binomial_quantile(BELTS_BELOW, size, size / (size + mean))
    } else {
        poisson_quantile(BELTS_BELOW, mean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::negative_binomial_cdf;

    #[test]
    fn a_sheet_is_long_enough_on_nineteen_belts_of_twenty() {
        for (mean, variance) in [(20.0, 20.0), (20.0, 90.0), (3.0, 12.0), (150.0, 9000.0)] {
            let high = high_count(mean, variance);
            let size = mean * mean / (variance - mean).max(1e-9);
            let below = |count: f64| negative_binomial_cdf(count, size, size / (size + mean));
            assert!(below(high) >= BELTS_BELOW - 1e-6 && below(high - 1.0) < BELTS_BELOW + 1e-6, "{mean} {high}");
        }
        assert!(high_count(20.0, 90.0) > high_count(20.0, 20.0));
    }
}
