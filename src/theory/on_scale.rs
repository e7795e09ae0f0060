//! What a scale of analysis makes of the moments of site means.

use super::unit_moments::UnitMoments;
use crate::analysis::transforms::{Scale, third_moment_of_gamma};

/// What a design's variance needs of the site means of one zone, in one state, on the scale they are compared on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SiteMeanMoments {
    /// Means of site means at the first visit and in the state.
    pub means: [f64; 2],
    /// Their variances between sites.
    pub variances: [f64; 2],
    /// Covariance of the two means of a site.
    pub covariance: f64,
    /// Whether the formula of the scale is poor for them.
    pub poor: bool,
}

impl SiteMeanMoments {
    /// The plain ones put on a scale: mean and variance by the delta method, site means being skewed as gamma
    /// ([`Scale::moments`]), and the same correlation of the two visits. What has no place on the scale stays NaN.
    pub fn on(self, scale: Scale) -> Self {
        if scale == Scale::Plain {
            return self;
        }
        let [first, later] = [0, 1].map(|visit| {
            let (mean, variance) = (self.means[visit], self.variances[visit]);
            scale.moments(mean, variance, third_moment_of_gamma(mean, variance)).ok()
        });
        let (Some(first), Some(later)) = (first, later) else {
            return Self { means: [f64::NAN; 2], variances: [f64::NAN; 2], covariance: f64::NAN, poor: true };
        };
        let plain = (self.variances[0] * self.variances[1]).sqrt();
        let correlation = if plain > 0.0 { self.covariance / plain } else { 0.0 };
        Self {
            means: [first.mean, later.mean],
            variances: [first.variance, later.variance],
            covariance: correlation * (first.variance * later.variance).sqrt(),
            poor: first.is_poor() || later.is_poor(),
        }
    }
}

/// Mean over all sites of their true value on a scale, where true values are lognormal (animals; exact but for patches), or taken
/// for it (colonies and recruits, whose covers are not: off by a share of CV^4): by the trapezoid rule in the standard normal,
/// whose error is below rounding for so smooth a function.
pub fn truth_on_scale(scale: Scale, moments: &UnitMoments, state: usize) -> f64 {
    let (mean, variance) = (moments.truth[state], moments.site_truth[state]);
    if scale == Scale::Plain {
        return mean;
    }
    if !(mean > 0.0 && variance > 0.0) {
        return scale.of(mean).unwrap_or(f64::NAN);
    }
    const STEPS: i32 = 160;
    const STEP: f64 = 0.1;
    let ln_variance = libm::log1p(variance / (mean * mean));
    let (sd, mut sum) = (libm::sqrt(ln_variance), 0.0);
    for k in -STEPS / 2..=STEPS / 2 {
        let x = f64::from(k) * STEP;
        let value = mean * libm::exp(sd * x - 0.5 * ln_variance);
        sum += libm::exp(-0.5 * x * x) * scale.of(value).unwrap_or(f64::NAN);
    }
    sum * STEP / libm::sqrt(std::f64::consts::TAU)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of_truth(mean: f64, variance: f64) -> UnitMoments {
        let mut moments = UnitMoments::never_there(1);
        (moments.truth, moments.site_truth) = (vec![mean], vec![variance]);
        moments
    }

    /// E ln X = ln m - ln(1 + CV^2) / 2 and E sqrt X = sqrt(m) (1 + CV^2)^(-1/8) of a lognormal.
    #[test]
    fn truths_of_lognormal_sites_in_closed_form() {
        for (mean, cv) in [(12.0, 0.8), (0.3, 0.2), (3.0, 2.0)] {
            let moments = of_truth(mean, cv * cv * mean * mean);
            let ln = truth_on_scale(Scale::Log { plus: 0.0 }, &moments, 0);
            assert!((ln - libm::log(mean) + 0.5 * libm::log1p(cv * cv)).abs() < 1e-12, "{ln}");
            let root = truth_on_scale(Scale::SquareRoot { plus: 0.0 }, &moments, 0);
            assert!((root - mean.sqrt() * libm::pow(1.0 + cv * cv, -0.125)).abs() < 1e-12, "{root}");
            assert_eq!(truth_on_scale(Scale::Plain, &moments, 0), mean);
        }
        assert_eq!(truth_on_scale(Scale::Log { plus: 0.5 }, &of_truth(0.0, 0.0), 0), libm::log(0.5));
    }

    /// Two lognormal visits with correlation r: the variance of the difference of logarithms is
    /// `2 ln(1 + CV^2) - 2 ln(1 + r CV^2)`, up to CV^2 of it: the skewness of gamma is taken, and the correlation kept.
    #[test]
    fn differences_of_logarithms() {
        let (mean, correlation) = (5.0, 0.7);
        let plain = |cv: f64| {
            let variance = cv * cv * mean * mean;
            SiteMeanMoments {
                means: [mean; 2],
                variances: [variance; 2],
                covariance: correlation * variance,
                poor: false,
            }
        };
        for cv in [0.02, 0.1, 0.2] {
            let there = plain(cv).on(Scale::Log { plus: 0.0 });
            let difference = 2.0 * there.variances[0] - 2.0 * there.covariance;
            let exact = 2.0 * libm::log1p(cv * cv) - 2.0 * libm::log1p(correlation * cv * cv);
            assert!((difference / exact - 1.0).abs() < 2.0 * cv * cv && !there.poor, "{cv}: {difference} {exact}");
        }
        let plain = plain(0.1);
        assert_eq!(plain.on(Scale::Plain), plain);
        assert!(plain.on(Scale::Log { plus: -6.0 }).means[0].is_nan());
    }
}
