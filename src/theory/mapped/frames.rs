use super::sums::Told;
use crate::survey::{Frame, Placed, cells_of_points};

/// Photographs along a tape, read under points.
pub struct FramesTold {
    pub length_m: f64,
    pub frames: usize,
    pub points_a_frame: usize,
    pub frame: Frame,
}

/// How much of each row of points has been covered up to each of them.
pub struct Along {
    /// For each row, one more than there are points along it.
    rows: Vec<Vec<f64>>,
}

/// Places of a frame that stand for all that it may have on its tape, or in its part of it.
const PLACES_ON_TAPE: usize = 64;
const PLACES_IN_ALL: usize = 96;

impl Along {
    /// Of points seen row by row, `along` a row.
    pub fn new(seen: &[u64], bit: u64, along: usize) -> Self {
        let rows = seen.chunks(along).map(|row| {
            let mut sum = 0.0;
            let sums = row.iter().map(|seen| {
                sum += f64::from(u8::from(seen & bit != 0));
                sum
            });
            std::iter::once(0.0).chain(sums).collect()
        });
        Self { rows: rows.collect() }
    }

    /// Share of a cell: rows of a range, from one share of the tape to another.
    fn share(&self, rows: std::ops::Range<usize>, from: f64, to: f64) -> f64 {
        let number = rows.len() as f64;
        let of_row = |row: &Vec<f64>| {
            let steps = (row.len() - 1) as f64;
            let upto = |share: f64| {
                let at = (share * steps).clamp(0.0, steps);
                let whole = (at as usize).min(row.len() - 2);
                row[whole] + (at - whole as f64) * (row[whole + 1] - row[whole])
            };
            (upto(to) - upto(from)) / (steps * (to - from))
        };
        self.rows[rows].iter().map(of_row).sum::<f64>() / number
    }
}

/// Sums over the places of one frame.
#[derive(Default)]
struct FrameSums {
    first: f64,
    mean: f64,
    square: f64,
    product: f64,
    chance: f64,
}

impl FramesTold {
    /// What a tape tells, beside what it told at the first visit: frames lie where they lay, points are thrown anew.
    pub fn told(&self, first: &Along, own: &Along) -> Told {
        let Frame { frame_length_m: long, frames_placed, .. } = self.frame;
        let frames = self.frames as f64;
        let (kinds, room, places) = match frames_placed {
            // All frames have one law.
            Placed::Random => (1, self.length_m - long, PLACES_ON_TAPE),
            Placed::Stratified => {
                (self.frames, self.length_m / frames - long, PLACES_IN_ALL.div_ceil(self.frames).max(4))
            }
        };
        let mut told = Told::default();
        for kind in 0..kinds {
            let start = kind as f64 * self.length_m / frames;
            let mut sums = FrameSums::default();
            for place in 0..places {
                let from = start + room.max(0.0) * (place as f64 + 0.5) / places as f64;
                let (mean, chance) = self.frame(own, from);
                let before = if std::ptr::eq(first, own) { mean } else { self.frame(first, from).0 };
                sums.first += before;
                sums.mean += mean;
                sums.square += mean * mean;
                sums.product += before * mean;
                sums.chance += chance;
            }
            let n = places as f64;
            let (mean, before) = (sums.mean / n, sums.first / n);
            told.mean += mean / kinds as f64;
            told.chance += (sums.square / n - mean * mean).max(0.0) + sums.chance / n;
            told.shared_chance += sums.product / n - mean * before;
        }
        // Each kind stands for as many frames; the mean of all frames has a variance of so much of one.
        let of_mean = 1.0 / (frames * kinds as f64);
        Told { mean: told.mean, chance: told.chance * of_mean, shared_chance: told.shared_chance * of_mean }
    }

    /// Share of a frame that begins so many metres along, and the variance of its points.
    fn frame(&self, along: &Along, from: f64) -> (f64, f64) {
        let (rows, points) = (along.rows.len(), self.points_a_frame as f64);
        let share = |rows, from: f64, to: f64| along.share(rows, from / self.length_m, to / self.length_m);
        if self.frame.points_placed == Placed::Random {
            let mean = share(0..rows, from, from + self.frame.frame_length_m);
            return (mean, mean * (1.0 - mean) / points);
        }
        let (columns, cell_rows) = cells_of_points(self.points_a_frame, self.frame);
        let (long, high) = (self.frame.frame_length_m / columns as f64, rows / cell_rows);
        let (mut mean, mut chance) = (0.0, 0.0);
        for cell in 0..columns * cell_rows {
            let (column, row) = (cell % columns, cell / columns);
            let from = from + column as f64 * long;
            let share = share(row * high..(row + 1) * high, from, from + long);
            mean += share / points;
            chance += share * (1.0 - share) / (points * points);
        }
        (mean, chance)
    }
}
