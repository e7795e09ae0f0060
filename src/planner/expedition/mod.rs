//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod calendar;
mod confirm;
mod indicators;
mod leave_out;
mod marks;
mod next_costs;
mod pairings;
mod prepared;
mod schedule;
mod stairs;
mod starts;
mod tasks;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, SiteTasks, ZoneSites, plan_expedition,
};
pub use calendar::DaysFor;
pub use marks::VisitDives;
pub use next_costs::NextCost;
pub use pairings::{Pairing, PairingMatters};
pub use prepared::NothingFits;
pub use schedule::ScheduleRow;
pub use stairs::{Stair, StairMargin, StairStep};
pub use starts::Start;
pub use tasks::{LAYING, Visit};
pub use what_ifs::WhatIf;
