use super::MapTheory;
use super::frames::{Along, FramesTold};
use super::starts::Starts;
use super::sums::{Sums, Told};
use crate::design::HARD_CORAL;
use crate::reef::map::{MOST_KINDS, ReefMap};
use crate::survey::{Dimensions, Place, cells_of_points};
use crate::theory::UnitMoments;

/// Points of the bottom that are looked at for one kind of unit, over all of its places together.
const LOOKS: usize = 4_000_000;
const PLACES: std::ops::RangeInclusive<usize> = 1_024..=8_192;
/// Steps along a line whose length over each kind is told, and between the points that stand for a strip, m.
const LINE_STEP_M: f64 = 0.01;
const STRIP_STEP_M: f64 = 0.05;

/// Points in rows that stand for a unit: (m along from its start, m across from its middle line).
struct Raster {
    along: Vec<f64>,
    across: Vec<f64>,
}

/// What is made of them.
enum Reading {
    /// Their share is what the unit tells.
    Share,
    /// So many points are thrown into the strip that they stand for.
    Thrown(usize),
    /// Points are thrown into frames.
    Frames(FramesTold),
}

impl MapTheory {
    /// Moments of the cover of hard coral and of every category, as units of these dimensions tell it.
    pub(super) fn told_of_bottom(&self, dimensions: Dimensions) -> Vec<(String, UnitMoments)> {
        let (raster, reading) = read_by(dimensions);
        let size = (dimensions.length_m().unwrap_or(0.0), dimensions.width_m());
        let (states, looks) = (self.reef.states(), raster.along.len() * raster.across.len());
        let names = self.kinds_of_bottom();
        let mut sums = vec![Sums::new(states); names.len()];
        let starts = Starts::new(self, size);
        let (mut first, mut second) = (Vec::new(), Vec::new());
        for number in 0..(LOOKS / looks).clamp(*PLACES.start(), *PLACES.end()) {
            let place = starts.first(number);
            self.look(&raster, &place, &mut first);
            let at_second = if states > 1 && self.relay_sd.is_some() {
                self.look(&raster, &starts.second(number, place), &mut second);
                &second
            } else {
                &first
            };
            for (kind, sums) in sums.iter_mut().enumerate() {
                let bits = |state: usize| self.bit_of(kind, state);
                let told: Vec<Told> = (0..states)
                    .map(|s| {
                        let own = if s == 0 { &first } else { at_second };
                        reading.told(raster.along.len(), (&first, bits(0)), (own, bits(s)))
                    })
                    .collect();
                sums.add(|s| told[s]);
            }
        }
        let truths = |kind: usize| (0..states).map(|s| self.true_cover(kind, s)).collect();
        let of = |(kind, sums): (usize, &Sums)| sums.moments(truths(kind), self.relay_sd.is_some(), true);
        names.into_iter().zip(sums.iter().enumerate().map(of)).collect()
    }

    /// Hard coral, then the categories.
    fn kinds_of_bottom(&self) -> Vec<String> {
        let categories = self.reef.mosaic(0).map_or(&[][..], |mosaic| mosaic.categories());
        std::iter::once(HARD_CORAL.to_owned()).chain(categories.iter().cloned()).collect()
    }

    fn true_cover(&self, kind: usize, state: usize) -> f64 {
        match self.reef.mosaic(state) {
            Some(mosaic) => mosaic.covers()[kind],
            None => self.reef.cover(state),
        }
    }

    /// The bit of [`Self::look`] that tells of a kind in a state: a mosaic has the kinds of the first map and then those of
    /// the later one, a list of colonies one kind in every state.
    fn bit_of(&self, kind: usize, state: usize) -> u64 {
        match &*self.reef.map {
            ReefMap::Mosaic(_) if state < 2 => 1 << kind,
            ReefMap::Mosaic(_) => 1 << (MOST_KINDS + kind),
            ReefMap::Colonies(_) => 1 << state,
        }
    }

    /// What lies at the points of a unit, row by row: one bit for each kind, or for each state in which coral is there.
    fn look(&self, raster: &Raster, place: &Place, seen: &mut Vec<u64>) {
        seen.clear();
        for &across in &raster.across {
            seen.extend(raster.along.iter().map(|&along| {
                let (x, y) = place.at(along, across);
                let bit = |state: usize| {
                    let kind = self.reef.mosaic(state).map_or(0, |mosaic| usize::from(mosaic.kind_at(x, y)));
                    self.bit_of(kind, state)
                };
                match &*self.reef.map {
                    ReefMap::Mosaic(_) if self.reef.states() > 2 => bit(0) | bit(2),
                    ReefMap::Mosaic(_) => bit(0),
                    ReefMap::Colonies(_) => u64::from(self.reef.covered(x, y)),
                }
            }));
        }
    }
}

fn read_by(dimensions: Dimensions) -> (Raster, Reading) {
    match dimensions {
        Dimensions::PointIntercept { spacing_m, .. } => {
            let points = dimensions.points().unwrap_or(1);
            let along = (1..=points).map(|point| point as f64 * spacing_m).collect();
            (Raster { along, across: vec![0.0] }, Reading::Share)
        }
        Dimensions::PhotoBelt { length_m, width_m, points } => {
            let rows = (width_m / STRIP_STEP_M).ceil().clamp(4.0, 20.0) as usize;
            let raster = Raster { along: middles(length_m, STRIP_STEP_M), across: rows_of(width_m, rows) };
            (raster, Reading::Thrown(points))
        }
        Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame } => {
            let (_, cell_rows) = cells_of_points(points_a_frame, frame);
            let rows = cell_rows * 6usize.div_ceil(cell_rows);
            let step = (frame.frame_length_m / 16.0).min(STRIP_STEP_M);
            let raster = Raster { along: middles(length_m, step), across: rows_of(frame.frame_width_m, rows) };
            (raster, Reading::Frames(FramesTold { length_m, frames, points_a_frame, frame }))
        }
        _ => {
            let length = dimensions.length_m().unwrap_or(1.0);
            (Raster { along: middles(length, LINE_STEP_M), across: vec![0.0] }, Reading::Share)
        }
    }
}

/// The middles of equal steps of about this length.
fn middles(length: f64, step: f64) -> Vec<f64> {
    let number = (length / step).ceil().max(1.0) as usize;
    (0..number).map(|i| (i as f64 + 0.5) * length / number as f64).collect()
}

fn rows_of(width: f64, number: usize) -> Vec<f64> {
    (0..number).map(|row| (row as f64 + 0.5) * width / number as f64 - 0.5 * width).collect()
}

impl Reading {
    /// What a unit tells whose points were seen (those with a bit of the second), beside what it told at the first visit.
    fn told(&self, along: usize, first: (&[u64], u64), (seen, bit): (&[u64], u64)) -> Told {
        let share =
            |seen: &[u64], bit: u64| seen.iter().filter(|seen| **seen & bit != 0).count() as f64 / seen.len() as f64;
        match self {
            Reading::Share => Told::exactly(share(seen, bit)),
            Reading::Thrown(points) => {
                let mean = share(seen, bit);
                // Points are thrown anew at each visit.
                Told { mean, chance: mean * (1.0 - mean) / *points as f64, shared_chance: 0.0 }
            }
            Reading::Frames(frames) => frames.told(&Along::new(first.0, first.1, along), &Along::new(seen, bit, along)),
        }
    }
}
