use crate::planner::{Answer, ColonySizes, ReefPicture};
use crate::scenario::Assumption;
use serde::Serialize;

/// Version of the JSON layout; raised when a key changes its meaning or goes away.
pub const SCHEMA_VERSION: u32 = 1;

/// All that a report shows, whatever its form.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    pub title: String,
    /// Version of reefwright.
    pub version: String,
    pub schema_version: u32,
    pub seed: u64,
    /// The scenario as the user wrote it.
    pub scenario_text: String,
    /// The scenario as it was understood (the checked study).
    pub scenario: serde_json::Value,
    /// How often a change shall be seen (target power), and the test's alpha.
    pub seen: f64,
    pub alpha: f64,
    #[serde(flatten)]
    pub answer: Answer,
    /// Worst origin first.
    pub assumptions: Vec<Assumption>,
    /// A paragraph for a proposal or a methods section; every number in it is from this run.
    pub methods_text: Vec<String>,
    #[serde(skip)]
    pub pictures: Vec<ReefPicture>,
    /// Sizes of colonies, for each zone where belts measure them.
    #[serde(rename = "colony_sizes", skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<ColonySizes>,
}
