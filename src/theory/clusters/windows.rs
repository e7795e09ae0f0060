//! Integrals over pairs of points of belts and of quadrats along a tape.

use crate::random::normal_cdf;
use crate::theory::Rule;
use crate::theory::pairs::{Unit, lags};
use crate::theory::placement::variance_of_rectangle;
use std::f64::consts::TAU;
use std::sync::LazyLock;

/// Between two quadrats of a tape, for half of the range of a place's difference along one axis.
static QUADRAT_RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(12));

/// A unit as quadrats along a tape: (number, start to start, side along, side across). A belt is one quadrat; what has no
/// width has no area and counts nothing.
pub(super) fn as_quadrats(unit: Unit) -> (usize, f64, f64, f64) {
    match unit {
        Unit::Strip { length_m, width_m } => (1, length_m, length_m, width_m),
        Unit::Quadrats { number, every_m, length_m, width_m } => (number, every_m, length_m, width_m),
        Unit::Points { length_m, .. } | Unit::Line { length_m } => (1, length_m, length_m, 0.0),
    }
}

/// Area in which is counted, m2.
pub fn unit_area(unit: Unit) -> f64 {
    let (number, _, length, width) = as_quadrats(unit);
    number as f64 * length * width
}

/// `int over [0, a] int over [d, d + b] phi_tau(x - y) dx dy` for the normal density of standard deviation tau: for
/// tau = sqrt(2) sigma and equal sides the `J(A) = A erf(A / 2 sigma) - (2 sigma / sqrt pi)(1 - exp(-A^2 / 4 sigma^2))` of
/// Thomas counts. tau = 0 gives the length that both have in common.
fn axis_pairs(a: f64, b: f64, d: f64, tau: f64) -> f64 {
    if !(tau > 0.0) {
        return (a.min(d + b) - d.max(0.0)).max(0.0);
    }
    // The second integral of the density.
    let twice = |t: f64| {
        let z = t / tau;
        t * normal_cdf(z) + tau * libm::exp(-0.5 * z * z) / libm::sqrt(TAU)
    };
    twice(d + b) - twice(d + b - a) - twice(d) + twice(d - a)
}

/// `int over [0, length], twice, of the normal density of standard deviation tau at the difference`, m.
pub fn gauss_pairs_along(length: f64, tau: f64) -> f64 {
    axis_pairs(length, length, 0.0, tau)
}

/// `int over the unit, twice, of the normal density of standard deviation tau per axis at the difference`, m2: what
/// animals of the same group (tau = sqrt(2) spread) bring to the variance, per animal and animal of a group.
pub fn gauss_pairs(unit: Unit, tau: f64) -> f64 {
    let (number, every, length, width) = as_quadrats(unit);
    let n = number as f64;
    let along: f64 =
        lags(number, every).map(|(lag, weight)| n * n * weight * axis_pairs(length, length, lag, tau)).sum();
    along * gauss_pairs_along(width, tau)
}

/// The same for two parallel windows (length, width), the second starting at `offset` (along, across) from the start of
/// the first.
pub fn two_windows(first: (f64, f64), second: (f64, f64), offset: (f64, f64), tau: f64) -> f64 {
    axis_pairs(first.0, second.0, offset.0, tau) * axis_pairs(first.1, second.1, offset.1, tau)
}

/// Mean of c(distance) over all pairs of points of a unit. Between quadrats 12 x 24 places each, good to 1e-4 for a c
/// whose scale is a quarter of the quadrat's side or more.
pub fn mean_within(unit: Unit, c: impl Fn(f64) -> f64) -> f64 {
    let (number, every, length, width) = as_quadrats(unit);
    lags(number, every)
        .map(|(lag, weight)| {
            let mean = if lag == 0.0 {
                variance_of_rectangle(length, width, &c)
            } else {
                between_quadrats(lag, (length, width), &c)
            };
            weight * mean
        })
        .sum()
}

/// Mean over the places of two equal rectangles, one `lag` metres along from the other: each difference of two uniform
/// places has a triangular density.
fn between_quadrats(lag: f64, (length, width): (f64, f64), c: impl Fn(f64) -> f64) -> f64 {
    let rule = &*QUADRAT_RULE;
    let along = |u: f64| 2.0 * rule.integrate(0.0, 1.0, |v| (1.0 - v) * c(libm::hypot(lag + u * length, v * width)));
    rule.integrate(0.0, 1.0, |u| (1.0 - u) * (along(u) + along(-u)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closed_form_of_thomas_counts_is_this_integral() {
        for (side, sigma) in [(10.0, 0.5), (1.0, 0.5), (0.25, 2.0)] {
            let x = side / (2.0 * sigma);
            let closed = side * libm::erf(x) - 2.0 * sigma / std::f64::consts::PI.sqrt() * (1.0 - libm::exp(-x * x));
            let found = axis_pairs(side, side, 0.0, std::f64::consts::SQRT_2 * sigma);
            assert!((found / closed - 1.0).abs() < 1e-9, "{side} {sigma}: {found} {closed}");
        }
    }

    #[test]
    fn windows_add_up() {
        // A belt of 4 m is four quadrats of 1 m side by side, and a pair of windows is what the union has more.
        let belt = Unit::Strip { length_m: 4.0, width_m: 0.7 };
        let quadrats = Unit::Quadrats { number: 4, every_m: 1.0, length_m: 1.0, width_m: 0.7 };
        for tau in [0.0, 0.2, 1.5] {
            assert!((gauss_pairs(belt, tau) / gauss_pairs(quadrats, tau) - 1.0).abs() < 1e-12);
            let parts = two_windows((1.0, 0.7), (3.0, 0.7), (1.0, 0.0), tau);
            let own = |length: f64| gauss_pairs(Unit::Strip { length_m: length, width_m: 0.7 }, tau);
            assert!((own(1.0) + own(3.0) + 2.0 * parts - own(4.0)).abs() < 1e-12);
        }
        let c = |h: f64| libm::exp(-h / 0.8);
        assert!((mean_within(belt, c) / mean_within(quadrats, c) - 1.0).abs() < 1e-4);
        let gauss = |h: f64| libm::exp(-0.5 * h * h / 0.25) / (TAU * 0.25);
        let exact = gauss_pairs(quadrats, 0.5) / unit_area(quadrats).powi(2);
        assert!((mean_within(quadrats, gauss) / exact - 1.0).abs() < 1e-6);
        assert!((mean_within(belt, gauss) / exact - 1.0).abs() < 1e-6);
    }
}
