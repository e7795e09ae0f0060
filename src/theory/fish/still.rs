//! Pairs of fish of one school that stay where they are: integrals over the middle of the school of the chance that both are
//! inside and seen. `s` is the SD of a fish about that middle along each axis, `seen(x)` the chance that a fish is seen at a
//! distance from the middle line of a belt or the middle of a disc.

use super::inflation::integral;
use crate::theory::Rule;
use crate::theory::clusters::gauss_pairs_along;
use std::f64::consts::{FRAC_PI_2, PI, SQRT_2};
use std::sync::LazyLock;

static PANEL: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(24));
static ACROSS: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(40));
/// Beyond this many SDs two fish are not apart.
const FAR: f64 = 8.0;

/// In a belt, m2.
pub fn pairs_seen_in_belt((length, width): (f64, f64), s: f64, seen: impl Fn(f64) -> f64) -> f64 {
    gauss_pairs_along(length, SQRT_2 * s) * across(width, s, &seen)
}

/// Across a belt, m.
fn across(width: f64, s: f64, seen: &impl Fn(f64) -> f64) -> f64 {
    let half = 0.5 * width;
    let both = |apart: f64| {
        // The stretch in which both lie, in parts between the places where one of them is at the middle line.
        let (low, high) = (-half, half - apart);
        let cuts = [low, (-apart).clamp(low, high), 0f64.clamp(low, high), high];
        let part = |i: usize| PANEL.integrate(cuts[i], cuts[i + 1], |y| seen(y.abs()) * seen((y + apart).abs()));
        part(0) + part(1) + part(2)
    };
    if s == 0.0 {
        return both(0.0);
    }
    let apart_sd = SQRT_2 * s;
    let density = |apart: f64| {
        let z = apart / apart_sd;
        2.0 * libm::exp(-0.5 * z * z) / ((2.0 * PI).sqrt() * apart_sd)
    };
    integral(width.min(FAR * apart_sd), |apart| density(apart) * both(apart))
}

/// In a disc, m2.
pub fn pairs_seen_in_disc(radius: f64, s: f64, seen: impl Fn(f64) -> f64) -> f64 {
    // Over all middles of a pair that lies so far apart: a quarter of the lens in which both are in the disc.
    let at = |apart: f64| {
        let high = libm::sqrt((radius * radius - 0.25 * apart * apart).max(0.0));
        let along = |y: f64| {
            let half = (libm::sqrt(radius * radius - y * y) - 0.5 * apart).max(0.0);
            let both = |x: f64| seen(libm::hypot(x + 0.5 * apart, y)) * seen(libm::hypot(x - 0.5 * apart, y));
            ACROSS.integrate(0.0, half, both)
        };
        4.0 * ACROSS.integrate(0.0, FRAC_PI_2, |t| high * libm::cos(t) * along(high * libm::sin(t)))
    };
    if s == 0.0 {
        return at(0.0);
    }
    let square = 2.0 * s * s;
    let density = |apart: f64| apart / square * libm::exp(-0.5 * apart * apart / square);
    ACROSS.integrate(0.0, (2.0 * radius).min(9.0 * libm::sqrt(square)), |apart| density(apart) * at(apart))
}
