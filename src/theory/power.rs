//! Power of t and F tests, and the change that a test can see.
//!
//! Noncentrality is the true difference divided by the standard error of its estimate, signed: negative is a fall. Power
//! counts what the test calls significant, so for a two-sided test both tails, the wrong one included.

use super::quadrature::root;
use crate::analysis::{
    Tail, critical_t, f_quantile, noncentral_f_upper, noncentral_t_cdf, noncentral_t_upper, normal_quantile,
};

/// Power of a t test at `noncentrality`.
pub fn t_power(noncentrality: f64, df: f64, alpha: f64, tail: Tail) -> f64 {
    t_power_at(noncentrality, df, critical_t(alpha, tail, df), tail)
}

/// The same with the critical value known: the part of the distribution of t beyond it.
pub fn t_power_at(noncentrality: f64, df: f64, critical: f64, tail: Tail) -> f64 {
    match tail {
        // Both tails of t together are the upper tail of its square, F on 1 and df degrees of freedom: half the terms, and
        // no series that cancel.
        Tail::Two => noncentral_f_upper(critical * critical, 1.0, df, noncentrality * noncentrality),
        Tail::Lower => noncentral_t_cdf(-critical, df, noncentrality),
        Tail::Upper => noncentral_t_upper(critical, df, noncentrality),
    }
}

/// Power when the estimate also carries an effect of standard deviation `shared_sd` that is common to all replicates (a
/// year, a crew), which the test's own error therefore cannot see.
///
/// With s the error that the test sees and u^2 = s^2 + shared^2, the statistic is u / s times a noncentral t of
/// noncentrality change / u: exact, no quadrature. At no change it is the false-alarm rate, above alpha.
pub fn t_power_with_shared(change: f64, error: f64, df: f64, shared_sd: f64, alpha: f64, tail: Tail) -> f64 {
    let whole = libm::hypot(error, shared_sd);
    t_power_at(change / whole, df, critical_t(alpha, tail, df) * error / whole, tail)
}

/// The size of the change (positive; a fall where only falls count) that is seen with probability `power`. `None` when a
/// test without any change already rejects as often, or `power` is not below 1.
pub fn detectable_change(error: f64, df: f64, alpha: f64, tail: Tail, power: f64) -> Option<f64> {
    detectable_change_with_shared(error, df, 0.0, alpha, tail, power)
}

/// [`detectable_change`] with an effect shared by all replicates.
pub fn detectable_change_with_shared(
    error: f64,
    df: f64,
    shared_sd: f64,
    alpha: f64,
    tail: Tail,
    power: f64,
) -> Option<f64> {
    let critical = critical_t(alpha, tail, df);
    let whole = libm::hypot(error, shared_sd);
    let noncentrality = detectable_noncentrality(power, critical + normal_quantile(power), |noncentrality| {
        let signed = if tail == Tail::Lower { -noncentrality } else { noncentrality };
        t_power_at(signed, df, critical * error / whole, tail)
    })?;
    Some(noncentrality * whole)
}

/// The positive noncentrality at which an increasing power function reaches `power`, searched around `guess`.
pub(super) fn detectable_noncentrality(power: f64, guess: f64, at: impl Fn(f64) -> f64) -> Option<f64> {
    if !(0.0 < power && power < 1.0 && at(0.0) < power) {
        return None;
    }
    let mut high = guess.max(0.5);
    while !(at(high) >= power) {
        high *= 1.5;
        if !(high < 1e6) {
            return None;
        }
    }
    root(0.0, high, 1e-10, |noncentrality| at(noncentrality) - power)
}

/// Power of the F test of one-way analysis of variance. `between` is the variance of the true group means with divisor
/// `groups - 1`, `within` that of the values in a group; `per_group` need not be whole.
pub fn anova_power(groups: usize, per_group: f64, between: f64, within: f64, alpha: f64) -> f64 {
    let above = groups as f64 - 1.0;
    let below = groups as f64 * (per_group - 1.0);
    noncentral_f_upper(f_quantile(1.0 - alpha, above, below), above, below, above * per_group * between / within)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::Rule;

    #[test]
    fn power_without_a_change_is_alpha() {
        for tail in [Tail::Two, Tail::Lower, Tail::Upper] {
            for df in [1.0, 2.6, 9.0, 80.0, f64::INFINITY] {
                for alpha in [0.001, 0.05, 0.2] {
                    assert!((t_power(0.0, df, alpha, tail) / alpha - 1.0).abs() < 1e-9, "{tail:?} {df} {alpha}");
                }
            }
        }
    }

    #[test]
    fn a_fall_and_a_rise_are_mirrored_and_two_sides_add() {
        for (noncentrality, df) in [(2.2, 4.0), (0.7, 15.5), (5.0, 2.0)] {
            let lower = t_power(-noncentrality, df, 0.05, Tail::Lower);
            assert!((lower - t_power(noncentrality, df, 0.05, Tail::Upper)).abs() < 1e-13);
            let both = t_power(noncentrality, df, 0.1, Tail::Two);
            let wrong = t_power(noncentrality, df, 0.05, Tail::Lower);
            assert!((both - lower - wrong).abs() < 1e-12, "{both} {lower} {wrong}");
        }
    }

    #[test]
    fn a_shared_effect_is_an_average_over_it() {
        let rule = Rule::normal(48);
        for tail in [Tail::Two, Tail::Lower] {
            for (change, error, df, shared) in [(-6.0, 2.0, 7.0, 1.5), (0.0, 1.0, 12.0, 0.8), (-3.0, 1.0, 4.5, 1.0)] {
                let exact = t_power_with_shared(change, error, df, shared, 0.05, tail);
                let average = rule.expect(|z| t_power((change + shared * z) / error, df, 0.05, tail));
                assert!((exact - average).abs() < 1e-6, "{tail:?} {change}: {exact} {average}");
            }
        }
        // As large as the test's own error, it makes 5 % false alarms 14 %.
        assert!((t_power_with_shared(0.0, 1.0, 9.0, 1.0, 0.05, Tail::Two) - 0.144).abs() < 5e-4);
        let plain = t_power(3.0, 9.0, 0.05, Tail::Two);
        assert!((t_power_with_shared(6.0, 2.0, 9.0, 0.0, 0.05, Tail::Two) - plain).abs() < 1e-14);
    }

    #[test]
    fn the_detectable_change_is_seen_as_often_as_asked() {
        for tail in [Tail::Two, Tail::Lower, Tail::Upper] {
            for (error, df, power) in [(0.03, 5.0, 0.8), (2.0, 1.0, 0.9), (1.0, 300.0, 0.5)] {
                let change = detectable_change(error, df, 0.05, tail, power).unwrap();
                let signed = if tail == Tail::Lower { -change } else { change };
                assert!((t_power(signed / error, df, 0.05, tail) - power).abs() < 1e-8);
                let change = detectable_change_with_shared(error, df, 0.5 * error, 0.05, tail, power).unwrap();
                let signed = if tail == Tail::Lower { -change } else { change };
                assert!((t_power_with_shared(signed, error, df, 0.5 * error, 0.05, tail) - power).abs() < 1e-8);
            }
        }
        assert!(detectable_change(1.0, 5.0, 0.05, Tail::Two, 0.04).is_none());
        assert!(detectable_change(1.0, 5.0, 0.05, Tail::Two, 1.0).is_none());
        // A large shared effect rejects often by itself.
        assert!(detectable_change_with_shared(1.0, 30.0, 8.0, 0.05, Tail::Two, 0.6).is_none());
    }
}
