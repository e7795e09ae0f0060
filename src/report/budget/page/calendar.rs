use super::Section;
use crate::report::budget::BudgetReport;
use crate::report::figures::budget::calendar as figure;

/// Which sites on which day.
pub fn calendar(report: &BudgetReport) -> Option<Section> {
    let figure = figure(report)?;
    Some(Section { id: "calendar", heading: "Calendar", figures: vec![figure], ..Section::default() })
}
