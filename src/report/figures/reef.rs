//! The reef from above: the whole site, and a closer look at one unit.

use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{BOTTOM, CORAL, INK, PAPER, QUIET, RIM};
use super::figure::{Figure, WIDTH, Words};
use crate::planner::{PictureUnit, ReefPicture};
use crate::report::digits::significant;
use crate::report::fonts;
use crate::report::words::sentence;

/// More discs than this make a file that is slow to open.
const MOST_DISCS: usize = 12_000;
const LEFT: f64 = 20.0;
/// Height and width of the closer look, metres, where the site allows.
const CLOSE: (f64, f64) = (12.0, 4.0);

/// A rectangle of the site (metres) and where it is drawn; y of the site points up.
struct Window {
    left_m: f64,
    bottom_m: f64,
    width_m: f64,
    height_m: f64,
    left: f64,
    top: f64,
    per_metre: f64,
}

impl Window {
    fn at(&self, x: f64, y: f64) -> Point {
        let from_top = self.bottom_m + self.height_m - y;
        (self.left + (x - self.left_m) * self.per_metre, self.top + from_top * self.per_metre)
    }

    fn right(&self) -> f64 {
        self.left + self.width_m * self.per_metre
    }

    fn bottom(&self) -> f64 {
        self.top + self.height_m * self.per_metre
    }

    /// Draws a disc given in metres, cut off at the window; large ones get a rim so that neighbours stay apart.
    fn draw_disc(&self, canvas: &mut Canvas, (x, y, radius): (f64, f64, f64)) {
        let (centre, reach) = (self.at(x, y), radius * self.per_metre);
        let room = [centre.0 - self.left, self.right() - centre.0, centre.1 - self.top, self.bottom() - centre.1];
        if !(reach < 1e5) || room.iter().any(|room| !(*room > -reach)) {
            return;
        }
        if room.iter().all(|room| *room >= reach) {
            if reach > 2.0 {
                canvas.disc(centre, reach, RIM);
            }
            canvas.disc(centre, if reach > 2.0 { reach - 0.5 } else { reach }, CORAL);
            return;
        }
        // Moving every point of the rim to the nearest point of the window cuts the disc exactly at the edges.
        let cut = |step: usize| {
            let angle = step as f64 * std::f64::consts::TAU / 48.0;
            let point = (centre.0 + reach * angle.cos(), centre.1 + reach * angle.sin());
            (point.0.clamp(self.left, self.right()), point.1.clamp(self.top, self.bottom()))
        };
        canvas.area(&(0..48).map(cut).collect::<Vec<_>>(), CORAL, 1.0);
    }

    fn draw_frame(&self, canvas: &mut Canvas) {
        canvas.frame((self.left, self.top), (self.right(), self.bottom()), Stroke::solid(INK, 0.9));
    }
}

/// `None` where the site has no size that could be drawn.
pub fn reef(picture: &ReefPicture, name: String) -> Option<Figure> {
    let (length, width) = (picture.length_m, picture.width_m);
    if !(1e-3 < length && length < 1e5 && 1e-3 < width && width < 4.0 * length) {
        return None;
    }
    let room = WIDTH - 2.0 * LEFT;
    let discs: Vec<(f64, f64, f64)> =
        picture.colonies.iter().map(|&(x, y, radius)| (f64::from(x), f64::from(y), f64::from(radius))).collect();
    let smallest_radius = smallest_drawn(&discs);
    let drawn: Vec<_> = discs.iter().copied().filter(|disc| disc.2 >= smallest_radius).collect();
    let close_size = (CLOSE.0.min(length), CLOSE.1.min(width));
    let whole_height = width * room / length;
    let close_height = (close_size.1 * room / close_size.0).min(260.0);
    let shows_close = !picture.units.is_empty() && length > 1.5 * close_size.0;
    let body = 2.0 + whole_height + 28.0 + if shows_close { 24.0 + close_height + 28.0 } else { 0.0 } + 20.0;
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
        subtitle: String::new(),
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
            per_metre: room / length,
        };
        draw_bottom(canvas, picture, &whole);
        drawn.iter().for_each(|&disc| whole.draw_disc(canvas, disc));
        whole.draw_frame(canvas);
        picture.units.iter().for_each(|unit| draw_unit(canvas, unit, &whole, 2.0));
        draw_scale_bar(canvas, &whole, whole.bottom() + 14.0);
        let mut taken = Vec::new();
        let mut y = whole.bottom() + 28.0;
        if shows_close {
            let close = close_window(picture, close_size, y + 24.0, close_height / close_size.1, room);
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
        draw_key(canvas, &picture.categories, y + 8.0);
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
    draw_scale_bar(canvas, close, close.bottom() + 14.0);
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
fn close_window(picture: &ReefPicture, size: (f64, f64), top: f64, per_metre: f64, room: f64) -> Window {
    let unit = &picture.units[0];
    let within = |from: f64, to: f64, size: f64, most: f64| {
        let middle = if from.is_finite() && to.is_finite() { (from + to) / 2.0 } else { most / 2.0 };
        (middle - size / 2.0).clamp(0.0, (most - size).max(0.0))
    };
    let width_m = (room / per_metre).min(size.0.max(room / per_metre)).min(picture.length_m);
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

fn colour_of(category: u8) -> plotters::style::RGBColor {
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
    let Some((from, to)) = clipped(unit, window) else { return };
    let (start, end) = (window.at(from.0, from.1), window.at(to.0, to.1));
    let half = unit.width_m / 2.0 * window.per_metre;
    if half > 0.0 && half < 1e4 {
        let length = (end.0 - start.0).hypot(end.1 - start.1).max(1e-9);
        let across = ((start.1 - end.1) / length * half, (end.0 - start.0) / length * half);
        let corner = |point: Point, side: f64| (point.0 + side * across.0, point.1 + side * across.1);
        let outline = [corner(start, 1.0), corner(end, 1.0), corner(end, -1.0), corner(start, -1.0)];
        canvas.area(&outline, PAPER, 0.35);
        let closed: Vec<Point> = outline.iter().copied().chain([outline[0], outline[1]]).collect();
        canvas.path(&closed, Stroke::solid(INK, 1.2));
    }
    canvas.line(start, end, Stroke::solid(PAPER, thickness + 2.2));
    canvas.line(start, end, Stroke::solid(INK, thickness));
    for point in [start, end] {
        canvas.line((point.0, point.1 - 4.0), (point.0, point.1 + 4.0), Stroke::solid(INK, 1.4));
    }
}

/// Left, top, right, bottom.
type Box = (f64, f64, f64, f64);

fn overlap(one: &Box, other: &Box) -> bool {
    one.0 < other.2 && other.0 < one.2 && one.1 < other.3 && other.1 < one.3
}

/// Names of the units: above, below or beside each, wherever the least is hidden; `taken` must stay free.
fn draw_names(canvas: &mut Canvas, units: &[PictureUnit], window: &Window, mut taken: Vec<Box>) {
    let placed: Vec<(&PictureUnit, Point, Point, f64)> = units
        .iter()
        .filter_map(|unit| {
            let (from, to) = clipped(unit, window)?;
            let half = (unit.width_m / 2.0 * window.per_metre).clamp(0.0, 200.0);
            Some((unit, window.at(from.0, from.1), window.at(to.0, to.1), half))
        })
        .collect();
    taken.extend(placed.iter().map(|(_, start, end, half)| {
        let (top, bottom) = (start.1.min(end.1), start.1.max(end.1));
        (start.0.min(end.0), top - half - 3.0, start.0.max(end.0), bottom + half + 3.0)
    }));
    for (unit, start, end, half) in placed {
        let wide = fonts::width(&unit.label, SMALL, true) + 5.0;
        let (left, right) = (start.0.min(end.0), start.0.max(end.0));
        let (top, bottom) = (start.1.min(end.1) - half, start.1.max(end.1) + half);
        let (middle, centre) = ((left + right - wide) / 2.0, (top + bottom) / 2.0);
        let places = [
            (middle, top - 12.0),
            (middle, bottom + 12.0),
            (right + 5.0, centre),
            (left - wide - 5.0, centre),
            (left, top - 12.0),
            (right - wide, bottom + 12.0),
        ];
        let boxes = places.map(|(x, y)| (x, y - 7.5, x + wide, y + 7.5));
        let inside = |b: &Box| b.0 > window.left && b.2 < window.right() && b.1 > window.top && b.3 < window.bottom();
        let hidden = |b: &Box| taken.iter().filter(|other| overlap(b, other)).count() + if inside(b) { 0 } else { 100 };
        let Some(best) = boxes.iter().copied().min_by_key(hidden) else { continue };
        canvas.rectangle((best.0, best.1), (best.2, best.3), PAPER, 0.86);
        canvas.text((best.0 + 2.5, (best.1 + best.3) / 2.0), &unit.label, Text::new(SMALL).bold());
        taken.push(best);
    }
}

/// The part of a unit inside the window (clipping of Liang & Barsky 1984 on the two axes).
fn clipped(unit: &PictureUnit, window: &Window) -> Option<(Point, Point)> {
    let (from, to) = (unit.from, unit.to);
    let along = (to.0 - from.0, to.1 - from.1);
    let sides = [
        (-along.0, from.0 - window.left_m),
        (along.0, window.left_m + window.width_m - from.0),
        (-along.1, from.1 - window.bottom_m),
        (along.1, window.bottom_m + window.height_m - from.1),
    ];
    let (mut enters, mut leaves) = (0.0f64, 1.0f64);
    for (speed, room) in sides {
        if !(speed.is_finite() && room.is_finite()) || (speed == 0.0 && room < 0.0) {
            return None;
        }
        if speed < 0.0 {
            enters = enters.max(room / speed);
        } else if speed > 0.0 {
            leaves = leaves.min(room / speed);
        }
    }
    let at = |share: f64| (from.0 + share * along.0, from.1 + share * along.1);
    (enters < leaves).then(|| (at(enters), at(leaves)))
}

fn draw_scale_bar(canvas: &mut Canvas, window: &Window, y: f64) {
    let wanted = window.width_m / 6.0;
    let power = 10f64.powf(wanted.log10().floor());
    let metres = [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|metres| *metres <= wanted).unwrap_or(power);
    let end = window.right();
    let start = end - metres * window.per_metre;
    canvas.line((start, y), (end, y), Stroke::solid(INK, 2.2));
    for x in [start, end] {
        canvas.line((x, y - 4.0), (x, y + 4.0), Stroke::solid(INK, 1.2));
    }
    canvas.text((start - 6.0, y), &format!("{} m", significant(metres, 2)), Text::new(SMALL).to_the_left());
}

/// Swatches with their names, in one row as far as they go.
fn draw_key(canvas: &mut Canvas, categories: &[String], y: f64) {
    let mut x = LEFT;
    let corals = std::iter::once((CORAL, "hard coral".to_string()));
    let rest =
        categories.iter().enumerate().map(|(index, name)| (colour_of(index as u8), crate::report::words::plain(name)));
    for (colour, name) in corals.chain(rest) {
        let wide = 16.0 + fonts::width(&name, SMALL, false) + 14.0;
        if x + wide > WIDTH - 8.0 {
            canvas.text((x, y), "…", Text::new(SMALL).colour(QUIET));
            return;
        }
        canvas.rectangle((x, y - 5.0), (x + 11.0, y + 5.0), colour, 1.0);
        canvas.frame((x, y - 5.0), (x + 11.0, y + 5.0), Stroke::solid(QUIET, 0.6));
        canvas.text((x + 16.0, y), &name, Text::new(SMALL));
        x += wide;
    }
}
