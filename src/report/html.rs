//! One page that holds everything and needs nothing else: no scripts, no other files, no network.

use super::base64::base64;
use super::caution::CAUTION;
use super::digits::significant;
use super::figures::{Figure, figures};
use super::fish::{BIAS_NOTE, BiasTable, bias_tables, parts_note};
use super::fonts;
use super::report::Report;
use super::search::{SEARCH_NOTE, SearchTable, asks_for_the_rare, search_tables, search_title, surely};
use super::tables::{self, DesignRow, DetectableRow, NeededRow, Table};
use super::visit::{Visit, visits};
use super::words::{ashore_note, beyond_all_note, ratio_note};
use crate::planner::{Note, Warning};
use crate::scenario::{Assumption, Origin};
use minijinja::Environment;
use minijinja::value::Serde;
use serde::Serialize;

const PAGE: &str = include_str!("templates/report.html");
const STYLE: &str = include_str!("templates/report.css");

/// The report as one HTML file. Everything that comes from the scenario is escaped by the template engine; only our own
/// style and figures (whose texts the drawing library escapes) go in as they are.
pub fn html(report: &Report) -> Result<String, String> {
    page(report, &figures(report)).map_err(|error| error.to_string())
}

/// The same with figures that are drawn already.
pub fn page(report: &Report, figures: &[Figure]) -> Result<String, minijinja::Error> {
    rendered("report.html", PAGE, contents(report, figures, style()?))
}

/// The style of every page, with the typeface inside.
pub fn style() -> Result<String, minijinja::Error> {
    let letters = Letters { regular: base64(fonts::REGULAR), bold: base64(fonts::BOLD) };
    rendered("report.css", STYLE, letters)
}

/// A template with its contents; a name that ends in `html` escapes them.
pub fn rendered(name: &str, template: &str, contents: impl Serialize) -> Result<String, minijinja::Error> {
    let mut templates = Environment::new();
    templates.add_template(name, template)?;
    templates.get_template(name)?.render(Serde(contents))
}

#[derive(Serialize)]
struct Letters {
    regular: String,
    bold: String,
}

/// What the template shows, by the names it uses.
#[derive(Serialize)]
struct Contents<'a> {
    css: String,
    title: &'a str,
    version: &'a str,
    seed: u64,
    schema_version: u32,
    /// In hundredths, as text.
    alpha: String,
    seen: String,
    interrupted: bool,
    headline: &'a [String],
    caution: &'static str,
    warnings: &'a [Warning],
    figures: Vec<InlineFigure>,
    row_count: usize,
    designs: Vec<Table<DesignRow>>,
    not_in_designs: String,
    /// Whether any row shown exceeds its false alarm, or parts from theory; and trials without an answer.
    any_marked: bool,
    any_needed_held: bool,
    any_parts: bool,
    degenerate: u64,
    /// What photographs cost ashore, where there are any.
    ashore: Option<String>,
    needed: Vec<Table<NeededRow>>,
    needed_hidden: usize,
    detectable: Vec<Table<DetectableRow>>,
    searches: Vec<SearchTable>,
    search_title: &'static str,
    searches_first: bool,
    /// Whether anything is biased, so that amounts are of what is there; whether anything is tested.
    any_biased: bool,
    beyond_all: &'static str,
    ratios: &'static str,
    any_tested: bool,
    fish_bias: Vec<BiasTable>,
    bias_note: &'a str,
    bias_parts: &'static str,
    search_note: &'static str,
    surely: String,
    visits: Vec<Visit>,
    notes: &'a [Note],
    /// Of the intervals, in hundredths.
    interval: String,
    assumptions: Vec<AssumptionRow<'a>>,
    methods_text: &'a [String],
    scenario_text: &'a str,
}

fn contents<'a>(report: &'a Report, figures: &[Figure], css: String) -> Contents<'a> {
    let (designs, not_in_designs) = tables::designs(report);
    let (needed, needed_hidden) = tables::needed(report);
    let shown = || designs.iter().flat_map(|table| &table.rows);
    Contents {
        css,
        title: if report.title.is_empty() { "A reef survey" } else { &report.title },
        version: &report.version,
        seed: report.seed,
        schema_version: report.schema_version,
        alpha: significant(100.0 * report.alpha, 2),
        seen: significant(100.0 * report.seen, 2),
        interrupted: report.answer.interrupted,
        headline: &report.answer.headline,
        caution: CAUTION,
        warnings: &report.answer.warnings,
        figures: figures.iter().map(inline).collect(),
        row_count: report.answer.rows.len(),
        any_marked: shown().any(|row| row.marked),
        any_needed_held: report.answer.needed.iter().any(|needed| needed.held),
        any_parts: shown().any(|row| row.parts),
        degenerate: shown().map(|row| row.degenerate).sum(),
        ashore: ashore_note(report),
        needed,
        needed_hidden,
        detectable: tables::detectable(report),
        searches: search_tables(report),
        search_title: search_title(report),
        searches_first: asks_for_the_rare(report),
        beyond_all: beyond_all_note(report),
        ratios: ratio_note(report),
        any_biased: report.answer.rows.iter().any(|row| row.written.is_some()),
        any_tested: report.answer.rows.iter().any(|row| row.test.is_some()),
        fish_bias: bias_tables(report),
        bias_note: BIAS_NOTE,
        bias_parts: parts_note(report),
        search_note: SEARCH_NOTE,
        surely: surely(),
        visits: visits(report),
        notes: &report.answer.notes,
        interval: significant(100.0 * (1.0 - report.alpha), 3),
        assumptions: assumption_rows(&report.assumptions),
        methods_text: &report.methods_text,
        scenario_text: &report.scenario_text,
        designs,
        not_in_designs,
    }
}

#[derive(Serialize)]
pub struct InlineFigure {
    svg: String,
    caption: String,
}

/// Inside a page a figure needs no address of its language, and gets the text for people who do not see it.
pub fn inline(figure: &Figure) -> InlineFigure {
    let alt = escaped(&figure.alt);
    let svg = figure.svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1).replacen(
        "<svg ",
        &format!("<svg role=\"img\" aria-label=\"{alt}\" "),
        1,
    );
    InlineFigure { svg, caption: figure.caption.clone() }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[derive(Serialize)]
struct AssumptionRow<'a> {
    /// What the numbers from here on are about, where that begins.
    title: Option<&'static str>,
    about: &'a str,
    value: &'a str,
    origin: String,
}

fn assumption_rows(all: &[Assumption]) -> Vec<AssumptionRow<'_>> {
    let kind = |assumption: &Assumption| (assumption.origin.rank(), assumption.matter);
    let mut last = None;
    let mut rows = Vec::new();
    for assumption in all {
        let begins = last.replace(kind(assumption)) != Some(kind(assumption));
        rows.push(AssumptionRow {
            title: begins.then(|| assumption.matter.title()),
            about: &assumption.about,
            value: &assumption.value,
            origin: origin(&assumption.origin),
        });
    }
    rows
}

/// Where a number comes from, in words.
pub fn origin(origin: &Origin) -> String {
    match origin {
        Origin::Assumed => "assumed: nobody has measured it here".to_string(),
        Origin::MyWords(words) => format!("in your words: “{words}”"),
        Origin::Published(source) => format!("published: {source}"),
        Origin::Pilot(source) => format!("pilot data: {source}"),
    }
}
