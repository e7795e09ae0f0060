mod coral;
mod curve;
mod disc_average;
mod discs;
mod intensity;
/// What the hashed lattice field implies.
pub mod lattice;
/// What two units of one site share.
pub mod pairs;
/// From a covariance to the variance of a line, strip or site.
pub mod placement;
mod quadrature;
mod shape;
/// Correlations in closed form, for checks.
pub mod smooth;

pub use coral::{CoralAsked, CoralCalibration, CoralError, CoralPairs, calibrate, site_pairs};
pub use curve::Curve;
pub use disc_average::disc_averaged;
pub use discs::Discs;
pub use intensity::{Intensity, LogNormal, shared_intensity};
pub use quadrature::{Rule, root};
pub use shape::{Kernels, Shape};
