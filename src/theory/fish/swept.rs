//! How many fish of schools are counted and seen, and how many pairs of one school: what mean and variance of a count
//! need.

use super::inflation::{counted_area_m2, swept};
use super::still::{pairs_seen_in_belt, pairs_seen_in_disc};
use crate::analysis::Moments;
use crate::random::{Key, Purpose, normal_from_uniform, stream};
use crate::reef::fish::Movement;
use crate::survey::swim::{Leg, Shape, Swim, Swum, Watch, Watched};
use std::f64::consts::PI;

/// What is counted and seen of schools whose middles are Poisson. With D fish per m2 in schools of size S,
/// `E count = D area_m2` and `Var count = D area_m2 + D q pair_m2`, `q = E[S (S - 1)] / E[S]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counted {
    /// Integral over the start of a fish of the chance that it is counted and seen, m2.
    pub area_m2: f64,
    /// Integral over the middle of a school of the chance that two given members are both counted and seen, m2.
    pub pair_m2: f64,
    /// Standard error of the less exact of the two over its value; 0 where both are exact (to the quadrature of `seen`).
    pub relative_error: f64,
}

/// Standard errors over values that ways which bend are simulated to: of the area and of the pairs.
const WITHIN: [f64; 2] = [0.004, 0.008];
/// Members of the schools that are simulated; all pairs of them are used.
const MEMBERS: usize = 3;
const BATCH: usize = 4_096;
const MOST_BATCHES: usize = 2_000;
/// Points of each shifted lattice, and shifts.
const POINTS: usize = 8_192;
const SHIFTS: u64 = 8;

impl Counted {
    /// `spread_m`: SD of a member about the middle of its school along each axis; `seen(x)`: the chance that a fish whose
    /// nearest distance was x is seen, each fish by itself. The same value for the same arguments.
    ///
    /// Still fish: exact. Straight fish: area exact, pairs by shifted lattices over heading, start and difference
    /// of the members (error .001 to .005). Fish that turn have no closed form: single fish and schools of two are
    /// simulated, to a standard error of .4 % of the area and .8 % of the pairs.
    pub fn of(watch: Watch, movement: Movement, spread_m: f64, seen: impl Fn(f64) -> f64) -> Self {
        let bends = matches!(movement, Movement::Turning { .. } | Movement::HomeRange { .. });
        if bends && movement.speed_m_s() > 0.0 && watch.seconds > 0.0 {
            return simulated(watch, movement, spread_m, seen);
        }
        let area_m2 = counted_area_m2(watch, movement, &seen);
        let (pair_m2, relative_error) = if spread_m == 0.0 {
            (counted_area_m2(watch, movement, |x| seen(x) * seen(x)), 0.0)
        } else {
            match watch.watched {
                _ if watch.seconds > 0.0 && movement.speed_m_s() > 0.0 => {
                    straight_pair(watch, movement.speed_m_s(), spread_m, &seen)
                }
                Watched::Rectangle { length_m, width_m } => {
                    let length = length_m + swept(watch, watch.speed_m_s);
                    (pairs_seen_in_belt((length, width_m), spread_m, &seen), 0.0)
                }
                // A disc that moves over fish that stay is no disc.
                Watched::Disc { .. } if swept(watch, watch.speed_m_s) > 0.0 => {
                    straight_pair(watch, 0.0, spread_m, &seen)
                }
                Watched::Disc { radius_m } => (pairs_seen_in_disc(radius_m, spread_m, &seen), 0.0),
            }
        };
        Self { area_m2, pair_m2, relative_error }
    }
}

/// Pairs of straight fish, with its standard error over its value: the mean over headings, over the starts from which the
/// one is counted and over where the other is.
fn straight_pair(watch: Watch, u: f64, s: f64, seen: &impl Fn(f64) -> f64) -> (f64, f64) {
    let shape = Shape::of(watch.watched);
    let (v, seconds) = if watch.seconds > 0.0 { (watch.speed_m_s, watch.seconds) } else { (0.0, 0.0) };
    let key = key();
    let pair = |[turn, part, along, first, second]: [f64; 5]| {
        let (sine, cosine) = libm::sincos(2.0 * PI * turn);
        let velocity = [u * cosine - v, u * sine];
        let (inside, entering) = (shape.area_m2(), seconds * shape.swept_m2_s(velocity));
        let area = inside + entering;
        let (place, gone) = if part * area < inside {
            (shape.inside(part * area / inside, along), 0.0)
        } else {
            (shape.edge(velocity, along), (part * area - inside) / entering * seconds)
        };
        let at = |t: f64| [place[0] + velocity[0] * t, place[1] + velocity[1] * t];
        let chance = |leg: Leg| shape.nearest_m(&leg).map_or(0.0, seen);
        // The one goes straight from where it is met; where the other is before that matters too.
        let apart = [first, second].map(|share| std::f64::consts::SQRT_2 * s * normal_from_uniform(share));
        let one = chance(Leg { from: at(0.0), to: at(seconds - gone) });
        if one == 0.0 { 0.0 } else { area * one * chance(Leg { from: at(-gone), to: at(seconds - gone) }.moved(apart)) }
    };
    let means = (0..SHIFTS).map(|shift| {
        let start: [f64; 5] =
            std::array::from_fn(|axis| key.child(Purpose::Shift, shift).uniform(Purpose::Fish, axis as u64));
        let points = (0..POINTS).map(|i| std::array::from_fn(|axis| (start[axis] + i as f64 * STEPS[axis]).fract()));
        points.map(|point| pair(point.map(|share: f64| share.max(1e-16)))).sum::<f64>() / POINTS as f64
    });
    let measured = Moments::of(&means.collect::<Vec<f64>>()).mean_measured();
    (measured.value, if measured.value > 0.0 { measured.error / measured.value } else { 0.0 })
}

/// Steps of the additive sequence in five dimensions: powers of the inverse of the root of `x^6 = x + 1` (Roberts 2018,
/// from memory).
const ROOT: f64 = 1.134_724_138_401_519_5;
const STEPS: [f64; 5] = [
    1.0 / ROOT,
    1.0 / (ROOT * ROOT),
    1.0 / (ROOT * ROOT * ROOT),
    1.0 / (ROOT * ROOT * ROOT * ROOT),
    1.0 / (ROOT * ROOT * ROOT * ROOT * ROOT),
];

/// Single fish and schools of two on ways of their own.
fn simulated(watch: Watch, movement: Movement, spread_m: f64, seen: impl Fn(f64) -> f64) -> Counted {
    let alone = Swim::new(watch, movement, 0.0);
    let (area_m2, area_error) = over_schools(&alone, 1, 0, |fish| seen(f64::from(fish[0].nearest_m)));
    let both = |fish: &[Swum]| {
        let chances = || fish.iter().map(|fish| seen(f64::from(fish.nearest_m)));
        let (sum, square) = (chances().sum::<f64>(), chances().map(|chance| chance * chance).sum::<f64>());
        (sum * sum - square) / (MEMBERS * (MEMBERS - 1)) as f64
    };
    let (pair_m2, pair_error) = over_schools(&Swim::new(watch, movement, spread_m), MEMBERS, 1, both);
    Counted { area_m2, pair_m2, relative_error: area_error.max(pair_error) }
}

/// Integral over the middle of a school of what is made of its counted fish (where there are any), and its standard error
/// over its value.
fn over_schools(swim: &Swim, size: usize, what: usize, of: impl Fn(&[Swum]) -> f64) -> (f64, f64) {
    let mut rng = stream(key().child(Purpose::Fish, what as u64));
    let mut counted = Vec::new();
    let (mut schools, mut sum, mut square) = (0.0, 0.0, 0.0);
    loop {
        for _ in 0..BATCH {
            counted.clear();
            swim.one_school(size, &mut rng, &mut counted);
            if !counted.is_empty() {
                let value = of(&counted);
                sum += value;
                square += value * value;
            }
        }
        schools += BATCH as f64;
        let spare = square / (sum * sum) - 1.0 / schools;
        let error = if sum > 0.0 { spare.max(0.0).sqrt() } else { 0.0 };
        if error < WITHIN[what] || schools >= (BATCH * MOST_BATCHES) as f64 {
            return (swim.reach_m2() * sum / schools, error);
        }
    }
}

/// The key of what is simulated here, apart from that of every survey.
fn key() -> Key {
    Key::seed(0x6669_7368).child(Purpose::Fish, 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::swim::CountingRule;

    /// Schools run one by one against formula and lattices, for still and straight fish: the same numbers, also where
    /// fish cross a line.
    #[test]
    fn schools_one_by_one_and_quadrature_agree() {
        let belt = |rule| Watch::belt(20.0, 3.0, 300.0, rule);
        let seen = |x: f64| 0.9 * libm::exp(-0.5 * x * x / 1.21);
        for (watch, speed_m_s) in [
            (belt(CountingRule::Abreast), 0.0),
            (belt(CountingRule::Abreast), 0.1),
            (belt(CountingRule::MovingWindow { depth_m: 2.0 }), 0.1),
            (belt(CountingRule::WholeSwim), 0.05),
            (Watch::point(4.0, 100.0), 0.05),
            (Watch { watched: Watched::Disc { radius_m: 3.0 }, speed_m_s: 0.2, seconds: 60.0 }, 0.1),
            (Watch::point(4.0, 0.0), 0.05),
        ] {
            let movement = Movement::Straight { speed_m_s };
            let exact = Counted::of(watch, movement, 0.6, seen);
            let slow = simulated(watch, movement, 0.6, seen);
            assert!(exact.relative_error < 0.005 && slow.relative_error < 0.0081, "{exact:?} {slow:?}");
            assert!((slow.area_m2 / exact.area_m2 - 1.0).abs() < 4.0 * WITHIN[0], "{watch:?}: {exact:?} {slow:?}");
            let error = libm::hypot(WITHIN[1], exact.relative_error);
            assert!((slow.pair_m2 / exact.pair_m2 - 1.0).abs() < 4.0 * error, "{watch:?}: {exact:?} {slow:?}");
        }
    }

    /// Formula and lattices for still fish: a belt seen from a point that does not move, and one that is swum.
    #[test]
    fn still_pairs_by_formula_and_by_lattices() {
        let seen = |x: f64| libm::exp(-0.5 * x * x / 0.49);
        for (watch, spread) in [
            (Watch::belt(10.0, 2.0, 0.0, CountingRule::WholeSwim), 0.5),
            (Watch::belt(10.0, 4.0, 200.0, CountingRule::MovingWindow { depth_m: 2.0 }), 1.5),
        ] {
            let (formula, (lattice, error)) =
                (Counted::of(watch, Movement::Still, spread, seen), straight_pair(watch, 0.0, spread, &seen));
            assert_eq!(formula.relative_error, 0.0);
            assert!((lattice / formula.pair_m2 - 1.0).abs() < 4.0 * error, "{lattice} +- {error}, {formula:?}");
        }
    }

    /// A school in one point is seen as one: pairs are the area under the square of the chance, fish by fish.
    #[test]
    fn schools_without_spread() {
        let watch = Watch::belt(10.0, 2.0, 100.0, CountingRule::WholeSwim);
        let point = Counted::of(watch, Movement::Straight { speed_m_s: 0.1 }, 0.0, |_| 0.5);
        assert!((point.pair_m2 / point.area_m2 - 0.5).abs() < 1e-12);
        let close = Counted::of(watch, Movement::Straight { speed_m_s: 0.1 }, 1e-6, |_| 0.5);
        assert!((close.pair_m2 / point.pair_m2 - 1.0).abs() < 1e-3, "{close:?} {point:?}");
    }
}
