//! Means over few fish.

use crate::theory::Rule;
use std::sync::LazyLock;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(48));

/// Mean of one over a number, where it is not nought, times the mean of the number: negative binomial numbers of this mean and variance,
/// Poisson where the variance is no more. What the part of chance in the variance of a mean over so many is to be multiplied by: to first
/// order it is divided by the mean number. `E[1/N; N > 0] = int_0^1 (G(z) - G(0)) / z dz`, G the generating function.
pub fn mean_over_number((mean, variance): (f64, f64)) -> f64 {
    if !(mean > 0.0) {
        return 1.0;
    }
    let k = mean * mean / (variance - mean).max(1e-9 * mean);
    let ln_pgf = |less: f64| -k * libm::log1p(mean * less / k);
    let none = libm::exp(ln_pgf(1.0));
    // By `1 - z = t^3`, as G falls from 1 within 1 / mean.
    let inverse = RULE.integrate(0.0, 1.0, |t| {
        let less = t * t * t;
        3.0 * t * t * (libm::exp(ln_pgf(less)) - none) / (1.0 - less)
    });
    mean * inverse / (1.0 - none)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums over the probabilities of all numbers, by their recursion.
    #[test]
    fn sums_over_all_numbers() {
        for (mean, k) in [(0.2, 0.3), (1.0, 1.0), (6.0, 0.8), (6.0, 4.0), (40.0, 2.0), (40.0, 1e6), (300.0, 1.5)] {
            let p: f64 = mean / (mean + k);
            let none = (k * (1.0 - p).ln()).exp();
            let (mut probability, mut inverse) = (none, 0.0);
            for n in 1..20_000 {
                probability *= p * (k + f64::from(n) - 1.0) / f64::from(n);
                inverse += probability / f64::from(n);
            }
            let exact = mean * inverse / (1.0 - none);
            let found = mean_over_number((mean, mean + mean * mean / k));
            assert!((found / exact - 1.0).abs() < 1e-4, "{mean} {k}: {found} {exact}");
        }
        // One fish, if any: its mean number is its chance.
        assert!((mean_over_number((1e-4, 1e-4)) / 1e-4 - 1.0).abs() < 1e-3);
        assert_eq!(mean_over_number((0.0, 0.0)), 1.0);
    }
}
