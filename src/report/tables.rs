//! The tables of the page: rows as they are read, numbers already as text.

use super::digits::{NONE, hundredths, rounded, significant};
use super::report::Report;
use super::select::{Series, Topic, distinct, main_topics, most_sites, not_shown, series, table_rows};
use super::words::{Measure, count_units, error_of_visit, plain, sentence, units_word};
use crate::design::ColonyDeaths;
use crate::engine::Row;
use crate::planner::Needed;
use serde::Serialize;

/// Longer tables of what is needed are cut; the CSV has all.
const MOST_NEEDED: usize = 40;
const MOST_COLUMNS: usize = 8;

/// One table: a topic and its rows.
#[derive(Serialize)]
pub struct Table<R> {
    pub title: String,
    /// What a diver does: "lines".
    pub units: String,
    /// Unit of differences, and of levels.
    pub unit: String,
    pub level_unit: String,
    /// Whether a change is asked about (not in a status), and whether minutes ashore are told.
    pub has_change: bool,
    pub has_ashore: bool,
    /// Whether intervals are told of what is written too: of fish.
    pub has_written: bool,
    /// Whether any test is held to its level.
    pub has_held: bool,
    /// Heads of the columns of the table of detectable change: numbers of units.
    pub columns: Vec<String>,
    pub rows: Vec<R>,
}

impl<R> Table<R> {
    fn new(measure: &Measure, topic: &Topic, columns: Vec<String>, rows: Vec<R>) -> Table<R> {
        Table {
            title: format!("{}, {}", sentence(&plain(&topic.indicator)), topic.label()),
            units: units_word(&topic.method, 2),
            unit: measure.unit.clone(),
            level_unit: measure.level_unit().to_string(),
            has_change: true,
            has_ashore: false,
            has_written: false,
            has_held: false,
            columns,
            rows,
        }
    }
}

#[derive(Serialize)]
pub struct DesignRow {
    zone: String,
    sites: String,
    units: usize,
    change: String,
    power: String,
    /// With the test held to its level, where it rings falsely too often.
    held: String,
    theory: String,
    false_alarm: String,
    detectable: String,
    half_width: String,
    cv: String,
    interval_truth: String,
    interval_written: String,
    minutes: String,
    ashore: String,
    pub marked: bool,
    pub parts: bool,
    pub degenerate: u64,
}

/// The main designs, one table for each indicator and method; and the indicators of which they tell nothing, in a sentence.
pub fn designs(report: &Report) -> (Vec<Table<DesignRow>>, String) {
    let all = most_sites(&series(report));
    let topics = main_topics(report, &all);
    let is_told = |series: &&Series| topics.iter().any(|topic| topic.holds(series.first()));
    let told: Vec<&str> = all.iter().filter(is_told).map(|series| series.first().indicator.as_str()).collect();
    let not_told = not_shown(report, &told).join(", ");
    let tables = topics.into_iter().map(|topic| {
        let measure = Measure::of(report, &topic.indicator);
        let of_topic = all.iter().filter(|series| topic.holds(series.first()));
        let rows: Vec<&Row> = of_topic.flat_map(|series| table_rows(series, report)).collect();
        Table {
            has_change: rows.iter().any(|row| row.change_from.is_some()),
            has_ashore: rows.iter().any(|row| row.ashore_minutes.is_some()),
            has_written: rows.iter().any(|row| row.interval_written.is_some()),
            has_held: rows
                .iter()
                .any(|row| row.power_held.is_some() || (row.false_alarm_marked && row.power.is_some())),
            ..Table::new(&measure, &topic, vec![], rows.iter().map(|row| design_row(&measure, row)).collect())
        }
    });
    (tables.collect(), not_told)
}

fn design_row(measure: &Measure, row: &Row) -> DesignRow {
    let theory_error = row.power_error.map(|error| 100.0 * error);
    let marks = |text: String, marked: bool, mark: &str| if marked { format!("{text} {mark}") } else { text };
    let theory = row.theory_power.map_or(NONE.to_string(), |power| rounded(100.0 * power, theory_error));
    DesignRow {
        zone: row.zone.clone(),
        sites: row.sites.span(),
        units: row.units,
        change: change(measure, (row.change_from, row.change_to), row.deaths),
        power: hundredths(row.power, row.power_error),
        held: held(row),
        theory: marks(theory, row.theory_parts, "*"),
        false_alarm: marks(hundredths(row.false_alarm, row.false_alarm_error), row.false_alarm_marked, "!"),
        detectable: measure.detectable(row),
        half_width: measure.half_width(row),
        cv: error_of_visit(row),
        interval_truth: hundredths(row.interval_truth, row.interval_truth_error),
        interval_written: hundredths(row.interval_written, row.interval_written_error),
        minutes: significant(row.minutes.round(), 3),
        ashore: row.ashore_minutes.map_or(NONE.to_string(), |minutes| significant(minutes.round(), 3)),
        marked: row.false_alarm_marked,
        parts: row.theory_parts,
        degenerate: row.degenerate,
    }
}

/// Power of a test that rings too often, held to its level; empty for others.
fn held(row: &Row) -> String {
    match (row.false_alarm_marked || row.power_held.is_some(), row.power_that_counts()) {
        (false, _) => String::new(),
        (true, Some((power, error))) => hundredths(Some(power), Some(error)),
        (true, None) => NONE.to_string(),
    }
}

fn change(measure: &Measure, levels: (Option<f64>, Option<f64>), deaths: Option<ColonyDeaths>) -> String {
    match levels {
        (Some(from), Some(to)) => measure.levels(from, to) + &struck(deaths),
        _ => NONE.to_string(),
    }
}

/// ", in patches": how a change struck, where not all colonies had the same chance.
pub fn struck(deaths: Option<ColonyDeaths>) -> String {
    deaths.map_or(String::new(), |deaths| format!(", {}", deaths.short()))
}

#[derive(Serialize)]
pub struct NeededRow {
    zone: String,
    sites: String,
    change: String,
    units: Option<String>,
    range: String,
    theory: String,
    ceiling: String,
    confirmed: String,
}

/// What is needed with the main dimensions of each method; and how many lines were left to the CSV.
pub fn needed(report: &Report) -> (Vec<Table<NeededRow>>, usize) {
    let all = series(report);
    let topics = main_topics(report, &all);
    let mut tables = Vec::new();
    let mut shown = 0;
    for topic in topics {
        let measure = Measure::of(report, &topic.indicator);
        let of_topic = report.answer.needed.iter().filter(|needed| {
            needed.dimensions == topic.dimensions
                && needed.method == topic.method
                && needed.indicator == topic.indicator
        });
        let row = |needed| needed_row(&measure, needed, report.seen);
        let rows: Vec<NeededRow> = of_topic.map(row).take(MOST_NEEDED).collect();
        if !rows.is_empty() {
            shown += rows.len();
            tables.push(Table::new(&measure, &topic, vec![], rows));
        }
    }
    (tables, report.answer.needed.len().saturating_sub(shown))
}

/// What fresh trials say of the number told.
fn verdict(needed: &Needed, seen: f64) -> String {
    let power = |units: Option<usize>| {
        let tried = needed.confirmed.iter().find(|(tried, ..)| Some(*tried) == units);
        tried.map(|&(_, power, _)| power >= seen)
    };
    match (power(needed.units), power(needed.units.and_then(|units| units.checked_sub(1)))) {
        (Some(true), Some(false)) => ": confirmed".to_string(),
        (Some(true), Some(true)) => ": one fewer is enough too, within the error".to_string(),
        (Some(true), None) => ": enough".to_string(),
        (Some(false), _) => ": a little too few, within the error".to_string(),
        (None, _) => String::new(),
    }
}

fn needed_row(measure: &Measure, needed: &Needed, seen: f64) -> NeededRow {
    let count = |units: Option<usize>| units.map_or(NONE.to_string(), |units| units.to_string());
    let range = match (needed.units_low, needed.units_high) {
        (Some(low), Some(high)) if low == high => low.to_string(),
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("{low} or more"),
        (None, _) => NONE.to_string(),
    };
    let confirmed = needed
        .confirmed
        .iter()
        .map(|&(units, power, error)| format!("{units}: {}", hundredths(Some(power), Some(error))));
    let confirmed = confirmed.collect::<Vec<_>>().join(", ") + &verdict(needed, seen);
    NeededRow {
        zone: needed.zone.clone(),
        sites: needed.sites.span(),
        change: change(measure, (Some(needed.change_from), Some(needed.change_to)), needed.deaths),
        units: needed.units.map(|units| units.to_string()),
        range,
        theory: count(needed.theory_units),
        ceiling: hundredths(Some(needed.ceiling), Some(0.01)).split(' ').next().unwrap_or(NONE).to_string(),
        confirmed: if confirmed.is_empty() { NONE.to_string() } else { confirmed },
    }
}

#[derive(Serialize)]
pub struct DetectableRow {
    zone: String,
    sites: String,
    cells: Vec<String>,
}

/// Detectable change with the main dimensions of each method: zones and sites down, units across.
pub fn detectable(report: &Report) -> Vec<Table<DetectableRow>> {
    let all = series(report);
    let tables = main_topics(report, &all).into_iter().filter_map(|topic| {
        let measure = Measure::of(report, &topic.indicator);
        let of_topic: Vec<&Series> = all
            .iter()
            .filter(|series| topic.holds(series.first()) && series.change_index == 0)
            .filter(|series| series.rows.iter().any(|row| row.detectable.is_some()))
            .collect();
        let mut units = distinct(of_topic.iter().flat_map(|series| &series.rows).map(|row| row.units));
        units.sort_unstable();
        let columns = thinned(&units);
        let rows: Vec<DetectableRow> =
            of_topic.iter().map(|series| detectable_row(&measure, series, &columns)).collect();
        let heads = columns.iter().map(|&units| count_units(&topic.method, units)).collect();
        (!rows.is_empty()).then(|| Table::new(&measure, &topic, heads, rows))
    });
    tables.collect()
}

fn detectable_row(measure: &Measure, series: &Series, columns: &[usize]) -> DetectableRow {
    let cell = |units: &usize| {
        let row = series.rows.iter().find(|row| row.units == *units);
        row.map_or(NONE.to_string(), |row| measure.detectable(row))
    };
    let row = series.first();
    DetectableRow { zone: row.zone.clone(), sites: row.sites.span(), cells: columns.iter().map(cell).collect() }
}

/// At most eight of the numbers, with the first, the last and six (common practice) among them.
fn thinned(units: &[usize]) -> Vec<usize> {
    if units.len() <= MOST_COLUMNS {
        return units.to_vec();
    }
    let step = |index: usize| units[index * (units.len() - 1) / (MOST_COLUMNS - 2)];
    let mut kept: Vec<usize> =
        (0..MOST_COLUMNS - 1).map(step).chain(units.iter().copied().filter(|&units| units == 6)).collect();
    kept.sort_unstable();
    kept.dedup();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinned_columns_keep_both_ends_and_six() {
        assert_eq!(thinned(&[1, 2, 3]), vec![1, 2, 3]);
        for last in [9, 12, 30, 60] {
            let kept = thinned(&(1..=last).collect::<Vec<_>>());
            assert!(kept.len() <= MOST_COLUMNS && kept.contains(&1) && kept.contains(&6) && kept.contains(&last));
        }
    }
}
