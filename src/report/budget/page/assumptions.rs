use super::{Column, Grid, Section};
use crate::report::budget::BudgetReport;
use crate::report::html::origin;

/// What the answer rests on, least founded first.
pub fn assumptions(report: &BudgetReport) -> Option<Section> {
    let row = |of: &crate::scenario::Assumption| vec![of.about.clone(), of.value.clone(), origin(&of.origin)];
    let columns = vec![Column::words("what"), Column::words("value"), Column::words("where it comes from")];
    (!report.assumptions.is_empty()).then(|| Section {
        id: "assumptions",
        heading: "Assumptions, least founded first",
        words: vec![
            "The answer rests on these numbers; what stands first is a guess to be measured or asked for.".into(),
        ],
        grids: vec![Grid { caption: String::new(), columns, rows: report.assumptions.iter().map(row).collect() }],
        ..Section::default()
    })
}
