//! The best use of an expedition: from a study and what the expedition has to site sets, dives, days and chances.

mod answer;
mod confirm;
mod cylinders;
mod indicators;
mod joint;
mod prepared;
mod schedule;
mod season;
mod stairs;
mod starts;
mod tasks;
mod warn;
mod what_ifs;

pub use answer::{
    BookDays, BudgetAnswer, BudgetPlan, Confirming, DayChance, Margin, NearTie, SiteTasks, ZoneSites, plan_expedition,
};
pub use cylinders::Cylinders;
pub use joint::{Joint, JointChances, SharedAlpha};
pub use prepared::NothingFits;
pub use schedule::ScheduleRow;
pub use season::{Choice, InHand, Odds, Season};
pub use stairs::{Stair, StairMargin, StairStep};
pub use starts::Start;
pub use tasks::name_of;
pub use what_ifs::WhatIf;
