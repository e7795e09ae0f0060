use super::figures::{Figure, figures};
use super::png::png;
use super::{Report, csv, html, terminal};

/// The report as JSON with the names of the figures beside it, by which the next run finds those of the last.
fn json_of_folder(report: &Report, figures: &[Figure]) -> String {
    let names: Vec<&str> = figures.iter().map(|figure| figure.name.as_str()).collect();
    let mut value =
        serde_json::to_value(report).unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }));
    value["figures"] = serde_json::json!(names);
    format!("{value:#}\n")
}

/// Everything that a report folder holds: (path inside the folder, bytes), the page first.
pub fn files(report: &Report) -> Result<Vec<(String, Vec<u8>)>, String> {
    let figures = figures(report);
    let page = html::page(report, &figures).map_err(|error| error.to_string())?;
    let mut files = vec![
        ("report.html".to_string(), page.into_bytes()),
        ("answer.txt".to_string(), terminal(report, None).into_bytes()),
        ("report.json".to_string(), json_of_folder(report, &figures).into_bytes()),
        ("designs.csv".to_string(), csv::designs(report).into_bytes()),
        ("needed.csv".to_string(), csv::needed(report).into_bytes()),
        ("site_visit.csv".to_string(), csv::site_visit(report).into_bytes()),
    ];
    if !report.answer.animals.is_empty() {
        files.push(("animals.csv".to_string(), csv::animals(report).into_bytes()));
    }
    if !report.answer.fish_bias.is_empty() {
        files.push(("fish_bias.csv".to_string(), csv::fish_bias(report).into_bytes()));
    }
    for figure in figures {
        files.push((format!("figures/{}.png", figure.name), png(&figure.svg)?));
        files.push((format!("figures/{}.svg", figure.name), figure.svg.into_bytes()));
    }
    Ok(files)
}
