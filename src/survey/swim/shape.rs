use super::crossing::MeanSpeeds;
use super::rule::Watched;
use std::f64::consts::PI;

/// The shape that is counted, about its own middle; `x` along the belt, `y` across it, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    Rectangle { half_length: f64, half_width: f64 },
    Disc { radius: f64 },
}

/// A straight piece of a way, relative to the middle of the shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    pub from: [f64; 2],
    pub to: [f64; 2],
}

impl Leg {
    /// The same piece from a place aside.
    pub fn moved(self, by: [f64; 2]) -> Self {
        let add = |place: [f64; 2]| [place[0] + by[0], place[1] + by[1]];
        Self { from: add(self.from), to: add(self.to) }
    }
}

impl Shape {
    pub fn of(watched: Watched) -> Self {
        match watched {
            Watched::Rectangle { length_m, width_m } => {
                Shape::Rectangle { half_length: 0.5 * length_m, half_width: 0.5 * width_m }
            }
            Watched::Disc { radius_m } => Shape::Disc { radius: radius_m },
        }
    }

    /// Where the middle of a school may be that comes into this shape, `half` its length and width: a rectangle so much
    /// larger, or a disc larger by `radius`, its farthest from the middle.
    pub fn enlarged(self, half: [f64; 2], radius: f64) -> Self {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                Shape::Rectangle { half_length: half_length + half[0], half_width: half_width + half[1] }
            }
            Shape::Disc { radius: own } => Shape::Disc { radius: own + radius },
        }
    }

    pub fn area_m2(self) -> f64 {
        match self {
            Shape::Rectangle { half_length, half_width } => 4.0 * half_length * half_width,
            Shape::Disc { radius } => PI * radius * radius,
        }
    }

    /// New area that comes under the shape in a second when everything moves past it with `velocity`, m2/s.
    #[inline]
    pub fn swept_m2_s(self, velocity: [f64; 2]) -> f64 {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                2.0 * (velocity[0].abs() * half_width + velocity[1].abs() * half_length)
            }
            Shape::Disc { radius } => 2.0 * radius * length(velocity),
        }
    }

    /// Mean of [`Shape::swept_m2_s`] over uniform headings.
    pub fn mean_swept_m2_s(self, speeds: &MeanSpeeds) -> f64 {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                2.0 * (speeds.along * half_width + speeds.across * half_length)
            }
            Shape::Disc { radius } => 2.0 * radius * speeds.relative,
        }
    }

    /// No less than [`Shape::swept_m2_s`] of any fish of speed `u` past a shape of speed `v`.
    pub fn most_swept_m2_s(self, u: f64, v: f64) -> f64 {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                2.0 * (v * half_width + u * length([half_length, half_width]))
            }
            Shape::Disc { radius } => 2.0 * radius * (u + v),
        }
    }

    /// A place inside, uniform for two uniforms.
    #[inline]
    pub fn inside(self, first: f64, second: f64) -> [f64; 2] {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                [(2.0 * first - 1.0) * half_length, (2.0 * second - 1.0) * half_width]
            }
            Shape::Disc { radius } => {
                let (sine, cosine) = libm::sincos(2.0 * PI * second);
                let distance = radius * libm::sqrt(first);
                [distance * cosine, distance * sine]
            }
        }
    }

    /// Where on the edge what moves past with `velocity` comes in, for a uniform.
    #[inline]
    pub fn edge(self, velocity: [f64; 2], share: f64) -> [f64; 2] {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                let (by_ends, by_sides) = (velocity[0].abs() * half_width, velocity[1].abs() * half_length);
                let at = share * (by_ends + by_sides);
                if at < by_ends {
                    [-half_length.copysign(velocity[0]), (2.0 * at / by_ends - 1.0) * half_width]
                } else {
                    let along = (2.0 * (at - by_ends) / by_sides - 1.0).clamp(-1.0, 1.0);
                    [along * half_length, -half_width.copysign(velocity[1])]
                }
            }
            Shape::Disc { radius } => {
                let speed = length(velocity);
                let (along, aside) = ([velocity[0] / speed, velocity[1] / speed], 2.0 * share - 1.0);
                let back = libm::sqrt(1.0 - aside * aside);
                [-radius * (along[0] * back + along[1] * aside), -radius * (along[1] * back - along[0] * aside)]
            }
        }
    }

    pub fn holds(self, place: [f64; 2]) -> bool {
        match self {
            Shape::Rectangle { half_length, half_width } => {
                place[0].abs() <= half_length && place[1].abs() <= half_width
            }
            Shape::Disc { radius } => length(place) <= radius,
        }
    }

    /// The nearest distance of what goes along `leg`, while inside, to the middle line of a rectangle or the middle of a
    /// disc; `None` where the leg misses the shape.
    #[inline]
    pub fn nearest_m(self, leg: &Leg) -> Option<f64> {
        let ([x, y], [dx, dy]) = (leg.from, [leg.to[0] - leg.from[0], leg.to[1] - leg.from[1]]);
        match self {
            Shape::Rectangle { half_length, half_width } => {
                // Parts of the leg (0 to 1) that lie between the ends and between the sides.
                let (mut first, mut last) = (0.0f64, 1.0f64);
                for (from, step, half) in [(y, dy, half_width), (x, dx, half_length)] {
                    if step == 0.0 {
                        if from.abs() > half {
                            return None;
                        }
                        continue;
                    }
                    let (a, b) = ((-half - from) / step, (half - from) / step);
                    first = first.max(a.min(b));
                    last = last.min(a.max(b));
                    if first > last {
                        return None;
                    }
                }
                let (begins, ends) = (y + first * dy, y + last * dy);
                Some(if begins * ends <= 0.0 { 0.0 } else { begins.abs().min(ends.abs()) })
            }
            Shape::Disc { radius } => {
                let square = dx * dx + dy * dy;
                let share = if square > 0.0 { (-(x * dx + y * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
                let distance = length([x + share * dx, y + share * dy]);
                (distance <= radius).then_some(distance)
            }
        }
    }

    /// The time before which nothing that swims with speed `u` from `place` while all drifts along with `drift` can be
    /// inside, s: 0 inside, infinite where it is left behind.
    pub(super) fn free_s(self, place: [f64; 2], u: f64, drift: f64) -> f64 {
        let needed = |gap: f64, closing: f64| match gap > 0.0 {
            true if closing > 0.0 => gap / closing,
            true => f64::INFINITY,
            false => 0.0,
        };
        match self {
            Shape::Rectangle { half_length, half_width } => {
                let closing = u - drift.copysign(drift * place[0]);
                needed(place[0].abs() - half_length, closing).max(needed(place[1].abs() - half_width, u))
            }
            Shape::Disc { radius } => needed(length(place) - radius, u + drift.abs()),
        }
    }
}

#[inline]
pub(super) fn length(v: [f64; 2]) -> f64 {
    (v[0] * v[0] + v[1] * v[1]).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPES: [Shape; 3] = [
        Shape::Rectangle { half_length: 3.0, half_width: 1.0 },
        Shape::Rectangle { half_length: 0.0, half_width: 2.0 },
        Shape::Disc { radius: 1.5 },
    ];

    #[test]
    fn the_nearest_distance_is_that_of_fine_points() {
        let legs = [
            ([-5.0, -2.0], [5.0, 3.0]),
            ([-5.0, 0.7], [4.0, 0.6]),
            ([0.5, 0.4], [0.5, 0.9]),
            ([2.0, 1.2], [-1.0, 0.2]),
            ([9.0, 0.0], [9.0, 1.0]),
            ([-1.0, 0.3], [-1.0, 0.3]),
        ];
        for shape in SHAPES {
            for (from, to) in legs {
                let n = 400_000;
                let slow = (0..=n)
                    .map(|i| f64::from(i) / f64::from(n))
                    .map(|t| [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])])
                    .filter(|p| match shape {
                        // A line is crossed between two fine points.
                        Shape::Rectangle { half_length: 0.0, half_width } => {
                            p[0].abs() < 2e-5 && p[1].abs() <= half_width
                        }
                        _ => shape.holds(*p),
                    })
                    .map(|p| if matches!(shape, Shape::Disc { .. }) { length(p) } else { p[1].abs() })
                    .fold(f64::INFINITY, f64::min);
                match shape.nearest_m(&Leg { from, to }) {
                    Some(nearest) => assert!((nearest - slow).abs() < 1e-4, "{shape:?} {from:?} {nearest} {slow}"),
                    None => assert_eq!(slow, f64::INFINITY, "{shape:?} {from:?}"),
                }
            }
        }
    }

    #[test]
    fn who_comes_in_is_at_the_edge_and_was_outside() {
        for shape in SHAPES {
            for i in 0..200 {
                let (s, c) = libm::sincos(0.031 * f64::from(i));
                let velocity = [c - 0.4, s];
                let share = (f64::from(i) * 0.618_034).fract();
                let at = shape.edge(velocity, share);
                let step = |t: f64| [at[0] + t * velocity[0], at[1] + t * velocity[1]];
                assert!(!shape.holds(step(-1e-6)), "{shape:?} {at:?} {velocity:?}");
                assert!(shape.nearest_m(&Leg { from: step(-1e-6), to: step(1e-6) }).is_some(), "{shape:?} {at:?}");
            }
        }
    }

    #[test]
    fn none_is_inside_before_it_can_be() {
        let shape = Shape::Rectangle { half_length: 1.0, half_width: 1.0 };
        assert_eq!(shape.free_s([0.5, 0.5], 1.0, 0.3), 0.0);
        assert!((shape.free_s([3.0, 0.0], 1.0, 0.5) - 2.0 / 0.5).abs() < 1e-12);
        assert!((shape.free_s([-3.0, 0.0], 1.0, 0.5) - 2.0 / 1.5).abs() < 1e-12);
        assert!((shape.free_s([3.0, 0.0], 1.0, -0.5) - 2.0 / 1.5).abs() < 1e-12);
        assert_eq!(shape.free_s([3.0, 0.0], 0.2, 0.5), f64::INFINITY);
        assert!((shape.free_s([3.0, -5.0], 1.0, 0.0) - 4.0).abs() < 1e-12);
    }
}
