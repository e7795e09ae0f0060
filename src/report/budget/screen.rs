//! A budget as one screen of text. Each part is a function that adds its own; what has nothing to say adds nothing.

use super::frontier_text::frontier;
use super::lost_days_text::lost_days;
use super::plan_text::verdict;
use super::report::BudgetReport;
use super::what_ifs_text::{near_ties, what_ifs};
use crate::report::terminal::paragraph;

impl BudgetReport {
    /// The answer as text of at most 80 columns; the caution stands first.
    pub fn terminal(&self, folder: Option<&str>) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text.push('\n');
        if self.answer.interrupted {
            paragraph(&mut text, "INTERRUPTED: what follows rests on the trials that were finished.", "");
            text.push('\n');
        }
        let (divers, pairs, dives) = self.crew;
        let head = format!(
            "{}: {} days for diving, {divers} divers in {pairs} pairs, {dives} dives a day",
            self.title, self.answer.bookable_days
        );
        paragraph(&mut text, &head, "");
        text.push('\n');
        verdict(&mut text, self);
        frontier(&mut text, self);
        what_ifs(&mut text, self);
        near_ties(&mut text, self);
        lost_days(&mut text, self);
        for warning in &self.answer.warnings {
            paragraph(&mut text, &format!("! {warning}"), "  ");
        }
        if let Some(folder) = folder {
            text += &format!("Report: {folder}\n");
        }
        text
    }
}
