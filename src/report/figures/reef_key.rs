//! What the colours, lines and marks of the reef from above stand for.

use super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::colours::{BottomLook, CORAL, COVERED, GONE, NEW_CORAL, QUIET, UnitStyle};
use super::figure::WIDTH;
use super::reef::LEFT;
use super::reef_animals::{draw_animal, draw_one_fish, draw_recruit};
use super::reef_bottom::{Looks, draw_texture};
use super::reef_units::cased;
use crate::design::HARD_CORAL;
use crate::planner::{PictureSet, PictureUnit, ReefPicture};
use crate::report::fonts;
use crate::report::words::{method_words, plain};
use crate::survey::Dimensions;
use plotters::style::RGBColor;

const ROW: f64 = 18.0;
/// Room of a swatch before its name.
const SWATCH: f64 = 17.0;
const LINE_SWATCH: f64 = 40.0;

#[derive(Clone, Copy)]
enum Sign {
    Fill(RGBColor),
    Bottom(BottomLook),
    /// Units of the set: a line, a belt, or frames.
    Tape(usize),
    Belt(usize),
    Circle(usize),
    Frames(usize),
    /// An animal of the kind, seen and hidden.
    Animal(usize),
    Hidden,
    Recruit,
    /// A fish of the group.
    Fish(usize),
    /// More of the entry above.
    More,
}

impl Sign {
    fn room(self) -> f64 {
        match self {
            Sign::Tape(_) | Sign::Belt(_) | Sign::Circle(_) | Sign::Frames(_) | Sign::More => LINE_SWATCH,
            Sign::Fill(_) | Sign::Bottom(_) | Sign::Animal(_) | Sign::Fish(_) | Sign::Hidden | Sign::Recruit => SWATCH,
        }
    }
}

struct Entry {
    x: f64,
    row: usize,
    sign: Sign,
    name: String,
}

/// The legend, in as many rows as it needs.
pub struct Key {
    entries: Vec<Entry>,
    row_is_full: bool,
}

impl Key {
    pub fn of(picture: &ReefPicture) -> Key {
        let looks = Looks::of(picture);
        let mut key = Key { entries: Vec::new(), row_is_full: false };
        let has_covered = picture.colonies.iter().any(|colony| colony.is_covered);
        // On a mosaic hard coral is a category.
        if !picture.categories.iter().any(|name| name == HARD_CORAL) {
            key.add(Sign::Fill(CORAL), if has_covered { "hard coral, its centre open" } else { "hard coral" });
        }
        if has_covered {
            key.add(Sign::Fill(COVERED), "hard coral, its centre under another");
        }
        if let Some(second) = &picture.second {
            if second.new > 0 {
                key.add(Sign::Fill(NEW_CORAL), "hard coral that is new");
            }
            if second.gone > 0 {
                key.add(Sign::Fill(GONE), "hard coral that is gone");
            }
        }
        for (index, name) in picture.categories.iter().enumerate() {
            key.add(Sign::Bottom(looks.at(index as u8)), &plain(name));
        }
        let others = picture.categories.len() as u8;
        if picture.grid.is_empty() || picture.grid.contains(&others) {
            let name = if picture.categories.is_empty() { "bottom without hard coral" } else { "other bottom" };
            key.add(Sign::Bottom(looks.at(others)), name);
        }
        for (index, kind) in picture.animals.iter().enumerate().filter(|(_, kind)| !kind.places.is_empty()) {
            key.add(Sign::Animal(index), &plain(&kind.name));
        }
        if picture.animals.iter().flat_map(|kind| &kind.places).any(|animal| animal.is_hidden) {
            key.add(Sign::Hidden, "the same, hidden by day");
        }
        if !picture.recruits.is_empty() {
            key.add(Sign::Recruit, "recruits");
        }
        for (index, group) in picture.fish.iter().enumerate().filter(|(_, group)| !group.places.is_empty()) {
            key.add(Sign::Fish(index), &plain(&group.name));
        }
        for (index, set) in picture.sets.iter().enumerate() {
            key.end_row();
            let first = picture.units.iter().find(|unit| unit.set == index);
            let sign = match first {
                Some(unit) if !unit.frames.is_empty() => Sign::Frames(index),
                Some(_) if set.is_round() => Sign::Circle(index),
                Some(unit) if unit.width_m > 0.0 => Sign::Belt(index),
                _ => Sign::Tape(index),
            };
            let letter = first.map_or("", letter_of);
            for (number, method) in set.methods.iter().enumerate() {
                let words = method_and_dimensions(method) + &on_lines(picture, set);
                if number == 0 {
                    key.add(sign, &format!("{letter} {words}"));
                } else {
                    key.end_row();
                    key.add(Sign::More, &format!("and at the same places {words}"));
                }
            }
        }
        key
    }

    pub fn height(&self) -> f64 {
        self.entries.last().map_or(0.0, |entry| ROW * (entry.row + 1) as f64)
    }

    fn add(&mut self, sign: Sign, name: &str) {
        let (mut x, mut row) = self.entries.last().map_or((LEFT, 0), |last| {
            (last.x + last.sign.room() + fonts::width(&last.name, SMALL, false) + 14.0, last.row)
        });
        let most = WIDTH - 8.0 - LEFT - sign.room();
        let name = fonts::fit(
            name.trim(),
            SMALL,
            false,
            if matches!(sign, Sign::Fill(_) | Sign::Bottom(_)) { 220.0 } else { most },
        );
        let is_full = std::mem::take(&mut self.row_is_full) && !self.entries.is_empty();
        if is_full || x + sign.room() + fonts::width(&name, SMALL, false) > WIDTH - 8.0 {
            (x, row) = (LEFT, row + 1);
        }
        self.entries.push(Entry { x, row, sign, name });
    }

    /// What follows begins on a row of its own.
    fn end_row(&mut self) {
        self.row_is_full = true;
    }

    pub fn draw(&self, canvas: &mut Canvas, top: f64) {
        for Entry { x, row, sign, name } in &self.entries {
            let y = top + ROW * *row as f64;
            draw_sign(canvas, *sign, (*x, y));
            canvas.text((x + sign.room(), y), name, Text::new(SMALL));
        }
    }
}

fn draw_sign(canvas: &mut Canvas, sign: Sign, (x, y): Point) {
    let (left, right) = (x, x + LINE_SWATCH - 8.0);
    match sign {
        Sign::Fill(colour) => {
            canvas.rectangle((x, y - 5.0), (x + 11.0, y + 5.0), colour, 1.0);
            canvas.frame((x, y - 5.0), (x + 11.0, y + 5.0), Stroke::solid(QUIET, 0.6));
        }
        Sign::Bottom(look) => {
            canvas.rectangle((x, y - 5.0), (x + 11.0, y + 5.0), look.colour, 1.0);
            for (dx, dy) in [(3.0, -2.5), (8.0, -2.5), (5.5, 2.5)] {
                draw_texture(canvas, look, (x + dx, y + dy));
            }
            canvas.frame((x, y - 5.0), (x + 11.0, y + 5.0), Stroke::solid(QUIET, 0.6));
        }
        Sign::Tape(set) => {
            let stroke = UnitStyle::of(set).stroke;
            cased(canvas, &[(left, y), (right, y)], stroke);
            for end in [left, right] {
                canvas.line((end, y - 4.0), (end, y + 4.0), Stroke::solid(stroke.colour, 1.6));
            }
        }
        Sign::Belt(set) => canvas.frame((left, y - 4.0), (right, y + 4.0), UnitStyle::of(set).stroke),
        Sign::Circle(set) => {
            let place = |step: usize| {
                let angle = std::f64::consts::TAU * step as f64 / 40.0;
                ((left + right) / 2.0 + 7.0 * libm::cos(angle), y + 7.0 * libm::sin(angle))
            };
            canvas.path(&(0..=40).map(place).collect::<Vec<_>>(), UnitStyle::of(set).stroke);
        }
        Sign::Frames(set) => {
            let stroke = UnitStyle::of(set).stroke;
            canvas.line((left, y), (right, y), stroke);
            for from in [left + 2.0, left + 18.0] {
                canvas.frame((from, y - 4.0), (from + 11.0, y + 4.0), Stroke::solid(stroke.colour, 1.4));
            }
        }
        Sign::Animal(kind) => draw_animal(canvas, (x + 6.0, y), kind, false, 1.0),
        Sign::Hidden => draw_animal(canvas, (x + 6.0, y), 0, true, 1.0),
        Sign::Recruit => draw_recruit(canvas, (x + 6.0, y)),
        Sign::Fish(group) => draw_one_fish(canvas, (x + 6.0, y), group, 1.2),
        Sign::More => {}
    }
}

/// ", on the lines A": where the units of a set lie on those of another.
fn on_lines(picture: &ReefPicture, set: &PictureSet) -> String {
    let of = |host: usize| picture.units.iter().find(|unit| unit.set == host).map(letter_of);
    set.on.and_then(of).map_or(String::new(), |letter| format!(", on the lines of {letter}"))
}

fn letter_of(unit: &PictureUnit) -> &str {
    unit.label.trim_end_matches(|letter: char| letter.is_ascii_digit())
}

/// "point-intercept lines, 10 m, every 0.1 m"
fn method_and_dimensions((name, dimensions): &(String, Dimensions)) -> String {
    let label = dimensions.label();
    if label.is_empty() { method_words(name) } else { format!("{}, {label}", method_words(name)) }
}
