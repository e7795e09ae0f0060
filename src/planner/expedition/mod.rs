//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod blocked;
mod confirm;
mod finalists;
mod indicators;
mod known;
mod measure_first;
mod options;
mod places;
mod prepared;
mod schedule;
mod stairs;
mod starts;
mod tasks;
mod variants;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, OwnSiteSets, Searched, SiteTasks,
    ZoneSites, plan_expedition,
};
pub use blocked::Blocked;
pub use measure_first::MeasureFirst;
pub use places::words as places_words;
pub use prepared::NothingFits;
pub use schedule::ScheduleRow;
pub use stairs::{Stair, StairMargin, StairStep};
pub use starts::Start;
pub use tasks::name_of;
pub use what_ifs::{MarginIf, WhatIf, WhatIfKind};
