mod asked;
mod base64;
mod budget;
mod caution;
/// Tidy tables for other programs.
pub mod csv;
/// Numbers with only as many digits as their error supports.
pub mod digits;
/// Figures as SVG.
pub mod figures;
mod files;
mod finished;
mod fish;
mod fonts;
mod html;
mod json;
mod pilot;
mod pilot_colonies;
mod pilot_counts;
mod pilot_fish;
mod png;
mod proposal;
mod replan;
#[allow(clippy::module_inception)]
mod report;
mod search;
mod select;
mod tables;
mod terminal;
mod visit;
mod words;

#[cfg(test)]
mod look;
#[cfg(test)]
mod synthetic;
#[cfg(test)]
mod synthetic_reef;
#[cfg(test)]
mod tests;

pub use budget::{BudgetReport, files as budget_files, rest_page, sheet_of_another, sheets as budget_sheets};
pub use caution::CAUTION;
pub use files::files;
pub use finished::FinishedReport;
pub use html::html;
pub use json::json;
pub use pilot::{pilot, pilot_doubts};
pub use pilot_colonies::pilot_colonies;
pub use pilot_counts::pilot_counts;
pub use pilot_fish::pilot_fish;
pub use png::png;
pub use proposal::proposal;
pub use replan::ReplanReport;
pub use report::{Report, SCHEMA_VERSION};
pub use terminal::terminal;
