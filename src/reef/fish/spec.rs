use super::{FishLengths, LengthWeight, Movement, SchoolLaw, Sighting};
use crate::reef::AnimalSpec;
use serde::Serialize;

/// One group or species of fish in one zone, as a scenario tells it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FishSpec {
    /// How dense they are where: mean density of fish, patches, sites and years, as for animals that live alone; schools
    /// come on top.
    pub places: AnimalSpec,
    pub schools: SchoolLaw,
    /// SD along each axis of the distance of a fish from the middle of its school, m.
    pub spread_m: f64,
    pub lengths: FishLengths,
    pub weight: LengthWeight,
    pub movement: Movement,
    pub sighting: Sighting,
}
