use super::axes::{BELOW_ROOM, LEFT_ROOM, Panel, Scale, largest, smallest};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{LineStyle, PAPER, QUIET};
use super::figure::Tiles;
use super::labels::{EndLabel, GAP, draw_end_labels};
use crate::report::fonts;

/// Names at the ends of lines may take so much of a tile.
const MOST_FOR_LABELS: f64 = 0.45;

/// One line of a panel, in the units of its axes.
pub struct Curve {
    pub label: String,
    pub style: LineStyle,
    /// By simulation, left to right.
    pub points: Vec<Point>,
    /// (x, low, high): two simulation errors on either side.
    pub band: Vec<(f64, f64, f64)>,
    /// The x of points that do not count: their marks are hollow.
    pub hollow: Vec<f64>,
    /// By formula.
    pub theory: Vec<Point>,
    /// Where the line is drawn on to after its last mark.
    pub end: Option<Point>,
}

impl Curve {
    pub fn new(label: String, style_index: usize) -> Curve {
        let style = LineStyle::of(style_index);
        Curve { label, style, points: Vec::new(), band: Vec::new(), hollow: Vec::new(), theory: Vec::new(), end: None }
    }

    /// Adds a point with its standard error; leaves out what is no number.
    pub fn push(&mut self, x: f64, y: f64, error: Option<f64>) {
        if x.is_finite() && y.abs() < 1e200 {
            self.points.push((x, y));
            if let Some(error) = error.filter(|error| error.abs() < 1e200) {
                self.band.push((x, y - 2.0 * error, y + 2.0 * error));
            }
        }
    }

    fn all_points(&self) -> impl Iterator<Item = Point> + '_ {
        self.points.iter().chain(&self.theory).chain(&self.end).copied()
    }
}

/// A panel of curves before it has a place.
pub struct CurvePanel {
    pub name: String,
    pub curves: Vec<Curve>,
    pub x_name: String,
    pub y_name: String,
    /// Units on the x axis are whole numbers from the first to the last; else both axes are logarithmic.
    pub x_is_whole: bool,
    /// Fixed limits of y; `None`: from nought to over the largest value.
    pub y_limits: Option<(f64, f64)>,
    /// A height to mark.
    pub target: Option<f64>,
    /// Least width kept free for the names at the ends of the lines; they get what they need, up to a share of the tile.
    pub label_room: f64,
}

impl CurvePanel {
    fn scales(&self) -> (Scale, Scale) {
        let points = || self.curves.iter().flat_map(Curve::all_points);
        let low = smallest(points().map(|point| point.0)).unwrap_or(0.0);
        let high = largest(points().map(|point| point.0)).unwrap_or(1.0);
        let heights = || points().map(|point| point.1);
        if !self.x_is_whole {
            let (y_low, y_high) = (smallest(heights()).unwrap_or(0.0), largest(heights()).unwrap_or(1.0));
            return (Scale::log(0.92 * low, 1.04 * high), Scale::log(0.9 * y_low, 1.08 * y_high));
        }
        let x = Scale::linear(low, high).whole();
        let y = match self.y_limits {
            Some((low, high)) => Scale::linear(low, high),
            None => Scale::from_nought(heights()),
        };
        (x, y)
    }

    fn room_for_labels(&self, tile_width: f64) -> f64 {
        let widths = self.curves.iter().map(|curve| fonts::width(&curve.label, SMALL, false) + GAP + 3.0);
        self.label_room.max(widths.fold(0.0, f64::max)).min(MOST_FOR_LABELS * tile_width)
    }

    /// Draws it into a tile whose upper left corner is given.
    pub fn draw(&self, canvas: &mut Canvas, tiles: &Tiles, corner: Point) {
        let (x, y) = self.scales();
        let label_room = self.room_for_labels(tiles.width);
        let panel = Panel {
            left: corner.0 + LEFT_ROOM,
            top: corner.1 + 22.0,
            width: tiles.width - LEFT_ROOM - label_room,
            height: tiles.row_height - 22.0 - BELOW_ROOM - 10.0,
            x,
            y,
        };
        let name = fonts::fit(&self.name, NORMAL, true, tiles.width - LEFT_ROOM - 8.0);
        canvas.text((panel.left, corner.1 + 8.0), &name, Text::new(NORMAL).bold());
        panel.draw_axes(canvas, &self.x_name, &self.y_name);
        if let Some(height) = self.target {
            let (_, y) = panel.at(0.0, height);
            canvas.line((panel.left, y), (panel.right(), y), Stroke { colour: QUIET, width: 1.0, dashes: &[1.5, 3.0] });
        }
        self.curves.iter().for_each(|curve| draw_curve(canvas, &panel, curve));
        let labels: Vec<EndLabel> = self.curves.iter().filter_map(|curve| end_label(&panel, curve)).collect();
        draw_end_labels(canvas, &panel, &labels, label_room);
    }
}

fn draw_curve(canvas: &mut Canvas, panel: &Panel, curve: &Curve) {
    let place = |(x, y): Point| panel.at(x, y);
    let inside = |(x, y): Point| (x, y.clamp(panel.top, panel.bottom()));
    let upper = curve.band.iter().map(|&(x, _, high)| inside(place((x, high))));
    let lower = curve.band.iter().rev().map(|&(x, low, _)| inside(place((x, low))));
    canvas.area(&upper.chain(lower).collect::<Vec<_>>(), curve.style.colour(), 0.22);
    let theory: Vec<Point> = curve.theory.iter().copied().map(place).collect();
    canvas.path(&theory, Stroke::solid(QUIET, 0.7));
    let points: Vec<Point> = curve.points.iter().copied().map(place).collect();
    let drawn_on = curve.end.map(place);
    canvas.path(&points.iter().copied().chain(drawn_on).collect::<Vec<_>>(), curve.style.stroke);
    for (point, at) in curve.points.iter().zip(points) {
        canvas.mark(curve.style.mark, at, curve.style.colour());
        if curve.hollow.contains(&point.0) {
            canvas.disc(at, 5.0, curve.style.colour());
            canvas.disc(at, 3.6, PAPER);
        }
    }
}

fn end_label(panel: &Panel, curve: &Curve) -> Option<EndLabel> {
    let end = curve.end.as_ref().or(curve.points.last()).or(curve.theory.last())?;
    Some(EndLabel { end: panel.at(end.0, end.1), text: curve.label.clone(), style: curve.style })
}
