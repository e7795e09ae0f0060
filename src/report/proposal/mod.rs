//! The draft for a proposal, from the plan that is scheduled: every number in it is from the run, and what is not known
//! is left out. Sentences are made once (`sentences`) and stand in all lengths; which of them there is room for is
//! decided by how much they matter (`fit`). What the page has no room for begins its annex.

mod annex;
mod bib;
mod drawn;
mod fit;
mod plain;
mod sentences;
#[cfg(test)]
mod tests;

use super::budget::BudgetReport;
use crate::measures::counted;
use fit::fit;
use sentences::{Said, sentences};

/// Characters of the short forms.
const SHORT: usize = 500;
const MIDDLE: usize = 1500;
/// Characters of the page: what a sheet of A4 holds in letters of 11 points with usual margins (common practice, no source).
const PAGE: usize = 3600;

/// All its files: the page with its annex as Markdown and as plain text, two short forms, and what was used of
/// publications.
pub fn proposal(report: &BudgetReport) -> [(&'static str, String); 5] {
    let said = sentences(report);
    let page = page(report, &said);
    let bib = bib::bib(report, &page);
    [
        ("proposal.txt", plain::text(&page)),
        ("proposal.md", page),
        // Too short for the caution, and so without any dive.
        ("proposal_500.txt", fit(&said, "", SHORT, |said| !said.shows_dives) + "\n"),
        ("proposal_1500.txt", fit(&said, &first_of_middle(report), MIDDLE, |_| true) + "\n"),
        ("proposal.bib", bib),
    ]
}

/// The caution, and where the warnings stand that a short form has no room for.
fn first_of_middle(report: &BudgetReport) -> String {
    let warnings = report.answer.warnings.len();
    if warnings == 0 {
        return report.caution.to_owned();
    }
    format!("{} What to mind ({}) stands in the annex of proposal.md.", report.caution, counted(warnings, "warning"))
}

/// One page by paragraphs, and the annex, which has what the page has no room for.
fn page(report: &BudgetReport, said: &[Said]) -> String {
    let mut text = format!("# {}\n\n> {}\n", title(report), report.caution);
    let heading = |said: &Said| format!("**{}.** ", said.part.heading());
    let mut headings: Vec<String> = said.iter().map(heading).collect();
    headings.dedup();
    let first = text.chars().count() + headings.iter().map(|heading| heading.len() + 2).sum::<usize>();
    let on_page = fit::that_fit(said, first, PAGE, |_| true);
    let mut last = None;
    for said in on_page.iter().map(|&index| &said[index]) {
        text += if last == Some(said.part) { " " } else { "\n\n" };
        if last != Some(said.part) {
            text += &heading(said);
        }
        text += &said.text;
        last = Some(said.part);
    }
    if said.is_empty() {
        text += "\n\nNo plan fits.";
    }
    let others = said.iter().enumerate().filter(|(index, _)| !on_page.contains(index));
    let others = others.map(|(_, said)| format!("{}: {}", said.part.heading(), said.text)).collect();
    format!("{}\n\n{}", text.replace("\n\n\n", "\n\n"), annex::annex(report, others))
}

fn title(report: &BudgetReport) -> &str {
    if report.title.is_empty() { "A reef expedition" } else { &report.title }
}
