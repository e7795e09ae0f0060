//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod confirm;
mod done;
mod finished;
mod indicators;
mod prepared;
mod replan;
mod replan_words;
mod schedule;
mod stairs;
mod seen;
mod starts;
mod tasks;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, SiteTasks, ZoneSites, plan_expedition,
};
pub use done::{DoneUnit, FieldData, ReadingColumn};
pub use finished::{Finished, PlannedAndCame, Reached, TaskDone, finished};
pub use prepared::NothingFits;
pub use replan::{Replanned, Replanning, RestAsPlanned, ZoneDone, field_columns, replan};
pub use replan_words::Amendment;
pub use schedule::ScheduleRow;
pub use stairs::{Stair, StairMargin, StairStep};
pub use seen::{Level, Seen, SeenMinutes, SeenVariance};
pub use starts::Start;
pub use tasks::name_of;
pub use what_ifs::WhatIf;
