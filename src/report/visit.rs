//! What one site visit gives: all methods side by side.

use super::digits::{NONE, significant};
use super::report::Report;
use super::select::{Series, distinct, most_sites, series};
use super::words::{BEYOND_ALL, Measure, RATIO, count_sites, error_of_visit, method_words, plain};
use crate::design::{ALL_FISH, FishMeasure};
use crate::engine::Row;
use serde::Serialize;

/// The number of units at which methods are compared, or the nearest below: common practice.
const UNITS: usize = 6;

/// The methods of one zone.
#[derive(Serialize)]
pub struct Visit {
    /// "outer terrace (means and errors over 8 sites, minutes on one)"
    pub title: String,
    /// "Of several sizes compared: invertebrate belts of 10 x 1 m." Empty where there is one of each.
    pub sizes: String,
    pub has_ashore: bool,
    /// Whether what is written of some of them is another number than what is there.
    pub has_written: bool,
    /// How many methods there are.
    pub methods: usize,
    pub rows: Vec<VisitRow>,
    /// "All of it takes 412 minutes under water a site."
    pub total: String,
}

/// One indicator of one method, as text; what is the same as in the row above is empty.
#[derive(Serialize)]
pub struct VisitRow {
    /// "6 coral belts"
    pub units: String,
    pub dimensions: String,
    pub indicator: String,
    pub mean: String,
    /// Where it is biased: the mean as it is written, in the same unit.
    pub written: String,
    /// Standard error of the mean of a visit, percent of the mean; of a mean of logarithms a factor.
    pub cv: String,
    /// Half-width of the interval for what is asked about, and the change that is detected.
    pub half_width: String,
    pub detectable: String,
    /// Under water and ashore, of all units of a site.
    pub minutes: String,
    pub ashore: String,
}

/// For each zone its designs: each method with its first dimensions, each indicator, at six units or the nearest below,
/// with the most sites and the first change (of those that were asked of the indicator itself, where there are such).
pub fn visit_rows(report: &Report) -> Vec<(String, Vec<&Row>)> {
    let all = most_sites(&series(report));
    let methods = distinct(all.iter().map(|series| series.first().method.as_str()));
    let zones = distinct(all.iter().map(|series| series.first().zone.as_str()).filter(|zone| *zone != "all"));
    let of_zone = |zone: &str| {
        let mut rows: Vec<&Row> = Vec::new();
        for method in &methods {
            let of_method = || all.iter().filter(|series| series.first().method == *method);
            let Some(dimensions) = of_method().next().map(|series| series.first().dimensions) else { continue };
            let here = |series: &&Series| series.first().zone == zone && series.change_index == 0;
            for series in of_method().filter(here).filter(|series| !repeats_a_group(report, series.first())) {
                let row = series.rows.iter().rev().find(|row| row.units <= UNITS).or(series.rows.first());
                rows.extend(row.filter(|row| row.dimensions == dimensions));
            }
        }
        rows
    };
    zones.iter().map(|zone| (zone.to_string(), of_zone(zone))).filter(|(_, rows)| !rows.is_empty()).collect()
}

/// All fish together are told as a group of their own only where there is more than one, or the one is not told.
fn repeats_a_group(report: &Report, row: &Row) -> bool {
    let measures = [FishMeasure::Density, FishMeasure::Biomass];
    let Some(measure) = measures.iter().find(|measure| measure.name(ALL_FISH) == row.indicator) else { return false };
    let in_zone = report.answer.fish_bias.iter().filter(|bias| bias.zone == row.zone);
    match distinct(in_zone.map(|bias| bias.group.as_str()))[..] {
        [group] => {
            let own = measure.name(group);
            report.answer.rows.iter().any(|row| row.indicator == own)
        }
        _ => false,
    }
}

/// Each indicator by components is a method of its own.
fn same_method(one: &Row, other: &Row) -> bool {
    one.method == other.method && one.method != "by_components"
}

/// One table for each zone.
pub fn visits(report: &Report) -> Vec<Visit> {
    visit_rows(report).iter().map(|(zone, rows)| visit(report, zone, rows)).collect()
}

fn visit(report: &Report, zone: &str, rows: &[&Row]) -> Visit {
    let begins = |index: usize| index == 0 || !same_method(rows[index - 1], rows[index]);
    let firsts: Vec<&Row> = (0..rows.len()).filter(|&index| begins(index)).map(|index| rows[index]).collect();
    let told = rows.iter().enumerate().map(|(index, row)| visit_row(report, row, begins(index)));
    let minutes: f64 = firsts.iter().map(|row| row.minutes).sum();
    let ashore: f64 = firsts.iter().filter_map(|row| row.ashore_minutes).sum();
    let mut total = format!("All of it takes {} minutes under water a site", significant(minutes.round(), 4));
    if ashore > 0.0 {
        total += &format!(" and {} ashore", significant(ashore.round(), 4));
    }
    Visit {
        title: format!("{zone} (means and errors over {}, minutes on one)", count_sites(&rows[0].sites)),
        sizes: sizes(report, &firsts),
        has_ashore: ashore > 0.0,
        has_written: rows.iter().any(|row| row.written.is_some()),
        methods: firsts.len(),
        rows: told.collect(),
        total: total + ".",
    }
}

/// Of which size the rows of a method are, where several are compared.
fn sizes(report: &Report, firsts: &[&Row]) -> String {
    let has_others = |row: &Row| {
        let all = &report.answer.rows;
        all.iter().any(|other| other.method == row.method && other.dimensions != row.dimensions)
    };
    let told = firsts.iter().filter(|row| has_others(row));
    let told: Vec<String> =
        told.map(|row| format!("{} of {}", method_words(&row.method), row.dimensions.label())).collect();
    if told.is_empty() { String::new() } else { format!("Of several sizes compared: {}.", told.join("; ")) }
}

fn visit_row(report: &Report, row: &Row, begins: bool) -> VisitRow {
    let measure = Measure::of(report, &row.indicator);
    let once = |text: String| if begins { text } else { String::new() };
    let with_unit = |text: String| {
        if text == NONE || text == BEYOND_ALL || text.starts_with(RATIO) {
            text
        } else {
            format!("{text} {}", measure.unit).trim_end().to_string()
        }
    };
    let method = method_words(&row.method);
    let units = if row.units == 1 { method.trim_end_matches('s') } else { &method };
    VisitRow {
        units: once(format!("{} {units}", row.units)),
        dimensions: once(row.dimensions.label()),
        indicator: plain(&row.indicator),
        mean: row.mean.map_or(NONE.to_string(), |mean| measure.level_with_unit(mean)),
        written: row.written.map_or(NONE.to_string(), |written| significant(measure.shown(written), 3)),
        cv: error_of_visit(row),
        half_width: with_unit(measure.half_width(row)),
        detectable: with_unit(measure.detectable(row)),
        minutes: once(significant(row.minutes.round(), 3)),
        ashore: once(row.ashore_minutes.map_or(NONE.to_string(), |minutes| significant(minutes.round(), 3))),
    }
}
