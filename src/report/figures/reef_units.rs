//! How units look on the reef: tapes, belts as outlined rectangles, frames of photographs, point counts as circles.

use super::canvas::{Canvas, Point, Stroke};
use super::colours::{INK, PAPER, UnitStyle};
use super::window::Window;
use crate::planner::{PictureSet, PictureUnit, ReefPicture};
use crate::survey::Dimensions;
use std::f64::consts::TAU;

/// Width of the paper that shows at either side of a line, so that it stands out from any bottom.
const CASING: f64 = 1.3;

/// Pixels by which the outline of a belt is drawn outside that of another as wide on the same line, and the least half-width of
/// belts on lines that show beside them.
const BESIDE: f64 = 4.0;
const LEAST_HALF: f64 = 5.0;
/// Radius of the dot at the start of a line that several methods share.
const START: f64 = 4.2;

/// All units, wide ones first so that they hide no narrow ones; what lies on another's line over that line.
pub fn draw_units(canvas: &mut Canvas, picture: &ReefPicture, window: &Window) {
    let mut units: Vec<(usize, &PictureUnit)> = picture.units.iter().enumerate().collect();
    units.sort_by(|(_, one), (_, other)| other.width_m.total_cmp(&one.width_m).then(one.on.cmp(&other.on)));
    for (place, unit) in units {
        let of_frames = |(name, _): &(String, Dimensions)| name.ends_with("_quadrats");
        let set = picture.sets.get(unit.set);
        if set.is_some_and(PictureSet::is_round) {
            draw_circle(canvas, unit, window);
            continue;
        }
        let has_outline = set.is_none_or(|set| !set.methods.iter().all(of_frames));
        draw_unit(canvas, unit, (has_outline, BESIDE * drawn_before(picture, place)), window);
    }
    let is_shared = |line: &usize| picture.units.iter().any(|unit| unit.on == Some(*line));
    for line in (0..picture.units.len()).filter(is_shared) {
        let (x, y) = picture.units[line].from;
        if window.holds(x, y) {
            canvas.disc(window.at(x, y), START + CASING, PAPER);
            canvas.disc(window.at(x, y), START, INK);
        }
    }
}

/// How many belts as wide lie along the same line and come before a unit.
fn drawn_before(picture: &ReefPicture, place: usize) -> f64 {
    let line = |place: usize| picture.units[place].on.unwrap_or(place);
    let width = picture.units[place].width_m;
    let is_alike = |other: &usize| line(*other) == line(place) && (picture.units[*other].width_m - width).abs() < 1e-9;
    (0..place).filter(is_alike).count() as f64
}

/// Where units lay at the first visit: the line in their middle, thin and dotted.
pub fn draw_earlier(canvas: &mut Canvas, picture: &ReefPicture, window: &Window) {
    let Some(second) = &picture.second else { return };
    for &(from, to) in &second.earlier {
        if let Some((from, to)) = window.clipped(from, to) {
            let ends = [window.at(from.0, from.1), window.at(to.0, to.1)];
            canvas.path(&ends, Stroke::solid(PAPER, 2.2));
            canvas.path(&ends, Stroke { colour: INK, width: 1.0, dashes: &[1.5, 2.5] });
        }
    }
}

/// The circle of a point count with its middle marked, where it lies in the window.
fn draw_circle(canvas: &mut Canvas, unit: &PictureUnit, window: &Window) {
    let stroke = UnitStyle::of(unit.set).stroke;
    let middle = (0.5 * (unit.from.0 + unit.to.0), 0.5 * (unit.from.1 + unit.to.1));
    let radius = 0.5 * unit.width_m;
    if !(middle.0.abs() < 1e5 && middle.1.abs() < 1e5 && (0.0..1e5).contains(&radius)) {
        return;
    }
    const STEPS: usize = 120;
    let place = |step: usize| {
        let angle = TAU * step as f64 / STEPS as f64;
        (middle.0 + radius * libm::cos(angle), middle.1 + radius * libm::sin(angle))
    };
    let all: Vec<Point> = (0..=STEPS).map(place).collect();
    for run in all.split(|&(x, y)| !window.holds(x, y)).filter(|run| run.len() > 1) {
        let drawn: Vec<Point> = run.iter().map(|&(x, y)| window.at(x, y)).collect();
        cased(canvas, &drawn, stroke);
    }
    if window.holds(middle.0, middle.1) {
        let (x, y) = window.at(middle.0, middle.1);
        for ends in [[(x - 4.0, y), (x + 4.0, y)], [(x, y - 4.0), (x, y + 4.0)]] {
            cased(canvas, &ends, Stroke::solid(stroke.colour, 1.4));
        }
    }
}

/// A tape with its ends marked, or the outline of a belt; frames as rectangles on their tape.
fn draw_unit(canvas: &mut Canvas, unit: &PictureUnit, (has_outline, outside): (bool, f64), window: &Window) {
    let style = UnitStyle::of(unit.set);
    let Some((from, to)) = window.clipped(unit.from, unit.to) else { return };
    let has_frames = !unit.frames.is_empty();
    if unit.width_m > 0.0 && has_outline {
        draw_rectangle(canvas, window, (from, to), (unit.width_m, outside), style.stroke);
    }
    if unit.width_m > 0.0 && !has_frames {
        return;
    }
    let (start, end) = (window.at(from.0, from.1), window.at(to.0, to.1));
    match unit.on {
        // The line that it lies on shows between its dashes.
        Some(_) if unit.width_m == 0.0 => canvas.path(&[start, end], style.stroke),
        _ if has_frames && has_outline => {}
        _ => cased(canvas, &[start, end], style.stroke),
    }
    if has_frames {
        frames_of(unit).for_each(|frame| {
            if let Some(ends) = window.clipped(frame.0, frame.1) {
                draw_rectangle(canvas, window, ends, (unit.width_m, outside), Stroke::solid(style.stroke.colour, 1.4));
            }
        });
        return;
    }
    let length = (end.0 - start.0).hypot(end.1 - start.1).max(1e-9);
    let aside = (4.0 * (start.1 - end.1) / length, 4.0 * (end.0 - start.0) / length);
    for point in [start, end] {
        let ends = [(point.0 - aside.0, point.1 - aside.1), (point.0 + aside.0, point.1 + aside.1)];
        cased(canvas, &ends, Stroke::solid(style.stroke.colour, 1.6));
    }
}

/// Begin and end of each frame, metres on the site.
fn frames_of(unit: &PictureUnit) -> impl Iterator<Item = (Point, Point)> + '_ {
    let (dx, dy) = (unit.to.0 - unit.from.0, unit.to.1 - unit.from.1);
    let length = dx.hypot(dy).max(1e-9);
    let at = move |along: f64| (unit.from.0 + dx * along / length, unit.from.1 + dy * along / length);
    unit.frames.iter().map(move |&(from, to)| (at(from), at(to)))
}

/// The outline of a strip about a stretch of its middle line (metres on the site), cut off at the window.
/// `outside`: pixels by which its long sides are drawn further out.
fn draw_rectangle(
    canvas: &mut Canvas,
    window: &Window,
    (from, to): (Point, Point),
    (width_m, outside): (f64, f64),
    stroke: Stroke,
) {
    let (start, end) = (window.at(from.0, from.1), window.at(to.0, to.1));
    let half = (0.5 * width_m * window.per_metre).min(1e4);
    let half = if outside > 0.0 { half.max(LEAST_HALF) + outside } else { half };
    let length = (end.0 - start.0).hypot(end.1 - start.1).max(1e-9);
    let across = (half * (start.1 - end.1) / length, half * (end.0 - start.0) / length);
    let corner = |point: Point, side: f64| window.nearest((point.0 + side * across.0, point.1 + side * across.1));
    let corners = [corner(start, 1.0), corner(end, 1.0), corner(end, -1.0), corner(start, -1.0)];
    canvas.outline(&corners, Stroke::solid(PAPER, stroke.width + 2.0 * CASING));
    canvas.outline(&corners, stroke);
}

/// A line with paper at either side.
pub fn cased(canvas: &mut Canvas, points: &[Point], stroke: Stroke) {
    canvas.path(points, Stroke::solid(PAPER, stroke.width + 2.0 * CASING));
    canvas.path(points, stroke);
}
