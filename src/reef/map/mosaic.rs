/// Kinds of bottom that a mosaic may tell apart, hard coral included.
pub const MOST_KINDS: usize = 32;

/// A picture of the bottom whose pixels each belong to one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Mosaic {
    columns: usize,
    pixel_m: f64,
    /// Names of the kinds besides hard coral.
    categories: Vec<String>,
    /// Row by row from y = 0: 0 is hard coral, 1 + k the k-th category.
    pixels: Vec<u8>,
}

impl Mosaic {
    /// `pixels` row by row from y = 0, each 0 for hard coral or 1 + the place of its kind in `categories`.
    ///
    /// # Panics
    /// Where the pixels are no whole rows, or more kinds are named than [`MOST_KINDS`].
    pub fn new(columns: usize, pixel_m: f64, categories: Vec<String>, pixels: Vec<u8>) -> Self {
        assert!(columns > 0 && !pixels.is_empty() && pixels.len().is_multiple_of(columns));
        assert!(categories.len() < MOST_KINDS && pixels.iter().all(|&kind| usize::from(kind) <= categories.len()));
        Self { columns, pixel_m, categories, pixels }
    }

    /// Columns and rows of pixels.
    pub fn pixels(&self) -> (usize, usize) {
        (self.columns, self.pixels.len() / self.columns)
    }

    pub fn pixel_m(&self) -> f64 {
        self.pixel_m
    }

    pub fn size_m(&self) -> (f64, f64) {
        let (columns, rows) = self.pixels();
        (columns as f64 * self.pixel_m, rows as f64 * self.pixel_m)
    }

    pub fn categories(&self) -> &[String] {
        &self.categories
    }

    /// Share of each kind: hard coral first, then the categories.
    pub fn covers(&self) -> Vec<f64> {
        let mut counts = vec![0u64; 1 + self.categories.len()];
        self.pixels.iter().for_each(|&kind| counts[usize::from(kind)] += 1);
        counts.into_iter().map(|count| count as f64 / self.pixels.len() as f64).collect()
    }

    /// The kind at a place, m: 0 is hard coral. A place at the edge or beyond belongs to the pixel next to it.
    #[inline]
    pub fn kind_at(&self, x: f64, y: f64) -> u8 {
        let (columns, rows) = self.pixels();
        let cell = |v: f64, number: usize| ((v / self.pixel_m).max(0.0) as usize).min(number - 1);
        self.pixels[cell(y, rows) * columns + cell(x, columns)]
    }

    /// Share of a line that lies over a kind: exact, pixel by pixel. The line starts at a place and runs in a direction (a
    /// unit vector).
    pub fn share_of_line(&self, kind: u8, start: (f64, f64), direction: (f64, f64), length: f64) -> f64 {
        let (mut at, mut over) = (0.0, 0.0);
        // The next border of pixels ahead, along the line, for each axis.
        let border = |from: f64, speed: f64, at: f64| {
            if speed.abs() < 1e-12 {
                return f64::INFINITY;
            }
            let cell = (from + speed * at) / self.pixel_m;
            // A hair off the border that was just crossed.
            let next = if speed > 0.0 { (cell + 1e-9).floor() + 1.0 } else { (cell - 1e-9).ceil() - 1.0 };
            (next * self.pixel_m - from) / speed
        };
        while at < length {
            let next = border(start.0, direction.0, at).min(border(start.1, direction.1, at)).min(length);
            let middle = 0.5 * (at + next);
            if self.kind_at(start.0 + middle * direction.0, start.1 + middle * direction.1) == kind {
                over += next - at;
            }
            at = next.max(at + 1e-9 * self.pixel_m);
        }
        over / length
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    /// Pixels of 10 cm, 40 x 20 of them, a third of each kind in no order.
    fn speckled() -> Mosaic {
        let key = Key::seed(3);
        let pixels = (0..800).map(|i| (3.0 * key.uniform(Purpose::Test, i)) as u8).collect();
        Mosaic::new(40, 0.1, vec!["sand".into(), "turf".into()], pixels)
    }

    #[test]
    fn pixels_lie_where_they_are_looked_for() {
        let mosaic = Mosaic::new(2, 0.5, vec!["sand".into()], vec![0, 1, 1, 1]);
        assert_eq!((mosaic.size_m(), mosaic.covers()), ((1.0, 1.0), vec![0.25, 0.75]));
        assert_eq!([(0.2, 0.2), (0.7, 0.2), (0.2, 0.7), (-1.0, 0.0)].map(|(x, y)| mosaic.kind_at(x, y)), [0, 1, 1, 0]);
    }

    /// Against a count of tiny steps, in every direction.
    #[test]
    fn lines_are_read_pixel_by_pixel() {
        let mosaic = speckled();
        let key = Key::seed(4);
        for trial in 0..40 {
            let u = |i| key.child(Purpose::Trial, trial).uniform(Purpose::Test, i);
            let turn = [0.0, 0.25, 0.5, u(0)][trial as usize % 4] * std::f64::consts::TAU;
            let (direction, start) = ((turn.cos(), turn.sin()), (1.0 + 2.0 * u(1), 0.8 + 0.4 * u(2)));
            let shares = [0, 1, 2].map(|kind| mosaic.share_of_line(kind, start, direction, 0.7));
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{shares:?}");
            let steps = 70_000;
            let at = |step: usize| 0.7 * (step as f64 + 0.5) / steps as f64;
            let is_coral = |step: &usize| {
                mosaic.kind_at(start.0 + at(*step) * direction.0, start.1 + at(*step) * direction.1) == 0
            };
            let slow = (0..steps).filter(is_coral).count() as f64 / steps as f64;
            assert!((shares[0] - slow).abs() < 3e-4, "{trial}: {} {slow}", shares[0]);
        }
    }
}
