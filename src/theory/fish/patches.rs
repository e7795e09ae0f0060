//! Fish of several groups in the same patches of coral.

use crate::reef::AnimalLaw;
use crate::theory::clusters::{ReadBy, mean_within};
use crate::theory::lattice::cell_kernel_of_two;
use crate::theory::pairs::PairOfUnits;
use crate::theory::placement::smeared;
use crate::theory::{Curve, Departure, LaidPairs};

/// Covariance of the densities of two groups for the patches of coral that both lie in, relative to the product of their means,
/// by distance. That of each group with itself is part of its own law.
#[derive(Clone, Debug)]
pub struct PatchKernels {
    within: Curve,
    /// Of the first visit and the second.
    across: Curve,
    /// The same of places that are laid again at their marks.
    relaid: Curve,
}

impl PatchKernels {
    /// `None` where one of the groups is not in the patches of coral.
    pub fn of(one: &AnimalLaw, other: &AnimalLaw, relay_sd_m: f64) -> Option<Self> {
        let covariance = one.spec.ln_sd_of_coral()? * other.spec.ln_sd_of_coral()?;
        let (scale_m, cell_m) = (one.spec.patches?.scale_m, one.spec.patch_cell_m()?);
        let within = cell_kernel_of_two(covariance, scale_m, cell_m);
        let across = cell_kernel_of_two(covariance * one.field_memory, scale_m, cell_m);
        Some(Self { within, relaid: smeared(&across, relay_sd_m), across })
    }
}

/// The same averaged over units.
pub struct SharedPatches<'a> {
    kernels: &'a PatchKernels,
    /// Of one unit, of two units of a site, and both across the visits.
    pub of_unit: f64,
    pub of_two: f64,
    pub of_unit_later: f64,
    pub of_two_later: f64,
}

impl<'a> SharedPatches<'a> {
    pub fn new(kernels: &'a PatchKernels, read: &ReadBy) -> Self {
        let pair = PairOfUnits::new(read.room(), read.unit);
        Self {
            of_unit: mean_within(read.unit, |h| kernels.within.at(h)),
            of_two: pair.mean(|h| kernels.within.at(h)),
            of_unit_later: mean_within(read.unit, |h| kernels.relaid.at(h)),
            of_two_later: pair.mean(|h| kernels.across.at(h)),
            kernels,
        }
    }

    /// What a layout changes for two of its units.
    pub fn laid_within(&self, pairs: &LaidPairs) -> Departure {
        pairs.departure(&self.kernels.within, self.of_two)
    }

    /// The same of a unit of the first visit and another of the second, at the same marks.
    pub fn laid_across(&self, pairs: &LaidPairs) -> Departure {
        pairs.departure(&self.kernels.relaid, self.of_two_later)
    }
}
