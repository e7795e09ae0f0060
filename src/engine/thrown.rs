//! Points thrown at random into a belt.

use super::layout::{Belt, Into, Throw};
use crate::random::{KEY_X, Key, Purpose, mix, uniform};
use crate::reef::Colonies;
use crate::reef::machine::for_this_processor;
use crate::survey::{Frame, Placed, cells_of_points};

/// A point, m from the start of the belt and from its middle line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ThrownPoint {
    pub along: f32,
    pub across: f32,
}

/// The points of one belt, in blocks of points that lie near one another, so that a colony finds those under it. Scratch
/// memory; one per thread, reused.
#[derive(Default)]
pub struct Thrown {
    /// Places in the order in which the points were thrown.
    along: Vec<f32>,
    across: Vec<f32>,
    /// Starts of the frames, m, with their numbers, from the start of the belt on.
    frames: Vec<(f32, u32)>,
    /// Points by slices of the belt, and where each slice ends.
    sorted: Vec<u32>,
    ends: Vec<u32>,
    blocks: Vec<Block>,
    /// The first block that reaches each of some equal parts of the belt.
    first: Vec<u32>,
    parts_per_m: f32,
}

/// Points that are looked at together.
const TOGETHER: usize = 8;

/// Points that lie between two places along the belt; from one block to the next neither place falls.
#[derive(Clone, Copy)]
#[repr(align(32))]
struct Block {
    along: [f32; TOGETHER],
    across: [f32; TOGETHER],
    /// The states in which a colony lies over each.
    covered: [i32; TOGETHER],
    /// Their places in the order in which they were thrown.
    points: [u32; TOGETHER],
    number: usize,
    from: f32,
    to: f32,
}

impl Block {
    /// Nothing reaches these places.
    const NOWHERE: Block = Block {
        along: [f32::INFINITY; TOGETHER],
        across: [0.0; TOGETHER],
        covered: [0; TOGETHER],
        points: [0; TOGETHER],
        number: 0,
        from: 0.0,
        to: 0.0,
    };
}

impl Thrown {
    /// Throws the points, each from one hash of its own; `tape` places the frames.
    pub fn throw(&mut self, key: Key, tape: Key, belt: &Belt, throw: &Throw) {
        self.along.resize(throw.points, 0.0);
        self.across.resize(throw.points, 0.0);
        self.blocks.clear();
        scatter(&mut self.along, &mut self.across, key.0);
        let length = belt.length_m as f32;
        match throw.into {
            Into::Strip => {
                let area = Area { start: 0.0, length, width: belt.width_m as f32 };
                area.stretch(&mut self.along, &mut self.across, (1, 1));
                self.block_by_slices(length);
            }
            Into::Frames { frames, each, frame } => {
                let cells = match frame.points_placed {
                    Placed::Stratified => cells_of_points(each, frame),
                    Placed::Random => (1, 1),
                };
                let (frame_length, width) = (frame.frame_length_m as f32, frame.frame_width_m as f32);
                self.frames.clear();
                for f in 0..frames {
                    let start = frame_start(tape, f, frames, frame, belt.length_m) as f32;
                    let range = f * each..(f + 1) * each;
                    let area = Area { start, length: frame_length, width };
                    area.stretch(&mut self.along[range.clone()], &mut self.across[range], cells);
                    self.frames.push((start, f as u32));
                }
                self.frames.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
                self.block_by_frames(each, frame_length);
            }
        }
        self.find_first(length);
    }

    fn block_by_frames(&mut self, each: usize, length: f32) {
        for &(start, frame) in &self.frames {
            let (first, end) = (frame as usize * each, (frame as usize + 1) * each);
            for from in (first..end).step_by(TOGETHER) {
                let number = (end - from).min(TOGETHER);
                // A hair for rounding.
                let mut block = Block { number, from: start - 1e-4, to: start + length + 1e-4, ..Block::NOWHERE };
                block.along[..number].copy_from_slice(&self.along[from..from + number]);
                block.across[..number].copy_from_slice(&self.across[from..from + number]);
                block.points = std::array::from_fn(|i| (from + i) as u32);
                self.blocks.push(block);
            }
        }
    }

    fn block_by_slices(&mut self, length: f32) {
        let slices = (self.along.len() / TOGETHER).max(1);
        let per_m = slices as f32 / length;
        self.sort(per_m, slices);
        for points in self.sorted.chunks(TOGETHER) {
            let slice_of = |point: u32| slice(self.along[point as usize], per_m, slices);
            let (first, last) = (slice_of(points[0]), slice_of(points[points.len() - 1]));
            let (from, to) = (first as f32 / per_m - 1e-4, (last + 1) as f32 / per_m + 1e-4);
            let mut block = Block { number: points.len(), from, to, ..Block::NOWHERE };
            for (i, &point) in points.iter().enumerate() {
                block.along[i] = self.along[point as usize];
                block.across[i] = self.across[point as usize];
                block.points[i] = point;
            }
            self.blocks.push(block);
        }
    }

    /// Counting sort by slices.
    fn sort(&mut self, per_m: f32, slices: usize) {
        self.ends.clear();
        self.ends.resize(slices + 1, 0);
        for &along in &self.along {
            self.ends[1 + slice(along, per_m, slices)] += 1;
        }
        for s in 1..self.ends.len() {
            self.ends[s] += self.ends[s - 1];
        }
        // Now `ends[s]` is where slice s begins; filling it moves it to where it ends.
        self.sorted.resize(self.along.len(), 0);
        for (point, &along) in self.along.iter().enumerate() {
            let next = &mut self.ends[slice(along, per_m, slices)];
            self.sorted[*next as usize] = point as u32;
            *next += 1;
        }
    }

    fn find_first(&mut self, length: f32) {
        let parts = self.blocks.len().max(1);
        self.parts_per_m = parts as f32 / length;
        self.first.clear();
        let mut block = 0;
        for part in 0..parts {
            let from = part as f32 / self.parts_per_m;
            while block < self.blocks.len() && self.blocks[block].to < from {
                block += 1;
            }
            self.first.push(block as u32);
        }
    }

    /// Notes for every point in which states a colony lies over it.
    pub fn cover(&mut self, colonies: &Colonies) {
        cover(&mut self.blocks, colonies, &self.first, self.parts_per_m);
    }

    /// The points, each with its place in the order in which they were thrown and the states in which it is covered.
    pub fn points(&self) -> impl Iterator<Item = (usize, ThrownPoint, u16)> {
        self.blocks.iter().flat_map(|block| {
            (0..block.number).map(|i| {
                let point = ThrownPoint { along: block.along[i], across: block.across[i] };
                (block.points[i] as usize, point, block.covered[i] as u16)
            })
        })
    }

    /// How many of the first so many points are covered in a state.
    pub fn hits(&self, state: usize, first: usize) -> usize {
        let hits = |block: &Block| {
            let of_points = block.covered.iter().zip(&block.points);
            of_points
                .map(|(covered, &point)| (covered >> state & 1) as u32 & u32::from(point < first as u32))
                .sum::<u32>()
        };
        self.blocks.iter().map(hits).sum::<u32>() as usize
    }
}

for_this_processor! {
    /// Two uniforms for each point, each of 24 bits of its hash.
    fn scatter(along: &mut [f32], across: &mut [f32], key: u64) {
        let unit = 1.0 / 16_777_216.0;
        let points = along.iter_mut().zip(across);
        for (i, (along, across)) in points.enumerate() {
            let hash = mix(key.wrapping_add((i as u64).wrapping_mul(KEY_X)));
            *along = ((hash >> 8) as i32 & 0xFF_FFFF) as f32 * unit;
            *across = ((hash >> 40) as i32 & 0xFF_FFFF) as f32 * unit;
        }
    }
}

/// A part of the belt: where it begins along it, its length and width, m.
#[derive(Clone, Copy)]
struct Area {
    start: f32,
    length: f32,
    width: f32,
}

impl Area {
    /// Puts uniforms into the area: anywhere, or one into each of its cells (columns, rows).
    fn stretch(&self, along: &mut [f32], across: &mut [f32], (columns, rows): (usize, usize)) {
        let (length, width) = (self.length / columns as f32, self.width / rows as f32);
        let middle = 0.5 * self.width;
        if (columns, rows) == (1, 1) {
            for (along, across) in along.iter_mut().zip(across) {
                *along = self.start + *along * length;
                *across = *across * width - middle;
            }
            return;
        }
        for (i, (along, across)) in along.iter_mut().zip(across).enumerate() {
            *along = self.start + ((i % columns) as f32 + *along) * length;
            *across = ((i / columns) as f32 + *across) * width - middle;
        }
    }
}

for_this_processor! {
    /// Notes in which states colonies lie over points.
    fn cover(blocks: &mut [Block], colonies: &Colonies, first: &[u32], parts_per_m: f32) {
        for colony in colonies.iter() {
            let (from, to) = (colony.along - colony.radius, colony.along + colony.radius);
            let square = colony.radius * colony.radius;
            let alive = i32::from(colony.alive);
            let part = slice(from, parts_per_m, first.len());
            for block in &mut blocks[first[part] as usize..] {
                if block.from >= to {
                    break;
                }
                for i in 0..TOGETHER {
                    let (along, across) = (block.along[i] - colony.along, block.across[i] - colony.across);
                    block.covered[i] |= if along * along + across * across < square { alive } else { 0 };
                }
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
    use crate::reef::Colony;

    #[test]
    fn every_colony_finds_the_points_under_it() {
        let belt = Belt { number: 1, length_m: 10.0, width_m: 0.5, throws: vec![] };
        let mut thrown = Thrown::default();
        for trial in 0..50 {
            let key = Key::seed(trial);
            let points = 1 + 3 * trial as usize;
            thrown.throw(key, key, &belt, &Throw { into: Into::Strip, points, readings: vec![] });
            let colonies: Colonies = (0..12)
                .map(|i| Colony {
                    along: 11.0 * key.uniform(Purpose::Test, 3 * i) as f32 - 0.5,
                    across: key.uniform(Purpose::Test, 3 * i + 1) as f32 - 0.5,
                    radius: 0.6 * key.uniform(Purpose::Test, 3 * i + 2) as f32,
                    id: i,
                    alive: 1 << (i % 3),
                })
                .collect();
            thrown.cover(&colonies);
            let mut found_at = vec![false; points];
            for (index, point, found) in thrown.points() {
                assert!(!std::mem::replace(&mut found_at[index], true));
                let over = |c: &Colony| {
                    (point.along - c.along).powi(2) + (point.across - c.across).powi(2) < c.radius * c.radius
                };
                let slow = colonies.iter().filter(over).fold(0, |all, c| all | c.alive);
                assert_eq!(found, slow);
                assert!((0.0..=10.0).contains(&point.along) && point.across.abs() <= 0.25);
            }
            assert!(found_at.iter().all(|&found| found));
            for first in [0, points / 2, points] {
                let slow = thrown.points().filter(|&(index, _, states)| index < first && states >> 1 & 1 == 1).count();
                assert_eq!(thrown.hits(1, first), slow);
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
                let mut all: Vec<_> = thrown.points().collect();
                all.sort_by_key(|&(index, ..)| index);
                assert!(all.iter().map(|&(index, ..)| index).eq(0..frames * each));
                for (f, points) in all.chunks(each).enumerate() {
                    let start = frame_start(key, f, frames, frame, 10.0);
                    if frames_placed == Placed::Stratified {
                        assert!(start >= 1.25 * f as f64 && start + 0.75 <= 1.25 * (f + 1) as f64 + 1e-12);
                    }
                    assert!((0.0..=9.25).contains(&start));
                    for (i, (_, point, _)) in points.iter().enumerate() {
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
