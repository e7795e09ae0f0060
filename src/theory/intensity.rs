use super::quadrature::Rule;
use super::root;
use crate::random::normal_cdf;

/// Expectations over lognormal intensities: `u = mean exp(s X - s^2/2)`, X standard normal.
///
/// 24 Gauss-Hermite nodes: error below 1e-6 for variances of ln intensity up to 1.8 and means up to 3.5 (computed).
#[derive(Clone, Debug)]
pub struct Intensity {
    rule: Rule,
}

impl Default for Intensity {
    fn default() -> Self {
        Self { rule: Rule::normal(24) }
    }
}

/// The lognormal intensity at one time: its mean and the variance of its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogNormal {
    pub mean: f64,
    pub variance: f64,
}

impl Intensity {
    /// `E exp(-u)`: the bare share under intensity `u`.
    pub fn bare(&self, u: LogNormal) -> f64 {
        let sd = libm::sqrt(u.variance);
        let base = libm::log(u.mean) - 0.5 * u.variance;
        self.rule.expect(|x| libm::exp(-libm::exp(base + sd * x)))
    }

    /// `E exp(-(k1 u1 + k2 u2))` for two intensities whose logarithms have covariance `covariance`.
    pub fn both_bare(&self, first: (f64, LogNormal), second: (f64, LogNormal), covariance: f64) -> f64 {
        let ((k1, u1), (k2, u2)) = (first, second);
        let (sd1, sd2) = (libm::sqrt(u1.variance), libm::sqrt(u2.variance));
        let correlation = if sd1 * sd2 > 0.0 { (covariance / (sd1 * sd2)).clamp(-1.0, 1.0) } else { 0.0 };
        let rest = libm::sqrt(1.0 - correlation * correlation);
        let base1 = libm::log(k1 * u1.mean) - 0.5 * u1.variance;
        let base2 = libm::log(k2 * u2.mean) - 0.5 * u2.variance;
        self.rule.expect(|x| {
            let first_exponent = libm::exp(base1 + sd1 * x);
            let centre = base2 + sd2 * correlation * x;
            self.rule.expect(|y| libm::exp(-first_exponent - libm::exp(centre + sd2 * rest * y)))
        })
    }

    /// The mean intensity at which the cover is `cover`, for a variance of ln intensity; `None` outside the range the
    /// quadrature can serve.
    pub fn mean_for_cover(&self, cover: f64, variance: f64) -> Option<f64> {
        if !(0.0 < cover && cover < 1.0 && 0.0 <= variance && variance <= 4.0) {
            return None;
        }
        let gap = |ln_mean: f64| self.bare(LogNormal { mean: libm::exp(ln_mean), variance }) - (1.0 - cover);
        root(-14.0, 14.0, 1e-13, gap).map(libm::exp)
    }
}

/// `E min(U1 e^A, U2 e^B)` for lognormal factors of mean 1 whose ln ratio has variance `difference_variance`:
/// the density of colonies alive at both times.
pub fn shared_intensity(first: f64, second: f64, difference_variance: f64) -> f64 {
    if difference_variance < 1e-18 {
        return first.min(second);
    }
    let w = libm::sqrt(difference_variance);
    let l = libm::log(second / first);
    let half = 0.5 * difference_variance;
    first * normal_cdf((l - half) / w) + second * normal_cdf((-l - half) / w)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with 48 nodes by a general-purpose library.
    #[test]
    fn bare_share_of_known_intensities() {
        let intensity = Intensity::default();
        let expected = [(0.0, 0.22119922), (0.16, 0.21714812), (0.6, 0.20479021), (1.8225, 0.16893377)];
        for (variance, cover) in expected {
            let value = 1.0 - intensity.bare(LogNormal { mean: 0.25, variance });
            assert!((value - cover).abs() < 5e-7, "{variance}: {value} {cover}");
        }
    }

    #[test]
    fn mean_for_cover_inverts_the_bare_share() {
        let intensity = Intensity::default();
        let mean = intensity.mean_for_cover(0.2, 0.16).unwrap();
        assert!((mean - 0.22745474).abs() < 2e-8, "{mean}");
        let mean = intensity.mean_for_cover(0.2, 1.35 * 1.35).unwrap();
        assert!((mean - 0.31588378).abs() < 2e-7, "{mean}");
        assert!(intensity.mean_for_cover(0.2, 4.1).is_none());
        assert!(intensity.mean_for_cover(f64::NAN, 1.0).is_none());
    }

    #[test]
    fn two_points_far_apart_are_independent_and_at_one_place_are_one() {
        let intensity = Intensity::default();
        let u = LogNormal { mean: 0.4, variance: 0.5 };
        let bare = intensity.bare(u);
        assert!((intensity.both_bare((1.0, u), (1.0, u), 0.0) - bare * bare).abs() < 1e-14);
        // At one place the overlap factor is 1/2 and the correlation 1: both bare is bare.
        assert!((intensity.both_bare((0.5, u), (0.5, u), 0.5) - bare).abs() < 1e-9);
    }

    #[test]
    fn shared_intensity_between_its_bounds() {
        assert_eq!(shared_intensity(0.3, 0.2, 0.0), 0.2);
        let shared = shared_intensity(0.3, 0.2, 0.4);
        assert!(0.0 < shared && shared < 0.2);
        // Equal means: E min(e^A, e^B) = 2 Phi(-w/2).
        let w = 0.7;
        assert!((shared_intensity(1.0, 1.0, w * w) - 2.0 * normal_cdf(-w / 2.0)).abs() < 1e-14);
    }
}
