//! A budget as one screen of text: what matters first, then the parts, each a function that adds its own; what has nothing
//! to say adds nothing.

use super::chances_text::{cylinders, season};
use super::columns::labelled;
use super::effort_text::pairing;
use super::frontier_text::frontier;
use super::lost_days_text::lost_days;
use super::plan_text::plans;
use super::report::BudgetReport;
use super::search_text::search;
use super::sites_text::sites;
use super::what_ifs_text::{near_ties, what_ifs};
use crate::report::terminal::paragraph;

/// Width of the column of labels.
const LABEL: usize = 14;

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
        self.first(&mut text);
        pairing(&mut text, self);
        plans(&mut text, self);
        search(&mut text, self);
        frontier(&mut text, self);
        what_ifs(&mut text, self);
        near_ties(&mut text, self);
        lost_days(&mut text, self);
        season(&mut text, self);
        cylinders(&mut text, self);
        sites(&mut text, self);
        for warning in &self.answer.warnings {
            paragraph(&mut text, &format!("! {warning}"), "  ");
        }
        if let Some(folder) = folder {
            text += &format!("Report: {folder}\n");
        }
        text
    }

    /// The plan in five lines, what it achieves, what it costs, what is worth asking for.
    fn first(&self, text: &mut String) {
        let summary = self.summary();
        paragraph(text, &format!("{}: {}", self.title, self.crew()), "");
        paragraph(text, &summary.verdict, "");
        text.push('\n');
        for (label, words) in &summary.plan {
            labelled(text, label, LABEL, words);
        }
        if !summary.achieves.is_empty() {
            text.push('\n');
            paragraph(text, "What it achieves, by simulation (in brackets: one standard error)", "");
        }
        for target in &summary.achieves {
            let what = if target.must { "must" } else { "should" };
            labelled(text, &format!("{what}, {}", target.verdict), LABEL + 2, &target.words);
        }
        if !summary.costs.is_empty() {
            text.push('\n');
            paragraph(text, "What it costs", "");
        }
        for (label, words) in &summary.costs {
            labelled(text, label, LABEL, words);
        }
        if !summary.worth.is_empty() {
            text.push('\n');
            paragraph(text, "What one thing more or less is worth (by formula)", "");
        }
        for words in &summary.worth {
            paragraph(text, &format!("- {words}"), "  ");
        }
        text.push('\n');
    }
}
