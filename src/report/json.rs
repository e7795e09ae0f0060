use super::report::Report;

/// The whole report as one object; proportions and rates are shares, `rows` is a flat list with the keys of
/// [`crate::engine::Row`], what does not apply is `null` (numbers that do not exist too).
pub fn json(report: &Report) -> String {
    let mut text = serde_json::to_string_pretty(report)
        .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string());
    text.push('\n');
    text
}
