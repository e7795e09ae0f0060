//! The reef from above: the whole site, and a closer look at one unit.

use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{BOTTOM, CORAL, INK, PAPER, QUIET};
use super::figure::{Figure, WIDTH, Words};
use super::names::draw_names;
use super::window::Window;
use crate::planner::{PictureUnit, ReefPicture};
use crate::report::digits::significant;
use crate::report::fonts;
use crate::report::words::{plain, sentence};
use plotters::style::RGBColor;

/// More discs than this make a file that is slow to open.
const MOST_DISCS: usize = 12_000;
const LEFT: f64 = 20.0;
/// Heights that leave room for the rest on a page.
const TALLEST: f64 = 420.0;
const TALLEST_CLOSE: f64 = 260.0;
/// Height and width of the closer look, metres, where the site allows.
const CLOSE: (f64, f64) = (12.0, 4.0);

/// `None` where the site has no size that could be drawn.
pub fn reef(picture: &ReefPicture, name: String) -> Option<Figure> {
    let (length, width) = (picture.length_m, picture.width_m);
    if !(1e-3 < length && length < 1e5 && 1e-3 < width && width < 1e5) {
        return None;
    }
    let room = WIDTH - 2.0 * LEFT;
    let discs: Vec<(f64, f64, f64)> =
        picture.colonies.iter().map(|&(x, y, radius)| (f64::from(x), f64::from(y), f64::from(radius))).collect();
    let smallest_radius = smallest_drawn(&discs);
    let drawn: Vec<_> = discs.iter().copied().filter(|disc| disc.2 >= smallest_radius).collect();
    let close_size = (CLOSE.0.min(length), CLOSE.1.min(width));
    let per_metre = (room / length).min(TALLEST / width);
    let close_per_metre = (room / close_size.0).min(TALLEST_CLOSE / close_size.1);
    let shows_close = !picture.units.is_empty() && length > 1.5 * close_size.0;
    let close_body = if shows_close { 24.0 + close_size.1 * close_per_metre + 28.0 } else { 0.0 };
    let key = key(&picture.categories);
    let key_rows = key.last().map_or(0, |swatch| swatch.row + 1) as f64;
    let body = 2.0 + width * per_metre + 28.0 + close_body + KEY_ROW * key_rows + 2.0;
    let title =
        format!("{}: {} by {} m of reef from above", picture.zone, significant(length, 3), significant(width, 3));
    let words = Words {
        name,
        alt: format!(
            "A map of a virtual site with {} coral colonies drawn to scale and {} units laid on it.",
            discs.len(),
            picture.units.len()
        ),
        title: sentence(&title),
        subtitle: picture.assumed.clone(),
        caption: caption(picture, &discs, drawn.len(), smallest_radius, shows_close),
    };
    Some(words.draw(body, |canvas, top| {
        let whole = Window {
            left_m: 0.0,
            bottom_m: 0.0,
            width_m: length,
            height_m: width,
            left: LEFT,
            top: top + 2.0,
            per_metre,
        };
        draw_bottom(canvas, picture, &whole);
        drawn.iter().for_each(|&disc| whole.draw_disc(canvas, disc));
        whole.draw_frame(canvas);
        picture.units.iter().for_each(|unit| draw_unit(canvas, unit, &whole, 2.0));
        whole.draw_scale_bar(canvas, whole.bottom() + 14.0);
        let mut taken = Vec::new();
        let mut y = whole.bottom() + 28.0;
        if shows_close {
            let close = close_window(picture, (room / close_per_metre, close_size.1), y + 24.0, close_per_metre);
            let framed = (close.left_m + close.width_m, close.bottom_m + close.height_m);
            let (lower, upper) = (whole.at(close.left_m, close.bottom_m), whole.at(framed.0, framed.1));
            canvas.frame(lower, upper, Stroke::solid(PAPER, 3.0));
            canvas.frame(lower, upper, Stroke::solid(INK, 1.4));
            taken.extend([
                (lower.0, upper.1 - 2.0, upper.0, upper.1 + 2.0),
                (lower.0, lower.1 - 2.0, upper.0, lower.1 + 2.0),
            ]);
            draw_close(canvas, picture, &discs, &close);
            y = close.bottom() + 28.0;
        }
        draw_names(canvas, &picture.units, &whole, taken);
        draw_key(canvas, &key, y + 8.0);
    }))
}

/// The closer look: every colony, and the units that cross it.
fn draw_close(canvas: &mut Canvas, picture: &ReefPicture, discs: &[(f64, f64, f64)], close: &Window) {
    let (wide, high) = (significant(close.width_m, 3), significant(close.height_m, 3));
    let name = format!("Closer: the framed {wide} by {high} m around {}", picture.units[0].label);
    canvas.text(
        (LEFT, close.top - 12.0),
        &fonts::fit(&name, NORMAL, true, WIDTH - 2.0 * LEFT),
        Text::new(NORMAL).bold(),
    );
    draw_bottom(canvas, picture, close);
    discs.iter().for_each(|&disc| close.draw_disc(canvas, disc));
    picture.units.iter().for_each(|unit| draw_unit(canvas, unit, close, 1.4));
    close.draw_frame(canvas);
    close.draw_scale_bar(canvas, close.bottom() + 14.0);
}

/// Radius from which on colonies are drawn in the picture of the whole site.
fn smallest_drawn(discs: &[(f64, f64, f64)]) -> f64 {
    if discs.len() <= MOST_DISCS {
        return 0.0;
    }
    let mut radii: Vec<f64> = discs.iter().map(|disc| disc.2).collect();
    radii.sort_by(|one, other| other.total_cmp(one));
    radii[MOST_DISCS - 1]
}

fn caption(picture: &ReefPicture, discs: &[(f64, f64, f64)], drawn: usize, smallest: f64, close: bool) -> String {
    let mut text = "One virtual site, seen from above; colonies of hard coral drawn to scale.".to_string();
    if drawn < discs.len() {
        text += &format!(
            " The whole site has {} colonies; there the {drawn} of at least {} cm across are drawn{}.",
            discs.len(),
            significant(200.0 * smallest, 2),
            if close { ", in the closer look all" } else { "" }
        );
    }
    if !picture.caption.is_empty() {
        text += " ";
        text += &picture.caption;
    }
    text
}

/// The closer look: around the middle of the first unit, within the site.
fn close_window(picture: &ReefPicture, size: (f64, f64), top: f64, per_metre: f64) -> Window {
    let unit = &picture.units[0];
    let within = |from: f64, to: f64, size: f64, most: f64| {
        let middle = if from.is_finite() && to.is_finite() { (from + to) / 2.0 } else { most / 2.0 };
        (middle - size / 2.0).clamp(0.0, (most - size).max(0.0))
    };
    let width_m = size.0.min(picture.length_m);
    Window {
        left_m: within(unit.from.0, unit.to.0, width_m, picture.length_m),
        bottom_m: within(unit.from.1, unit.to.1, size.1, picture.width_m),
        width_m,
        height_m: size.1,
        left: LEFT,
        top,
        per_metre,
    }
}

fn colour_of(category: u8) -> RGBColor {
    BOTTOM[category as usize % BOTTOM.len()]
}

/// The bottom under the corals: the commonest category as ground, the rest as runs of cells.
fn draw_bottom(canvas: &mut Canvas, picture: &ReefPicture, window: &Window) {
    let mut counts = [0usize; 256];
    picture.grid.iter().for_each(|&category| counts[category as usize] += 1);
    let ground = (0..256).rev().max_by_key(|&category| counts[category]).unwrap_or(0) as u8;
    canvas.rectangle((window.left, window.top), (window.right(), window.bottom()), colour_of(ground), 1.0);
    if picture.grid_columns == 0 || !(1e-4 < picture.grid_m && picture.grid_m < 1e5) {
        return;
    }
    let inside_x = |x: f64| x.clamp(window.left_m, window.left_m + window.width_m);
    let inside_y = |y: f64| y.clamp(window.bottom_m, window.bottom_m + window.height_m);
    for (row, cells) in picture.grid.chunks(picture.grid_columns).enumerate() {
        let (low, high) = (inside_y(row as f64 * picture.grid_m), inside_y((row + 1) as f64 * picture.grid_m));
        if high <= low {
            continue;
        }
        let mut column = 0;
        for run in cells.chunk_by(|one, other| one == other) {
            let from = inside_x(column as f64 * picture.grid_m);
            column += run.len();
            let to = inside_x(column as f64 * picture.grid_m);
            if run[0] != ground && to > from {
                let (corner, opposite) = (window.at(from, low), window.at(to, high));
                // A little overlap hides the seams that renderers leave between neighbours.
                canvas.rectangle((corner.0, corner.1 + 0.15), (opposite.0 + 0.15, opposite.1), colour_of(run[0]), 1.0);
            }
        }
    }
}

/// A tape, and the strip around it for belts.
fn draw_unit(canvas: &mut Canvas, unit: &PictureUnit, window: &Window, thickness: f64) {
    let Some((from, to)) = window.clipped(unit) else { return };
    let (start, end) = (window.at(from.0, from.1), window.at(to.0, to.1));
    let half = unit.width_m / 2.0 * window.per_metre;
    let length = (end.0 - start.0).hypot(end.1 - start.1).max(1e-9);
    let aside = ((start.1 - end.1) / length, (end.0 - start.0) / length);
    if half > 0.0 && half < 1e4 {
        let across = (aside.0 * half, aside.1 * half);
        let corner = |point: Point, side: f64| (point.0 + side * across.0, point.1 + side * across.1);
        let corners = [corner(start, 1.0), corner(end, 1.0), corner(end, -1.0), corner(start, -1.0)];
        let outline = corners.map(|corner| window.nearest(corner));
        canvas.area(&outline, PAPER, 0.35);
        let closed: Vec<Point> = outline.iter().copied().chain([outline[0], outline[1]]).collect();
        canvas.path(&closed, Stroke::solid(INK, 1.2));
    }
    canvas.line(start, end, Stroke::solid(PAPER, thickness + 2.2));
    canvas.line(start, end, Stroke::solid(INK, thickness));
    for point in [start, end] {
        let (x, y) = (4.0 * aside.0, 4.0 * aside.1);
        canvas.line((point.0 - x, point.1 - y), (point.0 + x, point.1 + y), Stroke::solid(INK, 1.4));
    }
}

/// One entry of the key: where its swatch begins, counted from the first; its colour and its name.
struct Swatch {
    x: f64,
    row: usize,
    colour: RGBColor,
    name: String,
}

const KEY_ROW: f64 = 18.0;

/// Swatches with their names, in as many rows as they need.
fn key(categories: &[String]) -> Vec<Swatch> {
    let corals = std::iter::once((CORAL, "hard coral".to_string()));
    let rest = categories.iter().enumerate().map(|(index, name)| (colour_of(index as u8), plain(name)));
    let (mut x, mut row) = (LEFT, 0);
    let mut swatches = Vec::new();
    for (colour, name) in corals.chain(rest) {
        let name = fonts::fit(&name, SMALL, false, 200.0);
        let wide = 16.0 + fonts::width(&name, SMALL, false) + 14.0;
        if x + wide > WIDTH - 8.0 {
            (x, row) = (LEFT, row + 1);
        }
        swatches.push(Swatch { x, row, colour, name });
        x += wide;
    }
    swatches
}

fn draw_key(canvas: &mut Canvas, key: &[Swatch], top: f64) {
    for Swatch { x, row, colour, name } in key {
        let y = top + KEY_ROW * *row as f64;
        canvas.rectangle((*x, y - 5.0), (x + 11.0, y + 5.0), *colour, 1.0);
        canvas.frame((*x, y - 5.0), (x + 11.0, y + 5.0), Stroke::solid(QUIET, 0.6));
        canvas.text((x + 16.0, y), name, Text::new(SMALL));
    }
}
