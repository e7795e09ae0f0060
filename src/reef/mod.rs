mod bottom;
mod lattice;
mod named;
mod spec;

pub use bottom::{Bottom, BottomSite, Stage, When, threshold_of, threshold_on_site};
pub use lattice::{Frame, LatticeField, OCTAVES, octave_shares, spline_weights};
pub use named::NamedReef;
pub use spec::{Category, Patchiness, ReefSpec, SMALLEST_DIAMETER_M, SizeLaw};
