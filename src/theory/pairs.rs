//! The mean covariance of two parallel units of one site that are laid independently of each other: what lines of one
//! site share, whatever their number.

use super::quadrature::Rule;
use std::sync::LazyLock;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(24));
static TOOTH_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(8));

/// What is laid along the long side of a site, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unit {
    /// A tape read at `number` points.
    Points { length_m: f64, number: usize, spacing_m: f64 },
    /// A tape read all along.
    Line { length_m: f64 },
    /// A strip; points thrown into it at random give the same mean covariance.
    Strip { length_m: f64, width_m: f64 },
    /// Rectangles along a tape, the first at its start, `every_m` from start to start; `length_m` is along the tape.
    Quadrats { number: usize, every_m: f64, length_m: f64, width_m: f64 },
}

/// The displacement of a random point of one unit from a random point of the other, as nodes and weights (summing to 1)
/// per axis; on each axis it is symmetric, and only its size is kept. Made once for a site and a unit, then good for any
/// covariance.
#[derive(Clone, Debug)]
pub struct PairOfUnits {
    along: Vec<(f64, f64)>,
    across: Vec<(f64, f64)>,
}

impl PairOfUnits {
    /// Each unit starts uniformly in the rectangle of possible starts, [0, X - L] x [0, Y - w], of a site of
    /// `site = (X, Y)` metres. A unit that does not fit is taken to lie at the edge (no room to move).
    pub fn new(site: (f64, f64), unit: Unit) -> Self {
        let (length, width) = match unit {
            Unit::Points { length_m, .. } | Unit::Line { length_m } => (length_m, 0.0),
            Unit::Strip { length_m, width_m } => (length_m, width_m),
            Unit::Quadrats { number, every_m, length_m, width_m } => {
                (number.saturating_sub(1) as f64 * every_m + length_m, width_m)
            }
        };
        let (room_along, room_across) = ((site.0 - length).max(0.0), (site.1 - width).max(0.0));
        let along = match unit {
            Unit::Points { number, spacing_m, .. } => points_axis(room_along, number, spacing_m),
            Unit::Line { .. } | Unit::Strip { .. } => dense_axis(room_along + length, sum_density(room_along, length)),
            Unit::Quadrats { number, every_m, length_m, .. } => quadrats_axis(room_along, number, every_m, length_m),
        };
        Self { along, across: dense_axis(room_across + width, sum_density(room_across, width)) }
    }

    /// Mean covariance of the two units; its value at 0 apart does not matter. 576 evaluations of c (for points on a site
    /// hardly longer than the tape: 24 for each of the points or more). Relative error below 1.5e-4 for any c whose scale is
    /// a thousandth of the length of the site or more; for half of that, below 6e-4.
    pub fn mean(&self, c: impl Fn(f64) -> f64) -> f64 {
        self.along
            .iter()
            .map(|&(dx, weight)| {
                weight * self.across.iter().map(|&(dy, share)| share * c((dx * dx + dy * dy).sqrt())).sum::<f64>()
            })
            .sum()
    }
}

/// The chance per m2 that a random point of one unit and one of another unit of the site, laid independently, are the same
/// place: two belts that happen to overlap see the same animals there. Infinite for what has no width.
pub fn density_of_same_place(site: (f64, f64), unit: Unit) -> f64 {
    let at_zero = |room: f64, side: f64| sum_density(room.max(0.0), side)(0.0);
    match unit {
        Unit::Points { .. } | Unit::Line { .. } => f64::INFINITY,
        Unit::Strip { length_m, width_m } => at_zero(site.0 - length_m, length_m) * at_zero(site.1 - width_m, width_m),
        Unit::Quadrats { number, every_m, length_m, width_m } => {
            let room = (site.0 - (number.saturating_sub(1) as f64 * every_m + length_m)).max(0.0);
            let density = sum_density(room, length_m);
            let along: f64 = lags(number, every_m).map(|(lag, weight)| weight * density(lag)).sum();
            along * at_zero(site.1 - width_m, width_m)
        }
    }
}

/// Mean covariance of two parallel units of one site laid independently; see [`PairOfUnits`].
pub fn covariance_of_two_units(site: (f64, f64), unit: Unit, c: impl Fn(f64) -> f64) -> f64 {
    PairOfUnits::new(site, unit).mean(c)
}

/// Density at u of the sum of two independent symmetric triangular variables of half-widths `a` and `b`; each is the
/// difference of two uniforms: of two starts, or of two places within a unit. `f(u) = sum_ij s_i s_j (x_i + y_j - u)_+^3
/// / (6 a^2 b^2)` with `s = (1, -2, 1)`, `x = (-a, 0, a)`, `y = (-b, 0, b)`, and a plain triangle where one of them is so
/// small that it changes the other by less than a millionth of its variance.
fn sum_density(a: f64, b: f64) -> impl Fn(f64) -> f64 {
    let (large, small) = (a.max(b), a.min(b));
    move |u| {
        if small < 1e-3 * large {
            return triangle(u, large);
        }
        let signs = [(-1.0, 1.0), (0.0, -2.0), (1.0, 1.0)];
        let mut sum = 0.0;
        for (x, sign_x) in signs {
            for (y, sign_y) in signs {
                let beyond = (x * large + y * small - u).max(0.0);
                sum += sign_x * sign_y * beyond * beyond * beyond;
            }
        }
        sum / (6.0 * large * large * small * small)
    }
}

fn triangle(u: f64, half_width: f64) -> f64 {
    (half_width - u.abs()).max(0.0) / (half_width * half_width)
}

/// Nodes dense near 0 (`u = reach s^3`), where covariances bend, with the density in the weights.
fn dense_axis(reach: f64, density: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    if reach == 0.0 {
        return vec![(0.0, 1.0)];
    }
    let node = |s: f64, weight: f64| {
        let u = reach * s * s * s;
        (u, weight * 3.0 * s * s * density(u))
    };
    normalised(RULE.pairs().map(|(s, weight)| node(s, weight)).collect())
}

/// Displacements between points at equal spacing d on two lines whose starts have `room` metres.
fn points_axis(room: f64, number: usize, spacing: f64) -> Vec<(f64, f64)> {
    let length = number as f64 * spacing;
    if room >= 2.0 * spacing {
        // The comb of lags k d with weights (n - |k|) / n^2 is the trapezoid rule for the triangle of lags of the whole
        // line; its leading error (Euler-Maclaurin, from the kinks of the triangle) is d^2 / (6 L^2) times the
        // covariance at lag 0 less that at lag L, and what remains is of order d^4.
        let continuous = sum_density(room, length);
        let share = spacing * spacing / (6.0 * length * length);
        return dense_axis(room + length, |u| {
            let at_ends = 0.5 * (triangle(u - length, room) + triangle(u + length, room));
            continuous(u) + share * (triangle(u, room) - at_ends)
        });
    }
    let n = number as f64;
    let mut nodes = Vec::new();
    for k in 0..number {
        let lag = k as f64 * spacing;
        let weight = if k == 0 { 1.0 / n } else { 2.0 * (n - k as f64) / (n * n) };
        if room == 0.0 {
            nodes.push((lag, weight));
            continue;
        }
        for (s, share) in TOOTH_RULE.pairs() {
            let start = room * s;
            let each = weight * share * room * triangle(start, room);
            nodes.push((lag + start, each));
            nodes.push(((lag - start).abs(), each));
        }
    }
    normalised(nodes)
}

/// Distances between the starts of two quadrats of a tape, each with its share among all pairs.
pub(super) fn lags(number: usize, every: f64) -> impl Iterator<Item = (f64, f64)> {
    let n = number as f64;
    (0..number).map(move |k| {
        let times = if k == 0 { 1.0 } else { 2.0 };
        (k as f64 * every, times * (n - k as f64) / (n * n))
    })
}

/// Displacements between points of quadrats on two tapes whose starts have `room` metres.
fn quadrats_axis(room: f64, number: usize, every: f64, side: f64) -> Vec<(f64, f64)> {
    let density = sum_density(room, side);
    if room >= 2.0 * every {
        // The starts smear the lags: one smooth density.
        let reach = room + (number.saturating_sub(1)) as f64 * every + side;
        let about = |u: f64, lag: f64| 0.5 * (density((u - lag).abs()) + density(u + lag));
        return dense_axis(reach, |u| lags(number, every).map(|(lag, weight)| weight * about(u, lag)).sum());
    }
    // For every lag the density is piecewise cubic, with knots where a start or a place reaches its end.
    let mut edges = [0.0, room.min(side), (room - side).abs(), room.max(side), room + side];
    edges.sort_by(f64::total_cmp);
    let mut nodes = Vec::new();
    for (lag, weight) in lags(number, every) {
        for piece in edges.windows(2) {
            for (s, share) in TOOTH_RULE.pairs() {
                let u = piece[0] + (piece[1] - piece[0]) * s;
                let each = weight * share * (piece[1] - piece[0]) * density(u);
                nodes.push((lag + u, each));
                nodes.push(((lag - u).abs(), each));
            }
        }
    }
    normalised(nodes)
}

/// Weights that sum to 1, so that a constant covariance is returned exactly.
fn normalised(mut nodes: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let sum: f64 = nodes.iter().map(|(_, weight)| weight).sum();
    nodes.iter_mut().for_each(|(_, weight)| *weight /= sum);
    nodes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};
    use crate::theory::placement::mean_over_pairs_in_site;

    /// Colonies, patches and the slow field of a reef: three scales from 0.1 to 60 m.
    fn reef(h: f64) -> f64 {
        0.12 * (-h / 0.1).exp() + 0.02 * (-(h / 1.5).powi(2)).exp() + 0.004 * (-h / 60.0).exp()
    }

    /// The double integral over densities by a midpoint rule of a million nodes (in the cube roots), points as the sum
    /// over all their lags.
    fn slow(site: (f64, f64), unit: Unit, c: impl Fn(f64) -> f64) -> f64 {
        let steps = 700;
        let axis = |lags: &[(f64, f64)], room: f64| -> Vec<(f64, f64)> {
            let mut nodes = Vec::new();
            for &(lag, weight) in lags {
                if room == 0.0 {
                    nodes.push((lag, weight));
                    continue;
                }
                for i in 0..steps {
                    let s = -1.0 + 2.0 * (i as f64 + 0.5) / steps as f64;
                    // Dense about displacement 0 where the tooth contains it, else even.
                    let (u, jacobian) = if lag > room {
                        (lag + room * s, room)
                    } else {
                        ((room + lag) * s * s * s, 3.0 * s * s * (room + lag))
                    };
                    nodes.push((u.abs(), weight * triangle(u - lag, room) * jacobian * 2.0 / steps as f64));
                }
            }
            nodes
        };
        let lags = |length: f64, n: usize| -> Vec<(f64, f64)> {
            (0..n)
                .map(|k| {
                    let weight = (n - k) as f64 / (n * n) as f64 * if k == 0 { 1.0 } else { 2.0 };
                    (length * k as f64 / n as f64, weight)
                })
                .collect()
        };
        let (along, across) = match unit {
            Unit::Points { length_m, number, spacing_m } => {
                (axis(&lags(number as f64 * spacing_m, number), site.0 - length_m), axis(&[(0.0, 1.0)], site.1))
            }
            Unit::Line { length_m } => (axis(&lags(length_m, 400), site.0 - length_m), axis(&[(0.0, 1.0)], site.1)),
            Unit::Strip { length_m, width_m } => {
                (axis(&lags(length_m, 100), site.0 - length_m), axis(&lags(width_m, 20), site.1 - width_m))
            }
            Unit::Quadrats { .. } => unreachable!("not among the cases"),
        };
        // Sum over the coarse product: bins of the along axis would be cheaper, but this is the obvious way.
        let across = PairOfUnits { along: vec![(0.0, 1.0)], across };
        let inner = crate::theory::Curve::new(site.0 + 1.0, 300, |dx| across.mean(|dy| c((dx * dx + dy * dy).sqrt())));
        along.iter().map(|&(dx, weight)| weight * inner.at(dx)).sum()
    }

    #[test]
    fn every_kind_of_unit_agrees_with_the_slow_sum() {
        let cases = [
            ((100.0, 20.0), Unit::Points { length_m: 10.0, number: 20, spacing_m: 0.5 }),
            ((100.0, 20.0), Unit::Points { length_m: 10.0, number: 100, spacing_m: 0.1 }),
            ((60.0, 10.0), Unit::Points { length_m: 50.0, number: 50, spacing_m: 1.0 }),
            ((30.0, 10.0), Unit::Points { length_m: 28.0, number: 28, spacing_m: 1.0 }),
            ((30.0, 10.0), Unit::Points { length_m: 29.5, number: 29, spacing_m: 1.0 }),
            ((20.0, 10.0), Unit::Points { length_m: 20.0, number: 40, spacing_m: 0.5 }),
            ((100.0, 20.0), Unit::Line { length_m: 10.0 }),
            ((30.0, 30.0), Unit::Line { length_m: 25.0 }),
            ((100.0, 20.0), Unit::Strip { length_m: 10.0, width_m: 0.4 }),
            ((50.0, 12.0), Unit::Strip { length_m: 25.0, width_m: 4.0 }),
        ];
        for (site, unit) in cases {
            let fast = covariance_of_two_units(site, unit, reef);
            let slow = slow(site, unit, reef);
            assert!((fast / slow - 1.0).abs() < 1e-4, "{site:?} {unit:?}: {fast} {slow}");
        }
    }

    #[test]
    fn units_laid_at_random_have_this_mean_covariance() {
        let site = (40.0, 10.0);
        let units = [
            Unit::Points { length_m: 10.0, number: 10, spacing_m: 1.0 },
            Unit::Points { length_m: 39.0, number: 39, spacing_m: 1.0 },
            Unit::Line { length_m: 10.0 },
            Unit::Strip { length_m: 10.0, width_m: 3.0 },
            Unit::Quadrats { number: 11, every_m: 1.0, length_m: 0.25, width_m: 0.25 },
            Unit::Quadrats { number: 8, every_m: 5.0, length_m: 0.5, width_m: 1.0 },
        ];
        for (index, unit) in units.into_iter().enumerate() {
            let key = Key::seed(300 + index as u64);
            let trials = 100_000;
            let values: Vec<f64> = (0..trials)
                .map(|trial| {
                    let trial = key.child(Purpose::Trial, trial);
                    let (first, second) = (random_place(trial, 0, site, unit), random_place(trial, 1, site, unit));
                    reef((first.0 - second.0).hypot(first.1 - second.1))
                })
                .collect();
            assert_mean(&values, covariance_of_two_units(site, unit, reef));
        }
    }

    #[test]
    fn a_short_covariance_is_integrated_too() {
        // The same double integral by 200 nodes on each axis.
        let rule = Rule::legendre(200);
        let axis = |reach: f64, density: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
            let node = |(s, weight): (f64, f64)| {
                (reach * s * s * s, 6.0 * weight * s * s * reach * density(reach * s * s * s))
            };
            rule.pairs().map(node).collect()
        };
        let along = axis(100.0, &sum_density(90.0, 10.0));
        let fine = PairOfUnits { along, across: axis(20.0, &|v| triangle(v, 20.0)) };
        for (scale, share) in [(0.05, 6e-4), (0.1, 1.5e-4), (0.2, 1e-4), (5.0, 1e-4)] {
            let c = |h: f64| (-h / scale).exp();
            let fast = covariance_of_two_units((100.0, 20.0), Unit::Line { length_m: 10.0 }, c);
            let slow = fine.mean(c);
            assert!((fast / slow - 1.0).abs() < share, "{scale}: {fast} {slow}");
        }
    }

    /// A random reading place of a unit laid at random.
    fn random_place(trial: Key, unit_index: u64, site: (f64, f64), unit: Unit) -> (f64, f64) {
        let u = |k| trial.uniform(Purpose::Placement, 8 * unit_index + k);
        match unit {
            Unit::Points { length_m, number, spacing_m } => {
                let point = 1.0 + (u(2) * number as f64).floor();
                (u(0) * (site.0 - length_m) + spacing_m * point, u(1) * site.1)
            }
            Unit::Line { length_m } => (u(0) * (site.0 - length_m) + u(2) * length_m, u(1) * site.1),
            Unit::Strip { length_m, width_m } => {
                (u(0) * (site.0 - length_m) + u(2) * length_m, u(1) * (site.1 - width_m) + u(3) * width_m)
            }
            Unit::Quadrats { number, every_m, length_m, width_m } => {
                let room = site.0 - (number - 1) as f64 * every_m - length_m;
                let start = u(0) * room + every_m * (u(4) * number as f64).floor();
                (start + u(2) * length_m, u(1) * (site.1 - width_m) + u(3) * width_m)
            }
        }
    }

    #[test]
    fn two_units_share_this_much_bottom_in_the_mean() {
        let site = (20.0, 6.0);
        let units = [
            Unit::Strip { length_m: 5.0, width_m: 2.0 },
            Unit::Quadrats { number: 6, every_m: 1.0, length_m: 0.5, width_m: 1.5 },
            Unit::Quadrats { number: 10, every_m: 2.0, length_m: 1.0, width_m: 6.0 },
        ];
        for (index, unit) in units.into_iter().enumerate() {
            let (number, every, length, width) = match unit {
                Unit::Quadrats { number, every_m, length_m, width_m } => (number, every_m, length_m, width_m),
                Unit::Strip { length_m, width_m } => (1, 1.0, length_m, width_m),
                Unit::Points { .. } | Unit::Line { .. } => unreachable!("not among the units"),
            };
            let area = number as f64 * length * width;
            let (room_along, room_across) = (site.0 - (number - 1) as f64 * every - length, site.1 - width);
            let shared: Vec<f64> = (0..40_000)
                .map(|trial| {
                    let u =
                        |k| Key::seed(400 + index as u64).child(Purpose::Trial, trial).uniform(Purpose::Placement, k);
                    let overlap = |d: f64, side: f64| (side - d.abs()).max(0.0);
                    let apart = room_along * (u(0) - u(1));
                    let mut along = 0.0;
                    for i in 0..number {
                        for j in 0..number {
                            along += overlap(apart + every * (i as f64 - j as f64), length);
                        }
                    }
                    along * overlap(room_across * (u(2) - u(3)), width) / (area * area)
                })
                .collect();
            let exact = density_of_same_place(site, unit);
            if room_along == 0.0 && room_across == 0.0 {
                assert!(shared.iter().all(|share| (share / exact - 1.0).abs() < 1e-12));
            } else {
                assert_mean(&shared, exact);
            }
        }
    }

    #[test]
    fn a_unit_as_large_as_the_site_always_lies_on_itself() {
        let strip = Unit::Strip { length_m: 10.0, width_m: 2.0 };
        let pair = covariance_of_two_units((10.0, 2.0), strip, reef);
        let whole = mean_over_pairs_in_site(10.0, 2.0, reef);
        assert!((pair / whole - 1.0).abs() < 1e-4, "{pair} {whole}");
        let constant = covariance_of_two_units((10.0, 2.0), Unit::Line { length_m: 3.0 }, |_| 0.25);
        assert!((constant - 0.25).abs() < 1e-15);
    }
}
