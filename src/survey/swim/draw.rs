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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose, stream};
    use crate::survey::swim::CountingRule;
    use crate::theory::fish::one_heading_m2;
    use std::f64::consts::{FRAC_PI_2, PI, TAU};

    const DRAWN: u32 = 2_000_000;

    /// Of the fish that are met those that swim one way, within so much of it (radians): how many, and how many by the closed form.
    /// Beside them, for the same fish, how many of a snapshot swim so.
    fn met_one_way(all: &[f64], watch: Watch, (speed_m_s, met_m2): (f64, f64), (way, within): (f64, f64)) -> [f64; 3] {
        let apart = |angle: f64| ((angle - way + PI).rem_euclid(TAU) - PI).abs();
        let met = all.iter().filter(|&&angle| apart(angle) < within).count() as f64;
        let steps = 200;
        let angles = (0..steps).map(|i| way + within * (2.0 * (f64::from(i) + 0.5) / f64::from(steps) - 1.0));
        let area = angles.map(|angle| one_heading_m2(watch, speed_m_s, angle)).sum::<f64>() / f64::from(steps);
        let a_m2 = f64::from(DRAWN) / met_m2 * within / PI;
        [met, a_m2 * area, a_m2]
    }

    /// Fish of every heading are met as often as all fish of one heading by the closed form: those that swim as the diver does are
    /// missed, down to what was in view at the start where they are as fast, those that come towards the diver are met too often,
    /// in proportion to their speed (Watson, Carlos & Samoilys 1995). 50 x 5 m at .1 m/s; numbers computed.
    #[test]
    fn fish_of_each_heading_are_met_by_the_closed_form() {
        let window = |rule| Watch::belt(50.0, 5.0, 500.0, rule);
        let (ahead, abreast) = (window(CountingRule::MovingWindow { depth_m: 5.0 }), window(CountingRule::Abreast));
        for (number, (watch, speed_m_s, same, towards, aside)) in [
            (ahead, 0.05, 0.55, 1.45, 1.45),
            (ahead, 0.1, 0.10, 1.90, 1.90),
            (ahead, 0.2, 1.00, 2.80, 2.80),
            (abreast, 0.05, 0.50, 1.50, 1.00),
        ]
        .into_iter()
        .enumerate()
        {
            let swim = Swim::new(watch, Movement::Straight { speed_m_s }, 0.0);
            let mut rng = stream(Key::seed(43).child(Purpose::Test, number as u64));
            let angles: Vec<f64> = (0..DRAWN)
                .filter_map(|_| {
                    let (mut walk, remaining) = swim.met(swim.shape, &mut rng)?;
                    let heading = walk.heading;
                    let (leg, _) = walk.leg(&swim.pace, remaining, &mut rng);
                    swim.shape.nearest_m(&leg).map(|_| heading[1].atan2(heading[0]))
                })
                .collect();
            let of = (speed_m_s, swim.met_m2(swim.shape));
            for sector in 0..24 {
                let [met, expected, _] = met_one_way(&angles, watch, of, (TAU * f64::from(sector) / 24.0, PI / 24.0));
                assert!((met - expected).abs() < 4.5 * expected.sqrt() + 1.0, "{number} {sector}: {met} {expected}");
            }
            for (way, known) in [(0.0, same), (PI, towards), (FRAC_PI_2, aside), (-FRAC_PI_2, aside)] {
                let [met, expected, a_m2] = met_one_way(&angles, watch, of, (way, 0.02));
                let (factor, error) = (met / a_m2 / 250.0, expected.sqrt() / a_m2 / 250.0);
                println!("{speed_m_s} {way:.2}: {factor:.3} +- {error:.3}, {known}");
                // Within a fiftieth of a radian the factor moves by .01.
                assert!((factor - known).abs() < 4.0 * error + 0.012, "{number} {way}: {factor} +- {error}, {known}");
            }
        }
    }
}
