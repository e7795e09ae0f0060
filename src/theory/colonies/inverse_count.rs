/// `m E[1 / n | n > 0]` of a count n of mean m and variance V: how much more a mean over n colonies varies than one over m.
/// For a negative binomial count (a Poisson count where V is not above m); only the spread of n matters here, not how
/// often it is 0.
pub(super) fn inverse_count(mean: f64, variance: f64) -> f64 {
    let squared_cv = variance / (mean * mean);
    let k = if variance > mean * (1.0 + 1e-6) { mean * mean / (variance - mean) } else { 1e6 };
    let ln_none = -k * libm::log1p(mean / k);
    if ln_none < -600.0 {
        // Many and even: the inverse of a gamma variable has the mean 1 / (m (1 - cv^2)).
        return 1.0 / (1.0 - squared_cv.min(0.5));
    }
    let none = libm::exp(ln_none);
    let (mut chance, mut sum, mut all, mut n) = (none, 0.0, none, 0.0);
    // To where nothing is left, or a count so large that the rest cannot matter.
    while all < 1.0 - 1e-12 && n < 1e6 {
        chance *= (n + k) / (n + 1.0) * mean / (mean + k);
        n += 1.0;
        all += chance;
        sum += chance / n;
        if n > mean && chance < 1e-16 {
            break;
        }
    }
    mean * sum / (1.0 - none)
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

    #[test]
    fn large_and_even_counts_pass_into_the_formula() {
        let (below, above) = (inverse_count(590.0, 600.0), inverse_count(640.0, 650.0));
        assert!((below - above).abs() < 2e-4, "{below} {above}");
    }
}
