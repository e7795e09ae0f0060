use crate::survey::Dimensions;
use serde::Serialize;

/// A virtual site seen from above, for the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReefPicture {
    pub zone: String,
    pub length_m: f64,
    pub width_m: f64,
    /// What came of it since the first visit, where it is seen at the second.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub second: Option<SecondVisit>,
    /// Hard corals of the visit, drawn in this order: those of higher rank over the others.
    pub colonies: Vec<PictureColony>,
    /// The rest of the bottom on a grid of `grid_m` cells, row by row from y = 0: index into `categories`; one past them
    /// is what no category names.
    pub grid_m: f64,
    pub grid_columns: usize,
    pub grid: Vec<u8>,
    pub categories: Vec<String>,
    /// Of each category the colour of the map's own legend, red, green, blue; empty where there is none.
    pub legend: Vec<Option<[u8; 3]>>,
    /// Somebody mapped it; else it is a virtual site.
    pub is_a_map: bool,
    /// What is laid, one set for each method; methods that are read on the same tapes share one.
    pub sets: Vec<PictureSet>,
    /// The units of all sets.
    pub units: Vec<PictureUnit>,
    /// The animals of the zone, one item a kind.
    pub animals: Vec<PictureAnimals>,
    /// Recruits on open bottom where they live, m on the site.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub recruits: Vec<(f32, f32)>,
    /// The fish of the zone at the start of the first visit, one item a group.
    pub fish: Vec<PictureFish>,
    pub caption: String,
    /// What the picture only assumes; empty where nothing is.
    pub assumed: String,
}

/// A site at the second visit, against the first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SecondVisit {
    /// The change it is seen under: "hard coral 28 to 22 %"; empty where nothing was imposed.
    pub change: String,
    /// Colonies of the first visit that are gone, and those that were not there then.
    pub gone: usize,
    pub new: usize,
    /// Where the units lay at the first visit, begin and end, m.
    pub earlier: Vec<((f64, f64), (f64, f64))>,
}

/// What came of a colony since the first visit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// It is there, as it was; of the first visit all are.
    #[default]
    There,
    New,
    Gone,
}

/// A disc of hard coral, m on the site.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PictureColony {
    pub x: f32,
    pub y: f32,
    pub radius: f32,
    /// Its centre lies under a colony of higher rank: part of the cover, but no colony that a belt counts.
    pub is_covered: bool,
    pub fate: Fate,
    /// Names the colony: the same at both visits.
    #[serde(skip)]
    pub id: u64,
}

/// Units of one method, or of several that are read on the same tapes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureSet {
    /// Names of the methods with their dimensions.
    pub methods: Vec<(String, Dimensions)>,
    /// The set on whose lines its units lie, where methods share lines.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<usize>,
}

impl PictureSet {
    /// Whether its units are circles about the middle of what is laid, not strips.
    pub fn is_round(&self) -> bool {
        self.methods.iter().any(|(_, dimensions)| matches!(dimensions, Dimensions::FishPointCount { .. }))
    }
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureUnit {
    /// Index into the picture's sets.
    pub set: usize,
    /// Start and end of the tape, metres in the site; of a circle the ends of a diameter.
    pub from: (f64, f64),
    pub to: (f64, f64),
    /// Width of the strip, or diameter of the circle; 0 for a line.
    pub width_m: f64,
    /// Photographs on it: where each begins and ends, m along the tape.
    pub frames: Vec<(f64, f64)>,
    pub label: String,
    /// The unit along which it lies, from the same start.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub on: Option<usize>,
}

/// Animals of one kind at the first visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureAnimals {
    pub name: String,
    pub places: Vec<PictureAnimal>,
}

/// Fish of one group: one draw of where they are.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureFish {
    pub name: String,
    /// Metres on the site.
    pub places: Vec<(f32, f32)>,
    /// There are too many to be drawn; then there are no places.
    pub too_many: bool,
    /// How many are expected on the site.
    pub expected: f64,
    /// Schools of two or more of which some are on the site.
    pub schools: usize,
}

/// Where an animal sits, m on the site.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PictureAnimal {
    pub x: f32,
    pub y: f32,
    /// It hides by day: no diver sees it.
    pub is_hidden: bool,
}
