//! Means over few: what the spread of a count does to a mean over what is counted.

use super::Rule;
use std::sync::LazyLock;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(48));

/// `m E[1 / n | n > 0]` of a count n of mean m and variance V: how much more a mean over n varies than one over m, to which first
/// order divides. For a negative binomial count (a Poisson count where V is not above m); only the spread of n matters here, not
/// how often it is 0. `E[1 / n; n > 0] = int_0^1 (G(z) - G(0)) / z dz`, G the generating function.
pub(super) fn inverse_count(mean: f64, variance: f64) -> f64 {
    if !(mean > 0.0) {
        return 1.0;
    }
    let k = aggregation(mean, variance);
    let ln_pgf = |less: f64| -k * libm::log1p(mean * less / k);
    let none = libm::exp(ln_pgf(1.0));
    // By `1 - z = t^3`, as G falls from 1 within 1 / m.
    let inverse = RULE.integrate(0.0, 1.0, |t| {
        let less = t * t * t;
        3.0 * t * t * (libm::exp(ln_pgf(less)) - none) / (1.0 - less)
    });
    mean * inverse / (1.0 - none)
}

/// Minus the logarithm of the chance that such a count is 0.
pub(super) fn minus_ln_none(mean: f64, variance: f64) -> f64 {
    let k = aggregation(mean, variance);
    k * libm::log1p(mean / k)
}

/// k of a negative binomial count; large where the variance is not above the mean.
fn aggregation(mean: f64, variance: f64) -> f64 {
    mean * mean / (variance - mean).max(1e-9 * mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_are_nearly_the_mean_and_few_are_one() {
        // Second order: 1 + V / m^2.
        for (mean, variance) in [(100.0, 100.0), (100.0, 300.0), (900.0, 9000.0)] {
            let second_order = 1.0 + variance / (mean * mean);
            let found = inverse_count(mean, variance);
            assert!((found / second_order - 1.0).abs() < 0.003, "{mean} {variance}: {found} {second_order}");
        }
        // Where hardly any belt has two colonies, n is 1 where there is any.
        assert!((inverse_count(0.001, 0.001) - 0.001).abs() < 1e-6);
        // Poisson of mean 2: sum of 2^n / (n! n) / (e^2 - 1), computed.
        let exact: f64 = (1..40)
            .fold((0.0, 1.0), |(sum, term), n| {
                let term = term * 2.0 / f64::from(n);
                (sum + term / f64::from(n), term)
            })
            .0
            / 2f64.exp_m1();
        assert!((inverse_count(2.0, 2.0) - 2.0 * exact).abs() < 1e-5);
    }

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
            let found = inverse_count(mean, mean + mean * mean / k);
            assert!((found / exact - 1.0).abs() < 1e-4, "{mean} {k}: {found} {exact}");
        }
        // One fish, if any: its mean number is its chance.
        assert!((inverse_count(1e-4, 1e-4) / 1e-4 - 1.0).abs() < 1e-3);
        assert_eq!(inverse_count(0.0, 0.0), 1.0);
    }

    #[test]
    fn large_and_even_counts_pass_into_the_formula() {
        let (below, above) = (inverse_count(590.0, 600.0), inverse_count(640.0, 650.0));
        assert!((below - above).abs() < 2e-4, "{below} {above}");
    }
}
