mod curve;
/// What the hashed lattice field implies.
pub mod lattice;
/// What two units of one site share.
pub mod pairs;
/// From a covariance to the variance of a line, strip or site.
pub mod placement;
mod quadrature;
/// Correlations in closed form, for checks.
pub mod smooth;
/// Covers made by a threshold in a Gaussian field.
pub mod threshold;

pub use curve::Curve;
pub use quadrature::{Rule, root};
