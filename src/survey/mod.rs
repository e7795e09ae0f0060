/// The coral belt: which colonies belong to it, what is written of them.
pub mod coral_belt;
/// What is written of a fish.
pub mod fish_sheet;
mod method;
/// Where units lie on a site.
pub mod placement;
/// Counting what moves: which fish come into what a diver watches.
pub mod swim;
mod told_apart;

pub use method::{
    Components, Dimensions, Frame, GRID_SIDE, MethodKind, MethodSpec, Placed, Scale, UnitMinutes, cells_of_points,
    unit_of,
};
pub use placement::{Freely, Ground, Heading, LineLayout, Place, Placement};
pub use told_apart::{kind_and_how, method_name};
