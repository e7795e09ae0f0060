//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod blocked;
mod calendar;
mod calm;
mod confirm;
mod cylinders;
mod done;
mod draw;
mod finalists;
mod finished;
mod indicators;
mod joint;
mod known;
mod leave_out;
mod marks;
mod measure_first;
mod money;
mod next_costs;
mod options;
mod pairings;
mod people;
mod places;
mod prepared;
mod readers;
mod replan;
mod replan_words;
mod schedule;
mod season;
mod seen;
mod sites;
mod stairs;
mod starts;
mod tasks;
mod variants;
mod visits;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, OwnSiteSets, Searched, SiteTasks,
    ZoneSites, plan_expedition,
};
pub use blocked::Blocked;
pub use calendar::DaysFor;
pub use calm::{CalmVisit, Instead};
pub use cylinders::Cylinders;
pub use done::{DoneUnit, FieldData, ReadingColumn};
pub use finished::{Finished, PlannedAndCame, Reached, TaskDone, finished};
pub use joint::{Joint, JointChances, SharedAlpha};
pub use marks::VisitDives;
pub use measure_first::MeasureFirst;
pub use money::{Cost, CostItem, CostOf};
pub use next_costs::NextCost;
pub use pairings::{Pairing, PairingMatters};
pub use people::{Crossing, ReaderUnits, Turns};
pub use places::words as places_words;
pub use prepared::NothingFits;
pub use replan::{Replanned, Replanning, RestAsPlanned, ZoneDone, field_columns, replan};
pub use replan_words::Amendment;
pub use schedule::ScheduleRow;
pub use season::{Choice, InHand, Odds, Season};
pub use seen::{Level, Seen, SeenMinutes, SeenVariance};
pub use sites::{SiteRole, SiteRow};
pub use stairs::{Stair, StairMargin, StairStep};
pub use starts::Start;
pub use tasks::{LAYING, Visit};
pub use what_ifs::{MarginIf, WhatIf, WhatIfKind};
