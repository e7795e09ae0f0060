//! Where the units of a site lie: one rule gives the places of all of them from the key of the site. The engine lays its
//! tapes by it, and theory takes from it how two units of a site lie to each other.

mod ground;
mod least_gap;
mod rule;

pub use ground::{Freely, Ground, Place};
pub use rule::{Heading, LineLayout, Placement};
