mod method;
/// Where units lie on a site.
pub mod placement;

pub use method::{Components, Dimensions, MethodKind, MethodSpec, Scale, UnitMinutes, unit_of};
pub use placement::{Freely, Ground, Heading, LineLayout, Place, Placement};
