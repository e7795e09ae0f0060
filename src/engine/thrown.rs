//! Points thrown at random into a belt.

use super::layout::{Belt, Into, Throw};
use crate::random::{KEY_X, Key, Purpose, mix, uniform};
use crate::reef::Colony;
use crate::survey::{Frame, Placed, cells_of_points};

/// A point, m from the start of the belt and from its middle line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ThrownPoint {
    pub along: f32,
    pub across: f32,
}

/// The points of one belt in the order in which they were thrown, and again by slices of the belt so that a colony finds
/// those near it.
#[derive(Default)]
pub struct Thrown {
    points: Vec<ThrownPoint>,
    /// Points by slices, with their place in `points`.
    sorted: Vec<(ThrownPoint, u32)>,
    /// Where each slice begins in `sorted`, and the end.
    starts: Vec<u32>,
    slices_per_m: f32,
}

impl Thrown {
    /// Throws the points, each from one hash of its own; `tape` places the frames.
    pub fn throw(&mut self, key: Key, tape: Key, belt: &Belt, throw: &Throw) {
        self.points.clear();
        match throw.into {
            Into::Strip => self.throw_into((0.0, belt.length_m), belt.width_m, key, 0, throw.points, None),
            Into::Frames { frames, each, frame } => {
                let cells = (frame.points_placed == Placed::Stratified).then(|| cells_of_points(each, frame));
                for f in 0..frames {
                    let start = frame_start(tape, f, frames, frame, belt.length_m);
                    let stretch = (start, frame.frame_length_m);
                    self.throw_into(stretch, frame.frame_width_m, key, f * each, each, cells);
                }
            }
        }
        self.sort(belt.length_m as f32);
    }

    /// Throws `number` points, the first of them the `first` of all, into a part of the belt (its start and length): any
    /// where, or one in each of its cells.
    fn throw_into(
        &mut self,
        (start, length): (f64, f64),
        width: f64,
        key: Key,
        first: usize,
        number: usize,
        cells: Option<(usize, usize)>,
    ) {
        let unit = 1.0 / 4_294_967_296.0;
        let (columns, rows) = cells.unwrap_or((1, 1));
        let (cell_length, cell_width) = (length / columns as f64, width / rows as f64);
        self.points.extend((0..number).map(|i| {
            let hash = mix(key.0.wrapping_add(((first + i) as u64).wrapping_mul(KEY_X)));
            let part = |bits: u64| (f64::from(bits as u32) + 0.5) * unit;
            let (column, row) = if cells.is_some() { (i % columns, i / columns) } else { (0, 0) };
            ThrownPoint {
                along: (start + (column as f64 + part(hash)) * cell_length) as f32,
                across: ((row as f64 + part(hash >> 32)) * cell_width - 0.5 * width) as f32,
            }
        }));
    }

    /// Counting sort by slices, about as many as points.
    fn sort(&mut self, length: f32) {
        let slices = self.points.len().max(1);
        self.slices_per_m = slices as f32 / length;
        self.starts.clear();
        self.starts.resize(slices + 2, 0);
        for point in &self.points {
            self.starts[2 + slice(point.along, self.slices_per_m, slices)] += 1;
        }
        for s in 2..self.starts.len() {
            self.starts[s] += self.starts[s - 1];
        }
        // Now `starts[1 + s]` is where slice s begins; filling it moves it to where it ends.
        self.sorted.resize(self.points.len(), (ThrownPoint::default(), 0));
        for (index, point) in self.points.iter().enumerate() {
            let next = &mut self.starts[1 + slice(point.along, self.slices_per_m, slices)];
            self.sorted[*next as usize] = (*point, index as u32);
            *next += 1;
        }
        self.starts.pop();
    }

    pub fn points(&self) -> &[ThrownPoint] {
        &self.points
    }

    /// For every point, in which states a colony lies over it.
    pub fn mark_covered(&self, colonies: &[Colony], covered: &mut [u16]) {
        let slices = self.starts.len() - 1;
        for colony in colonies {
            let of = |along: f32| slice(along, self.slices_per_m, slices);
            let from = self.starts[of(colony.along - colony.radius)] as usize;
            let to = self.starts[1 + of(colony.along + colony.radius)] as usize;
            for (point, index) in &self.sorted[from..to] {
                let (along, across) = (point.along - colony.along, point.across - colony.across);
                let hit = along * along + across * across < colony.radius * colony.radius;
                covered[*index as usize] |= if hit { colony.alive } else { 0 };
            }
        }
    }
}

/// Where a frame begins on its tape: anywhere on it, or anywhere in its own part of it.
pub fn frame_start(tape: Key, number: usize, frames: usize, frame: Frame, length_m: f64) -> f64 {
    let share = uniform(tape.child(Purpose::PhotoFrame, number as u64).0);
    match frame.frames_placed {
        Placed::Random => share * (length_m - frame.frame_length_m),
        Placed::Stratified => {
            let part = length_m / frames as f64;
            number as f64 * part + share * (part - frame.frame_length_m)
        }
    }
}

/// The slice that a place along the belt is in; the first or last for one outside.
#[inline]
fn slice(along: f32, per_m: f32, slices: usize) -> usize {
    ((along * per_m).max(0.0) as usize).min(slices - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Purpose;

    #[test]
    fn every_colony_finds_the_points_under_it() {
        let belt = Belt { number: 1, length_m: 10.0, width_m: 0.5, throws: vec![] };
        let mut thrown = Thrown::default();
        for trial in 0..50 {
            let key = Key::seed(trial);
            let points = 1 + 3 * trial as usize;
            thrown.throw(key, key, &belt, &Throw { into: Into::Strip, points, readings: vec![] });
            let colonies: Vec<Colony> = (0..12)
                .map(|i| Colony {
                    along: 11.0 * key.uniform(Purpose::Test, 3 * i) as f32 - 0.5,
                    across: key.uniform(Purpose::Test, 3 * i + 1) as f32 - 0.5,
                    radius: 0.6 * key.uniform(Purpose::Test, 3 * i + 2) as f32,
                    id: i,
                    alive: 1 << (i % 3),
                })
                .collect();
            let mut covered = vec![0; thrown.points().len()];
            thrown.mark_covered(&colonies, &mut covered);
            for (point, found) in thrown.points().iter().zip(&covered) {
                let over = |c: &&Colony| {
                    (point.along - c.along).powi(2) + (point.across - c.across).powi(2) < c.radius * c.radius
                };
                let slow = colonies.iter().filter(over).fold(0, |all, c| all | c.alive);
                assert_eq!(*found, slow);
                assert!((0.0..=10.0).contains(&point.along) && point.across.abs() <= 0.25);
            }
        }
    }

    #[test]
    fn points_lie_in_their_frames_and_frames_in_their_parts() {
        let belt = Belt { number: 1, length_m: 10.0, width_m: 0.5, throws: vec![] };
        for (frames_placed, points_placed) in
            [(Placed::Random, Placed::Stratified), (Placed::Stratified, Placed::Random)]
        {
            let frame = Frame { frame_length_m: 0.75, frame_width_m: 0.5, frames_placed, points_placed };
            let (frames, each) = (8, 24);
            assert_eq!(cells_of_points(each, frame), (6, 4));
            let throw = Throw { into: Into::Frames { frames, each, frame }, points: frames * each, readings: vec![] };
            let mut thrown = Thrown::default();
            for trial in 0..40 {
                let key = Key::seed(trial);
                thrown.throw(key.child(Purpose::Test, 0), key, &belt, &throw);
                assert_eq!(thrown.points().len(), frames * each);
                for (f, points) in thrown.points().chunks(each).enumerate() {
                    let start = frame_start(key, f, frames, frame, 10.0);
                    if frames_placed == Placed::Stratified {
                        assert!(start >= 1.25 * f as f64 && start + 0.75 <= 1.25 * (f + 1) as f64 + 1e-12);
                    }
                    assert!((0.0..=9.25).contains(&start));
                    for (i, point) in points.iter().enumerate() {
                        let (along, across) = (f64::from(point.along) - start, f64::from(point.across) + 0.25);
                        assert!((-1e-5..=0.75001).contains(&along) && (-1e-6..=0.50001).contains(&across));
                        if points_placed == Placed::Stratified {
                            assert_eq!(((along / 0.125) as usize).min(5), i % 6);
                            assert_eq!(((across / 0.125) as usize).min(3), i / 6);
                        }
                    }
                }
            }
        }
    }
}
