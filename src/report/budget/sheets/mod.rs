//! Sheets to print and take along: one for the days before the first survey dive, one for each day on the boat, and one for a
//! unit of each method under water, to be copied as often as it says. Work under water is written on forms that are the same at
//! every site, because days slip; what is done where stands on the sheet of the day.

mod before;
mod codes;
mod day;
mod fish;
mod form;

use super::report::BudgetReport;
use super::schedule_text::{REFUSE, RELEASE};
use crate::report::html::{rendered, style};
use before::BeforeSheet;
use day::DaySheet;
use form::Form;
use serde::Serialize;

const PAGE: &str = include_str!("../../templates/sheets.html");
const STYLE: &str = include_str!("../../templates/sheets.css");

/// Written by hand at the head of every sheet that goes under water.
const HEAD: [&str; 14] = [
    "Site",
    "Date",
    "Time in",
    "Time out",
    "Max depth",
    "Visibility",
    "Temperature",
    "Current",
    "Observer",
    "Buddy",
    "Line no.",
    "Start mark",
    "Bearing",
    "Tide",
];

#[derive(Serialize)]
struct Contents<'a> {
    css: String,
    title: &'a str,
    version: &'a str,
    caution: &'a str,
    release: &'static str,
    refuse: &'static str,
    /// Printed on the first sheet, before the first dive.
    of_diving: &'a [String],
    /// What touches no dive, on a sheet of its own at the end.
    of_plan: &'a [String],
    head: [&'static str; 14],
    /// Why there are no sheets.
    no_sheets: &'static str,
    before: Option<BeforeSheet>,
    days: Vec<DaySheet>,
    forms: Vec<Form>,
}

/// All sheets as one page that prints on A4.
pub fn sheets(report: &BudgetReport) -> Result<String, String> {
    let made = || -> Result<String, minijinja::Error> {
        let warnings = &report.answer.warnings;
        let (of_diving, of_plan) = warnings.split_at(report.answer.warnings_of_diving.min(warnings.len()));
        let contents = Contents {
            css: style()? + STYLE,
            title: &report.title,
            version: &report.version,
            caution: report.caution,
            release: RELEASE,
            refuse: REFUSE,
            of_diving,
            of_plan,
            head: HEAD,
            no_sheets: match report.answer.not_scheduled {
                Some(_) => "There are no sheets.",
                None => "Nothing is planned: there are no sheets.",
            },
            before: before::before(report),
            days: day::days(report),
            forms: if report.answer.not_scheduled.is_some() { Vec::new() } else { form::forms(report) },
        };
        rendered("sheets.html", PAGE, contents)
    };
    made().map_err(|error| error.to_string())
}
