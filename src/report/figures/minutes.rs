//! What finer spacing and longer lines are worth: the error of the answer against minutes of work.

use super::axes::{largest, smallest};
use super::curves::{Curve, CurvePanel};
use super::figure::{Figure, Tiles, Words};
use crate::report::digits::{padded, significant};
use crate::report::report::Report;
use crate::report::select::{Series, Topic, distinct};
use crate::report::words::{Measure, ashore_note, count_sites, plain, sentence};
use crate::survey::kind_and_how;

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
    let measure = Measure::of(report, indicator);
    let estimand = measure.estimand(first);
    let panels: Vec<(CurvePanel, Option<String>)> = zones
        .iter()
        .map(|zone| {
            let of_zone: Vec<&&Series> =
                of_indicator.iter().filter(|series| series.first().zone == *zone).take(MOST_CHOICES).collect();
            let mut curves: Vec<Curve> = of_zone.iter().map(|series| curve(&measure, series, &labels)).collect();
            let finding = cut_at_budget(&mut curves).and_then(|budget| finding(&curves, &of_zone, budget, &measure));
            let sites =
                of_zone.first().map_or(String::new(), |series| format!(", {}", count_sites(&series.first().sites)));
            (panel(format!("{zone}{sites}"), &measure, estimand, curves), finding)
        })
        .collect();
    let zone = if panels.len() > 1 { format!("{}, ", zones[0]) } else { String::new() };
    let finding = match &panels.first()?.1 {
        Some(finding) => sentence(&format!("{zone}{finding}")),
        None => format!("What each choice tells for the minutes it takes: error of the {estimand}"),
    };
    let tiles = Tiles::new(panels.len(), if panels.len() > 1 { 228.0 } else { 310.0 });
    let words = Words {
        name,
        alt: format!(
            "Lines that fall with the minutes of work, one for each choice of method and dimensions. {finding}."
        ),
        title: finding,
        subtitle: format!("{}: error of the {estimand} for the minutes spent on a site.", sentence(&plain(indicator))),
        caption: format!(
            "{}: standard error of the {estimand} against minutes of work on a site at one visit, both axes logarithmic; every mark is one more line \
             or belt. Lines end at the same minutes, or where no more units are asked about: the lowest end is the best buy there. {} {} Minutes are for planning work, no dive plan.",
            sentence(&plain(indicator)),
            key_of_labels(all, indicator),
            ashore_note(report).unwrap_or_default()
        ),
    };
    Some(words.draw(tiles.height(), |canvas, top| {
        for (index, (panel, _)) in panels.iter().enumerate() {
            panel.draw(canvas, &tiles, tiles.corner(index, top));
        }
    }))
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

/// What the labels of the methods shown are short for; and what errors of fish are of.
fn key_of_labels(all: &[Series], indicator: &str) -> String {
    const KEYS: [(&str, &str); 9] = [
        ("point_intercept", "PI: point intercept, length / spacing"),
        ("line_intercept", "LI: line intercept"),
        ("photo_belt", "PB: photo belt, length x width / points"),
        ("photo_quadrats", "PQ: photo quadrats, length / frames x points"),
        ("invertebrate_belt", "IB: invertebrate belt"),
        ("coral_belt", "CB: coral belt"),
        ("recruit_quadrats", "RQ: recruit quadrats, length / side, from start to start"),
        ("fish_belt", "FB: fish belt, length x width / minutes"),
        ("fish_point_count", "FP: fish point count, radius / minutes"),
    ];
    let shown = |method: &str| {
        let mut firsts = all.iter().map(Series::first);
        firsts.any(|first| first.indicator == indicator && kind_and_how(&first.method).0 == method)
    };
    let keys: Vec<&str> = KEYS.iter().filter(|(method, _)| shown(method)).map(|(_, words)| *words).collect();
    let key = if keys.is_empty() { String::new() } else { format!("{}.", keys.join("; ")) };
    let written = if shown("fish_belt") || shown("fish_point_count") {
        " Errors of fish are of what is there: what is written was divided by its bias, so that a method that overlooks many is not \
         flattered."
    } else {
        ""
    };
    format!("{key}{written}")
}

/// "PI 10 m / 0.1 m": short enough for the end of a line; with how it is done, where others have its size.
fn choice_label(series: &Series) -> String {
    let how = kind_and_how(&series.first().method).1.map_or(String::new(), |how| format!(", {how}"));
    format!("{}{how}", size_label(series))
}

fn size_label(series: &Series) -> String {
    use crate::survey::Dimensions::{
        Components, CoralBelt, FishBelt, FishPointCount, InvertebrateBelt, LineIntercept, PhotoBelt, PhotoQuadrats,
        PointIntercept, RecruitQuadrats,
    };
    match series.first().dimensions {
        PointIntercept { length_m, spacing_m } => format!("PI {length_m} / {spacing_m} m"),
        LineIntercept { length_m } => format!("LI {length_m} m"),
        PhotoBelt { length_m, width_m, points } => format!("PB {length_m} x {width_m} m / {points}"),
        PhotoQuadrats { length_m, frames, points_a_frame, .. } => {
            format!("PQ {length_m} m / {frames} x {points_a_frame}")
        }
        belt @ InvertebrateBelt { .. } => format!("IB {}", belt.label()),
        belt @ CoralBelt { .. } => format!("CB {}", belt.label()),
        RecruitQuadrats { length_m, quadrat_m, every_m } => format!("RQ {length_m} m / {quadrat_m} m, {every_m} m"),
        FishBelt { length_m, width_m, swim_minutes } => {
            format!("FB {length_m} x {width_m} m / {}", significant(swim_minutes, 2))
        }
        FishPointCount { radius_m, count_minutes } => format!("FP {radius_m} m / {count_minutes}"),
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

/// Ends every curve at the same minutes, so that the ends can be compared: the most that all choices reach, but enough
/// for two units of each. Between whole units the curve is drawn through.
fn cut_at_budget(curves: &mut [Curve]) -> Option<f64> {
    let reached = smallest(curves.iter().filter_map(|curve| Some(curve.points.last()?.0)))?;
    let two_units = largest(curves.iter().filter_map(|curve| Some(curve.points.get(1).or(curve.points.first())?.0)))?;
    let budget = reached.max(two_units);
    for curve in curves {
        if let Some(beyond) = curve.points.iter().position(|point| point.0 > budget).filter(|&index| index > 0) {
            let (before, after) = (curve.points[beyond - 1], curve.points[beyond]);
            let share = libm::log(budget / before.0) / libm::log(after.0 / before.0);
            curve.points.truncate(beyond);
            curve.end = Some((budget, before.1 * libm::pow(after.1 / before.1, share))).filter(|end| end.1.is_finite());
        }
    }
    Some(budget)
}

/// Curves that come this near to the common minutes are compared there.
const NEAR_BUDGET: f64 = 0.85;

/// The best and the worst choice at the end of the curves.
fn finding(curves: &[Curve], series: &[&&Series], budget: f64, measure: &Measure) -> Option<String> {
    let mut ends: Vec<(f64, String)> = curves
        .iter()
        .zip(series)
        .filter_map(|(curve, series)| {
            let end = curve.end.or(curve.points.last().copied())?;
            // What ends long before is no comparison.
            (end.0 >= NEAR_BUDGET * budget).then(|| (end.1, Topic::of(series.first()).label()))
        })
        .collect();
    ends.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (best, worst) = (ends.first()?, ends.last().filter(|_| ends.len() > 1)?);
    let minutes = significant(budget, 2);
    let low = format!("{} {}", padded(best.0, 2), measure.unit);
    let high = padded(worst.0, 2);
    if padded(best.0, 2) == high {
        return Some(format!("{minutes} minutes a site: an error of {} whichever choice", low.trim_end()));
    }
    Some(format!("{minutes} minutes a site: error of {} with {}; {high} with {}", low.trim_end(), best.1, worst.1))
}
