mod components;
mod coral;
mod curve;
mod design;
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
mod unit_moments;
mod zone;

pub use components::{component_change_sd, component_mean, component_moments, to_scale};
pub use coral::{CoralAsked, CoralCalibration, CoralError, CoralPairs, calibrate, site_pairs};
pub use curve::Curve;
pub use design::{DesignTheory, ZoneShare, has_change, listed_share, tail_of};
pub use disc_average::disc_averaged;
pub use discs::Discs;
pub use intensity::{Intensity, LogNormal, shared_intensity};
pub use quadrature::{Rule, root};
pub use shape::{Kernels, Shape};
pub use unit_moments::UnitMoments;
pub use zone::{ZoneTheory, coral_asked, same_marks, same_sites, states_of};
