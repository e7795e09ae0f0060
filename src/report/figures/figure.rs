use super::canvas::{Canvas, SMALL, TITLE, Text};
use super::{canvas, canvas::NORMAL, colours::QUIET};
use crate::report::fonts;

/// A finished figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// File name without ending.
    pub name: String,
    /// The finding, in one sentence.
    pub title: String,
    /// What to see, and how to read it.
    pub caption: String,
    /// What the picture shows, for people who do not see it.
    pub alt: String,
    pub svg: String,
}

/// Width of every figure: 170 mm on paper.
pub const WIDTH: f64 = 640.0;
const MARGIN: f64 = 12.0;
const LINE: f64 = 20.0;

/// Title and subtitle of a figure, broken into lines.
pub struct Heading {
    title: Vec<String>,
    subtitle: Vec<String>,
}

impl Heading {
    pub fn new(title: &str, subtitle: &str) -> Heading {
        let room = WIDTH - 2.0 * MARGIN;
        Heading { title: fonts::wrap(title, TITLE, true, room), subtitle: fonts::wrap(subtitle, NORMAL, false, room) }
    }

    /// Height of the heading: what is drawn below starts here.
    pub fn height(&self) -> f64 {
        MARGIN + LINE * self.title.len() as f64 + 17.0 * self.subtitle.len() as f64 + 10.0
    }

    pub fn draw(&self, canvas: &mut Canvas) {
        let mut y = MARGIN + 8.0;
        for line in &self.title {
            canvas.text((MARGIN, y), line, Text::new(TITLE).bold());
            y += LINE;
        }
        for line in &self.subtitle {
            canvas.text((MARGIN, y), line, Text::new(NORMAL).colour(QUIET));
            y += 17.0;
        }
    }
}

/// The words of a figure; `body_height` is what is drawn under the heading, from the y that `paint` is given.
pub struct Words {
    pub name: String,
    pub title: String,
    pub subtitle: String,
    pub caption: String,
    pub alt: String,
}

impl Words {
    pub fn draw(self, body_height: f64, paint: impl FnOnce(&mut Canvas, f64)) -> Figure {
        self.draw_with_last("", body_height, paint)
    }

    /// The same with a small last line, which stays with the picture wherever it is put.
    pub fn draw_with_last(self, last: &str, body_height: f64, paint: impl FnOnce(&mut Canvas, f64)) -> Figure {
        let heading = Heading::new(&self.title, &self.subtitle);
        let top = heading.height();
        let below = if last.is_empty() { 0.0 } else { 16.0 };
        let svg = canvas::draw(WIDTH, top + body_height + below + 6.0, |canvas| {
            heading.draw(canvas);
            paint(canvas, top);
            if !last.is_empty() {
                canvas.text((MARGIN, top + body_height + below / 2.0), last, Text::new(SMALL).colour(QUIET));
            }
        });
        Figure { name: self.name, title: self.title, caption: self.caption, alt: self.alt, svg }
    }
}

/// Places for `number` panels in rows of at most two; each with its column count, left and top, and the size it has.
pub struct Tiles {
    pub width: f64,
    pub row_height: f64,
    columns: usize,
    number: usize,
}

impl Tiles {
    pub fn new(number: usize, row_height: f64) -> Tiles {
        Tiles::in_columns(number, if number > 1 { 2 } else { 1 }, row_height)
    }

    pub fn in_columns(number: usize, columns: usize, row_height: f64) -> Tiles {
        Tiles { width: (WIDTH - 2.0 * MARGIN) / columns as f64, row_height, columns, number }
    }

    pub fn height(&self) -> f64 {
        self.number.div_ceil(self.columns) as f64 * self.row_height
    }

    /// Upper left corner of tile `index`.
    pub fn corner(&self, index: usize, top: f64) -> (f64, f64) {
        let (row, column) = (index / self.columns, index % self.columns);
        (MARGIN + column as f64 * self.width, top + row as f64 * self.row_height)
    }
}
