//! What finer spacing and longer lines are worth: the error of the answer against minutes of work.

use super::axes::smallest;
use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::report::digits::significant;
use crate::report::report::Report;
use crate::report::select::{Series, distinct};
use crate::report::words::{Measure, count_sites, plain, sentence};

/// More choices than this crowd a panel; the table has all.
const MOST_CHOICES: usize = 8;
/// More zones than this crowd a page.
const MOST_ZONES: usize = 4;

/// The figure of one indicator; `all` holds the series with the most sites. `None` with a single choice of dimensions.
pub fn minutes(report: &Report, all: &[Series], indicator: &str, name: String) -> Option<Figure> {
    let of_indicator: Vec<&Series> =
        all.iter().filter(|series| series.first().indicator == indicator && series.change_index == 0).collect();
    let zones: Vec<&str> = distinct(of_indicator.iter().map(|series| series.first().zone.as_str()));
    let zones: Vec<&str> =
        zones.iter().filter(|zone| zones.len() == 1 || **zone != "all").copied().take(MOST_ZONES).collect();
    let labels = distinct(of_indicator.iter().map(|series| choice_label(series)));
    if labels.len() < 2 {
        return None;
    }
    let first = of_indicator.first()?.first();
    let measure = Measure::of(report, &first.method, indicator);
    let estimand = if first.change_from.is_some() { "change" } else { "mean" };
    let panels: Vec<(CurvePanel, Vec<Curve>)> = zones
        .iter()
        .map(|zone| {
            let of_zone: Vec<&&Series> =
                of_indicator.iter().filter(|series| series.first().zone == *zone).take(MOST_CHOICES).collect();
            let curves = || of_zone.iter().map(|series| curve(&measure, series, &labels)).collect::<Vec<_>>();
            let sites = of_zone.first().map_or(0, |series| series.first().sites);
            (panel(format!("{zone}, {}", count_sites(sites)), &measure, estimand, curves()), curves())
        })
        .collect();
    let (panel, curves) = panels.first()?;
    let finding = finding(curves, &measure).map_or_else(
        || format!("What each choice tells for the minutes it takes: error of the {estimand}"),
        |finding| sentence(&if panels.len() > 1 { format!("{}: {finding}", zone_of(&panel.name)) } else { finding }),
    );
    let tiles = Tiles::new(panels.len(), if panels.len() > 1 { 250.0 } else { 310.0 });
    let words = Words {
        name,
        alt: format!(
            "Lines that fall with the minutes of work, one for each choice of method and dimensions. {finding}."
        ),
        title: finding,
        subtitle: format!("{}: error of the {estimand} for the minutes spent on a site.", sentence(&plain(indicator))),
        caption: format!(
            "Standard error of the {estimand} against minutes of work on a site at one visit, both axes logarithmic; every mark is one more line \
             or belt. The lowest line at the minutes you have is the best buy there. PI: point intercept, length / spacing; \
             LI: line intercept; PB: photo belt, length x width / points. Minutes are for planning work, no dive plan."
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, (panel, _)) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
}

fn zone_of(panel_name: &str) -> &str {
    panel_name.rsplit_once(", ").map_or(panel_name, |(zone, _)| zone)
}

fn panel(name: String, measure: &Measure, estimand: &str, curves: Vec<Curve>) -> CurvePanel {
    CurvePanel {
        name,
        curves,
        x_name: "minutes a site".to_string(),
        y_name: format!("error of the {estimand}, {}", measure.unit).trim_end_matches([',', ' ']).to_string(),
        x_is_whole: false,
        y_limits: None,
        target: None,
        label_room: 128.0,
    }
}

/// "PI 10 m / 0.1 m": short enough for the end of a line.
fn choice_label(series: &Series) -> String {
    use crate::survey::Dimensions::{Components, LineIntercept, PhotoBelt, PointIntercept};
    match series.first().dimensions {
        PointIntercept { length_m, spacing_m } => format!("PI {length_m} / {spacing_m} m"),
        LineIntercept { length_m } => format!("LI {length_m} m"),
        PhotoBelt { length_m, width_m, points } => format!("PB {length_m} x {width_m} m / {points}"),
        Components => plain(&series.first().method),
    }
}

fn curve(measure: &Measure, series: &Series, labels: &[String]) -> Curve {
    let label = choice_label(series);
    let style = labels.iter().position(|other| *other == label).unwrap_or(0);
    let mut curve = Curve::new(label, style);
    for row in &series.rows {
        if let Some(se) = row.theory_se.or(row.se) {
            curve.push(row.minutes, measure.shown(se), None);
        }
    }
    curve.points.sort_by(|one, other| one.0.total_cmp(&other.0));
    curve
}

/// The best choice at the most minutes that every choice reaches.
fn finding(curves: &[Curve], measure: &Measure) -> Option<String> {
    let last = |curve: &Curve| curve.points.last().map(|point| point.0);
    let budget = smallest(curves.iter().filter_map(last))?;
    let mut at_budget: Vec<(f64, &str)> =
        curves.iter().filter_map(|curve| Some((error_at(curve, budget)?, curve.label.as_str()))).collect();
    at_budget.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (best, worst) = (at_budget.first()?, at_budget.last()?);
    let unit = if measure.unit.is_empty() { String::new() } else { format!(" {}", measure.unit) };
    let minutes = significant(budget, 2);
    let (low, high) = (significant(best.0, 2), significant(worst.0, 2));
    Some(format!("{minutes} minutes a site buy an error of {low}{unit} with {}, {high}{unit} with {}", best.1, worst.1))
        .filter(|_| at_budget.len() > 1)
}

/// The error after so many minutes: that of the last whole line that fits.
fn error_at(curve: &Curve, minutes: f64) -> Option<f64> {
    curve.points.iter().take_while(|point| point.0 <= minutes + 1e-9).last().map(|point| point.1)
}
