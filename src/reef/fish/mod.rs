mod lengths;
mod movement;
mod schools;
mod sighting;
mod spec;
mod trophic;
mod weight;

pub use lengths::{FishLengths, WeightMoments};
pub use movement::Movement;
pub use schools::{LARGEST_SCHOOL, SchoolLaw, SchoolSizes};
pub use sighting::Sighting;
pub use spec::FishSpec;
pub use trophic::{TROPHIC_GROUPS, TrophicGroup};
pub use weight::{EXPONENT, LengthWeight, OddWeight, WEIGHT_AT_20_CM_G};
