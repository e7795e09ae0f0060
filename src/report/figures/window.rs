use super::canvas::{Canvas, Point, SMALL, Stroke, Text};
use super::colours::{CORAL, COVERED, COVERED_RIM, GONE, INK, NEW_CORAL, QUIET, RIM};
use crate::planner::{Fate, PictureColony};
use crate::report::digits::significant;

/// A rectangle of the site (metres) and where it is drawn; y of the site points up.
pub struct Window {
    pub left_m: f64,
    pub bottom_m: f64,
    pub width_m: f64,
    pub height_m: f64,
    pub left: f64,
    pub top: f64,
    pub per_metre: f64,
}

impl Window {
    pub fn at(&self, x: f64, y: f64) -> Point {
        let from_top = self.bottom_m + self.height_m - y;
        (self.left + (x - self.left_m) * self.per_metre, self.top + from_top * self.per_metre)
    }

    /// The place of the site, metres, that is drawn at a point.
    pub fn metres(&self, (x, y): Point) -> (f64, f64) {
        let up = self.height_m - (y - self.top) / self.per_metre;
        (self.left_m + (x - self.left) / self.per_metre, self.bottom_m + up)
    }

    pub fn right(&self) -> f64 {
        self.left + self.width_m * self.per_metre
    }

    pub fn bottom(&self) -> f64 {
        self.top + self.height_m * self.per_metre
    }

    /// Whether a place of the site lies in it.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        (self.left_m..=self.left_m + self.width_m).contains(&x)
            && (self.bottom_m..=self.bottom_m + self.height_m).contains(&y)
    }

    /// The point of the window that is nearest to a point of the figure.
    pub fn nearest(&self, point: Point) -> Point {
        (point.0.clamp(self.left, self.right()), point.1.clamp(self.top, self.bottom()))
    }

    /// Draws a disc given in metres, cut off at the window; large ones get a rim so that neighbours stay apart.
    pub fn draw_disc(&self, canvas: &mut Canvas, disc: &PictureColony) {
        let (x, y, radius) = (f64::from(disc.x), f64::from(disc.y), f64::from(disc.radius));
        let (fill, rim) = match disc.fate {
            Fate::There if disc.is_covered => (COVERED, COVERED_RIM),
            Fate::There => (CORAL, RIM),
            Fate::New => (NEW_CORAL, INK),
            Fate::Gone => (GONE, QUIET),
        };
        let (centre, reach) = (self.at(x, y), radius * self.per_metre);
        let room = [centre.0 - self.left, self.right() - centre.0, centre.1 - self.top, self.bottom() - centre.1];
        if !(reach < 1e5) || room.iter().any(|room| !(*room > -reach)) {
            return;
        }
        if room.iter().all(|room| *room >= reach) {
            if reach > 2.0 {
                canvas.disc(centre, reach, rim);
            }
            canvas.disc(centre, if reach > 2.0 { reach - 0.5 } else { reach }, fill);
            return;
        }
        // Moving every point of the rim to the nearest point of the window cuts the disc exactly at the edges.
        let cut = |step: usize| {
            let angle = step as f64 * std::f64::consts::TAU / 48.0;
            let point = (centre.0 + reach * libm::cos(angle), centre.1 + reach * libm::sin(angle));
            self.nearest(point)
        };
        canvas.area(&(0..48).map(cut).collect::<Vec<_>>(), fill, 1.0);
    }

    pub fn draw_frame(&self, canvas: &mut Canvas) {
        canvas.frame((self.left, self.top), (self.right(), self.bottom()), Stroke::solid(INK, 0.9));
    }

    /// The part of a line inside the window (clipping of Liang & Barsky 1984 on the two axes).
    pub fn clipped(&self, from: Point, to: Point) -> Option<(Point, Point)> {
        let along = (to.0 - from.0, to.1 - from.1);
        let sides = [
            (-along.0, from.0 - self.left_m),
            (along.0, self.left_m + self.width_m - from.0),
            (-along.1, from.1 - self.bottom_m),
            (along.1, self.bottom_m + self.height_m - from.1),
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

    /// A round length, at the right under the self.
    pub fn draw_scale_bar(&self, canvas: &mut Canvas, y: f64) {
        let wanted = self.width_m / 6.0;
        let power = libm::exp10(libm::log10(wanted).floor());
        let metres =
            [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|metres| *metres <= wanted).unwrap_or(power);
        let end = self.right();
        let start = end - metres * self.per_metre;
        canvas.line((start, y), (end, y), Stroke::solid(INK, 2.2));
        for x in [start, end] {
            canvas.line((x, y - 4.0), (x, y + 4.0), Stroke::solid(INK, 1.2));
        }
        canvas.text((start - 6.0, y), &format!("{} m", significant(metres, 2)), Text::new(SMALL).to_the_left());
    }
}
