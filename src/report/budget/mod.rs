//! What an expedition buys: as one screen of text, as JSON, as CSV.

mod csv;
mod field_csv;
mod frontier_text;
mod lost_days_text;
mod plan_text;
mod report;
mod schedule_text;
mod screen;
mod what_ifs_text;

pub use report::BudgetReport;
