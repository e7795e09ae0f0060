//! Means, variances and covariances with their errors, at once or running.

/// A number estimated by simulation, with one standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub value: f64,
    pub error: f64,
}

impl Measured {
    /// How many errors `expected` lies away.
    pub fn errors_from(self, expected: f64) -> f64 {
        (self.value - expected).abs() / self.error
    }
}

/// Arithmetic mean; NaN of nothing.
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Variance with divisor n - 1 by two passes; NaN below two values.
pub fn variance(values: &[f64]) -> f64 {
    covariance(values, values)
}

/// Covariance with divisor n - 1 by two passes; NaN below two pairs. Both slices have one length.
pub fn covariance(first: &[f64], second: &[f64]) -> f64 {
    assert_eq!(first.len(), second.len(), "covariance of pairs");
    if first.len() < 2 {
        return f64::NAN;
    }
    let (mean_first, mean_second) = (mean(first), mean(second));
    let products: f64 = first.iter().zip(second).map(|(x, y)| (x - mean_first) * (y - mean_second)).sum();
    products / (first.len() - 1) as f64
}

/// Pearson's correlation; NaN when either side does not vary.
pub fn correlation(first: &[f64], second: &[f64]) -> f64 {
    covariance(first, second) / (variance(first) * variance(second)).sqrt()
}

/// Covariance with its error: the spread of the products of deviations,
/// `Var(s_xy) = (m22 - s_xy^2) / n` to first order in 1 / n (Kendall & Stuart, The Advanced Theory of Statistics, volume
/// 1, section 13; from memory).
pub fn covariance_measured(first: &[f64], second: &[f64]) -> Measured {
    let value = covariance(first, second);
    let (mean_first, mean_second) = (mean(first), mean(second));
    let count = first.len() as f64;
    let square = |x: f64| x * x;
    let fourth: f64 = first.iter().zip(second).map(|(x, y)| square((x - mean_first) * (y - mean_second))).sum();
    Measured { value, error: ((fourth / count - value * value).max(0.0) / count).sqrt() }
}

/// Count, mean and central sums up to the fourth, one value at a time, and mergeable: two halves give what the whole gives,
/// up to rounding (Pebay 2008, Sandia report SAND2008-6212, equations for M2 to M4; Welford 1962; from memory).
///
/// Merging is not associative to the last bit: merge in a fixed order.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moments {
    count: u64,
    mean: f64,
    /// Sums of the second, third and fourth powers of the deviations from the mean.
    second: f64,
    third: f64,
    fourth: f64,
}

impl Moments {
    pub fn of(values: &[f64]) -> Self {
        let mut moments = Self::default();
        for &value in values {
            moments.push(value);
        }
        moments
    }

    #[inline]
    pub fn push(&mut self, value: f64) {
        *self = self.merged(Self { count: 1, mean: value, ..Self::default() });
    }

    /// Both sets of values together.
    #[inline]
    pub fn merged(self, other: Self) -> Self {
        if self.count == 0 {
            return other;
        }
        if other.count == 0 {
            return self;
        }
        let (a, b) = (self.count as f64, other.count as f64);
        let count = a + b;
        let delta = other.mean - self.mean;
        let step = delta / count;
        let second = self.second + other.second + delta * step * a * b;
        let third = self.third
            + other.third
            + delta * step * step * a * b * (a - b)
            + 3.0 * step * (a * other.second - b * self.second);
        let fourth = self.fourth
            + other.fourth
            + delta * step * step * step * a * b * (a * a - a * b + b * b)
            + 6.0 * step * step * (a * a * other.second + b * b * self.second)
            + 4.0 * step * (a * other.third - b * self.third);
        Self { count: self.count + other.count, mean: self.mean + step * b, second, third, fourth }
    }

    pub fn count(&self) -> u64 {
        self.count
    }

    /// NaN of nothing.
    pub fn mean(&self) -> f64 {
        if self.count == 0 { f64::NAN } else { self.mean }
    }

    /// Divisor n - 1; NaN below two values.
    pub fn variance(&self) -> f64 {
        if self.count < 2 { f64::NAN } else { self.second / (self.count - 1) as f64 }
    }

    pub fn deviation(&self) -> f64 {
        self.variance().sqrt()
    }

    /// `m3 / m2^1.5` of the values as they are (no correction for bias).
    pub fn skewness(&self) -> f64 {
        let count = self.count as f64;
        (self.third / count) / (self.second / count).powf(1.5)
    }

    /// `m4 / m2^2 - 3`, 0 for a normal distribution.
    pub fn excess_kurtosis(&self) -> f64 {
        let count = self.count as f64;
        self.fourth * count / (self.second * self.second) - 3.0
    }

    pub fn mean_measured(&self) -> Measured {
        Measured { value: self.mean(), error: (self.variance() / self.count as f64).sqrt() }
    }

    /// Variance with its error from the fourth moment:
    /// `Var(s^2) = (m4 - s^4 (n - 3) / (n - 1)) / n` (Mood, Graybill & Boes 1974, Introduction to the Theory of Statistics,
    /// VI theorem 2; from memory).
    pub fn variance_measured(&self) -> Measured {
        let count = self.count as f64;
        let value = self.variance();
        let fourth = self.fourth / count;
        let error = ((fourth - value * value * (count - 3.0) / (count - 1.0)).max(0.0) / count).sqrt();
        Measured { value, error }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const VALUES: [f64; 9] = [0.3, 1.7, -2.0, 0.0, 5.5, 4.4, -1.2, 0.9, 2.6];

    #[test]
    fn running_moments_equal_two_passes() {
        let moments = Moments::of(&VALUES);
        let centre = mean(&VALUES);
        let power = |k: i32| VALUES.iter().map(|x| (x - centre).powi(k)).sum::<f64>();
        assert!((moments.mean() - centre).abs() < 1e-15);
        assert!((moments.variance() - variance(&VALUES)).abs() < 1e-14);
        assert!((moments.third - power(3)).abs() < 1e-12 * power(4));
        assert!((moments.fourth - power(4)).abs() < 1e-13 * power(4));
    }

    #[test]
    fn merging_any_split_gives_the_whole() {
        let whole = Moments::of(&VALUES);
        for cut in 0..=VALUES.len() {
            let merged = Moments::of(&VALUES[..cut]).merged(Moments::of(&VALUES[cut..]));
            assert_eq!(merged.count(), whole.count());
            for (x, y) in [(merged.mean, whole.mean), (merged.second, whole.second), (merged.fourth, whole.fourth)] {
                assert!((x - y).abs() < 1e-12 * y.abs(), "cut {cut}");
            }
            assert!((merged.third - whole.third).abs() < 1e-12 * whole.fourth);
        }
    }

    #[test]
    fn a_large_offset_does_not_eat_the_variance() {
        let shifted: Vec<f64> = VALUES.iter().map(|x| x + 1e9).collect();
        let exact = variance(&VALUES);
        assert!((Moments::of(&shifted).variance() / exact - 1.0).abs() < 1e-6);
        assert!((variance(&shifted) / exact - 1.0).abs() < 1e-6);
    }

    /// The stated errors against the spread of many small samples: means, variances and covariances of hashed uniforms.
    #[test]
    fn errors_are_the_spread_of_repeats() {
        let mut state = 12_345_u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let (mut variances, mut covariances) = (Moments::default(), Moments::default());
        let (mut stated_variance, mut stated_covariance) = (0.0, 0.0);
        let repeats = 4000;
        for _ in 0..repeats {
            let first: Vec<f64> = (0..60).map(|_| uniform()).collect();
            let second: Vec<f64> = first.iter().map(|x| x + uniform()).collect();
            let measured = Moments::of(&first).variance_measured();
            variances.push(measured.value);
            stated_variance += measured.error / repeats as f64;
            let measured = covariance_measured(&first, &second);
            covariances.push(measured.value);
            stated_covariance += measured.error / repeats as f64;
        }
        assert!(variances.mean_measured().errors_from(1.0 / 12.0) < 4.0);
        assert!(covariances.mean_measured().errors_from(1.0 / 12.0) < 4.0);
        // The spread of 4,000 repeats is itself known to about 1.1 %; the stated errors are of first order in 1/60.
        assert!((stated_variance / variances.deviation() - 1.0).abs() < 0.06);
        assert!((stated_covariance / covariances.deviation() - 1.0).abs() < 0.06);
    }

    #[test]
    fn too_few_values_have_no_variance() {
        assert!(variance(&[1.0]).is_nan() && Moments::of(&[1.0]).variance().is_nan());
        assert!(mean(&[]).is_nan() && Moments::default().mean().is_nan());
        assert!(correlation(&[1.0, 1.0], &[1.0, 2.0]).is_nan());
    }
}
