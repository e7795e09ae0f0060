use super::curve::Curve;
use super::disc_average::disc_averaged;
use super::discs::Discs;
use super::intensity::Intensity;
use super::lattice::{cell_kernel, lattice_kernel};
use crate::reef::ReefSpec;

/// What a [`ReefSpec`] implies whatever the cover: disc overlaps, and how ln intensity over two points is correlated
/// through patches and along-reef field.
#[derive(Clone, Debug)]
pub struct Shape {
    pub discs: Discs,
    pub intensity: Intensity,
    patch: Curve,
    along: Curve,
}

/// The second-moment kernels `E[Lambda Lambda'] / E[Lambda]^2 - 1` of the two fields, nil beyond their reach.
pub struct Kernels {
    pub patch: Curve,
    pub along: Curve,
}

impl Shape {
    /// From the kernels of the fields (of the engine's cells, or smooth ones for checks against printed values).
    pub fn new(spec: &ReefSpec, kernels: &Kernels) -> Self {
        let discs = Discs::new(&spec.sizes);
        let patch_reach = kernels.patch.reach();
        let averaged = disc_averaged(
            |r| if r >= patch_reach { 0.0 } else { kernels.patch.at(r) },
            spec.patch.scale_m,
            patch_reach,
            &discs,
        );
        let patch = Curve::new(averaged.reach(), 320, |h| libm::log1p(averaged.at(h)));
        let along = Curve::new(kernels.along.reach(), 320, |h| libm::log1p(kernels.along.at(h)));
        Self { discs, intensity: Intensity::default(), patch, along }
    }

    /// The same reef without the average over the colonies' own size, as if colonies were points against the patches:
    /// for checks against printed values only.
    pub fn without_disc_average(spec: &ReefSpec, kernels: &Kernels) -> Self {
        let patch = Curve::new(kernels.patch.reach(), 320, |h| libm::log1p(kernels.patch.at(h)));
        let along = Curve::new(kernels.along.reach(), 320, |h| libm::log1p(kernels.along.at(h)));
        Self { discs: Discs::new(&spec.sizes), intensity: Intensity::default(), patch, along }
    }

    /// Covariance of ln intensity over two points of one visit that patches bring.
    pub fn patch(&self, distance: f64) -> f64 {
        if distance >= self.patch.reach() { 0.0 } else { self.patch.at(distance) }
    }

    /// The same for the along-reef field.
    pub fn along(&self, distance: f64) -> f64 {
        if distance >= self.along.reach() { 0.0 } else { self.along.at(distance) }
    }
}

impl Kernels {
    /// The kernels of the fields as the engine reads them, at the centres of square cells.
    pub fn of_cells(spec: &ReefSpec) -> Self {
        Self {
            patch: cell_kernel(spec.patch.sd, spec.patch.scale_m, spec.patch_cell_m()),
            along: cell_kernel(spec.along.sd, spec.along.scale_m, spec.along_cell_m()),
        }
    }

    /// The kernels of the same fields without cells, for checks against printed values.
    pub fn smooth(spec: &ReefSpec) -> Self {
        Self {
            patch: lattice_kernel(spec.patch.sd, spec.patch.scale_m),
            along: lattice_kernel(spec.along.sd, spec.along.scale_m),
        }
    }
}
