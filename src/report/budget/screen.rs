//! A budget as text. The screen: what matters first, why it cannot be had, warnings. The file: the screen, then the parts,
//! each a function that adds its own; what has nothing to say adds nothing.

use super::chances_text::{cylinders, season};
use super::columns::labelled;
use super::effort_text::pairing;
use super::frontier_text::frontier;
use super::lost_days_text::lost_days;
use super::plan_text::plans;
use super::report::BudgetReport;
use super::search_text::{search, why};
use super::sites_text::sites;
use super::what_ifs_text::{near_ties, what_ifs};
use crate::report::terminal::paragraph;

/// Width of the column of labels.
const LABEL: usize = 14;

/// Head of the warnings that touch diving.
pub const MIND_DIVING: &str = "Mind, of diving:";

impl BudgetReport {
    /// The answer on one screen, as text of at most 80 columns; the caution stands first.
    pub fn terminal(&self, folder: Option<&str>) -> String {
        let mut text = self.first_screen();
        let more = match folder {
            Some(folder) => format!("Report: {folder}\n"),
            None => "All parts, the schedule and sheets to print: --out FOLDER\n".to_owned(),
        };
        text += &more;
        text
    }

    /// The screen and then every part, for a file.
    pub fn all_text(&self) -> String {
        let mut text = self.first_screen();
        text.push('\n');
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
        text
    }

    fn first_screen(&self) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text.push('\n');
        if self.answer.interrupted {
            paragraph(&mut text, "INTERRUPTED: what follows rests on the trials that were finished.", "");
            text.push('\n');
        }
        self.first(&mut text);
        why(&mut text, self);
        self.warnings(&mut text);
        text
    }

    /// What touches diving first; none is dropped.
    pub fn warnings(&self, text: &mut String) {
        self.warnings_where(text, |_| true);
    }

    /// Those of some heads.
    pub fn warnings_where(&self, text: &mut String, shows: impl Fn(&str) -> bool) {
        for (head, warnings) in self.warnings_in_groups().into_iter().filter(|(head, _)| shows(head)) {
            paragraph(text, head, "");
            for warning in warnings {
                paragraph(text, &format!("! {warning}"), "  ");
            }
        }
    }

    /// The warnings under their heads, those of diving first; a group without any is left out.
    pub fn warnings_in_groups(&self) -> Vec<(&'static str, &[String])> {
        let all = &self.answer.warnings;
        let (diving, others) = all.split_at(self.answer.warnings_of_diving.min(all.len()));
        [(MIND_DIVING, diving), ("Mind, of the plan:", others)]
            .into_iter()
            .filter(|(_, warnings)| !warnings.is_empty())
            .collect()
    }

    /// The plan in five lines, what it achieves, what it costs, what is worth asking for.
    fn first(&self, text: &mut String) {
        let summary = self.summary();
        paragraph(text, &format!("{}: {}", self.title, self.crew()), "");
        paragraph(text, &summary.verdict, "");
        for flag in &summary.over_limit {
            paragraph(text, &format!("! {flag}"), "  ");
        }
        text.push('\n');
        for (label, words) in &summary.plan {
            labelled(text, label, LABEL, words);
        }
        if !summary.achieves.is_empty() {
            text.push('\n');
            paragraph(text, &format!("What it achieves, {}", self.how_told()), "");
        }
        for target in &summary.achieves {
            let what = if target.must { "must" } else { "should" };
            labelled(text, &format!("{what}, {}", target.verdict), LABEL + 7, &target.words);
        }
        for words in self.on_targets() {
            paragraph(text, &words, "");
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
