use super::shape::{Leg, Shape, length};
use crate::reef::fish::Movement;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, Exp1};

/// Where a way is clear for this many times between turns, the turns are not drawn one by one.
const CLEAR_TURNS: f64 = 4.0;

/// How the middle of a school swims.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    pub speed: f64,
    /// Mean time between turns, s; infinite for straight on.
    tau: f64,
    /// Radius of the home range, m; infinite without one.
    range: f64,
}

impl Pace {
    pub fn of(movement: Movement) -> Self {
        let (tau, range) = match movement {
            Movement::Still | Movement::Straight { .. } => (f64::INFINITY, f64::INFINITY),
            Movement::Turning { tau_s, .. } => (tau_s, f64::INFINITY),
            Movement::HomeRange { tau_s, radius_m, .. } => (tau_s, radius_m),
        };
        let speed = if range > 0.0 && tau > 0.0 { movement.speed_m_s() } else { 0.0 };
        Self { speed, tau, range }
    }

    /// Whether a way may come back to where it was.
    pub fn bends(&self) -> bool {
        self.speed > 0.0 && (self.tau.is_finite() || self.range.is_finite())
    }
}

/// The middle of a school on its way, seen from the middle of the counted shape, which drifts past.
///
/// Uniform places with uniform headings stay so under turns to uniform headings. In a home range they do if what comes
/// to the edge leaves it by the cosine law (the sine of the angle to the inward normal uniform), as light from a matt
/// wall: all places and headings within the range are then equally likely at any time, and the way run backwards has the
/// same law. A uniform inward heading would pile fish up at the edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Walk {
    pub place: [f64; 2],
    /// A unit vector.
    pub heading: [f64; 2],
    /// Place seen from the middle of the home range.
    pub from_home: [f64; 2],
    /// Velocity along x at which the world passes the shape, m/s.
    pub drift: f64,
    /// Whether the heading has just been drawn, independent of all before.
    fresh: bool,
}

impl Walk {
    /// At `place` with `heading`, its home anywhere within the range.
    pub fn start(place: [f64; 2], heading: [f64; 2], drift: f64, pace: &Pace, rng: &mut impl Rng) -> Self {
        let from_home = if pace.range.is_finite() {
            let distance = pace.range * rng.random::<f64>().sqrt();
            any_heading(rng).map(|part| distance * part)
        } else {
            [0.0; 2]
        };
        Self { place, heading, from_home, drift, fresh: false }
    }

    /// The same way backwards in time.
    pub fn reversed(self) -> Self {
        Self { heading: self.heading.map(|part| -part), drift: -self.drift, ..self }
    }

    /// Velocity relative to the shape.
    pub fn velocity(&self, pace: &Pace) -> [f64; 2] {
        [pace.speed * self.heading[0] + self.drift, pace.speed * self.heading[1]]
    }

    /// Straight on until it turns, comes to the edge of its range, or `remaining` seconds are over; the time it took, s.
    pub fn leg(&mut self, pace: &Pace, remaining: f64, rng: &mut impl Rng) -> (Leg, f64) {
        enum End {
            OfTime,
            Turn,
            Edge,
        }
        let (mut seconds, mut end) = (remaining, End::OfTime);
        if pace.tau.is_finite() {
            let turn = pace.tau * draw(Exp1, rng);
            if turn < seconds {
                (seconds, end) = (turn, End::Turn);
            }
        }
        if pace.range.is_finite() {
            let edge = self.edge_in(pace);
            if edge < seconds {
                (seconds, end) = (edge, End::Edge);
            }
        }
        let leg = self.go(pace, seconds);
        match end {
            End::OfTime => {}
            End::Turn => (self.heading, self.fresh) = (any_heading(rng), true),
            End::Edge => self.turn_inwards(pace, rng),
        }
        (leg, seconds)
    }

    /// Over a stretch of time in which it cannot meet `shape` nor the edge of its range, without drawing its turns; the
    /// time it took, 0 where there is no such stretch, infinite where it cannot meet the shape in `remaining` seconds.
    ///
    /// After a turn and `t` seconds the distance from the start is `u sqrt(t^2 - s^2)`, `s = max(t - E, 0)`, E exponential
    /// with mean tau: the law of random flights in the plane (Stadje 1987, from memory; tested against the turns). Between
    /// the last turn and the end it goes straight.
    pub fn jump(&mut self, pace: &Pace, shape: Shape, remaining: f64, rng: &mut impl Rng) -> f64 {
        let mut free = shape.free_s(self.place, pace.speed, self.drift);
        if free >= remaining {
            return f64::INFINITY;
        }
        if !self.fresh || free < CLEAR_TURNS * pace.tau {
            return 0.0;
        }
        if pace.range.is_finite() {
            free = free.min((pace.range - length(self.from_home)) / pace.speed);
            if free < CLEAR_TURNS * pace.tau {
                return 0.0;
            }
        }
        let last = (pace.tau * draw(Exp1, rng)).min(free);
        let flight = free - last;
        let short = (flight - pace.tau * draw(Exp1, rng)).max(0.0);
        let distance = pace.speed * (flight * flight - short * short).sqrt();
        let swum = any_heading(rng).map(|part| distance * part);
        for axis in 0..2 {
            self.place[axis] += swum[axis];
            self.from_home[axis] += swum[axis];
        }
        self.place[0] += self.drift * flight;
        self.heading = any_heading(rng);
        self.go(pace, last);
        self.fresh = false;
        free
    }

    fn go(&mut self, pace: &Pace, seconds: f64) -> Leg {
        let (from, velocity) = (self.place, self.velocity(pace));
        for axis in 0..2 {
            self.place[axis] += velocity[axis] * seconds;
            self.from_home[axis] += pace.speed * self.heading[axis] * seconds;
        }
        Leg { from, to: self.place }
    }

    /// Time to the edge of the range, s.
    fn edge_in(&self, pace: &Pace) -> f64 {
        let outwards = self.from_home[0] * self.heading[0] + self.from_home[1] * self.heading[1];
        let square = self.from_home[0] * self.from_home[0] + self.from_home[1] * self.from_home[1];
        let room = (pace.range * pace.range - square).max(0.0);
        ((outwards * outwards + room).sqrt() - outwards).max(0.0) / pace.speed
    }

    fn turn_inwards(&mut self, pace: &Pace, rng: &mut impl Rng) {
        let distance = length(self.from_home);
        let outward = self.from_home.map(|part| part / distance);
        self.from_home = outward.map(|part| part * pace.range);
        let aside = 2.0 * rng.random::<f64>() - 1.0;
        let inward = (1.0 - aside * aside).sqrt();
        self.heading = [-inward * outward[0] - aside * outward[1], -inward * outward[1] + aside * outward[0]];
        self.fresh = false;
    }
}

/// A unit vector of uniform direction, by doubling the angle of a point in the disc (von Neumann 1951, from memory).
#[inline]
pub(super) fn any_heading(rng: &mut impl Rng) -> [f64; 2] {
    loop {
        let (x, y) = (2.0 * rng.random::<f64>() - 1.0, 2.0 * rng.random::<f64>() - 1.0);
        let (xx, yy) = (x * x, y * y);
        let square = xx + yy;
        if square <= 1.0 && square > 0.0 {
            return [(xx - yy) / square, 2.0 * x * y / square];
        }
    }
}

#[inline]
fn draw(law: impl Distribution<f64>, rng: &mut impl Rng) -> f64 {
    law.sample(rng)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose, stream};

    /// Distances after a time: drawn turn by turn, and in one jump.
    #[test]
    fn a_jump_has_the_law_of_its_turns() {
        let pace = Pace::of(Movement::Turning { speed_m_s: 1.0, tau_s: 1.0 });
        let far = Shape::Disc { radius: 1.0 };
        let mut rng = stream(Key::seed(43).child(Purpose::Test, 0));
        let begin = Walk { place: [8.0, 0.0], heading: [1.0, 0.0], from_home: [0.0; 2], drift: 0.4, fresh: true };
        // The nearest it can be inside: the jump is as long.
        let time = far.free_s(begin.place, 1.0, 0.4);
        assert!((time - 5.0).abs() < 1e-12);
        let n = 60_000;
        let mut ends = [Vec::new(), Vec::new()];
        for _ in 0..n {
            let mut walk = begin;
            assert_eq!(walk.jump(&pace, far, 100.0, &mut rng), time);
            ends[0].push(walk);
            let mut walk = Walk { heading: any_heading(&mut rng), ..begin };
            let mut gone = 0.0;
            while gone < time {
                gone += walk.leg(&pace, time - gone, &mut rng).1;
            }
            ends[1].push(walk);
        }
        // Distance swum, and how far along its last heading: means of powers, and shares.
        let looked_at: [fn(&Walk) -> f64; 6] = [
            |walk| swum(walk)[0].powi(2) + swum(walk)[1].powi(2),
            |walk| length(swum(walk)),
            |walk| swum(walk)[0] * walk.heading[0] + swum(walk)[1] * walk.heading[1],
            |walk| f64::from(length(swum(walk)) > 4.999_999),
            |walk| f64::from(length(swum(walk)) < 1.5),
            |walk| swum(walk)[0],
        ];
        for (i, look) in looked_at.into_iter().enumerate() {
            let of = |walks: &[Walk]| {
                let mean = walks.iter().map(look).sum::<f64>() / walks.len() as f64;
                (mean, walks.iter().map(|walk| (look(walk) - mean).powi(2)).sum::<f64>() / (walks.len() as f64).powi(2))
            };
            let ((jumped, one), (turned, two)) = (of(&ends[0]), of(&ends[1]));
            assert!((jumped - turned).abs() < 4.0 * (one + two).sqrt(), "{i}: {jumped} {turned}");
        }
        // Mean square 2 u^2 tau (t - tau (1 - exp(-t / tau))), that of a persistent walk.
        let square = ends[0].iter().map(looked_at[0]).sum::<f64>() / f64::from(n);
        assert!((square / (2.0 * (time - 1.0 + (-time).exp())) - 1.0).abs() < 0.02, "{square}");
    }

    fn swum(walk: &Walk) -> [f64; 2] {
        [walk.place[0] - 8.0 - 0.4 * 5.0, walk.place[1]]
    }

    /// After long times fish are anywhere in their range with any heading, as at the start.
    #[test]
    fn a_home_range_stays_evenly_full() {
        let pace = Pace::of(Movement::HomeRange { speed_m_s: 0.5, tau_s: 20.0, radius_m: 3.0 });
        let mut rng = stream(Key::seed(43).child(Purpose::Test, 1));
        let n = 40_000;
        let (mut square, mut outwards, mut edge) = (0.0, 0.0, 0);
        for _ in 0..n {
            let heading = any_heading(&mut rng);
            let mut walk = Walk::start([0.0; 2], heading, 0.0, &pace, &mut rng);
            let mut gone = 0.0;
            while gone < 30.0 {
                gone += walk.leg(&pace, 30.0 - gone, &mut rng).1;
            }
            let distance = length(walk.from_home);
            square += distance * distance / 9.0;
            edge += i32::from(distance > 2.9);
            outwards += (walk.from_home[0] * walk.heading[0] + walk.from_home[1] * walk.heading[1]) / distance;
        }
        let (n, share) = (f64::from(n), 1.0 - (2.9f64 / 3.0).powi(2));
        assert!((square / n - 0.5).abs() < 4.0 * (1.0 / 12.0 / n).sqrt(), "{}", square / n);
        assert!((outwards / n).abs() < 4.0 * (0.5 / n).sqrt(), "{}", outwards / n);
        assert!((f64::from(edge) / n - share).abs() < 4.0 * (share / n).sqrt(), "{}", f64::from(edge) / n);
    }
}
