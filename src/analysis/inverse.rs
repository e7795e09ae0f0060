//! Quantiles by Newton's method on the logarithm of the smaller tail.

use super::distributions::Tails;

/// Both tails and the density at one point of the coordinate that the search moves in.
pub(super) struct Place {
    pub tails: Tails,
    /// Density with respect to the coordinate, not with respect to the variable.
    pub density: f64,
}

/// The coordinate at which the lower tail is `p` (and the upper `q`, given apart so that neither loses digits).
///
/// The logarithm of a tail is nearly straight far out, where the tail itself is nearly flat, so Newton's steps on it
/// converge from a poor start; a step that leaves the bracket found so far is replaced by halving it. The caller chooses
/// a coordinate that runs over the whole line. Error: a few units in the last place of the coordinate, as far as the tails
/// themselves are right.
pub(super) fn coordinate_of(p: f64, q: f64, start: f64, at: impl Fn(f64) -> Place) -> f64 {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut u = start;
    for _ in 0..300 {
        let place = at(u);
        let (tail, wanted, sign) = if p <= q { (place.tails.lower, p, 1.0) } else { (place.tails.upper, q, -1.0) };
        let excess = sign * libm::log(tail / wanted);
        if excess.is_nan() {
            return f64::NAN;
        }
        if excess == 0.0 {
            return u;
        }
        if excess > 0.0 {
            high = u;
        } else {
            low = u;
        }
        // A step of Newton, bounded so that a nearly flat tail does not throw it out of the range of numbers.
        let bound = 3.0 + u.abs();
        let newton = (-excess * tail / place.density).clamp(-bound, bound);
        let mut next = if newton.is_nan() { u - excess.signum() * bound } else { u + newton };
        if !(low < next && next < high) {
            next = match (low.is_finite(), high.is_finite()) {
                (true, true) => 0.5 * (low + high),
                _ => u - excess.signum() * bound,
            };
        }
        if (next - u).abs() <= 2e-16 * u.abs().max(1e-300) || next == low && next == high {
            return next;
        }
        u = next;
        if high - low <= 2e-16 * u.abs() {
            return u;
        }
    }
    u
}

/// The smallest count whose cumulative probability is at least `p`, searched from `start` by doubling and halving.
pub(super) fn count_of(p: f64, start: f64, largest: f64, cumulative: impl Fn(f64) -> f64) -> f64 {
    let mut high = start.floor().clamp(0.0, largest);
    let mut step = 1.0;
    while cumulative(high) < p && high < largest {
        high = (high + step).min(largest);
        step *= 2.0;
    }
    let mut low = high - 1.0;
    let mut step = 1.0;
    while low >= 0.0 && cumulative(low) >= p {
        high = low;
        low -= step;
        step *= 2.0;
    }
    low = low.max(-1.0);
    while high - low > 1.0 {
        let middle = (0.5 * (low + high)).floor();
        if cumulative(middle) >= p {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
