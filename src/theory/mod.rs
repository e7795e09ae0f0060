mod coral;
mod curve;
mod disc_average;
mod discs;
mod intensity;
mod quadrature;
mod shape;

pub use coral::{CoralAsked, CoralCalibration, CoralError, CoralPairs, calibrate, site_pairs};
pub use curve::Curve;
pub use disc_average::disc_averaged;
pub use discs::Discs;
pub use intensity::{Intensity, LogNormal, shared_intensity};
pub use quadrature::{Rule, root};
pub use shape::{Kernels, Shape};
