//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod calm;
mod confirm;
mod draw;
mod indicators;
mod people;
mod prepared;
mod readers;
mod schedule;
mod sites;
mod stairs;
mod starts;
mod tasks;
mod visits;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, SiteTasks, ZoneSites, plan_expedition,
};
pub use calm::{CalmVisit, Instead};
pub use people::{Crossing, ReaderUnits, Turns};
pub use prepared::NothingFits;
pub use schedule::ScheduleRow;
pub use sites::{SiteRole, SiteRow};
pub use stairs::{Stair, StairMargin, StairStep};
pub use starts::Start;
pub use tasks::name_of;
pub use what_ifs::WhatIf;
