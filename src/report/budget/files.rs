//! Everything that the folder of a budget holds.

use super::page::{figures, page, sections};
use super::report::BudgetReport;
use crate::report::png;
use crate::report::proposal::proposal;

/// (path inside the folder, bytes), the page first.
pub fn files(report: &BudgetReport) -> Result<Vec<(String, Vec<u8>)>, String> {
    let sections = sections(report);
    let names = figures(&sections).map(|figure| figure.name.clone()).collect();
    let texts = [
        ("budget.html", page(report, &sections)?),
        ("sheets.html", super::sheets::sheets(report)?),
        ("budget.txt", report.all_text()),
        ("budget.json", report.json_with(names) + "\n"),
        ("schedule.csv", report.schedule_csv()),
        ("schedule.txt", report.schedule_text()),
        ("starts.csv", report.starts_csv()),
        ("field.csv", report.field_csv()),
    ];
    let of_sites = [("sites.csv", report.sites_csv()), ("sites.gpx", report.sites_gpx())];
    let of_sites = of_sites.into_iter().filter_map(|(name, text)| Some((name, text?)));
    let mut files: Vec<(String, Vec<u8>)> = texts
        .into_iter()
        .chain(proposal(report))
        .chain(of_sites)
        .map(|(name, text)| (name.to_owned(), text.into_bytes()))
        .collect();
    for figure in figures(&sections) {
        files.push((format!("figures/{}.png", figure.name), png(&figure.svg)?));
        files.push((format!("figures/{}.svg", figure.name), figure.svg.clone().into_bytes()));
    }
    Ok(files)
}
