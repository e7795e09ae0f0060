//! How many replicates a plain t test takes: one sample, pairs, two samples.

use super::power::t_power;
use super::quadrature::root;
use crate::analysis::Tail;

/// The smallest count in `from..=to` from which on `at` reaches `target` and stays there, `None` when it does not get
/// there.
///
/// Power of tests on counts is a saw-tooth: it may reach the target and fall below it again, so the first count that
/// reaches it is not enough. `at` shall rise on the whole. The search doubles and halves to a count that reaches the target
/// while the one before does not, then looks ahead, for a quarter of the count and at least 24 more, and moves beyond the
/// last that falls short.
pub fn smallest_that_stays_above(from: u64, to: u64, target: f64, mut at: impl FnMut(u64) -> f64) -> Option<u64> {
    let mut reached = |n: u64| at(n) >= target;
    let (mut low, mut high) = (from, from);
    while !reached(high) {
        if high >= to {
            return None;
        }
        low = high + 1;
        high = (2 * high).clamp(high + 1, to);
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if reached(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    let mut found = high;
    let mut next = found + 1;
    while next <= (found + (found / 4).max(24)).min(to) {
        if !reached(next) {
            found = next + 1;
        }
        next += 1;
    }
    (found <= to).then_some(found)
}

/// The count, not rounded, at which an increasing power curve crosses `target`: for comparison with tables and for
/// starting a search. `None` when it does not between `from` and `to`.
pub fn crossing(from: f64, to: f64, target: f64, mut at: impl FnMut(f64) -> f64) -> Option<f64> {
    if at(from) >= target {
        return Some(from);
    }
    root(from, to, 1e-10, |n| at(n) - target)
}

/// Power of a t test on `count` replicates (or pairs) of standard deviation `sd` when the true difference is `change`.
pub fn one_sample_power(count: f64, change: f64, sd: f64, alpha: f64, tail: Tail) -> f64 {
    t_power(change / sd * count.sqrt(), count - 1.0, alpha, tail)
}

/// The same for two independent samples of `count` each, with a common standard deviation.
pub fn two_sample_power(count: f64, change: f64, sd: f64, alpha: f64, tail: Tail) -> f64 {
    t_power(change / sd * (count / 2.0).sqrt(), 2.0 * (count - 1.0), alpha, tail)
}

/// Replicates (or pairs) needed by a t test; `None` above 100 million.
pub fn one_sample_size(change: f64, sd: f64, alpha: f64, tail: Tail, power: f64) -> Option<u64> {
    smallest_that_stays_above(2, MOST, power, |n| one_sample_power(n as f64, change, sd, alpha, tail))
}

/// Replicates needed in each of two independent samples.
pub fn two_sample_size(change: f64, sd: f64, alpha: f64, tail: Tail, power: f64) -> Option<u64> {
    smallest_that_stays_above(2, MOST, power, |n| two_sample_power(n as f64, change, sd, alpha, tail))
}

const MOST: u64 = 100_000_000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_saw_tooth_is_left_behind() {
        // Falls short at 8, 10, 13 and nowhere later.
        let saw = |n: u64| if n < 7 || [8, 10, 13].contains(&n) { 0.7 } else { 0.9 };
        assert_eq!(smallest_that_stays_above(1, 1000, 0.8, saw), Some(14));
        assert_eq!(smallest_that_stays_above(1, 1000, 0.95, saw), None);
        assert_eq!(smallest_that_stays_above(5, 5, 0.6, saw), Some(5));
        assert_eq!(smallest_that_stays_above(1, 10, 0.8, saw), None);
        assert_eq!(smallest_that_stays_above(3, 1 << 40, 0.8, |n| n as f64 / 1e6), Some(800_000));
    }

    #[test]
    fn sizes_reach_their_power_and_one_fewer_does_not() {
        for (change, tail) in [(0.6, Tail::Two), (-0.6, Tail::Lower), (1.5, Tail::Upper)] {
            let n = two_sample_size(change, 1.0, 0.05, tail, 0.8).unwrap() as f64;
            assert!(two_sample_power(n, change, 1.0, 0.05, tail) >= 0.8);
            assert!(two_sample_power(n - 1.0, change, 1.0, 0.05, tail) < 0.8);
            let real = crossing(2.0, 1e6, 0.8, |n| two_sample_power(n, change, 1.0, 0.05, tail)).unwrap();
            assert_eq!(real.ceil(), n);
        }
        // Waiting for a rise will not show a fall.
        assert_eq!(two_sample_size(-0.6, 1.0, 0.05, Tail::Upper, 0.8), None);
    }
}
