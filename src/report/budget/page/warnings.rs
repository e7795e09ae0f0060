use super::Section;
use crate::report::budget::BudgetReport;

/// All of them, always, what touches diving first.
pub fn warnings(report: &BudgetReport) -> Option<Section> {
    let warnings = report.answer.warnings.clone();
    let of_diving = report.answer.warnings_of_diving.min(warnings.len());
    let words = match (of_diving, warnings.len() - of_diving) {
        (0, _) | (_, 0) => Vec::new(),
        (1, _) => vec!["The first is about diving itself.".to_owned()],
        (number, _) => vec![format!("The first {number} are about diving itself.")],
    };
    (!warnings.is_empty()).then(|| Section {
        id: "warnings",
        heading: "Warnings",
        words,
        warnings,
        ..Section::default()
    })
}
