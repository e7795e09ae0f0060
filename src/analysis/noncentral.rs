//! Noncentral chi-squared, F and t: what tests follow when there is something to see.
//!
//! Each is a mixture of central distributions with Poisson weights, summed from the mode of the weights outward until
//! they no longer count; t after Lenth 1989, Applied Statistics 38:185, algorithm AS 243 (from memory). Each tail is its own
//! sum, so none is a difference from 1; results are clamped to [0, 1]. Errors against scipy 1.17.1 below 1e-9 relative,
//! mostly 1e-13 (`tests/distributions.rs`). The number of terms grows with the noncentrality of
//! chi-squared and F and with its square for t: microseconds for the values that surveys meet.

use super::distributions::{Tails, beta_tails_of_pair, f_pair, gamma_tails, normal_tails, t_tails};
use cdflib::special::gamma_log;

pub fn noncentral_chi_squared_tails(x: f64, df: f64, noncentrality: f64) -> Tails {
    if !(df >= 0.0 && (0.0..f64::INFINITY).contains(&noncentrality)) || x.is_nan() {
        return UNKNOWN;
    }
    mixture(0.5 * noncentrality, 0.0, |j| gamma_tails(0.5 * df + j, 0.5 * x)).clamped()
}

pub fn noncentral_chi_squared_cdf(x: f64, df: f64, noncentrality: f64) -> f64 {
    noncentral_chi_squared_tails(x, df, noncentrality).lower
}

pub fn noncentral_chi_squared_upper(x: f64, df: f64, noncentrality: f64) -> f64 {
    noncentral_chi_squared_tails(x, df, noncentrality).upper
}

/// `df_above` belongs to the numerator, which is the noncentral one. Infinite `df_below` gives chi-squared.
pub fn noncentral_f_tails(f: f64, df_above: f64, df_below: f64, noncentrality: f64) -> Tails {
    if df_below == f64::INFINITY {
        return noncentral_chi_squared_tails(f * df_above, df_above, noncentrality);
    }
    if !(df_above > 0.0 && df_below > 0.0 && (0.0..f64::INFINITY).contains(&noncentrality)) || f.is_nan() {
        return UNKNOWN;
    }
    let (x, y) = f_pair(f, df_above, df_below);
    mixture(0.5 * noncentrality, 0.0, |j| beta_tails_of_pair(x, y, 0.5 * df_above + j, 0.5 * df_below)).clamped()
}

pub fn noncentral_f_cdf(f: f64, df_above: f64, df_below: f64, noncentrality: f64) -> f64 {
    noncentral_f_tails(f, df_above, df_below, noncentrality).lower
}

pub fn noncentral_f_upper(f: f64, df_above: f64, df_below: f64, noncentrality: f64) -> f64 {
    noncentral_f_tails(f, df_above, df_below, noncentrality).upper
}

/// Tails of `(Z + noncentrality) / sqrt(chi-squared / df)`. Infinite `df` gives the normal.
///
/// Where noncentrality and `t` have the same sign both tails are sums of positive terms and right to a relative 1e-9.
/// Where the signs differ the two series nearly cancel, and the tail beyond `t` is right to 1e-14 absolute only.
pub fn noncentral_t_tails(t: f64, df: f64, noncentrality: f64) -> Tails {
    if df == f64::INFINITY {
        return normal_tails(t - noncentrality);
    }
    if !(df > 0.0) || t.is_nan() || !noncentrality.is_finite() {
        return UNKNOWN;
    }
    if noncentrality == 0.0 {
        return t_tails(t, df);
    }
    if t < 0.0 {
        let mirrored = noncentral_t_tails(-t, df, -noncentrality);
        return Tails { lower: mirrored.upper, upper: mirrored.lower };
    }
    let around_zero = normal_tails(-noncentrality);
    let (y, x) = f_pair(df / (t * t), 1.0, 1.0);
    let mean = 0.5 * noncentrality * noncentrality;
    let even = mixture(mean, 0.0, |j| beta_tails_of_pair(x, y, j + 0.5, 0.5 * df));
    let odd = mixture(mean, 0.5, |j| beta_tails_of_pair(x, y, j + 1.0, 0.5 * df));
    let share = noncentrality / std::f64::consts::SQRT_2;
    Tails {
        lower: (around_zero.lower + 0.5 * (even.lower + share * odd.lower)).clamp(0.0, 1.0),
        // A value above t is above 0.
        upper: (0.5 * (even.upper + share * odd.upper)).clamp(0.0, around_zero.upper),
    }
}

pub fn noncentral_t_cdf(t: f64, df: f64, noncentrality: f64) -> f64 {
    noncentral_t_tails(t, df, noncentrality).lower
}

pub fn noncentral_t_upper(t: f64, df: f64, noncentrality: f64) -> f64 {
    noncentral_t_tails(t, df, noncentrality).upper
}

const UNKNOWN: Tails = Tails { lower: f64::NAN, upper: f64::NAN };

/// A weight below this share of the sum so far no longer counts.
const NEGLIGIBLE: f64 = 1e-18;

/// `sum over j of exp(-mean) mean^j / Gamma(j + 1 + shift) * part(j)`, from the mode of the weights outward.
///
/// Parts with larger `j` weigh in the upper tail and those with smaller `j` in the lower, so each direction ends when its
/// weight no longer counts beside that tail: a tail of 1e-100 keeps its digits.
fn mixture(mean: f64, shift: f64, part: impl Fn(f64) -> Tails) -> Tails {
    if mean == 0.0 {
        let tails = part(0.0);
        let weight = libm::exp(-gamma_log(1.0 + shift));
        return Tails { lower: weight * tails.lower, upper: weight * tails.upper };
    }
    let mode = mean.floor();
    let at_mode = libm::exp(mode * libm::log(mean) - mean - gamma_log(mode + 1.0 + shift));
    let mut sum = Tails { lower: 0.0, upper: 0.0 };
    let (mut j, mut weight) = (mode, at_mode);
    while weight > NEGLIGIBLE * sum.upper.min(1.0) && weight > f64::MIN_POSITIVE {
        sum.add(weight, part(j));
        j += 1.0;
        weight *= mean / (j + shift);
    }
    (j, weight) = (mode, at_mode);
    while j > 0.0 {
        weight *= (j + shift) / mean;
        j -= 1.0;
        if weight <= NEGLIGIBLE * sum.lower.min(1.0) || weight <= f64::MIN_POSITIVE {
            break;
        }
        sum.add(weight, part(j));
    }
    sum
}

impl Tails {
    fn add(&mut self, weight: f64, part: Tails) {
        self.lower += weight * part.lower;
        self.upper += weight * part.upper;
    }

    fn clamped(self) -> Tails {
        Tails { lower: self.lower.clamp(0.0, 1.0), upper: self.upper.clamp(0.0, 1.0) }
    }
}
