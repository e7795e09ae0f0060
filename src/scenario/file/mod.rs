//! The shape of a scenario file: one type a table, unknown keys refused. Percent, points and metres here; shares and SI
//! units in `Study`.

mod change;
mod expedition;
mod fish;
mod method;
mod observers;
mod placement;
mod test;
mod visits;
mod zone;

pub use change::{ChangeTable, DeathsTable};
pub use expedition::{DiveTable, DiverTable, ExpeditionTable, TargetTable, WorkTable};
pub use fish::{FishBeltTable, FishPointCountTable, FishTable};
pub use method::{
    CoralBeltTable, InvertebrateBeltTable, LineInterceptTable, MethodParts, MethodTables, OtherTable, PhotoBeltTable,
    PhotoQuadratsTable, PointInterceptTable, RecruitQuadratsTable,
};
pub use observers::{MisidentificationTable, ObserversTable};
pub use placement::{LayoutWord, PlacementTable};
pub use test::TestTable;
pub use visits::VisitsTable;
pub use zone::{
    AnimalTable, CategoryTable, ColonyVariationTable, ConditionTable, MapTable, PartialMortalityTable, RecruitsTable,
    VariationTable, ZoneTable,
};

use super::word::Word;
use crate::design::{Question, Scope};
use schemars::JsonSchema;
use serde::Deserialize;

/// A scenario: what is surveyed, what is asked, and where each number comes from.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "A scenario of reefwright")]
pub struct ScenarioFile {
    /// Title of the survey, as it stands on the report.
    pub title: Option<String>,
    /// Which reefs the answer speaks of. Must be written: the replicates of the test follow from it.
    pub statement_about: Word<Scope>,
    /// What is asked. Left out: `between_these_visits` where a change is given, else `status`.
    pub question: Option<Word<Question>>,
    /// Indicators to report besides hard coral and those with a change: categories of the bottom, what coral belts and recruit
    /// quadrats tell, and of animals NAME_of_commercial_size and NAME_presence (the share of belts with at least one).
    #[serde(default)]
    pub also_report: Vec<String>,
    pub test: Option<TestTable>,
    pub visits: Option<VisitsTable>,
    pub observers: Option<ObserversTable>,
    pub placement: Option<PlacementTable>,
    pub variation: Option<VariationTable>,
    /// Classes of sites; at least one.
    #[serde(default)]
    pub zone: Vec<ZoneTable>,
    /// Changes to see; none for a `status`.
    #[serde(default)]
    pub change: Vec<ChangeTable>,
    /// Ways to read the reef; at least one.
    #[serde(default)]
    pub method: MethodTables,
    pub expedition: Option<ExpeditionTable>,
    /// The divers of the expedition.
    #[serde(default)]
    pub diver: Vec<DiverTable>,
    /// What shall come of the expedition.
    #[serde(default)]
    pub target: Vec<TargetTable>,
}
