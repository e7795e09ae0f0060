//! The master formula: a design that puts weights w_i (sum 1) on points x_i of a stationary reef has the variance
//! `sum_i sum_j w_i w_j c(|x_i - x_j|)`. Below are its special cases; c is the covariance at a distance h > 0, and the one
//! at the same point is given apart (`at_zero`), because it jumps where observers err.

use super::curve::Curve;
use super::quadrature::Rule;
use std::f64::consts::PI;
use std::sync::LazyLock;

static LINE_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(400));
static RECTANGLE_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(160));
static SMEAR_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(240));

/// Variance of the mean of `number` points at equal `spacing` on one line:
/// `(1 / n^2) [n c(0) + 2 sum_k (n - k) c(k d)]`. With the covariance between two visits it is the covariance of two
/// readings of one line at the same marks (for a tape laid anew by eye, `c` is [`smeared`] and `at_zero` its value at 0).
pub fn variance_of_points(at_zero: f64, number: usize, spacing: f64, c: impl Fn(f64) -> f64) -> f64 {
    let n = number as f64;
    let pairs: f64 = (1..number).map(|k| (number - k) as f64 * c(k as f64 * spacing)).sum();
    (n * at_zero + 2.0 * pairs) / (n * n)
}

/// Variance of the mean over a whole line: `(2 / L^2) int_0^L (L - h) c(h) dh`, with `h = u^3` because c has a cusp at 0.
/// 400 evaluations of c.
pub fn variance_of_intercept(length: f64, c: impl Fn(f64) -> f64) -> f64 {
    let integral = LINE_RULE.integrate(0.0, libm::cbrt(length), |u| {
        let h = u * u * u;
        3.0 * u * u * (length - h) * c(h)
    });
    2.0 * integral / (length * length)
}

/// Variance of the mean over a rectangle, which is also the mean of c over all pairs of its points: `int c(r) f(r) dr`
/// with the density f of their distance, split where f has kinks. 480 evaluations of c.
pub fn variance_of_rectangle(length: f64, width: f64, c: impl Fn(f64) -> f64) -> f64 {
    let (long, short) = (length.max(width), length.min(width));
    if short == 0.0 {
        return variance_of_intercept(long, c);
    }
    let edges = [0.0, short, long, libm::hypot(long, short)];
    let piece = |low: f64, high: f64| {
        RECTANGLE_RULE.integrate(0.0, 1.0, |v| {
            // v^2 (3 - 2v) takes away the square-root singularities at both ends of a piece.
            let r = low + (high - low) * v * v * (3.0 - 2.0 * v);
            6.0 * v * (1.0 - v) * (high - low) * c(r) * distance_density(r, long, short)
        })
    };
    edges.windows(2).map(|edge| piece(edge[0], edge[1])).sum()
}

/// Mean of c over all pairs of points of a site: the covariance of two points thrown on it, and the variance of its true
/// mean.
pub fn mean_over_pairs_in_site(length: f64, width: f64, c: impl Fn(f64) -> f64) -> f64 {
    variance_of_rectangle(length, width, c)
}

/// Density of the distance of two uniform points in a rectangle `a` x `b`, `a >= b > 0` (formula from memory, checked
/// against the two-dimensional integral).
pub(super) fn distance_density(r: f64, a: f64, b: f64) -> f64 {
    let shape = if r <= b {
        PI * a * b - 2.0 * (a + b) * r + r * r
    } else if r <= a {
        2.0 * a * b * libm::asin(b / r) - b * b - 2.0 * a * r + 2.0 * a * libm::sqrt(r * r - b * b)
    } else {
        let angles = libm::asin((b / r).min(1.0)) - libm::acos(a / r);
        let (beyond_b, beyond_a) = (libm::sqrt(r * r - b * b), libm::sqrt(r * r - a * a));
        2.0 * a * b * angles - a * a - b * b - r * r + 2.0 * a * beyond_b + 2.0 * b * beyond_a
    };
    2.0 * r * shape / (a * b * a * b)
}

/// Variance of the mean of `number` points thrown at random into a rectangle: `c(0) / N + (1 - 1 / N) V_rectangle`.
pub fn variance_of_random_points(at_zero: f64, number: usize, rectangle: (f64, f64), c: impl Fn(f64) -> f64) -> f64 {
    let n = number as f64;
    at_zero / n + (1.0 - 1.0 / n) * variance_of_rectangle(rectangle.0, rectangle.1, c)
}

/// Variance of the mean of one random point in each of `cells` (columns, rows) equal cells of a rectangle:
/// `V_rectangle + (c(0) - V_cell) / N`.
pub fn variance_of_stratified_points(
    at_zero: f64,
    cells: (usize, usize),
    rectangle: (f64, f64),
    c: impl Fn(f64) -> f64,
) -> f64 {
    let (columns, rows) = (cells.0 as f64, cells.1 as f64);
    let within_cell = variance_of_rectangle(rectangle.0 / columns, rectangle.1 / rows, &c);
    variance_of_rectangle(rectangle.0, rectangle.1, &c) + (at_zero - within_cell) / (columns * rows)
}

/// The covariance between two visits to a tape that is not laid exactly where it was: the displacement is normal with
/// `sd` metres on each axis, so that the distance r of two points meant to be h apart has the density of Rice (1945; from
/// memory): `c~(h) = int c(r) (r / s^2) exp(-(r - h)^2 / 2 s^2) I0e(r h / s^2) dr` over h +- 8 s, 240 nodes.
pub fn smeared(c: &Curve, sd: f64) -> Curve {
    if !(sd > 0.0) {
        return c.clone();
    }
    let rule = &*SMEAR_RULE;
    Curve::new(c.reach() + 8.0 * sd, 384, |h| {
        rule.integrate((h - 8.0 * sd).max(0.0), h + 8.0 * sd, |r| {
            let z = (r - h) / sd;
            c.at(r) * r / (sd * sd) * libm::exp(-0.5 * z * z) * bessel_i0_scaled(r * h / (sd * sd))
        })
    })
}

/// `exp(-x) I0(x)` for x >= 0: the power series below 20, the asymptotic series above (Abramowitz & Stegun 1964, 9.6.12
/// and 9.7.1; from memory); relative error below 1e-13.
fn bessel_i0_scaled(x: f64) -> f64 {
    if x < 20.0 {
        let quarter_square = 0.25 * x * x;
        let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
        while term > 1e-17 * sum {
            term *= quarter_square / (k * k);
            sum += term;
            k += 1.0;
        }
        return libm::exp(-x) * sum;
    }
    let (mut term, mut sum) = (1.0, 1.0);
    for k in 1..30 {
        let odd = (2 * k - 1) as f64;
        let next = term * odd * odd / (8.0 * x * k as f64);
        if next > term || next < 1e-17 {
            break;
        }
        term = next;
        sum += term;
    }
    sum / libm::sqrt(2.0 * PI * x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};

    fn exponential(h: f64) -> f64 {
        libm::exp(-h / 0.7)
    }

    #[test]
    fn the_distance_density_integrates_to_one_and_knows_the_mean_square() {
        for (a, b) in [(1.0, 1.0), (10.0, 1.0), (100.0, 20.0), (10.0, 0.4)] {
            assert!((variance_of_rectangle(a, b, |_| 1.0) - 1.0).abs() < 1e-9);
            // E r^2 = (a^2 + b^2) / 6.
            let square = variance_of_rectangle(a, b, |r| r * r);
            assert!((square / ((a * a + b * b) / 6.0) - 1.0).abs() < 1e-9, "{a} {b} {square}");
        }
    }

    #[test]
    fn a_rectangle_equals_the_two_dimensional_integral() {
        let (a, b): (f64, f64) = (5.0, 1.5);
        let rule = Rule::legendre(60);
        // x = u^2 on both axes: the cusp of c at 0 is smooth in u.
        let slow = rule.integrate(0.0, a.sqrt(), |u| {
            let along = 4.0 * u * (a - u * u) / (a * a);
            along
                * rule.integrate(0.0, b.sqrt(), |v| {
                    4.0 * v * (b - v * v) / (b * b) * exponential(libm::hypot(u * u, v * v))
                })
        });
        let fast = variance_of_rectangle(a, b, exponential);
        assert!((slow / fast - 1.0).abs() < 1e-8, "{slow} {fast}");
    }

    #[test]
    fn a_narrow_rectangle_is_a_line_and_dense_points_too() {
        let line = variance_of_intercept(10.0, exponential);
        // Closed form of the exponential: 2 s (L - s (1 - exp(-L / s))) / L^2.
        let exact = 2.0 * 0.7 * (10.0 - 0.7 * (1.0 - (-10.0f64 / 0.7).exp())) / 100.0;
        assert!((line / exact - 1.0).abs() < 1e-10, "{line} {exact}");
        assert!((variance_of_rectangle(10.0, 1e-4, exponential) / exact - 1.0).abs() < 1e-4);
        assert_eq!(variance_of_rectangle(0.0, 10.0, exponential), line);
        assert!((variance_of_points(1.0, 10_000, 0.001, exponential) / exact - 1.0).abs() < 1e-5);
    }

    #[test]
    fn random_points_and_strata_agree_at_one_point_and_one_cell() {
        let one = variance_of_random_points(0.3, 1, (4.0, 1.0), exponential);
        assert_eq!(one, 0.3);
        let one_cell = variance_of_stratified_points(0.3, (1, 1), (4.0, 1.0), exponential);
        assert!((one_cell - 0.3).abs() < 1e-15);
        let spread = variance_of_stratified_points(1.0, (8, 2), (4.0, 1.0), exponential);
        assert!(spread < variance_of_random_points(1.0, 16, (4.0, 1.0), exponential));
    }

    #[test]
    fn the_scaled_bessel_function_equals_its_integral() {
        // I0(x) exp(-x) = mean over the circle of exp(x (cos t - 1)): the midpoint rule is exact to rounding.
        for x in [0.0, 0.1, 1.0, 5.0, 19.9, 20.1, 60.0, 500.0] {
            let steps = 4000;
            let mean =
                (0..steps).map(|i| (x * ((i as f64 + 0.5) * 2.0 * PI / steps as f64).cos() - x).exp()).sum::<f64>()
                    / steps as f64;
            assert!((bessel_i0_scaled(x) / mean - 1.0).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn the_smeared_curve_is_the_mean_over_displacements() {
        let sd = 0.3;
        let curve = Curve::new(40.0, 512, exponential);
        let smeared_curve = smeared(&curve, sd);
        let rule = Rule::normal(128);
        // Away from the cusp the two-dimensional Gauss-Hermite mean is accurate.
        for h in [2.0, 3.5, 8.0] {
            let slow = rule.expect(|a| rule.expect(|b| exponential(libm::hypot(h + sd * a, sd * b))));
            // The interpolation of both curves is good to 2e-6 of c(0) = 1.
            assert!((smeared_curve.at(h) - slow).abs() < 2e-6, "{h}: {} {slow}", smeared_curve.at(h));
        }
        // At 0 the distance is Rayleigh: E exp(-r / s) by a fine midpoint rule.
        let steps = 100_000;
        let at_zero: f64 = (0..steps)
            .map(|i| 3.0 * (i as f64 + 0.5) / steps as f64)
            .map(|r| r / (sd * sd) * (-0.5 * r * r / (sd * sd)).exp() * exponential(r) * 3.0 / steps as f64)
            .sum();
        assert!((smeared_curve.at(0.0) / at_zero - 1.0).abs() < 1e-5);
        assert_eq!(smeared(&curve, 0.0).at(1.0), curve.at(1.0));
    }

    #[test]
    fn random_points_in_a_rectangle_by_simulation() {
        let key = Key::seed(20);
        let trials = 200_000;
        let values: Vec<f64> = (0..trials)
            .map(|i| {
                let u = |k: u64| key.uniform(Purpose::Test, 4 * i + k);
                exponential(libm::hypot(6.0 * (u(0) - u(1)), 2.0 * (u(2) - u(3))))
            })
            .collect();
        assert_mean(&values, mean_over_pairs_in_site(6.0, 2.0, exponential));
    }
}
