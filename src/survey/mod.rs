/// The coral belt: which colonies belong to it, what is written of them.
pub mod coral_belt;
mod method;

pub use method::{Components, Dimensions, MethodKind, MethodSpec, Scale, UnitMinutes, unit_of};
