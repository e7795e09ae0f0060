use super::super::SCHEMA_VERSION;
use crate::budget::diving::BANNER;
use crate::design::Study;
use crate::planner::expedition::BudgetAnswer;
use serde::Serialize;

/// All that a budget shows, whatever its form.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BudgetReport {
    pub title: String,
    pub version: String,
    pub schema_version: u32,
    pub seed: u64,
    /// Stands first in every form.
    pub caution: &'static str,
    #[serde(flatten)]
    pub answer: BudgetAnswer,
    /// The study that the expedition serves.
    pub scenario: Study,
    /// Divers, pairs and dives a day.
    pub crew: (usize, usize, usize),
}

impl BudgetReport {
    pub fn new(study: &Study, crew: (usize, usize, usize), answer: BudgetAnswer, seed: u64) -> Self {
        Self {
            title: study.title.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            schema_version: SCHEMA_VERSION,
            seed,
            caution: BANNER,
            answer,
            scenario: study.clone(),
            crew,
        }
    }

    /// One object; shares and rates are 0-1.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self)
            .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string())
    }
}
