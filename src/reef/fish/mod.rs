mod lengths;
mod movement;
mod schools;
mod sighting;
mod spec;
mod weight;

pub use lengths::FishLengths;
pub use movement::Movement;
pub use schools::SchoolLaw;
pub use sighting::Sighting;
pub use spec::FishSpec;
pub use weight::LengthWeight;
