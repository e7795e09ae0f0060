use crate::reef::ReefSpec;
use crate::theory::curve::Curve;
use crate::theory::disc_average::disc_averaged_once;
use crate::theory::shape::{Kernels, Shape};

/// Covariances by distance of the logarithms of density at centres and of intensity over points that patches and the
/// along-reef field bring, in one visit.
pub(super) struct Centres {
    /// Of the densities at two centres.
    both: Curve,
    /// Of the density at a centre and the intensity over a point.
    mixed: Curve,
}

impl Centres {
    pub(super) fn new(spec: &ReefSpec, kernels: &Kernels, shape: &Shape) -> Self {
        let reach = kernels.patch.reach();
        let kernel = |r: f64| if r >= reach { 0.0 } else { kernels.patch.at(r) };
        let mixed = disc_averaged_once(kernel, spec.patch.scale_m, reach, &shape.discs);
        Self {
            both: Curve::new(reach, 320, |h| libm::log1p(kernel(h))),
            mixed: Curve::new(mixed.reach(), 320, |h| libm::log1p(mixed.at(h))),
        }
    }

    pub(super) fn both(&self, shape: &Shape, distance: f64) -> f64 {
        within(&self.both, distance) + shape.along(distance)
    }

    pub(super) fn mixed(&self, shape: &Shape, distance: f64) -> f64 {
        within(&self.mixed, distance) + shape.along(distance)
    }
}

fn within(curve: &Curve, distance: f64) -> f64 {
    if distance >= curve.reach() { 0.0 } else { curve.at(distance) }
}
