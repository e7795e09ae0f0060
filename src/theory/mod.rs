/// Discs without modulated density: an oracle for tests.
pub mod boolean;
/// From stated covers and spreads to the tree of categories.
pub mod bottom;
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
/// Two points on the whole bottom.
pub mod tree;

pub use curve::Curve;
pub use quadrature::{Rule, root};
