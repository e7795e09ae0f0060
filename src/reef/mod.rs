mod coral_law;
mod named;
mod spec;

pub use coral_law::{CoralLaw, CoralState};
pub use named::NamedReef;
pub use spec::{Category, Patchiness, ReefSpec, SMALLEST_DIAMETER_M, SizeLaw};
