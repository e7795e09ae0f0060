use super::Section;
use crate::report::budget::BudgetReport;

/// All of them, always.
pub fn warnings(report: &BudgetReport) -> Option<Section> {
    let warnings = report.answer.warnings.clone();
    (!warnings.is_empty()).then(|| Section { id: "warnings", heading: "Warnings", warnings, ..Section::default() })
}
