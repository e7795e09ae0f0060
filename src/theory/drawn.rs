//! Distances between the points of two units, from layouts that are drawn as the engine draws them, with fixed keys.

use super::curve::Curve;
use super::pairs::Unit;
use crate::random::{Key, Purpose};
use crate::survey::{Freely, Ground, Place};
use std::sync::{Arc, Mutex, PoisonError};

/// Units drawn in all layouts together, about.
const UNITS: usize = 120_000;
/// Throws get dearer with the square of the units of a layout; no more than this many pairs are looked at.
const MOST_PAIRS: usize = 6_000_000;
/// Partners of each unit (units of a layout lie in random order, so that its neighbours in the list are a fair choice), and
/// pairs of points of each pair of units.
const PARTNERS: usize = 4;
const POINTS: usize = 2;
/// Intervals of the table of distances, dense near 0.
const BINS: usize = 512;
/// Drawings that are remembered.
const REMEMBERED: usize = 64;

/// Distances of points of two units of one layout, and of two layouts.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    pub together: DistanceTable,
    pub independent: DistanceTable,
    /// Share of the layouts whose units had to lie in rows.
    pub in_rows: f64,
}

/// A distribution of distances: nodes (m) and weights that sum to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct DistanceTable(Vec<(f64, f64)>);

impl DistanceTable {
    /// Mean of a covariance over the distances.
    pub fn mean(&self, c: &Curve) -> f64 {
        self.0.iter().map(|&(h, weight)| weight * c.at(h)).sum()
    }
}

type Asked = (Ground, Unit, usize);
static DRAWN: Mutex<Vec<(Asked, Arc<Drawn>)>> = Mutex::new(Vec::new());

/// The distances for layouts of `number` units. Some hundredths of a second the first time; the mean of a covariance over
/// them is good to a few thousandths of its spread. The same call gives the same table, remembered or not.
pub fn drawn(ground: &Ground, unit: Unit, number: usize) -> Arc<Drawn> {
    let asked = (*ground, unit, number);
    let remembered = || DRAWN.lock().unwrap_or_else(PoisonError::into_inner);
    let known = remembered().iter().find(|(known, _)| *known == asked).map(|(_, drawn)| Arc::clone(drawn));
    if let Some(known) = known {
        return known;
    }
    let drawn = Arc::new(draw(ground, unit, number, Key::seed(DRAWING)));
    let mut all = remembered();
    if all.len() >= REMEMBERED {
        all.remove(0);
    }
    all.push((asked, Arc::clone(&drawn)));
    drawn
}

/// Names the fixed layouts.
const DRAWING: u64 = 7;

fn draw(ground: &Ground, unit: Unit, number: usize, key: Key) -> Drawn {
    let (length, width) = unit.size();
    let lengths = vec![length; number];
    let layouts = (UNITS / number).min(MOST_PAIRS / (number * number)).max(16);
    let reach = libm::hypot(ground.site.0, ground.site.1);
    let (mut together, mut apart) = (Bins::new(reach), Bins::new(reach));
    let (mut here, mut before): (Vec<Place>, Vec<Place>) = (Vec::new(), Vec::new());
    let mut points = PointsOfPairs::new(unit);
    let mut in_rows = 0;
    for layout in 0..layouts as u64 {
        std::mem::swap(&mut here, &mut before);
        let Freely(freely) = ground.lay(key.child(Purpose::Trial, layout), 0, &lengths, width, &mut here);
        in_rows += usize::from(!freely);
        for (i, one) in here.iter().enumerate() {
            for partner in 1..=PARTNERS.min(number - 1) {
                (0..POINTS).for_each(|_| together.add(points.distance(one, &here[(i + partner) % number])));
            }
            for partner in 0..PARTNERS.min(before.len()) {
                (0..POINTS).for_each(|_| apart.add(points.distance(one, &before[(i + partner) % number])));
            }
        }
    }
    Drawn { together: together.table(), independent: apart.table(), in_rows: in_rows as f64 / layouts as f64 }
}

/// Random points of two units, one pair after the other: the sequence of multiples of four powers of the root of
/// `x^5 = x + 1` modulo 1, which fills the unit cube of four dimensions evenly (Kronecker's sequence; constants computed).
struct PointsOfPairs {
    unit: Unit,
    state: [f64; 4],
}

const STEPS: [f64; 4] =
    [0.856_674_883_854_502_9, 0.733_891_856_627_126, 0.628_706_721_037_808_6, 0.538_597_257_223_612_8];

impl PointsOfPairs {
    fn new(unit: Unit) -> Self {
        Self { unit, state: [0.5; 4] }
    }

    fn distance(&mut self, one: &Place, other: &Place) -> f64 {
        for (value, step) in self.state.iter_mut().zip(STEPS) {
            *value = (*value + step) % 1.0;
        }
        let [a, b, c, d] = self.state;
        let (p, q) = (self.place(one, a, b), self.place(other, c, d));
        libm::sqrt((p.0 - q.0) * (p.0 - q.0) + (p.1 - q.1) * (p.1 - q.1))
    }

    fn place(&self, place: &Place, along: f64, across: f64) -> (f64, f64) {
        match self.unit {
            Unit::Points { number, spacing_m, .. } => {
                place.at(spacing_m * (1.0 + libm::floor(along * number as f64)), 0.0)
            }
            Unit::Line { length_m } => place.at(along * length_m, 0.0),
            Unit::Strip { length_m, width_m } => place.at(along * length_m, (across - 0.5) * width_m),
            Unit::Quadrats { number, every_m, length_m, width_m } => {
                let (quadrat, within) = (libm::floor(along * number as f64), (along * number as f64) % 1.0);
                place.at(quadrat * every_m + within * length_m, (across - 0.5) * width_m)
            }
        }
    }
}

/// Distances counted in intervals, each with their mean.
struct Bins {
    reach: f64,
    bins: Vec<(f64, f64)>,
}

impl Bins {
    fn new(reach: f64) -> Self {
        Self { reach, bins: vec![(0.0, 0.0); BINS] }
    }

    fn add(&mut self, distance: f64) {
        let at = (libm::cbrt(distance / self.reach) * BINS as f64) as usize;
        let (number, sum) = &mut self.bins[at.min(BINS - 1)];
        *number += 1.0;
        *sum += distance;
    }

    fn table(self) -> DistanceTable {
        let total: f64 = self.bins.iter().map(|(number, _)| number).sum();
        let used = self.bins.into_iter().filter(|(number, _)| *number > 0.0);
        DistanceTable(used.map(|(number, sum)| (sum / number, number / total)).collect())
    }
}
