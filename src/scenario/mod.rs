//! The scenario file, from text to a checked study and back; the only module that knows TOML.
//!
//! ```text
//! text -> read (tables of file/, or a complaint made plain by explain) -> build (defaults, percent to shares)
//!      -> check (what tables get wrong together) -> Loaded { study, expedition, assumptions, origins }
//! study + expedition + origins -> write -> text;    answers in field words -> words -> study + origins
//! ```
//!
//! An outline holds the place of every key, so that each problem is shown at its line. Percent, points of cover and metres
//! stand in the file; shares and metres in the study. It does no input or output: `cli` reads and writes files.

mod bias_doubts;
mod build;
mod check;
mod colony_doubts;
mod count;
mod csv_file;
mod defaults;
mod doubt;
mod explain;
mod file;
mod fish_from_counts;
mod fish_list;
mod from_colonies;
mod from_counts;
mod from_pilot;
mod law;
mod ledger;
mod list;
mod load;
mod map;
mod near;
mod number;
mod origin;
mod outline;
mod outline_json;
mod problem;
mod problems;
mod read;
mod replicates;
mod shown;
mod site_list;
mod site_places;
mod source;
mod weighed;
mod word;
/// The nine field questions: from remembered words to a study.
pub mod words;
mod write;

pub use bias_doubts::bias_doubts;
pub use build::PAIRS_AS_LISTED;
pub use colony_doubts::colony_doubts;
pub use csv_file::ListProblem;
pub use doubt::Doubt;
pub use fish_from_counts::as_fish;
pub use fish_list::{FishList, ListedFish, MeasuredLength, read_fish};
pub use from_colonies::{ColonyPlan, SIZES_CAUTION, spread_note, study_of_colonies, variation_note};
pub use from_counts::{CountPlan, PilotAnimals, animal_note, number_of_k, study_of_animals, usual_spreads};
pub use from_pilot::{PilotPlan, reef_note, study_of_components, study_of_reefs, usual_site_year_sd, years_note};
pub use law::{check_law, law_error};
pub use load::{Loaded, ReadFile, load_text, load_with};
pub use origin::{Assumption, Matter, Origin};
pub use problem::{Problem, ScenarioError};
pub use shown::wrapped;
pub use weighed::{weighed_median, with_weighed_biomass};
pub use write::{Beside, write};

/// The JSON Schema of a scenario, from the same types that read it.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(file::ScenarioFile).to_value()
}

/// The built-in demo expedition: an invented archipelago.
pub const DEMO: &str = include_str!("../../examples/sorrel_atolls.toml");
/// The name the demo goes by in messages and reports.
pub const DEMO_NAME: &str = "sorrel_atolls.toml";

/// A scenario to start from: every key shown and explained.
pub const STARTER: &str = include_str!("starter.toml");

/// The starter scenario with every method there is.
pub fn starter_with_all() -> String {
    [STARTER, include_str!("more_methods.toml")].concat()
}
