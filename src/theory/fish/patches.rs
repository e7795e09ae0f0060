//! Fish of several groups in the same patches of coral.

use crate::reef::AnimalLaw;
use crate::theory::clusters::{ReadBy, mean_within};
use crate::theory::lattice::cell_kernel_of_two;
use crate::theory::pairs::PairOfUnits;
use crate::theory::placement::smeared;
use crate::theory::{Curve, Departure, LaidPairs};

/// How the densities of two groups go together for the patches of coral that both lie in: covariances relative to the product
/// of their means, averaged over units. Those of each group with itself are part of its own law.
pub struct SharedPatches {
    within: Curve,
    /// Of the first visit and the second, of places that are laid again at their marks.
    relaid: Curve,
    /// Of one unit, of two units of a site, and both across the visits.
    pub of_unit: f64,
    pub of_two: f64,
    pub of_unit_later: f64,
    pub of_two_later: f64,
}

impl SharedPatches {
    /// `None` where one of the groups is not in the patches of coral.
    pub fn of(one: &AnimalLaw, other: &AnimalLaw, read: &ReadBy) -> Option<Self> {
        let covariance = one.spec.ln_sd_of_coral()? * other.spec.ln_sd_of_coral()?;
        let (scale_m, cell_m) = (one.spec.patches?.scale_m, one.spec.patch_cell_m()?);
        let within = cell_kernel_of_two(covariance, scale_m, cell_m);
        let across = cell_kernel_of_two(covariance * one.field_memory, scale_m, cell_m);
        let relaid = smeared(&across, read.relay_sd_m);
        let pair = PairOfUnits::new(read.room(), read.unit);
        Some(Self {
            of_unit: mean_within(read.unit, |h| within.at(h)),
            of_two: pair.mean(|h| within.at(h)),
            of_unit_later: mean_within(read.unit, |h| relaid.at(h)),
            of_two_later: pair.mean(|h| across.at(h)),
            within,
            relaid,
        })
    }

    /// What a layout changes for two of its units.
    pub fn laid_within(&self, pairs: &LaidPairs) -> Departure {
        pairs.departure(&self.within, self.of_two)
    }

    /// The same of a unit of the first visit and another of the second, at the same marks.
    pub fn laid_across(&self, pairs: &LaidPairs) -> Departure {
        pairs.departure(&self.relaid, self.of_two_later)
    }
}
