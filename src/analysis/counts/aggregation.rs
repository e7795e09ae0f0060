//! How counts spread about their mean, and how many units that asks for: closed forms.

use crate::analysis::Sample;
use crate::analysis::normal_quantile;
use crate::analysis::normal_tails;

/// k by moments, `mean^2 / (variance - mean)`; infinite where the variance is not above the mean.
///
/// Rough where most counts are nil: k of few units is far too high at times (computed for k = 0.5, mean 2 and 10 units: 5 % of
/// fits infinite, 90 % between 0.2 and 9.6).
pub fn moment_k(mean: f64, variance: f64) -> f64 {
    if variance > mean { mean * mean / (variance - mean) } else { f64::INFINITY }
}

/// `variance = a mean^b` (Taylor 1961, Nature 189:732; from memory). An oracle of tests: no study asks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaylorLaw {
    pub a: f64,
    pub b: f64,
}

/// A power law fitted to samples.
#[derive(Clone, Copy, Debug)]
pub struct TaylorFit {
    pub law: TaylorLaw,
    /// One standard error of b; NaN with two samples.
    pub b_error: f64,
    /// How many samples had a mean and a variance above nil and took part.
    pub used: usize,
}

impl TaylorLaw {
    /// The straight line of ln variance on ln mean by least squares; `None` unless two different means take part.
    ///
    /// Both sides have errors and ln of a small sample's variance is biased: for a description, not for proof.
    pub fn fit(samples: &[Sample]) -> Option<TaylorFit> {
        let points: Vec<(f64, f64)> = samples
            .iter()
            .filter(|sample| sample.mean > 0.0 && sample.variance > 0.0)
            .map(|sample| (libm::log(sample.mean), libm::log(sample.variance)))
            .collect();
        let count = points.len() as f64;
        let centre = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
        let (mean_x, mean_y) = (centre(|point| point.0), centre(|point| point.1));
        let squares: f64 = points.iter().map(|(x, _)| (x - mean_x) * (x - mean_x)).sum();
        if !(squares > 1e-20) {
            return None;
        }
        let b = points.iter().map(|(x, y)| (x - mean_x) * (y - mean_y)).sum::<f64>() / squares;
        let intercept = mean_y - b * mean_x;
        let rest: f64 = points.iter().map(|(x, y)| (y - intercept - b * x) * (y - intercept - b * x)).sum();
        let b_error = if points.len() > 2 { (rest / (count - 2.0) / squares).sqrt() } else { f64::NAN };
        Some(TaylorFit { law: Self { a: libm::exp(intercept), b }, b_error, used: points.len() })
    }

    pub fn variance(self, mean: f64) -> f64 {
        self.a * libm::pow(mean, self.b)
    }

    /// Units for a standard error of `relative_error` times the mean: `a mean^(b - 2) / D^2`.
    pub fn units_for(self, mean: f64, relative_error: f64) -> f64 {
        self.a * libm::pow(mean, self.b - 2.0) / (relative_error * relative_error)
    }

    /// Green's stop line: the total count over `units` at which the standard error is `relative_error` times the mean,
    /// `(D^2 / a)^(1 / (b - 2)) n^((b - 1) / (b - 2))` (Green 1970, Researches on Population Ecology 12:249; from memory).
    ///
    /// `None` for b = 2, where precision does not depend on the mean and no total can tell when to stop.
    pub fn stop_total(self, units: f64, relative_error: f64) -> Option<f64> {
        let power = self.b - 2.0;
        if power == 0.0 {
            return None;
        }
        let squared = relative_error * relative_error;
        Some(libm::pow(squared / self.a, 1.0 / power) * libm::pow(units, (self.b - 1.0) / power))
    }
}

/// Units for a standard error of `relative_error` times the mean when counts are negative binomial:
/// `(1 / mean + 1 / k) / D^2` (Elliott 1977, Some Methods for the Statistical Analysis of Samples of Benthic Invertebrates;
/// from memory). An infinite k gives Poisson.
pub fn units_for_k(mean: f64, k: f64, relative_error: f64) -> f64 {
    (1.0 / mean + 1.0 / k) / (relative_error * relative_error)
}

/// Two means to be compared by the logarithm of their ratio when counts are negative binomial with a common k.
#[derive(Clone, Copy, Debug)]
pub struct LogRatioPlan {
    pub first_mean: f64,
    pub second_mean: f64,
    pub k: f64,
}

impl LogRatioPlan {
    fn ratio(self) -> f64 {
        libm::log(self.second_mean / self.first_mean)
    }

    fn variance_of_one(self) -> f64 {
        1.0 / self.first_mean + 1.0 / self.second_mean + 2.0 / self.k
    }

    /// Standard error of the log ratio with `replicates` in each group, `sqrt(sum (1 / mean + 1 / k) / n)`.
    pub fn error(self, replicates: f64) -> f64 {
        (self.variance_of_one() / replicates).sqrt()
    }

    /// The chance that Wald's two-sided test is significant at `alpha` when its error is known, the far tail left out: too
    /// hopeful with few replicates.
    pub fn normal_power(self, replicates: f64, alpha: f64) -> f64 {
        let critical = normal_quantile(1.0 - 0.5 * alpha);
        normal_tails(self.ratio().abs() / self.error(replicates) - critical).lower
    }

    /// Replicates in each group for that chance, not rounded: `(z + z')^2 sum (1 / mean + 1 / k) / ln^2 ratio`.
    pub fn replicates_for(self, power: f64, alpha: f64) -> f64 {
        let reach = normal_quantile(1.0 - 0.5 * alpha) + normal_quantile(power);
        reach * reach * self.variance_of_one() / (self.ratio() * self.ratio())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_exact_power_law_is_found_and_samples_without_spread_are_left_out() {
        let law = TaylorLaw { a: 1.7, b: 1.4 };
        let sample = |mean: f64, variance| Sample { count: 9.0, mean, variance };
        let mut samples: Vec<Sample> = [0.3, 1.0, 5.0, 60.0].iter().map(|&m| sample(m, law.variance(m))).collect();
        samples.extend([sample(0.0, 0.0), sample(2.0, 0.0), sample(2.0, f64::NAN)]);
        let fit = TaylorLaw::fit(&samples).unwrap();
        assert!((fit.law.a - 1.7).abs() < 1e-12 && (fit.law.b - 1.4).abs() < 1e-12);
        assert!(fit.used == 4 && fit.b_error < 1e-12);
        assert!(TaylorLaw::fit(&samples[3..]).is_none(), "one mean is no line");
        assert!(TaylorLaw::fit(&[]).is_none());
    }

    #[test]
    fn a_larger_error_of_samples_is_a_larger_error_of_b() {
        let sample = |mean: f64, variance| Sample { count: 9.0, mean, variance };
        let fit = |off: f64| {
            TaylorLaw::fit(&[sample(1.0, 1.0), sample(2.0, 4.0 * off), sample(4.0, 16.0 / off), sample(8.0, 64.0)])
                .unwrap()
        };
        assert!(fit(2.0).b_error > 2.0 * fit(1.3).b_error);
        let two = TaylorLaw::fit(&[sample(1.0, 1.0), sample(2.0, 4.0)]).unwrap();
        assert!(two.b_error.is_nan() && (two.law.b - 2.0).abs() < 1e-14);
    }

    #[test]
    fn laws_agree_where_they_are_one() {
        // Poisson is Taylor's law with a = b = 1 and the negative binomial with an infinite k.
        let poisson = TaylorLaw { a: 1.0, b: 1.0 };
        assert_eq!(poisson.units_for(3.0, 0.2), units_for_k(3.0, f64::INFINITY, 0.2));
        assert_eq!(poisson.stop_total(30.0, 0.2).map(f64::round), Some(25.0));
        assert_eq!(TaylorLaw { a: 1.0, b: 2.0 }.stop_total(30.0, 0.2), None);
        assert_eq!(moment_k(2.0, 2.0 + 4.0 / 0.7), 0.7);
        assert_eq!(moment_k(2.0, 1.9), f64::INFINITY);
    }
}
