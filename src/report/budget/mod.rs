//! What an expedition buys: as one screen of text, as a page, as sheets for the field, as JSON, as CSV.

mod chances_text;
mod columns;
mod csv;
mod days_left;
mod effort_text;
mod field_csv;
mod files;
mod frontier_text;
mod lines_text;
mod lost_days_text;
mod money_text;
mod page;
mod plan_text;
mod report;
mod schedule_text;
mod screen;
mod search_text;
mod sheets;
mod sites_files;
mod sites_text;
mod summary;
#[cfg(test)]
pub(super) mod synthetic;
mod target_words;
#[cfg(test)]
mod tests;
mod told_by_text;
mod what_ifs_text;
mod wire;

pub use chances_text::joint_sentence;
pub use days_left::DaysLeft;
pub use field_csv::sheet_of_another;
pub use files::files;
pub(super) use lines_text::lines_of_dive;
pub use money_text::{VISIT_MONEY, amount, best_of_money, booked, grouped, money_of_rest, visit_money};
pub use page::{part_words, rest_page};
pub use report::BudgetReport;
pub(super) use schedule_text::work_words;
pub use sheets::sheets;
pub(super) use sites_text::{HOW_MANY_ARE_CALM, calm_words};
pub use summary::Move;
pub use target_words::{asked, own_power, simulated, target_words};
