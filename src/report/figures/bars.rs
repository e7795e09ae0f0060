//! Horizontal bars of numbers of units, one group for each zone: what the range over reefs and what matters have in
//! common.

use super::axes::{BELOW_ROOM, Panel, Scale, tick_text};
use super::canvas::{Canvas, NORMAL, Point, SMALL, Stroke, Text};
use super::colours::{GRID, INK, QUIET, for_text};
use super::figure::WIDTH;
use crate::report::fonts;
use plotters::style::RGBColor;

/// Numbers beyond this are drawn as out of reach.
pub const MOST: usize = 100_000;
/// Room on the right for a number with its simulated one, or for "out of reach".
const NUMBERS: f64 = 134.0;

/// The sizes of a group: height of a bar, width of its name.
pub struct Bars {
    pub bar: f64,
    pub names: f64,
}

impl Bars {
    pub fn group_height(&self, count: usize) -> f64 {
        26.0 + self.bar * count as f64 + BELOW_ROOM
    }

    /// The panel of a group of `count` bars that reach to `largest`, with its zone above and its axis below.
    pub fn draw_frame(&self, canvas: &mut Canvas, group: &Group) -> Panel {
        let panel = Panel {
            left: self.names,
            top: group.top + 20.0,
            width: WIDTH - self.names - NUMBERS,
            height: self.bar * group.count as f64 + 2.0,
            x: Scale::linear(0.0, 1.08 * group.largest as f64).whole(),
            y: Scale::linear(0.0, 1.0),
        };
        let zone = fonts::fit(group.zone, NORMAL, true, WIDTH - 24.0);
        canvas.text((12.0, group.top + 8.0), &zone, Text::new(NORMAL).bold());
        draw_x_axis(canvas, &panel, &format!("{} a site", group.units));
        panel
    }

    /// Height of the middle of a bar.
    pub fn middle(&self, panel: &Panel, index: usize) -> f64 {
        panel.top + self.bar * (index as f64 + 0.5)
    }

    /// The name of a bar, on two lines where one has no room.
    pub fn draw_name(&self, canvas: &mut Canvas, name: &str, at: Point, style: Text) {
        let room = self.names - 22.0;
        let lines = fonts::wrap(name, style.size, style.bold, room);
        let step = 12.5;
        let first = at.1 - if lines.len() > 1 { step / 2.0 } else { 0.0 };
        for (index, line) in lines.iter().take(2).enumerate() {
            let line = fonts::fit(line, style.size, style.bold, room);
            canvas.text((at.0 - 8.0, first + step * index as f64), &line, style.to_the_left());
        }
    }
}

/// One zone of such a figure.
pub struct Group<'a> {
    pub zone: &'a str,
    /// What is counted: "lines".
    pub units: &'a str,
    pub count: usize,
    pub largest: usize,
    pub top: f64,
}

/// The lower axis alone: bars carry their own names.
fn draw_x_axis(canvas: &mut Canvas, panel: &Panel, name: &str) {
    let bottom = panel.bottom();
    for tick in panel.x.ticks((panel.width / 44.0) as usize) {
        let (x, _) = panel.at(tick, 0.0);
        canvas.line((x, panel.top), (x, bottom), Stroke::solid(GRID, 0.8));
        canvas.line((x, bottom), (x, bottom + 4.0), Stroke::solid(INK, 0.8));
        canvas.text((x, bottom + 13.0), &tick_text(tick), Text::new(SMALL).colour(QUIET).centred());
    }
    canvas.line((panel.left, bottom), (panel.right(), bottom), Stroke::solid(INK, 0.9));
    canvas.text((panel.left + panel.width / 2.0, bottom + 30.0), name, Text::new(NORMAL).centred());
}

/// An arrow head at the right edge and its meaning.
pub fn draw_out_of_reach(canvas: &mut Canvas, at: Point, colour: RGBColor) {
    let (x, y) = at;
    canvas.area(&[(x - 1.0, y - 9.0), (x + 8.0, y), (x - 1.0, y + 9.0)], colour, 0.85);
    canvas.note((x + 11.0, y), "out of reach", Text::new(SMALL).colour(for_text(colour)));
}
