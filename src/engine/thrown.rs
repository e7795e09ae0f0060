//! Points thrown at random into a belt.

use super::layout::Belt;
use crate::random::{KEY_X, Key, mix};
use crate::reef::Colony;

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
    /// Throws `number` points, each from one hash of its own.
    pub fn throw(&mut self, key: Key, belt: &Belt, number: usize) {
        let unit = 1.0 / 4_294_967_296.0;
        self.points.clear();
        self.points.extend((0..number as u64).map(|i| {
            let hash = mix(key.0.wrapping_add(i.wrapping_mul(KEY_X)));
            let part = |bits: u64| (f64::from(bits as u32) + 0.5) * unit;
            ThrownPoint {
                along: (part(hash) * belt.length_m) as f32,
                across: ((part(hash >> 32) - 0.5) * belt.width_m) as f32,
            }
        }));
        self.sort(belt.length_m as f32);
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
        let belt = Belt { number: 1, length_m: 10.0, width_m: 0.5, readings: vec![] };
        let mut thrown = Thrown::default();
        for trial in 0..50 {
            let key = Key::seed(trial);
            thrown.throw(key, &belt, 1 + 3 * trial as usize);
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
}
