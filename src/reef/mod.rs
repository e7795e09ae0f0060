mod named;
mod spec;

pub use named::NamedReef;
pub use spec::{Category, Patchiness, ReefSpec, SMALLEST_DIAMETER_M, SizeLaw};
