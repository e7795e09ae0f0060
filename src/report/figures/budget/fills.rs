//! Fills of bars that are told apart by lightness as well as by colour, for methods and zones.

use super::super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::super::colours::{INK, PAPER};
use crate::report::fonts;
use plotters::style::RGBColor;

/// Dark and pale in turn, so that neighbours differ in grey too (own choice).
const FILLS: [RGBColor; 8] = [
    RGBColor(0x0B, 0x4A, 0x57),
    RGBColor(0xF2, 0xD4, 0x9B),
    RGBColor(0xA8, 0x43, 0x1F),
    RGBColor(0xBF, 0xDD, 0xEE),
    RGBColor(0x5C, 0x7F, 0x3C),
    RGBColor(0xE8, 0xC9, 0xD9),
    RGBColor(0x4B, 0x4A, 0x80),
    RGBColor(0xDD, 0xDD, 0xD4),
];

pub fn fill(index: usize) -> RGBColor {
    FILLS[index % FILLS.len()]
}

/// Ink or paper, whichever is read on a fill.
pub fn on(fill: RGBColor) -> RGBColor {
    let light = 0.299 * f64::from(fill.0) + 0.587 * f64::from(fill.1) + 0.114 * f64::from(fill.2);
    if light > 140.0 { INK } else { PAPER }
}

/// A filled rectangle with a rim of paper and the longest of the texts that fits into it.
pub fn block(canvas: &mut Canvas, one: Point, other: Point, colour: RGBColor, texts: &[String]) {
    canvas.rectangle(one, other, colour, 1.0);
    canvas.frame(one, other, Stroke::solid(PAPER, 0.8));
    let room = (other.0 - one.0).abs() - 6.0;
    let fits = texts.iter().find(|text| fonts::width(text, SMALL, false) <= room);
    if let Some(text) = fits {
        let middle = ((one.0 + other.0) / 2.0, (one.1 + other.1) / 2.0);
        canvas.text(middle, text, Text::new(SMALL).colour(on(colour)).centred());
    }
}

const SWATCH: f64 = 12.0;
const LINE: f64 = 18.0;

/// A key of fills in lines as wide as `room`; the height it takes.
pub fn key_height(names: &[String], room: f64) -> f64 {
    LINE * places(names, room).last().map_or(0, |place| place.1 + 1) as f64
}

pub fn draw_key(canvas: &mut Canvas, names: &[String], at: Point, room: f64) {
    for (index, (name, (x, line))) in names.iter().zip(places(names, room)).enumerate() {
        let (x, y) = (at.0 + x, at.1 + LINE * line as f64 + LINE / 2.0);
        canvas.rectangle((x, y - SWATCH / 2.0), (x + SWATCH, y + SWATCH / 2.0), fill(index), 1.0);
        canvas.frame((x, y - SWATCH / 2.0), (x + SWATCH, y + SWATCH / 2.0), Stroke::solid(INK, 0.5));
        canvas.text((x + SWATCH + 5.0, y), name, Text::new(SMALL));
    }
}

/// Left end and line of each name.
fn places(names: &[String], room: f64) -> Vec<(f64, usize)> {
    let (mut x, mut line) = (0.0, 0);
    let place = |name: &String| {
        let wide = SWATCH + 5.0 + fonts::width(name, SMALL, false) + 16.0;
        if x > 0.0 && x + wide > room {
            (x, line) = (0.0, line + 1);
        }
        let at = (x, line);
        x += wide;
        at
    };
    names.iter().map(place).collect()
}
