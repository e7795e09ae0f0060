//! The correlation that the hashed lattice field implies, and the second moment of the lognormal intensity made from it.
//!
//! In the turned frame a displacement is (dx, dy). One octave with its shift given has the covariance
//! `r(t_x, dx / spacing) r(t_y, dy / spacing)`, where t is the place of the first point between its nodes and r the sum
//! over nodes of the products of the spline weights of both points. Shifts are uniform and independent, so every moment
//! over the shifts is a product of one-dimensional moments `m_k(u) = E r(t, u)^k`, which are tabulated once for all
//! reefs. Octaves share the turn of the frame: products over octaves come first, the mean over the turn last.

use super::curve::Curve;
use super::quadrature::Rule;
use crate::reef::{OCTAVES, octave_shares, spline_weights};
use std::f64::consts::FRAC_PI_4;
use std::sync::LazyLock;

/// Moments that are tabulated: enough for `exp` of a log-variance of 4 (the largest that a reef may have) to 1e-7.
const MOMENTS: usize = 24;
/// Displacement, in spacings, from which on the two points of an axis share no node.
const SUPPORT: f64 = 3.0;
const INTERVALS: usize = 768;

static TURNS: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(24));
/// Cells make kinks in the turn.
static CELL_TURNS: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(64));

/// `m_k(u)` for k = 1 ..= MOMENTS at u = SUPPORT i / INTERVALS, all k of one u together.
static AXIS_MOMENTS: LazyLock<Vec<[f64; MOMENTS]>> = LazyLock::new(|| {
    let rule = Rule::legendre(12);
    (0..=INTERVALS).map(|i| moments_by_quadrature(&rule, SUPPORT * i as f64 / INTERVALS as f64)).collect()
});

/// Mean over t in [0, 1) of the powers of `r(t, u)`: the splines have knots where t or t + u is half an odd number, and
/// the integrand is smooth between them.
fn moments_by_quadrature(rule: &Rule, u: f64) -> [f64; MOMENTS] {
    let knot = (0.5 - u).rem_euclid(1.0);
    let edges = [0.0, knot.min(0.5), knot.max(0.5), 1.0];
    let mut moments = [0.0; MOMENTS];
    for piece in edges.windows(2) {
        let width = piece[1] - piece[0];
        for (node, weight) in rule.pairs() {
            let product = axis_covariance(piece[0] + width * node, u);
            let mut power = 1.0;
            for moment in &mut moments {
                power *= product;
                *moment += width * weight * power;
            }
        }
    }
    moments
}

/// Covariance along one axis of two points at `t` and `t + u`, in spacings: the sum over their common nodes of the
/// products of weights.
pub fn axis_covariance(t: f64, u: f64) -> f64 {
    let nearest = |x: f64| {
        let node = libm::floor(x + 0.5);
        (node, spline_weights(x - node))
    };
    let ((first, (weights_first, squares_first)), (second, (weights_second, squares_second))) =
        (nearest(t), nearest(t + u));
    let apart = (second - first) as i64;
    let sum: f64 = (0..3i64)
        .filter(|i| (0..3).contains(&(i - apart)))
        .map(|i| weights_first[i as usize] * weights_second[(i - apart) as usize])
        .sum();
    sum / libm::sqrt(squares_first * squares_second)
}

/// The first `many` moments at displacement `u` (in spacings, any sign), by cubic interpolation in the table; error below
/// 1e-7.
fn axis_moments(u: f64, many: usize) -> [f64; MOMENTS] {
    let mut moments = [0.0; MOMENTS];
    let place = u.abs() * (INTERVALS as f64 / SUPPORT);
    if place >= INTERVALS as f64 {
        return moments;
    }
    let table = &*AXIS_MOMENTS;
    let i = place as usize;
    let x = place - i as f64;
    // The moments are even in u, so the neighbour below 0 is the one above; beyond the last all are 0.
    let before = &table[if i == 0 { 1 } else { i - 1 }];
    let after = &table[(i + 2).min(INTERVALS)];
    let (low, high) = (&table[i], &table[i + 1]);
    let weights = [
        -x * (x - 1.0) * (x - 2.0) / 6.0,
        (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0,
        -(x + 1.0) * x * (x - 2.0) / 2.0,
        (x + 1.0) * x * (x - 1.0) / 6.0,
    ];
    for k in 0..many {
        moments[k] = weights[0] * before[k] + weights[1] * low[k] + weights[2] * high[k] + weights[3] * after[k];
    }
    moments
}

/// Distance from which on two points of the smooth field are independent, in units of the scale: 3 spacings of the
/// coarsest octave along both axes of the frame.
const REACH: f64 = SUPPORT * OCTAVES[0].0 * std::f64::consts::SQRT_2;

/// Correlation of the field of `scale` at `distance` (metres both): mean over the turn of
/// `sum_o share_o r1(dx / s_o) r1(dy / s_o)` with `r1 = m_1`.
pub fn lattice_correlation(scale: f64) -> Curve {
    let shares = octave_shares();
    let turns = &*TURNS;
    Curve::new(REACH * scale, 512, |distance| {
        over_turns(turns, distance / scale, |dx, dy| {
            let octaves = OCTAVES.iter().zip(shares);
            octaves
                .map(|(&(spacing, _), share)| {
                    share * axis_moments(dx / spacing, 1)[0] * axis_moments(dy / spacing, 1)[0]
                })
                .sum()
        })
    })
}

/// `K(h) = Cov(e(x), e(x + h))` of the intensity `e = exp(sd Z - sd^2 / 2)` for the lattice field Z of `scale` metres read
/// at the points themselves: `E over turn [ product over octaves of E over shift exp(sd^2 share r) ] - 1`, exactly. 0 from
/// 6 sqrt(2) scales on. `K(0) = exp(sd^2) - 1`.
///
/// For a thresholded field the same order of means would give `E c_p(rho given turn and shifts)`; `c_p(rho(h))` with
/// [`lattice_correlation`] is within .0004 of it for a cover of .2, where c_p(1) = .16 (computed, see the tests).
pub fn lattice_kernel(sd: f64, scale: f64) -> Curve {
    let moments = ExpMoments::new(sd * sd);
    let turns = &*TURNS;
    Curve::new(REACH * scale, 512, |distance| {
        over_turns(turns, distance / scale, |dx, dy| moments.product(dx, dy) - 1.0)
    })
}

/// The same for the field read at the CENTRES of square cells of side `cell` metres that lie in the turned frame, their
/// grid shifted uniformly and independently of the octaves. The centres of the cells of two points are a whole number of
/// cells apart along each axis: `i` or `i + 1` for a displacement `dx = (i + f) cell`, with probabilities `1 - f` and `f`.
pub fn cell_kernel(sd: f64, scale: f64, cell: f64) -> Curve {
    cell_kernel_of_two(sd * sd, scale, cell)
}

/// The same of two intensities made from one field, `exp(a Z - a^2 / 2)` and `exp(b Z - b^2 / 2)`, by the covariance of their
/// logarithms at one place, `a b`.
pub fn cell_kernel_of_two(covariance: f64, scale: f64, cell: f64) -> Curve {
    let moments = ExpMoments::new(covariance);
    over_cells(scale, cell, |dx, dy| moments.product(dx, dy) - 1.0)
}

/// The same for any function of the field, `e = sum_n c_n He_n(Z)` in orthonormal Hermite polynomials: `squares[n - 1]` is
/// `c_n^2` for n = 1, 2 ... (24 of them at most), and `K(h) = sum_n c_n^2 E rho^n` by Mehler's formula.
pub fn cell_kernel_of_squares(squares: &[f64], scale: f64, cell: f64) -> Curve {
    let moments = PowerMoments::new(squares);
    over_cells(scale, cell, |dx, dy| moments.sum(dx, dy))
}

/// The mean over turn and shift of a second moment (for a displacement of the centres in units of the scale).
fn over_cells(scale: f64, cell: f64, second_moment: impl Fn(f64, f64) -> f64) -> Curve {
    // Whole cells along one axis from which on the coarsest octave has no common node.
    let cells = libm::ceil(SUPPORT * OCTAVES[0].0 * scale / cell) as usize + 1;
    let step = cell / scale;
    let mut table = vec![0.0; (cells + 1) * (cells + 1)];
    for i in 0..=cells {
        for j in 0..=i {
            let value = second_moment(i as f64 * step, j as f64 * step);
            table[i * (cells + 1) + j] = value;
            table[j * (cells + 1) + i] = value;
        }
    }
    let split = |displacement: f64| {
        let whole = libm::floor(displacement / cell);
        ((whole as usize).min(cells - 1), (displacement / cell - whole).min(1.0))
    };
    let turns = &*CELL_TURNS;
    let reach = (SUPPORT * OCTAVES[0].0 * scale + cell) * std::f64::consts::SQRT_2;
    Curve::new(reach, 512, |distance| {
        over_turns(turns, distance, |dx, dy| {
            if dx >= cells as f64 * cell {
                return 0.0;
            }
            let ((i, f), (j, g)) = (split(dx), split(dy));
            let row = i * (cells + 1) + j;
            let below = (1.0 - g) * table[row] + g * table[row + 1];
            let above = (1.0 - g) * table[row + cells + 1] + g * table[row + cells + 2];
            (1.0 - f) * below + f * above
        })
    })
}

/// Mean over the turn of a function of the displacement in the frame that does not change when the axes are exchanged or
/// mirrored: an eighth of the circle suffices, and there `dx >= dy >= 0`.
fn over_turns(turns: &Rule, distance: f64, mut f: impl FnMut(f64, f64) -> f64) -> f64 {
    turns
        .pairs()
        .map(|(node, weight)| {
            let (sin, cos) = libm::sincos(FRAC_PI_4 * node);
            weight * f(distance * cos, distance * sin)
        })
        .sum()
}

/// `product over octaves of E over shift exp(v share r_x r_y)` by the power series of exp.
struct ExpMoments {
    /// Per octave: nodes per scale and the coefficients `(v share)^k / k!`, as many as matter.
    octaves: Vec<(f64, Vec<f64>)>,
}

impl ExpMoments {
    /// Of `E exp(covariance rho)`; negative for two fields that are opposite.
    fn new(covariance: f64) -> Self {
        let octaves = OCTAVES.iter().zip(octave_shares()).map(|(&(spacing, _), share)| {
            let exponent = covariance * share;
            let mut coefficient = 1.0;
            let coefficients = (1..=MOMENTS).map_while(|k| {
                coefficient *= exponent / k as f64;
                (coefficient.abs() > 1e-13).then_some(coefficient)
            });
            (1.0 / spacing, coefficients.collect())
        });
        Self { octaves: octaves.collect() }
    }

    /// For a displacement in units of the scale.
    fn product(&self, dx: f64, dy: f64) -> f64 {
        let mut product = 1.0;
        for (per_scale, coefficients) in &self.octaves {
            let (x, y) = (dx * per_scale, dy * per_scale);
            if x >= SUPPORT || y >= SUPPORT {
                continue;
            }
            let (along_x, along_y) = (axis_moments(x, coefficients.len()), axis_moments(y, coefficients.len()));
            let terms = coefficients.iter().zip(along_x.iter().zip(&along_y));
            product *= 1.0 + terms.map(|(coefficient, (a, b))| coefficient * a * b).sum::<f64>();
        }
        product
    }
}

/// `sum over n of c_n^2 E rho^n`, where rho is the correlation given turn and shifts, a sum over independent octaves.
struct PowerMoments {
    /// `c_n^2 n!` for n = 1, 2 ...
    weights: Vec<f64>,
}

impl PowerMoments {
    fn new(squares: &[f64]) -> Self {
        assert!(squares.len() <= MOMENTS);
        let mut factorial = 1.0;
        let weights = squares.iter().enumerate().map(|(n, square)| {
            factorial *= (n + 1) as f64;
            square * factorial
        });
        Self { weights: weights.collect() }
    }

    /// `E rho^n / n!` is the n-th coefficient of the product over octaves of `sum_k (share v)^k m_k(x) m_k(y) / k!` as a
    /// series in v.
    fn sum(&self, dx: f64, dy: f64) -> f64 {
        let many = self.weights.len();
        let mut series = [0.0; MOMENTS + 1];
        series[0] = 1.0;
        for (&(spacing, _), share) in OCTAVES.iter().zip(octave_shares()) {
            let (x, y) = (dx / spacing, dy / spacing);
            if x >= SUPPORT || y >= SUPPORT {
                continue;
            }
            let (along_x, along_y) = (axis_moments(x, many), axis_moments(y, many));
            let mut term = [0.0; MOMENTS + 1];
            term[0] = 1.0;
            let mut coefficient = 1.0;
            for k in 1..=many {
                coefficient *= share / k as f64;
                term[k] = coefficient * along_x[k - 1] * along_y[k - 1];
            }
            for n in (0..=many).rev() {
                series[n] = (0..=n).map(|k| series[n - k] * term[k]).sum();
            }
        }
        self.weights.iter().zip(&series[1..]).map(|(weight, moment)| weight * moment).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Normals, Purpose};
    use crate::reef::{Frame, LatticeField};
    use crate::theory::{smooth, threshold};

    /// `R(r)` of one octave at a distance in spacings.
    fn one_octave(distance: f64) -> f64 {
        over_turns(&Rule::legendre(48), distance, |dx, dy| axis_moments(dx, 1)[0] * axis_moments(dy, 1)[0])
    }

    #[test]
    fn one_octave_has_the_computed_correlations() {
        // Computed by brute force (numpy: midpoints of 4,000 offsets and 2,000 angles, linear table of 6,001 values).
        let values = [(0.25, 0.9445365), (0.5, 0.7974262), (1.0, 0.4008565), (1.5, 0.1181946), (2.0, 0.0178332)];
        for (distance, value) in values {
            let ours = one_octave(distance);
            assert!((ours - value).abs() < 3e-7, "{distance}: {ours} {value}");
        }
    }

    #[test]
    fn the_field_has_the_computed_correlations_and_is_close_to_matern() {
        // Computed as above, at .25, .5, 1, 2, 3 scales.
        let curve = lattice_correlation(2.0);
        let values = [(0.25, 0.9305040), (0.5, 0.7818263), (1.0, 0.4868715), (2.0, 0.1397976), (3.0, 0.0357622)];
        for (h, value) in values {
            let ours = curve.at(2.0 * h);
            assert!((ours - value).abs() < 3e-7, "{h}: {ours} {value}");
        }
        for i in 0..400 {
            let h = 0.05 * i as f64;
            let difference = (curve.at(h) - smooth::matern_three_halves(h, 2.0)).abs();
            assert!(difference < 0.0043, "{h}: {difference}");
        }
    }

    #[test]
    fn both_kernels_start_at_the_variance_and_end_at_nothing() {
        for (sd, scale, cell) in [(0.4, 1.5, 0.5), (1.35, 2.9, 0.5), (0.25, 60.0, 5.0), (2.0, 1.0, 1.0 / 3.0)] {
            let variance = f64::exp_m1(sd * sd);
            for curve in [lattice_kernel(sd, scale), cell_kernel(sd, scale, cell)] {
                assert!((curve.at(0.0) / variance - 1.0).abs() < 1e-6, "{sd}: {} {variance}", curve.at(0.0));
                assert!(curve.at(curve.reach()) == 0.0 && curve.at(1e6) == 0.0);
            }
        }
    }

    #[test]
    fn interpolated_moments_are_those_of_the_quadrature() {
        let rule = Rule::legendre(24);
        let mut worst = 0.0f64;
        for i in 0..500 {
            let u = 3.0 * (i as f64 + 0.37) / 500.0;
            let (fast, slow) = (axis_moments(u, MOMENTS), moments_by_quadrature(&rule, u));
            worst = fast.iter().zip(&slow).map(|(a, b)| (a - b).abs()).fold(worst, f64::max);
        }
        assert!(worst < 1e-7, "{worst}");
    }

    #[test]
    fn the_cell_kernel_is_the_mean_over_turns_and_places_in_the_cell() {
        let (sd, scale, cell) = (1.35, 2.9, 0.5);
        let curve = cell_kernel(sd, scale, cell);
        let moments = ExpMoments::new(sd * sd);
        let (turns, places) = (240, 24);
        for distance in [0.13, 0.5, 0.77, 1.9, 6.3, 17.0] {
            let mut sum = 0.0;
            for turn in 0..turns {
                let (sin, cos) = (std::f64::consts::FRAC_PI_2 * (turn as f64 + 0.5) / turns as f64).sin_cos();
                let apart = |place: usize, along: f64| {
                    let start = (place as f64 + 0.5) / places as f64;
                    (start + along / cell).floor() * cell / scale
                };
                for i in 0..places {
                    for j in 0..places {
                        sum += moments.product(apart(i, distance * cos), apart(j, distance * sin)) - 1.0;
                    }
                }
            }
            let slow = sum / (turns * places * places) as f64;
            let difference = (curve.at(distance) - slow).abs();
            assert!(difference < 2e-4 * curve.at(0.0), "{distance}: {} {slow}", curve.at(distance));
        }
    }

    #[test]
    fn the_cell_kernel_tends_to_the_smooth_one_with_small_cells() {
        let smooth = lattice_kernel(1.0, 2.0);
        let fine = cell_kernel(1.0, 2.0, 0.02);
        for i in 1..60 {
            let h = 0.2 * i as f64;
            assert!((fine.at(h) - smooth.at(h)).abs() < 1e-3, "{h}: {} {}", fine.at(h), smooth.at(h));
        }
    }

    #[test]
    fn the_power_series_equals_the_mean_over_shifts_taken_directly() {
        let sd = 1.5;
        let (dx, dy) = (0.9, 0.35);
        let steps = 200;
        let direct: f64 = OCTAVES
            .iter()
            .zip(octave_shares())
            .map(|(&(spacing, _), share)| {
                let covariance = |d: f64| -> Vec<f64> {
                    (0..steps).map(|i| axis_covariance((i as f64 + 0.5) / steps as f64, d / spacing)).collect()
                };
                let (along_x, along_y) = (covariance(dx), covariance(dy));
                let pairs = along_x.iter().flat_map(|a| along_y.iter().map(move |b| (sd * sd * share * a * b).exp()));
                pairs.sum::<f64>() / (steps * steps) as f64
            })
            .product();
        let series = ExpMoments::new(sd * sd).product(dx, dy);
        assert!((series / direct - 1.0).abs() < 1e-5, "{series} {direct}");
    }

    /// Field values at two places `distance` apart on many keys, each with its own turn; read at the centres of cells
    /// when `cell` is given.
    fn pairs_of_values(scale: f64, distance: f64, cell: Option<f64>) -> Vec<(f64, f64)> {
        let normals = Normals::new();
        let root = Key::seed(77);
        (0..60_000)
            .map(|trial| {
                let site = root.child(Purpose::Site, trial);
                let frame = Frame::new(site);
                let field = LatticeField::new(site, scale);
                let read = |x, y| {
                    let (x, y) = frame.from_site(x, y);
                    let centre = |u: f64| cell.map_or(u, |side| side * ((u / side).floor() + 0.5));
                    field.at(&normals, centre(x), centre(y))
                };
                (read(0.3, 0.1), read(0.3 + 0.6 * distance, 0.1 + 0.8 * distance))
            })
            .collect()
    }

    /// Mean of a product or other function of the two values against the exact one.
    #[track_caller]
    fn agrees(pairs: &[(f64, f64)], f: impl Fn(f64, f64) -> f64, exact: f64) {
        assert_mean(&pairs.iter().map(|&(a, b)| f(a, b)).collect::<Vec<_>>(), exact);
    }

    #[test]
    fn simulated_fields_have_the_implied_correlation_and_kernel() {
        let (scale, sd) = (1.5, 0.8);
        let (correlation, kernel) = (lattice_correlation(scale), lattice_kernel(sd, scale));
        for distance in [0.2, 0.75, 1.5, 3.0, 6.0] {
            let pairs = pairs_of_values(scale, distance, None);
            agrees(&pairs, |a, b| a * b, correlation.at(distance));
            agrees(&pairs, |a, b| (sd * (a + b) - sd * sd).exp(), 1.0 + kernel.at(distance));
        }
    }

    #[test]
    fn simulated_cells_have_the_cell_kernel() {
        let (scale, cell, sd) = (1.5, 0.5, 0.8);
        let kernel = cell_kernel(sd, scale, cell);
        for distance in [0.1, 0.4, 0.75, 1.5, 3.0] {
            let pairs = pairs_of_values(scale, distance, Some(cell));
            agrees(&pairs, |a, b| (sd * (a + b) - sd * sd).exp(), 1.0 + kernel.at(distance));
        }
    }

    #[test]
    fn thresholded_the_mean_correlation_is_good_enough() {
        // E over turn and shifts of c_p(rho given them), by a grid of turns and of shifts, against c_p of the mean rho.
        let (share, scale) = (0.2, 1.0);
        let correlation = lattice_correlation(scale);
        let shares = octave_shares();
        let (turns, trials) = (Rule::legendre(8), 400);
        let key = Key::seed(51);
        let mut worst = 0.0f64;
        for distance in [0.1, 0.3, 0.6, 1.0, 1.5, 2.5] {
            let exact = over_turns(&turns, distance, |dx, dy| {
                let of_shifts = |trial: u64| {
                    let place = |k: u64| key.uniform(Purpose::Test, 8 * trial + k);
                    let octaves = OCTAVES.iter().zip(shares).enumerate();
                    let rho: f64 = octaves
                        .map(|(o, (&(spacing, _), share))| {
                            let x = axis_covariance(place(2 * o as u64), dx / spacing);
                            share * x * axis_covariance(place(2 * o as u64 + 1), dy / spacing)
                        })
                        .sum();
                    threshold::covariance(share, rho)
                };
                (0..trials).map(of_shifts).sum::<f64>() / trials as f64
            });
            let approximate = threshold::covariance(share, correlation.at(distance));
            worst = worst.max((exact - approximate).abs());
        }
        assert!(worst < 4e-4, "{worst}");
    }

    #[test]
    fn a_lognormal_density_by_its_squares_is_the_lognormal_density() {
        let variance = 0.8f64;
        let mut square = 1.0;
        let squares: Vec<f64> = (1..=MOMENTS)
            .map(|n| {
                square *= variance / n as f64;
                square
            })
            .collect();
        let (direct, series) = (cell_kernel(variance.sqrt(), 3.0, 0.75), cell_kernel_of_squares(&squares, 3.0, 0.75));
        for h in [0.0, 0.5, 2.0, 6.0, 15.0] {
            assert!((direct.at(h) - series.at(h)).abs() < 1e-9, "{h}: {} {}", direct.at(h), series.at(h));
        }
        assert!((series.at(0.0) - variance.exp_m1()).abs() < 0.02);
    }
}
