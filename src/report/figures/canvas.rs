use super::super::fonts::{self, FAMILY};
use super::colours::{INK, PAPER};
use plotters::backend::{DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontStyle, FontTransform, IntoTextStyle, RGBColor};

/// A point of the figure in its own units (96 to the inch), x to the right, y downwards.
pub type Point = (f64, f64);

/// A point of the drawing library.
type FinePoint = (i32, i32);

/// The drawing library counts in whole pixels; a canvas this many times larger, shrunk by its viewBox, makes them fine.
const FINE: f64 = 20.0;

/// Font sizes. Figures are printed 640 units wide on 170 mm, so 11 units are 8.3 points on paper.
pub const SMALL: f64 = 11.0;
pub const NORMAL: f64 = 12.0;
pub const TITLE: f64 = 15.0;

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    pub colour: RGBColor,
    pub width: f64,
    /// Lengths of dashes and gaps in turn; empty: drawn through.
    pub dashes: &'static [f64],
}

impl Stroke {
    pub fn solid(colour: RGBColor, width: f64) -> Stroke {
        Stroke { colour, width, dashes: &[] }
    }
}

/// How a text is drawn; its y is the middle of the small letters.
#[derive(Clone, Copy)]
pub struct Text {
    pub size: f64,
    pub bold: bool,
    pub colour: RGBColor,
    pub align: HPos,
    /// Turned to read upwards.
    pub upwards: bool,
}

impl Text {
    pub fn new(size: f64) -> Text {
        Text { size, bold: false, colour: INK, align: HPos::Left, upwards: false }
    }

    pub fn bold(self) -> Text {
        Text { bold: true, ..self }
    }

    pub fn centred(self) -> Text {
        Text { align: HPos::Center, ..self }
    }

    pub fn to_the_left(self) -> Text {
        Text { align: HPos::Right, ..self }
    }

    pub fn colour(self, colour: RGBColor) -> Text {
        Text { colour, ..self }
    }

    pub fn upwards(self) -> Text {
        Text { upwards: true, ..self }
    }
}

/// Small marks that tell lines apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    Disc,
    Square,
    Triangle,
    Diamond,
    Ring,
}

/// A sheet to draw on. Shapes with a coordinate that is not a number are left out.
pub struct Canvas<'a> {
    backend: SVGBackend<'a>,
}

/// Draws a figure of that size and returns it as SVG text.
pub fn draw(width: f64, height: f64, paint: impl FnOnce(&mut Canvas)) -> String {
    fonts::register();
    let (width, height) = (width.ceil(), height.ceil());
    let (fine_width, fine_height) = ((width * FINE) as u32, (height * FINE) as u32);
    let mut svg = String::new();
    let backend = SVGBackend::with_string(&mut svg, (fine_width, fine_height));
    let mut canvas = Canvas { backend };
    canvas.rectangle((0.0, 0.0), (width, height), PAPER, 1.0);
    paint(&mut canvas);
    // Writing into a string cannot fail.
    let _ = canvas.backend.present();
    drop(canvas);
    let large = format!("width=\"{fine_width}\" height=\"{fine_height}\"");
    svg.replacen(&large, &format!("width=\"{width}\" height=\"{height}\""), 1)
        .replace("font-family=\"sans-serif\"", "font-family=\"Noto Sans, Helvetica, Arial, sans-serif\"")
        .replace(" opacity=\"1\"", "")
        .replace(" stroke=\"none\"", "")
        .replace("\" stroke-width=\"1\"/>", "\"/>")
}

impl Canvas<'_> {
    pub fn line(&mut self, from: Point, to: Point, stroke: Stroke) {
        self.path(&[from, to], stroke);
    }

    pub fn path(&mut self, points: &[Point], stroke: Stroke) {
        for piece in dashed(points, stroke.dashes) {
            let Some(piece) = fine_points(&piece) else { continue };
            let style = stroke.colour.stroke_width((stroke.width * FINE).round() as u32);
            let _ = self.backend.draw_path(piece, &style);
        }
    }

    /// A filled outline.
    pub fn area(&mut self, outline: &[Point], colour: RGBColor, opacity: f64) {
        if let Some(outline) = fine_points(outline) {
            let _ = self.backend.fill_polygon(outline, &colour.mix(opacity));
        }
    }

    /// A filled rectangle between two opposite corners.
    pub fn rectangle(&mut self, one: Point, other: Point, colour: RGBColor, opacity: f64) {
        if let (Some(one), Some(other)) = (fine(one), fine(other)) {
            let upper_left = (one.0.min(other.0), one.1.min(other.1));
            let lower_right = (one.0.max(other.0), one.1.max(other.1));
            let _ = self.backend.draw_rect(upper_left, lower_right, &colour.mix(opacity), true);
        }
    }

    /// The outline of a rectangle.
    pub fn frame(&mut self, one: Point, other: Point, stroke: Stroke) {
        self.outline(&[one, (other.0, one.1), other, (one.0, other.1)], stroke);
    }

    /// A closed line. A solid one goes on past its first corner, so that this is joined as the others are; dashes must not, they
    /// would fill each other's gaps.
    pub fn outline(&mut self, corners: &[Point], stroke: Stroke) {
        let again = if stroke.dashes.is_empty() { 2 } else { 1 };
        let closed: Vec<Point> = corners.iter().chain(corners.iter().take(again)).copied().collect();
        self.path(&closed, stroke);
    }

    pub fn disc(&mut self, centre: Point, radius: f64, colour: RGBColor) {
        if let (Some(centre), true) = (fine(centre), (0.0..1e5).contains(&radius)) {
            let _ = self.backend.draw_circle(centre, (radius * FINE).round().max(1.0) as u32, &colour, true);
        }
    }

    pub fn mark(&mut self, mark: Mark, at: Point, colour: RGBColor) {
        let (x, y) = at;
        match mark {
            Mark::Disc => self.disc(at, 2.8, colour),
            Mark::Square => self.rectangle((x - 2.5, y - 2.5), (x + 2.5, y + 2.5), colour, 1.0),
            Mark::Triangle => self.area(&[(x - 3.4, y + 2.6), (x + 3.4, y + 2.6), (x, y - 3.4)], colour, 1.0),
            Mark::Diamond => self.area(&[(x - 3.4, y), (x, y - 3.8), (x + 3.4, y), (x, y + 3.8)], colour, 1.0),
            Mark::Ring => {
                self.disc(at, 3.2, colour);
                self.disc(at, 1.6, PAPER);
            }
        }
    }

    /// A small text on a patch of paper, readable over lines; its left end and middle are given.
    pub fn note(&mut self, at: Point, text: &str, style: Text) {
        let wide = fonts::width(text, style.size, style.bold);
        let left = if matches!(style.align, HPos::Right) { at.0 - wide } else { at.0 };
        self.rectangle((left - 1.5, at.1 - 7.0), (left + wide + 1.5, at.1 + 7.0), PAPER, 0.88);
        self.text(at, text, style);
    }

    pub fn text(&mut self, at: Point, text: &str, style: Text) {
        let Some(at) = fine(at) else { return };
        let font_style = if style.bold { FontStyle::Bold } else { FontStyle::Normal };
        // The library divides sizes by 1.24 on their way into the file.
        let font = FontDesc::new(FAMILY, style.size * FINE * 1.24, font_style);
        let font = if style.upwards { font.transform(FontTransform::Rotate270) } else { font };
        let style = font
            .color(&style.colour)
            .into_text_style(&self.backend.get_size())
            .pos(Pos::new(style.align, VPos::Center));
        let _ = self.backend.draw_text(text, &style, at);
    }
}

fn fine(point: Point) -> Option<FinePoint> {
    let whole = |value: f64| (value.abs() < 1e5).then(|| (value * FINE).round() as i32);
    Some((whole(point.0)?, whole(point.1)?))
}

fn fine_points(points: &[Point]) -> Option<Vec<FinePoint>> {
    if points.len() < 2 { None } else { points.iter().copied().map(fine).collect() }
}

/// Cuts a path into its dashes.
fn dashed(points: &[Point], dashes: &[f64]) -> Vec<Vec<Point>> {
    let usable = dashes.iter().all(|dash| *dash > 0.5) && points.iter().all(|point| fine(*point).is_some());
    if dashes.is_empty() || !usable {
        return vec![points.to_vec()];
    }
    let mut pieces = Vec::new();
    let mut piece: Vec<Point> = points.first().copied().into_iter().collect();
    let (mut index, mut left) = (0, dashes[0]);
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        let mut length = (to.0 - from.0).hypot(to.1 - from.1);
        while length > left {
            let share = left / length;
            from = (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
            length -= left;
            let drawn = index % 2 == 0;
            if drawn {
                piece.push(from);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![from];
            }
            index += 1;
            left = dashes[index % dashes.len()];
        }
        left -= length;
        if index % 2 == 0 {
            piece.push(to);
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_have_their_lengths_around_corners() {
        let pieces = dashed(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], &[6.0, 3.0]);
        assert_eq!(pieces.len(), 3);
        assert_eq!(pieces[0], vec![(0.0, 0.0), (6.0, 0.0)]);
        assert_eq!(pieces[1], vec![(9.0, 0.0), (10.0, 0.0), (10.0, 5.0)]);
        assert_eq!(pieces[2], vec![(10.0, 8.0), (10.0, 10.0)]);
    }

    #[test]
    fn strange_coordinates_are_left_out() {
        let svg = draw(100.0, 50.0, |canvas| {
            canvas.line((f64::NAN, 0.0), (1.0, 1.0), Stroke::solid(INK, 1.0));
            canvas.disc((5.0, f64::INFINITY), 2.0, INK);
            canvas.disc((5.0, 5.0), f64::NAN, INK);
            canvas.area(&[(0.0, 0.0), (1e300, 1.0), (0.0, 3.0)], INK, 0.5);
        });
        assert!(!svg.contains("polyline") && !svg.contains("circle") && !svg.contains("polygon"));
        assert!(svg.contains("width=\"100\" height=\"50\" viewBox=\"0 0 2000 1000\""));
    }
}
