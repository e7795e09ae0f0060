use super::report::Report;
use super::visit::visit_rows;
use crate::engine::Row;
use serde::Serialize;

/// A report with what its tables choose from its rows.
#[derive(Serialize)]
struct Whole<'a> {
    #[serde(flatten)]
    report: &'a Report,
    /// What one site visit gives: of `rows`, each method of each zone with six units or the nearest below.
    site_visit: Vec<&'a Row>,
}

/// The whole report as one object; proportions and rates are shares, `rows` and `site_visit` are flat lists with the keys of
/// [`crate::engine::Row`], what does not apply is `null` (numbers that do not exist too).
pub fn json(report: &Report) -> String {
    let site_visit = visit_rows(report).into_iter().flat_map(|(_, rows)| rows).collect();
    let mut text = serde_json::to_string_pretty(&Whole { report, site_visit })
        .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string());
    text.push('\n');
    text
}
