use super::animals::AnimalSearch;
use super::fish::FishBias;
use crate::design::ColonyDeaths;
use crate::engine::{Row, SiteCount};
use crate::survey::Dimensions;
use serde::Serialize;

/// Everything that was worked out for one study, as data; reports only render it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// The answer in words, one sentence an item, most important first.
    pub headline: Vec<String>,
    /// The method of which the headline speaks, and its dimensions: reports show it first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub headline_of: Option<HeadlineOf>,
    pub rows: Vec<Row>,
    /// How many units are needed, for each zone, method, number of sites and change.
    pub needed: Vec<Needed>,
    /// How the number needed depends on what the reef is like.
    pub ranges: Vec<ReefRange>,
    /// How the number needed moves when one component of variation is half as large again, or a third smaller.
    pub sensitivity: Vec<Sensitivity>,
    /// Theory's power over sites x units, for the map.
    pub map: Vec<MapCell>,
    /// What the search for animals meets, by formula; left out where none are counted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub animals: Vec<AnimalSearch>,
    /// What is counted of the fish that are there; left out where none are counted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fish_bias: Vec<FishBias>,
    pub warnings: Vec<Warning>,
    /// How to read what is measured.
    pub notes: Vec<Note>,
    /// True when the run was interrupted: rows hold the trials that were finished.
    pub interrupted: bool,
}

impl Answer {
    /// Of a run that was ended before a single survey was simulated.
    pub fn interrupted() -> Self {
        Self {
            headline: Vec::new(),
            headline_of: None,
            rows: Vec::new(),
            needed: Vec::new(),
            ranges: Vec::new(),
            sensitivity: Vec::new(),
            map: Vec::new(),
            animals: Vec::new(),
            fish_bias: Vec::new(),
            warnings: Vec::new(),
            notes: Vec::new(),
            interrupted: true,
        }
    }
}

/// What is read, by which method with which dimensions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeadlineOf {
    pub indicator: String,
    pub method: String,
    pub dimensions: Dimensions,
}

impl HeadlineOf {
    /// Whether a row is of it.
    pub fn is_of(&self, row: &Row) -> bool {
        self.indicator == row.indicator && self.is(&row.method, row.dimensions)
    }

    pub fn is(&self, method: &str, dimensions: Dimensions) -> bool {
        self.method == method && self.dimensions == dimensions
    }
}

/// The number of units at which the change is seen with the power wanted, and stays seen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Needed {
    pub indicator: String,
    pub zone: String,
    pub method: String,
    pub dimensions: Dimensions,
    #[serde(flatten)]
    pub sites: SiteCount,
    pub change_from: f64,
    pub change_to: f64,
    /// How colonies die of the change, where not all have the same chance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deaths: Option<ColonyDeaths>,
    /// The smallest number of units whose power reaches the target and stays above; `None`: not within reach (see `ceiling`).
    pub units: Option<usize>,
    /// Range of that number from the simulation error (lowest, highest).
    pub units_low: Option<usize>,
    pub units_high: Option<usize>,
    /// By theory alone.
    pub theory_units: Option<usize>,
    /// Power that no number of units can pass at this number of sites.
    pub ceiling: f64,
    /// Whether powers are those of the test held to its level, because it rings falsely too often by itself.
    pub held: bool,
    /// Power from fresh trials about the number told, fewest units first: (units, power, error).
    pub confirmed: Vec<(usize, f64, f64)>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReefRange {
    pub zone: String,
    /// `fore_reef` ...
    pub reef: String,
    /// "as even as an outer slope"
    pub phrase: String,
    /// Units needed by theory if the zone's reef were like this; `None`: not within reach.
    pub units: Option<usize>,
    /// The reef that the scenario names.
    pub is_chosen: bool,
    /// Why this reef cannot be here (for example: its along-reef variation alone exceeds the spread between sites).
    pub refused: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    pub zone: String,
    /// "how lines differ within one reef" ...
    pub component: String,
    /// Units needed with the SD a third smaller, as given, half as large again; `None`: not within reach.
    pub smaller: Option<usize>,
    pub as_given: Option<usize>,
    pub larger: Option<usize>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MapCell {
    pub zone: String,
    pub sites: usize,
    pub units: usize,
    pub power: f64,
}

/// How something that is measured must be read.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Note {
    /// "Coral belts, 10 x 1 m"
    pub about: String,
    pub text: String,
}

/// Something the reader must know, with what to do about it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Warning {
    /// What is the matter.
    pub what: String,
    /// What to do.
    pub remedy: String,
}
