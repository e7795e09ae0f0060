//! Which of many rows are shown where: tables and figures show the main designs, the CSV shows all.

use super::report::Report;
use super::words::plain;
use crate::engine::Row;
use crate::planner::Needed;
use crate::survey::Dimensions;

/// Indicators, as a sentence calls them, of whom no row is among those shown.
pub fn not_shown(report: &Report, shown: &[&str]) -> Vec<String> {
    let all = distinct(report.answer.rows.iter().map(|row| row.indicator.as_str()));
    all.into_iter().filter(|name| !shown.contains(name)).map(plain).collect()
}

/// Rows that differ in the number of units alone, fewest units first.
#[derive(Clone, Debug)]
pub struct Series<'a> {
    pub rows: Vec<&'a Row>,
    /// The how-manieth change of its indicator and zone (the same change in every zone has the same index).
    pub change_index: usize,
}

impl<'a> Series<'a> {
    /// The row that all others resemble in everything but units and results.
    pub fn first(&self) -> &'a Row {
        self.rows[0]
    }

    /// The planner's answer for this series, if it has one.
    pub fn needed(&self, report: &'a Report) -> Option<&'a Needed> {
        let row = self.first();
        report.answer.needed.iter().find(|needed| {
            needed.indicator == row.indicator
                && needed.zone == row.zone
                && needed.method == row.method
                && needed.dimensions == row.dimensions
                && needed.sites == row.sites
                && Some(needed.change_from) == row.change_from
                && Some(needed.change_to) == row.change_to
                && needed.deaths == row.deaths
        })
    }
}

/// All series, in the order in which the rows come; those of the method of which the headline speaks first, where it chose one.
pub fn series(report: &Report) -> Vec<Series<'_>> {
    let mut all: Vec<Series> = Vec::new();
    for row in &report.answer.rows {
        match all.iter_mut().find(|series| same_but_units(series.first(), row)) {
            Some(series) => series.rows.push(row),
            None => all.push(Series { rows: vec![row], change_index: 0 }),
        }
    }
    for index in 0..all.len() {
        all[index].rows.sort_by_key(|row| row.units);
        all[index].change_index = change_index(&all, index);
    }
    if let Some(best) = &report.answer.headline_of {
        all.sort_by_key(|series| !best.is(&series.first().method, series.first().dimensions));
    }
    all
}

fn same_but_units(one: &Row, other: &Row) -> bool {
    one.sites == other.sites
        && one.dimensions == other.dimensions
        && one.change_from == other.change_from
        && one.change_to == other.change_to
        && one.deaths == other.deaths
        && one.zone == other.zone
        && one.method == other.method
        && one.indicator == other.indicator
}

fn change_index(all: &[Series], index: usize) -> usize {
    let row = all[index].first();
    let change_of = |row: &Row| (row.change_from, row.change_to, row.deaths);
    let mut seen = Vec::new();
    for other in
        all.iter().map(Series::first).filter(|other| other.indicator == row.indicator && other.zone == row.zone)
    {
        let change = change_of(other);
        if !seen.contains(&change) {
            seen.push(change);
        }
    }
    seen.iter().position(|change| *change == change_of(row)).unwrap_or(0)
}

/// The series with the most sites of each zone (for each indicator, method, dimensions and change).
pub fn most_sites<'a>(all: &[Series<'a>]) -> Vec<Series<'a>> {
    all.iter()
        .filter(|series| {
            let row = series.first();
            !all.iter().map(Series::first).any(|other| {
                other.sites.total() > row.sites.total()
                    && other.indicator == row.indicator
                    && other.zone == row.zone
                    && other.method == row.method
            })
        })
        .cloned()
        .collect()
}

/// An indicator, a method and one choice of its dimensions: what one figure or one block of a table is about.
#[derive(Clone, Debug, PartialEq)]
pub struct Topic {
    pub indicator: String,
    pub method: String,
    pub dimensions: Dimensions,
}

impl Topic {
    pub fn of(row: &Row) -> Topic {
        Topic { indicator: row.indicator.clone(), method: row.method.clone(), dimensions: row.dimensions }
    }

    pub fn holds(&self, row: &Row) -> bool {
        row.dimensions == self.dimensions && row.method == self.method && row.indicator == self.indicator
    }

    /// "point-intercept lines, 10 m, every 0.1 m"
    pub fn label(&self) -> String {
        let method = super::words::method_words(&self.method);
        let dimensions = self.dimensions.label();
        if dimensions.is_empty() { method } else { format!("{method}, {dimensions}") }
    }
}

/// "Coral grouper, fish belts, 30 x 2 m in 8 min": of which a figure or table is.
pub fn indicator_and_units(topic: &Topic) -> String {
    let words = format!("{}, {}", super::words::plain(&topic.indicator), topic.label());
    super::words::sentence(&words)
}

/// So many methods and indicators get figures and tables of their own, and one method of each indicator of which a change was
/// asked; the CSV holds all.
const MOST_TOPICS: usize = 6;

/// The first dimensions of each indicator and method: those of which a change was asked first, one method of each before the
/// others; then those that are tested, then the rest.
pub fn main_topics(report: &Report, all: &[Series]) -> Vec<Topic> {
    let is_asked = |indicator: &str| own_changes(report, indicator) > 0;
    let mut topics: Vec<(usize, usize, Topic)> = Vec::new();
    for series in all {
        let (topic, is_tested) = (Topic::of(series.first()), series.first().change_from.is_some());
        let of_indicator = topics.iter().filter(|(.., other)| other.indicator == topic.indicator);
        if !of_indicator.clone().any(|(.., other)| other.method == topic.method) {
            let (earlier, kind) = (of_indicator.count(), if is_tested { 1 } else { 2 });
            let kind = if is_tested && is_asked(&topic.indicator) { 0 } else { kind };
            topics.push((kind, if kind == 0 { earlier } else { 0 }, topic));
        }
    }
    topics.sort_by_key(|&(kind, earlier, _)| (kind, earlier));
    let asked = topics.iter().filter(|&&(kind, earlier, _)| (kind, earlier) == (0, 0)).count();
    topics.into_iter().map(|(.., topic)| topic).take(MOST_TOPICS.max(asked)).collect()
}

/// How many changes of an indicator were asked.
pub fn own_changes(report: &Report, indicator: &str) -> usize {
    let changes = report.scenario["changes"].as_array().map_or(&[][..], Vec::as_slice);
    changes.iter().filter(|change| change["indicator"] == indicator).count()
}

/// Each item once, in order of first appearance.
pub fn distinct<T: PartialEq>(items: impl IntoIterator<Item = T>) -> Vec<T> {
    let mut once: Vec<T> = Vec::new();
    for item in items {
        if !once.contains(&item) {
            once.push(item);
        }
    }
    once
}

/// The units at which a series first reaches the target power and stays above it: the planner's answer where there is
/// one, else read from the rows.
pub fn units_needed(series: &Series, report: &Report) -> Option<usize> {
    if let Some(needed) = series.needed(report) {
        return needed.units;
    }
    let below = |row: &&Row| !row.power_that_counts().is_some_and(|(power, _)| power >= report.seen);
    let after_last_below = series.rows.iter().rposition(below).map_or(0, |last| last + 1);
    series.rows.get(after_last_below).map(|row| row.units)
}

/// The row with what is needed, or with the most units where nothing is enough.
pub fn wanted_row<'a>(series: &Series<'a>, report: &Report) -> Option<&'a Row> {
    let enough = units_needed(series, report).and_then(|units| series.rows.iter().find(|row| row.units >= units));
    enough.or(series.rows.last()).copied()
}

/// The rows a table shows of a series: common practice (six units, or the nearest below) and what is needed.
pub fn table_rows<'a>(series: &Series<'a>, report: &Report) -> Vec<&'a Row> {
    let common = series.rows.iter().rev().find(|row| row.units <= 6).or(series.rows.first());
    let mut rows = distinct(common.copied().into_iter().chain(wanted_row(series, report)));
    rows.sort_by_key(|row| row.units);
    rows
}
