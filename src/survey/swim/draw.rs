use super::rule::Watch;
use super::shape::{Leg, Shape};
use super::walk::{Pace, Walk, any_heading};
use crate::reef::fish::Movement;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, Poisson, StandardNormal};

/// A school is followed while its middle is within this many spreads of the counted shape, along and across. What is
/// farther from the middle of its school than that, and counted, is lost: fewer than four fish in a million where the
/// spread is 5 m and the belt 30 x 2 m (`P s E[(Z - 4.5)+] / A` with the edge P and area A of the shape; computed).
pub const REACH_IN_SPREADS: f64 = 4.5;

/// One fish that came into what was watched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swum {
    /// Its school among those drawn, from 0.
    pub school: u32,
    /// The nearest it came, while inside, to the middle line of a belt or the middle of a disc, m.
    pub nearest_m: f32,
}

/// Draws what a diver counts of schools that lie uniformly and swim: everything that is inside the watched shape at any
/// moment of the watch, and nothing else.
///
/// Seen from the diver the shape stands still and the schools pass it. A school is met in one of two ways: its middle is
/// inside the (enlarged) shape at the start, or it first comes in through the edge, at a uniform time, with a heading and
/// place in proportion to the flux through the edge. Who turns may have been inside before: the way is run backwards from
/// the edge, and a school that was inside before is met there, not here. Then the way is run on to the end. Ways are
/// straight between turns, so that who is inside, and how near, is exact. The cost is that of the schools met; how
/// large the sea is nobody asks.
#[derive(Clone, Debug)]
pub struct Swim {
    shape: Shape,
    /// The shape with the reach of a school.
    reach: Shape,
    pace: Pace,
    diver: f64,
    seconds: f64,
    spread: f64,
    inside_m2: f64,
    reach_m2: f64,
    most_swept: f64,
}

impl Swim {
    /// `spread_m`: SD of a fish about the middle of its school along each axis.
    pub fn new(watch: Watch, movement: Movement, spread_m: f64) -> Self {
        let (shape, pace) = (Shape::of(watch.watched), Pace::of(movement));
        let reach = shape.enlarged(REACH_IN_SPREADS * spread_m);
        // A snapshot sweeps nothing, whatever its speed.
        let (seconds, diver) = if watch.seconds > 0.0 { (watch.seconds, watch.speed_m_s) } else { (0.0, 0.0) };
        let inside_m2 = reach.area_m2();
        Self {
            shape,
            reach,
            pace,
            diver,
            seconds,
            spread: spread_m,
            inside_m2,
            reach_m2: inside_m2 + seconds * reach.mean_swept_m2_s(pace.speed, diver),
            most_swept: reach.most_swept_m2_s(pace.speed, diver),
        }
    }

    /// Area that holds as many schools as are met on average, re-entries counted again, m2.
    pub fn reach_m2(&self) -> f64 {
        self.reach_m2
    }

    /// Draws the fish of one swim into `counted` (cleared first), each of them once, school by school; the number of
    /// schools met. `size_of_school` is asked once for each.
    pub fn draw<R: Rng>(
        &self,
        schools_per_m2: f64,
        mut size_of_school: impl FnMut(&mut R) -> usize,
        rng: &mut R,
        counted: &mut Vec<Swum>,
    ) -> usize {
        counted.clear();
        let (mut legs, mut schools) = (Vec::new(), 0);
        for _ in 0..poisson(schools_per_m2 * self.reach_m2, rng) {
            if self.way(rng, &mut legs) {
                let size = size_of_school(rng);
                self.count(schools, size, &legs, rng, counted);
                schools += 1;
            }
        }
        schools as usize
    }

    /// One of the schools that lie in [`Swim::reach_m2`], of a given size: its fish that are counted are added to
    /// `counted`. For means over schools: a school that is met somewhere else adds nothing.
    pub fn one_school<R: Rng>(&self, school: u32, size: usize, rng: &mut R, counted: &mut Vec<Swum>) {
        let mut legs = Vec::new();
        if self.way(rng, &mut legs) {
            self.count(school, size, &legs, rng, counted);
        }
    }

    /// How often the middles of schools are inside at the start or come in, those that come again counted again: on
    /// average what straight fish of the same speed give, whatever the turns.
    pub fn entries<R: Rng>(&self, schools_per_m2: f64, rng: &mut R) -> usize {
        let mut entries = 0;
        for _ in 0..poisson(schools_per_m2 * self.reach_m2, rng) {
            if let Some((walk, remaining)) = self.met(rng) {
                let mut first = true;
                self.follow(walk, remaining, rng, |leg| {
                    entries += usize::from(std::mem::take(&mut first) || !self.reach.holds(leg.from));
                });
            }
        }
        entries
    }

    /// The legs of a school met, as far as they may bring fish into the shape; `false` where it is met somewhere else.
    fn way(&self, rng: &mut impl Rng, legs: &mut Vec<Leg>) -> bool {
        let Some((walk, remaining)) = self.met(rng) else { return false };
        legs.clear();
        self.follow(walk, remaining, rng, |leg| legs.push(leg));
        true
    }

    /// A school where it is first inside the reach, and the seconds that remain.
    fn met(&self, rng: &mut impl Rng) -> Option<(Walk, f64)> {
        let at_start = rng.random::<f64>() * self.reach_m2 < self.inside_m2;
        if at_start {
            let place = self.reach.inside(rng.random(), rng.random());
            let heading = any_heading(rng);
            return Some((Walk::start(place, heading, -self.diver, &self.pace, rng), self.seconds));
        }
        let (heading, velocity) = loop {
            let heading = any_heading(rng);
            let velocity = [self.pace.speed * heading[0] - self.diver, self.pace.speed * heading[1]];
            if rng.random::<f64>() * self.most_swept < self.reach.swept_m2_s(velocity) {
                break (heading, velocity);
            }
        };
        let place = self.reach.edge(velocity, rng.random());
        let before = self.seconds * rng.random::<f64>();
        let walk = Walk::start(place, heading, -self.diver, &self.pace, rng);
        if self.pace.bends() && self.was_inside(walk.reversed(), before, rng) {
            return None;
        }
        Some((walk, self.seconds - before))
    }

    /// Whether a way run backwards from the edge meets the reach again.
    fn was_inside(&self, mut back: Walk, seconds: f64, rng: &mut impl Rng) -> bool {
        // Straight back from the edge of a convex shape nothing is met.
        let (_, gone) = back.leg(&self.pace, seconds, rng);
        let mut inside = false;
        self.on(back, gone, seconds, rng, |leg| {
            inside = self.reach.nearest_m(&leg).is_some();
            !inside
        });
        inside
    }

    /// Runs a way that begins inside for `seconds`, and shows the legs that meet the reach.
    fn follow(&self, mut walk: Walk, seconds: f64, rng: &mut impl Rng, mut show: impl FnMut(Leg)) {
        let (leg, gone) = walk.leg(&self.pace, seconds, rng);
        show(leg);
        self.on(walk, gone, seconds, rng, |leg| {
            if self.reach.nearest_m(&leg).is_some() {
                show(leg);
            }
            true
        });
    }

    /// Runs a way from `gone` to `seconds`, leg by leg where it may meet the reach, while `each` wants more.
    fn on(&self, mut walk: Walk, mut gone: f64, seconds: f64, rng: &mut impl Rng, mut each: impl FnMut(Leg) -> bool) {
        while gone < seconds {
            let jump = walk.jump(&self.pace, self.reach, seconds - gone, rng);
            if jump > 0.0 {
                gone += jump;
                continue;
            }
            let (leg, took) = walk.leg(&self.pace, seconds - gone, rng);
            gone += took;
            if !each(leg) {
                return;
            }
        }
    }

    /// Adds the fish of a school on its way that come into the shape.
    fn count(&self, school: u32, size: usize, legs: &[Leg], rng: &mut impl Rng, counted: &mut Vec<Swum>) {
        let nearest = |aside: [f64; 2]| {
            let each = legs.iter().filter_map(|leg| self.shape.nearest_m(&leg.moved(aside)));
            each.reduce(f64::min).map(|nearest| Swum { school, nearest_m: nearest as f32 })
        };
        if self.spread == 0.0 {
            if let Some(swum) = nearest([0.0; 2]) {
                counted.resize(counted.len() + size, swum);
            }
            return;
        }
        let ys = || legs.iter().flat_map(|leg| [leg.from[1], leg.to[1]]);
        let half = self.shape.half_width_m();
        let (low, high) = (-half - ys().fold(f64::NEG_INFINITY, f64::max), half - ys().fold(f64::INFINITY, f64::min));
        for _ in 0..size {
            let across: f64 = self.spread * normal(rng);
            if low <= across && across <= high {
                counted.extend(nearest([self.spread * normal(rng), across]));
            }
        }
    }
}

fn poisson(mean: f64, rng: &mut impl Rng) -> u64 {
    if mean > 0.0 { Poisson::new(mean).expect("a finite number of schools").sample(rng) as u64 } else { 0 }
}

fn normal(rng: &mut impl Rng) -> f64 {
    StandardNormal.sample(rng)
}
