use super::Section;
use crate::report::budget::BudgetReport;
use crate::report::budget::chances_text::cylinders_line;
use crate::report::budget::effort_text::days_line;
use crate::report::figures::budget::calendar as figure;

/// Which sites on which day, what the other days are for, and cylinders.
pub fn calendar(report: &BudgetReport) -> Option<Section> {
    let figure = figure(report)?;
    let days = days_line(&report.answer.calendar);
    Some(Section {
        id: "calendar",
        heading: "Calendar",
        words: days.into_iter().chain(cylinders_line(report)).collect(),
        figures: vec![figure],
        ..Section::default()
    })
}
