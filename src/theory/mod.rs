mod curve;
mod quadrature;

pub use curve::Curve;
pub use quadrature::{Rule, root};
