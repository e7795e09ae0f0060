//! A budget as one page that needs nothing else: what matters first, then a section for each part. A section is a function
//! that gives its heading, words, tables and figures, or nothing; the list below is the order on the page.

mod achieved;
mod assumptions;
mod calendar;
mod chances;
mod days_buy;
mod found;
mod how;
mod lost_days;
mod money;
mod people;
mod rest;
mod schedule;
mod section;
mod site_set;
mod sites;
mod warnings;
mod what_ifs;
mod work;

pub use money::part_words;
pub use rest::rest_page;
pub use section::{Column, Grid, Section};

use super::report::BudgetReport;
use super::summary::Summary;
use crate::report::SCHEMA_VERSION;
use crate::report::figures::Figure;
use crate::report::html::{InlineFigure, inline, rendered, style};
use crate::report::words::sentence;
use serde::Serialize;

const PAGE: &str = include_str!("../../templates/budget.html");
const STYLE: &str = include_str!("../../templates/budget.css");

/// Every section that has something to say, in reading order. Each figure is drawn once.
pub fn sections(report: &BudgetReport) -> Vec<Section> {
    let all: [fn(&BudgetReport) -> Option<Section>; 23] = [
        found::why_not_met,
        warnings::warnings,
        achieved::achieved,
        found::by_simulation,
        site_set::site_set,
        site_set::next_dive,
        work::work,
        days_buy::days_buy,
        lost_days::lost_days,
        chances::chances,
        money::money,
        what_ifs::what_ifs,
        found::margin_ifs,
        what_ifs::near_ties,
        found::own_site_sets,
        found::measure_first,
        calendar::calendar,
        sites::sites,
        people::people,
        schedule::schedule,
        assumptions::assumptions,
        how::how,
        how::scenario,
    ];
    all.into_iter().filter_map(|section| section(report)).collect()
}

/// The figures of those sections.
pub fn figures(sections: &[Section]) -> impl Iterator<Item = &Figure> {
    sections.iter().flat_map(|section| &section.figures)
}

/// What the template shows, by the names it uses.
#[derive(Serialize)]
struct Contents<'a> {
    css: String,
    title: &'a str,
    kind: &'static str,
    heading: &'static str,
    version: &'a str,
    seed: u64,
    schema_version: u32,
    caution: &'a str,
    interrupted: bool,
    verdict: String,
    over_limit: Vec<String>,
    plan: Vec<(&'static str, String)>,
    achieves: Vec<AchievesRow>,
    costs: Vec<(&'static str, String)>,
    worth: Vec<String>,
    /// Of what the numbers are, and by what.
    how_told: String,
    sections: Vec<Shown<'a>>,
}

#[derive(Serialize)]
struct AchievesRow {
    must: bool,
    verdict: &'static str,
    words: String,
}

#[derive(Serialize)]
struct Shown<'a> {
    #[serde(flatten)]
    section: &'a Section,
    figures: Vec<InlineFigure>,
}

/// The page. What comes from the scenario is escaped; only our own style and figures go in as they are.
pub fn page(report: &BudgetReport, sections: &[Section]) -> Result<String, String> {
    of_summary(report, ("dive budget", "what the days for diving buy"), report.summary(), sections)
}

/// A page of one kind: what stands first, then sections.
pub fn of_summary(
    report: &BudgetReport,
    (kind, heading): (&'static str, &'static str),
    summary: Summary,
    sections: &[Section],
) -> Result<String, String> {
    let made = || -> Result<String, minijinja::Error> {
        let achieves = summary.achieves.into_iter();
        let contents = Contents {
            css: style()? + STYLE,
            title: if report.title.is_empty() { "A reef expedition" } else { &report.title },
            kind,
            heading,
            version: &report.version,
            seed: report.seed,
            schema_version: SCHEMA_VERSION,
            caution: report.caution,
            interrupted: report.answer.interrupted,
            verdict: summary.verdict,
            over_limit: summary.over_limit,
            plan: summary.plan,
            achieves: achieves.map(|of| AchievesRow { must: of.must, verdict: of.verdict, words: of.words }).collect(),
            costs: summary.costs,
            worth: summary.worth,
            how_told: format!("{}. {}", sentence(&report.how_told()), report.on_targets().join(" ")),
            sections: sections
                .iter()
                .map(|section| Shown { section, figures: section.figures.iter().map(inline).collect() })
                .collect(),
        };
        rendered("budget.html", PAGE, contents)
    };
    made().map_err(|error| error.to_string())
}
