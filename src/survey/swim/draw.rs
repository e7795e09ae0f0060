use super::crossing::MeanSpeeds;
use super::rule::Watch;
use super::shape::{Leg, Shape, length};
use super::walk::{Pace, Walk, any_heading};
use crate::reef::fish::Movement;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, Poisson, StandardNormal};

/// Schools are drawn as if each reached this many spreads to all sides, then kept by how far it does reach. One that
/// reaches farther is drawn too rarely by its excess: fewer than two fish in a million (chance of 7e-6 that a fish is
/// farther out along an axis, times a mean excess of a fifth of a spread; computed).
const REACH_IN_SPREADS: f64 = 4.5;

/// A school is met so much before its first fish may be inside, m: a fish that began on the line abreast of the diver
/// would be counted or not as its place is rounded.
const BEFORE_EDGE_M: f64 = 1e-9;

/// One fish that came into what was watched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swum {
    /// Its school among those met, from 0.
    pub school: u32,
    /// The nearest it came, while inside, to the middle line of a belt or the middle of a disc, m.
    pub nearest_m: f32,
}

/// Draws what a diver counts of schools that lie uniformly and swim: everything that is inside the watched shape at any
/// moment of the watch, and nothing else.
///
/// Seen from the diver the shape stands still and the schools pass it. A school may bring a fish into it where the middle
/// of the school is inside the shape made larger by the school. It is met there in one of two ways: it is inside at the
/// start, or it first comes in through the edge, at a uniform time, with a heading and place in proportion to the flux
/// through the edge. Who turns may have been inside before: the way is run backwards from the edge, and a school that was
/// inside before is met there, not here. Then the way is run on to the end. Ways are straight between turns, so that who
/// is inside, and how near, is exact. The cost is that of the schools met; how large the sea is nobody asks.
#[derive(Clone, Debug)]
pub struct Swim {
    shape: Shape,
    pace: Pace,
    diver: f64,
    seconds: f64,
    speeds: MeanSpeeds,
    spread: f64,
    reach_m2: f64,
}

/// What one school needs.
#[derive(Default)]
struct Scratch {
    /// Places of the members seen from the middle of their school.
    members: Vec<[f64; 2]>,
    legs: Vec<Leg>,
}

impl Swim {
    /// `spread_m`: SD of a fish about the middle of its school along each axis.
    pub fn new(watch: Watch, movement: Movement, spread_m: f64) -> Self {
        let (shape, pace) = (Shape::of(watch.watched), Pace::of(movement));
        // A snapshot sweeps nothing, whatever its speed.
        let (seconds, diver) = if watch.seconds > 0.0 { (watch.seconds, watch.speed_m_s) } else { (0.0, 0.0) };
        let speeds = MeanSpeeds::of(pace.speed, diver);
        let mut swim = Self { shape, pace, diver, seconds, speeds, spread: spread_m, reach_m2: 0.0 };
        let reach = REACH_IN_SPREADS * spread_m;
        swim.reach_m2 = swim.met_m2(shape.enlarged([reach; 2], reach));
        swim
    }

    /// Area that holds, on average, as many schools as are asked for their size, m2.
    pub fn reach_m2(&self) -> f64 {
        self.reach_m2
    }

    /// Draws the fish of one swim into `counted` (cleared first), each of them once, school by school; the number of
    /// schools met, whether or not one of their fish was inside. `size_of_school` may be asked more often than that.
    pub fn draw<R: Rng>(
        &self,
        schools_per_m2: f64,
        mut size_of_school: impl FnMut(&mut R) -> usize,
        rng: &mut R,
        counted: &mut Vec<Swum>,
    ) -> usize {
        counted.clear();
        let (mut scratch, mut schools) = (Scratch::default(), 0);
        for _ in 0..poisson(schools_per_m2 * self.reach_m2, rng) {
            let size = size_of_school(rng);
            schools += u32::from(self.school(schools, size, &mut scratch, rng, counted));
        }
        schools as usize
    }

    /// One of the schools that lie in [`Swim::reach_m2`], of a given size: its fish that are counted are added to
    /// `counted`. For means over schools: one that does not reach the shape, or is met somewhere else, adds nothing.
    pub fn one_school<R: Rng>(&self, size: usize, rng: &mut R, counted: &mut Vec<Swum>) {
        self.school(0, size, &mut Scratch::default(), rng, counted);
    }

    /// How often single fish are inside at the start or come in, those that come again counted again: on average what
    /// straight fish of the same speed give, whatever the turns.
    pub fn entries<R: Rng>(&self, fish_per_m2: f64, rng: &mut R) -> usize {
        let mut entries = 0;
        for _ in 0..poisson(fish_per_m2 * self.met_m2(self.shape), rng) {
            if let Some((walk, remaining)) = self.met(self.shape, rng) {
                let mut first = true;
                self.follow(self.shape, walk, remaining, rng, |leg| {
                    entries += usize::from(std::mem::take(&mut first) || !self.shape.holds(leg.from));
                });
            }
        }
        entries
    }

    /// Area that holds as many middles of schools as are inside `reach` at the start or come in, those that come again
    /// counted again, m2.
    fn met_m2(&self, reach: Shape) -> f64 {
        reach.area_m2() + self.seconds * reach.mean_swept_m2_s(&self.speeds)
    }

    fn school(
        &self,
        number: u32,
        size: usize,
        scratch: &mut Scratch,
        rng: &mut impl Rng,
        counted: &mut Vec<Swum>,
    ) -> bool {
        let Scratch { members, legs } = scratch;
        let scattered = self.spread > 0.0 && size > 1;
        let reach = if scattered { self.scatter(size, members, rng) } else { self.shape };
        let met = size > 0 && (self.spread == 0.0 || rng.random::<f64>() * self.reach_m2 < self.met_m2(reach));
        let Some((walk, remaining)) = met.then(|| self.met(reach, rng)).flatten() else { return false };
        legs.clear();
        self.follow(reach, walk, remaining, rng, |leg| legs.push(leg));
        let nearest = |aside: [f64; 2]| {
            let each = legs.iter().filter_map(|leg| self.shape.nearest_m(&leg.moved(aside)));
            each.reduce(f64::min).map(|nearest| Swum { school: number, nearest_m: nearest as f32 })
        };
        if scattered {
            counted.extend(members.iter().filter_map(|&member| nearest(member)));
        } else if let Some(swum) = nearest([0.0; 2]) {
            counted.resize(counted.len() + size, swum);
        }
        true
    }

    /// Scatters the members of a school. As middles are uniform any point that moves with the school may be called its
    /// middle: it is that of the rectangle about all members. What the middle must be inside for any of them to be.
    fn scatter(&self, size: usize, members: &mut Vec<[f64; 2]>, rng: &mut impl Rng) -> Shape {
        members.clear();
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for _ in 0..size {
            let member: [f64; 2] = std::array::from_fn(|_| self.spread * normal(rng));
            for axis in 0..2 {
                low[axis] = low[axis].min(member[axis]);
                high[axis] = high[axis].max(member[axis]);
            }
            members.push(member);
        }
        let mut farthest = 0.0f64;
        for member in members {
            for axis in 0..2 {
                member[axis] -= 0.5 * (low[axis] + high[axis]);
            }
            farthest = farthest.max(length(*member));
        }
        let half = [0, 1].map(|axis| 0.5 * (high[axis] - low[axis]) + BEFORE_EDGE_M);
        self.shape.enlarged(half, farthest + BEFORE_EDGE_M)
    }

    /// A school where its middle is first inside `reach`, and the seconds that remain; `None` where it was there before.
    fn met(&self, reach: Shape, rng: &mut impl Rng) -> Option<(Walk, f64)> {
        if rng.random::<f64>() * self.met_m2(reach) < reach.area_m2() {
            let place = reach.inside(rng.random(), rng.random());
            let heading = any_heading(rng);
            return Some((Walk::start(place, heading, -self.diver, &self.pace, rng), self.seconds));
        }
        let most = reach.most_swept_m2_s(self.pace.speed, self.diver);
        let (heading, velocity) = loop {
            let heading = any_heading(rng);
            let velocity = [self.pace.speed * heading[0] - self.diver, self.pace.speed * heading[1]];
            if rng.random::<f64>() * most < reach.swept_m2_s(velocity) {
                break (heading, velocity);
            }
        };
        let place = reach.edge(velocity, rng.random());
        let before = self.seconds * rng.random::<f64>();
        let walk = Walk::start(place, heading, -self.diver, &self.pace, rng);
        if self.pace.bends() && self.was_inside(reach, walk.reversed(), before, rng) {
            return None;
        }
        Some((walk, self.seconds - before))
    }

    /// Whether a way run backwards from the edge meets `reach` again.
    fn was_inside(&self, reach: Shape, mut back: Walk, seconds: f64, rng: &mut impl Rng) -> bool {
        // Straight back from the edge of a convex shape nothing is met.
        let (_, gone) = back.leg(&self.pace, seconds, rng);
        let mut inside = false;
        self.run(reach, back, gone, seconds, rng, |leg| {
            inside = reach.nearest_m(&leg).is_some();
            !inside
        });
        inside
    }

    /// Runs a way that begins inside for `seconds`, and shows the legs that meet `reach`.
    fn follow(&self, reach: Shape, mut walk: Walk, seconds: f64, rng: &mut impl Rng, mut show: impl FnMut(Leg)) {
        let (leg, gone) = walk.leg(&self.pace, seconds, rng);
        show(leg);
        self.run(reach, walk, gone, seconds, rng, |leg| {
            if reach.nearest_m(&leg).is_some() {
                show(leg);
            }
            true
        });
    }

    /// Runs a way from `gone` to `seconds`, leg by leg where it may meet `reach`, while `each` wants more.
    fn run(
        &self,
        reach: Shape,
        mut walk: Walk,
        mut gone: f64,
        seconds: f64,
        rng: &mut impl Rng,
        mut each: impl FnMut(Leg) -> bool,
    ) {
        while gone < seconds {
            let jump = walk.jump(&self.pace, reach, seconds - gone, rng);
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
}

fn poisson(mean: f64, rng: &mut impl Rng) -> u64 {
    if mean > 0.0 { Poisson::new(mean).expect("a finite number of schools").sample(rng) as u64 } else { 0 }
}

fn normal(rng: &mut impl Rng) -> f64 {
    StandardNormal.sample(rng)
}
