//! How precisely the answer is told against the number of lines: half-width on the left, relative error on the right.

use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::engine::Row;
use crate::report::digits::significant;
use crate::report::report::Report;
use crate::report::select::{Series, Topic, indicator_and_units};
use crate::report::words::{Measure, count_units, number_word, plain, sentence, units_word};

/// The figure of one topic; `all` holds the series with the most sites. `None` where no precision is known.
pub fn precision(report: &Report, all: &[Series], topic: &Topic, name: String) -> Option<Figure> {
    let told: Vec<&Series> = all
        .iter()
        .filter(|series| topic.holds(series.first()) && series.change_index == 0)
        .filter(|series| series.rows.iter().any(|row| is_told(row.half_width) || is_told(row.cv.or(row.error_factor))))
        .collect();
    let first = told.first()?.first();
    let measure = Measure::of(report, &topic.indicator);
    let estimand = measure.estimand(first);
    let panel = |name: &str, y_name: String, value: &dyn Fn(&Row) -> Option<f64>| CurvePanel {
        name: name.to_string(),
        curves: told.iter().enumerate().map(|(index, series)| curve(series, index, value)).collect(),
        x_name: format!("{} a site", units_word(&topic.method, 2)),
        y_name,
        x_is_whole: true,
        y_limits: None,
        target: None,
        label_room: 114.0,
    };
    let unit = if measure.unit.is_empty() { "own unit" } else { &measure.unit };
    // A mean of logarithms has no percent.
    let is_factor = told.iter().flat_map(|series| &series.rows).any(|row| row.error_factor.is_some());
    let panels = [
        panel(&format!("Half-width for the {estimand}"), format!("plus or minus, {unit}"), &|row| {
            let most = measure.most_half_width(row.change_from);
            row.half_width.filter(|half_width| *half_width <= most).map(|half_width| measure.shown(half_width))
        }),
        if is_factor {
            panel("Error of one visit's mean", "factor of the geometric mean".to_string(), &|row| row.error_factor)
        } else {
            panel("Error of one visit's mean", "per cent of the mean".to_string(), &|row| row.cv.map(|cv| 100.0 * cv))
        },
    ];
    let tiles = Tiles::new(2, 268.0);
    let units = units_word(&topic.method, 2);
    let too_wide = told
        .iter()
        .flat_map(|series| &series.rows)
        .any(|row| row.half_width.is_some_and(|half_width| half_width > measure.most_half_width(row.change_from)));
    let title = finding(&measure, topic, &told, estimand);
    let interval = significant(100.0 * (1.0 - report.alpha), 3);
    let words = Words {
        name,
        alt: format!("Two panels of lines that fall with the number of {units}, one line for each zone. {title}."),
        title,
        subtitle: format!("{}: {}.", sentence(&plain(&topic.indicator)), topic.label()),
        caption: format!(
            "{}. Left: the half-width of the {interval} % interval for the {estimand}{}. Right: the standard error of the mean \
             of one visit, {}. Where a line turns flat, more {units} no longer help: what is \
             left comes from the sites and the years.{}",
            indicator_and_units(topic),
            if first.written.is_some() {
                ", of what is there (what is written, divided by the bias)"
            } else if first.ratio_factor.is_some() {
                " where nothing changed (elsewhere the interval is a ratio: x or / a factor)"
            } else {
                ""
            },
            if is_factor { "as a factor of the geometric mean" } else { "as a percentage of that mean" },
            if too_wide { " Intervals wider than a cover can vary are left out." } else { "" }
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, panel) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
}

fn is_told(value: Option<f64>) -> bool {
    value.is_some_and(|value| value.abs() < 1e200)
}

fn curve(series: &Series, index: usize, value: &dyn Fn(&Row) -> Option<f64>) -> Curve {
    let zone = &series.first().zone;
    let mut curve = Curve::new(if zone == "all" { "all zones".to_string() } else { zone.clone() }, index);
    for row in &series.rows {
        if let Some(value) = value(row) {
            curve.push(row.units as f64, value, None);
        }
    }
    curve
}

/// "With six lines a site the change is told to within 4.1 to 7.2 points".
fn finding(measure: &Measure, topic: &Topic, told: &[&Series], estimand: &str) -> String {
    let common = |series: &&Series| {
        let row = series.rows.iter().rev().find(|row| row.units <= 6).or(series.rows.first())?;
        let half_width = row.half_width.filter(|half_width| half_width.abs() < 1e200)?;
        Some((row.units, half_width))
    };
    let mut widths: Vec<(usize, f64)> =
        told.iter().filter(|series| series.first().zone != "all").filter_map(common).collect();
    if widths.is_empty() {
        widths = told.iter().filter_map(common).collect();
    }
    widths.sort_by(|one, other| one.1.total_cmp(&other.1));
    let (Some(narrow), Some(wide)) = (widths.first(), widths.last()) else {
        return format!("How precisely the {estimand} is told against {}", units_word(&topic.method, 2));
    };
    let units =
        count_units(&topic.method, narrow.0).replacen(&narrow.0.to_string(), &number_word(narrow.0).to_lowercase(), 1);
    let range = if measure.number(narrow.1) == measure.number(wide.1) {
        measure.amount(narrow.1)
    } else {
        format!("{} to {}", measure.number(narrow.1), measure.amount(wide.1))
    };
    format!("With {units} a site the {estimand} is told to plus or minus {range}")
}
