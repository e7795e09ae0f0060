//! How often each change is seen against the number of lines: one figure for each method, one panel for each zone.

use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::design::COLONY_SIZE_STRUCTURE;
use crate::engine::Row;
use crate::report::report::Report;
use crate::report::select::{Series, Topic, distinct, indicator_and_units, units_needed};
use crate::report::words::{Measure, count_sites, number_word, plain, sentence, times_seen, units_word};

/// The figure of one topic; `all` holds the series with the most sites. `None` where nothing is tested.
pub fn power(report: &Report, all: &[Series], topic: &Topic, name: String) -> Option<Figure> {
    let tested: Vec<&Series> = all
        .iter()
        .filter(|series| {
            topic.holds(series.first()) && series.rows.iter().any(|row| row.power.or(row.theory_power).is_some())
        })
        .collect();
    let zones = distinct(tested.iter().map(|series| series.first().zone.as_str()));
    if zones.is_empty() {
        return None;
    }
    let of_zone = |zone: &str| tested.iter().filter(|series| series.first().zone == zone).copied().collect::<Vec<_>>();
    let panels: Vec<CurvePanel> = zones.iter().map(|zone| panel(report, topic, zone, &of_zone(zone))).collect();
    let units = units_word(&topic.method, 2);
    let title = finding(report, topic, &tested);
    let any_marked = tested.iter().flat_map(|series| &series.rows).any(|row| row.false_alarm_marked);
    let tiles = Tiles::new(panels.len(), if panels.len() > 1 { 212.0 } else { 300.0 });
    let words = Words {
        name,
        alt: format!(
            "Lines that rise with the number of {units}, one for each change, in {} panels. {title}.",
            panels.len()
        ),
        title,
        subtitle: format!("{}: {}, by zone.", sentence(&plain(&topic.indicator)), topic.label()),
        caption: format!(
            "{}. How often each change is seen, against the number of {units} on each site. Thick lines with marks: \
             simulation, with a band of two standard errors on either side; thin grey lines: formula. Dotted: the target. \
             What counts is where a line crosses the target and stays above.{}{}",
            indicator_and_units(topic),
            who_is_struck(report, &tested),
            if any_marked {
                " Hollow marks: the test rings falsely too often there; a line with such marks is that of the test held to its level."
            } else {
                ""
            }
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, panel) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
}

fn panel(report: &Report, topic: &Topic, zone: &str, series: &[&Series]) -> CurvePanel {
    let spans: Vec<Option<String>> = series.iter().map(|series| span(report, series)).collect();
    let is_told_twice = |span: &Option<String>| spans.iter().filter(|other| *other == span).count() > 1;
    let curves = series.iter().zip(&spans).map(|(series, span)| curve(series, span, is_told_twice(span))).collect();
    let name = if zone == "all" { "all zones together" } else { zone };
    CurvePanel {
        name: format!("{name}, {}", count_sites(&series[0].first().sites)),
        curves,
        x_name: format!("{} a site", units_word(&topic.method, 2)),
        y_name: "seen, times in 100".to_string(),
        x_is_whole: true,
        y_limits: Some((0.0, 100.0)),
        target: Some(100.0 * report.seen),
        label_room: 92.0,
    }
}

/// "28 to 22 %", of what a change moves.
fn span(report: &Report, series: &Series) -> Option<String> {
    let row = series.first();
    let measure = Measure::of(report, &row.indicator);
    Some(measure.span(row.change_from?, row.change_to?))
}

/// "large colonies first", where the deaths of a change are told.
fn deaths(series: &Series) -> Option<String> {
    series.first().deaths.map(|deaths| deaths.short().to_string())
}

/// Whom changes strike, which has no room beside the lines: " 28 to 18 %: large colonies first."
fn who_is_struck(report: &Report, tested: &[&Series]) -> String {
    let told = |series: &&Series| Some(format!("{}: {}", span(report, series)?, deaths(series)?));
    let told: Vec<String> = tested.iter().filter_map(told).collect();
    let told = distinct(told.iter().map(String::as_str));
    if told.is_empty() { String::new() } else { format!(" {}.", told.join("; ")) }
}

/// Lines are named by the levels of their change, which are different changes then; those of the same levels by whom it strikes.
fn curve(series: &Series, span: &Option<String>, is_told_twice: bool) -> Curve {
    let row = series.first();
    let label = match (deaths(series).filter(|_| is_told_twice), span) {
        (Some(deaths), _) => deaths,
        (None, Some(span)) => span.clone(),
        (None, None) => plain(&row.indicator),
    };
    let mut curve = Curve::new(label, series.change_index);
    let plausible = |power: f64| (-0.01..=1.01).contains(&power);
    for row in &series.rows {
        if let Some((power, error)) = row.power_that_counts().filter(|&(power, _)| plausible(power)) {
            curve.push(row.units as f64, 100.0 * power, Some(100.0 * error));
        }
        if row.false_alarm_marked {
            curve.hollow.push(row.units as f64);
        }
        if let Some(power) = row.theory_power.filter(|&power| plausible(power)) {
            curve.theory.push((row.units as f64, 100.0 * power));
        }
    }
    curve
}

/// Whether a change moves what a row is about: sizes of colonies only where not all colonies have the same chance.
fn moves_sizes(row: &Row) -> bool {
    row.indicator != COLONY_SIZE_STRUCTURE || row.deaths.is_some_and(|deaths| deaths.moves_sizes())
}

/// What the figure shows, told by its first change.
fn finding(report: &Report, topic: &Topic, tested: &[&Series]) -> String {
    let first: Vec<&Series> = tested.iter().filter(|series| series.change_index == 0).copied().collect();
    let has_zones = first.iter().any(|series| series.first().zone != "all");
    let told: Vec<(&str, Option<usize>)> = first
        .iter()
        .filter(|series| !has_zones || series.first().zone != "all")
        .map(|series| (series.first().zone.as_str(), units_needed(series, report)))
        .collect();
    let seen = times_seen(report.seen);
    let units = units_word(&topic.method, 2);
    let row = first.first().map(|series| series.first());
    let (Some(row), false) = (row, told.is_empty()) else {
        return format!("How often a change is seen against {units}");
    };
    let measure = Measure::of(report, &row.indicator);
    let (from, to) = (row.change_from.unwrap_or(f64::NAN), row.change_to.unwrap_or(f64::NAN));
    // Without a formula only the numbers that were simulated are known.
    let has_formula = first.iter().any(|series| series.needed(report).is_some());
    let none = if has_formula { "no number of" } else { "none of these numbers of" };
    // The axis ends with the numbers that were simulated.
    let most = first.iter().flat_map(|series| &series.rows).map(|row| row.units).max().unwrap_or(usize::MAX);
    let beyond = |number: usize| if number > most { format!(" (beyond the {most} simulated)") } else { String::new() };
    if !moves_sizes(row) {
        let change = measure.change(from, to);
        return format!(
            "{} does not move with {change}: what is seen are false alarms",
            sentence(&plain(&row.indicator))
        );
    }
    if let [(_, units_enough)] = told[..] {
        let change = measure.change(from, to);
        return match units_enough {
            Some(1) => format!("One {} a site sees {change} {seen}", units_word(&topic.method, 1)),
            Some(enough) => format!("{} {units} a site{} see {change} {seen}", number_word(enough), beyond(enough)),
            None => format!("With {} {none} {units} sees {change} {seen}", count_sites(&row.sites)),
        };
    }
    let change = measure.relative_change(from, to);
    let enough = |&(zone, number): &(&str, Option<usize>)| match number {
        Some(number) => format!("{zone} {number}{}", beyond(number)),
        None if has_formula => format!("{zone} out of reach"),
        None => format!("{zone} none of these"),
    };
    let told = told.iter().map(enough).collect::<Vec<_>>().join(", ");
    format!("{} a site that see {change} {seen}: {told}", sentence(&units))
}
