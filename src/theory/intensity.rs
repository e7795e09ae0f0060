use super::quadrature::Rule;
use super::root;
use crate::random::normal_cdf;
use std::sync::LazyLock;

/// Nodes of the rule, and terms of the series over Hermite polynomials.
const NODES: usize = 32;

/// Expectations over lognormal intensities: `u = mean exp(s X - s^2/2)`, X standard normal.
///
/// Gauss-Hermite nodes; error below 1e-6 for variances of ln intensity up to 1.8 and means up to 3.5 (computed).
#[derive(Clone, Debug)]
pub struct Intensity {
    rule: Rule,
    /// For each node its weight times the orthonormal Hermite polynomials there.
    polynomials: Vec<[f64; NODES]>,
}

impl Default for Intensity {
    fn default() -> Self {
        static MADE: LazyLock<Intensity> = LazyLock::new(Intensity::new);
        MADE.clone()
    }
}

/// The lognormal intensity at one time: its mean and the variance of its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogNormal {
    pub mean: f64,
    pub variance: f64,
}

/// How the bare share at one point depends on its standard normal: the coefficients of `exp(-k u)` in orthonormal Hermite
/// polynomials. Two points with correlation r are bare together with probability `sum of a_n b_n r^n` (Mehler's formula).
#[derive(Clone, Debug, PartialEq)]
pub struct BareSeries {
    sd: f64,
    coefficients: [f64; NODES],
}

impl BareSeries {
    /// `E exp(-(k1 u1 + k2 u2))` for two intensities whose logarithms have covariance `covariance`.
    ///
    /// The polynomials are those of the rule's own nodes, so that the series is the rule's product for independent points
    /// and the rule's single sum for one and the same point; between them it is within 1e-7 of a product rule (see the
    /// tests).
    pub fn both_bare(&self, other: &Self, covariance: f64) -> f64 {
        let sds = self.sd * other.sd;
        let correlation = if sds > 0.0 { (covariance / sds).clamp(-1.0, 1.0) } else { 0.0 };
        let pairs = self.coefficients.iter().zip(&other.coefficients).rev();
        pairs.fold(0.0, |sum, (a, b)| sum * correlation + a * b)
    }

    /// `E exp(-k u)`.
    pub fn bare(&self) -> f64 {
        self.coefficients[0]
    }
}

impl Intensity {
    fn new() -> Self {
        let rule = Rule::normal(NODES);
        let polynomials = rule.pairs().map(|(x, weight)| orthonormal_hermite(x).map(|value| weight * value)).collect();
        Self { rule, polynomials }
    }

    /// `E exp(-u)`: the bare share under intensity `u`.
    pub fn bare(&self, u: LogNormal) -> f64 {
        let sd = libm::sqrt(u.variance);
        let base = libm::log(u.mean) - 0.5 * u.variance;
        self.rule.expect(|x| libm::exp(-libm::exp(base + sd * x)))
    }

    /// The series of `exp(-k u)`.
    pub fn series(&self, k: f64, u: LogNormal) -> BareSeries {
        let sd = libm::sqrt(u.variance);
        let base = libm::log(k * u.mean) - 0.5 * u.variance;
        let mut coefficients = [0.0; NODES];
        for (&x, polynomials) in self.rule.nodes.iter().zip(&self.polynomials) {
            let value = libm::exp(-libm::exp(base + sd * x));
            for (coefficient, weighted) in coefficients.iter_mut().zip(polynomials) {
                *coefficient += value * weighted;
            }
        }
        BareSeries { sd, coefficients }
    }

    /// The series of any function of the intensity: with another such series it gives the mean of their product.
    pub fn series_of(&self, u: LogNormal, function: impl Fn(f64) -> f64) -> BareSeries {
        let sd = libm::sqrt(u.variance);
        let base = libm::log(u.mean) - 0.5 * u.variance;
        let mut coefficients = [0.0; NODES];
        for (&x, polynomials) in self.rule.nodes.iter().zip(&self.polynomials) {
            let value = function(libm::exp(base + sd * x));
            for (coefficient, weighted) in coefficients.iter_mut().zip(polynomials) {
                *coefficient += value * weighted;
            }
        }
        BareSeries { sd, coefficients }
    }

    /// `E exp(-(k1 u1 + k2 u2))` for two intensities whose logarithms have covariance `covariance`.
    pub fn both_bare(&self, first: (f64, LogNormal), second: (f64, LogNormal), covariance: f64) -> f64 {
        self.series(first.0, first.1).both_bare(&self.series(second.0, second.1), covariance)
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

/// Values at x of the Hermite polynomials that are orthonormal for the standard normal.
fn orthonormal_hermite(x: f64) -> [f64; NODES] {
    let mut values = [1.0; NODES];
    values[1] = x;
    for n in 2..NODES {
        let order = n as f64;
        values[n] = (x * values[n - 1] - libm::sqrt(order - 1.0) * values[n - 2]) / libm::sqrt(order);
    }
    values
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

    /// The plain product rule with 48 nodes each way.
    fn both_bare_slowly(first: LogNormal, second: LogNormal, covariance: f64) -> f64 {
        let rule = Rule::normal(48);
        let (sd1, sd2) = (first.variance.sqrt(), second.variance.sqrt());
        let correlation = covariance / (sd1 * sd2);
        let rest = (1.0 - correlation * correlation).sqrt();
        let intensity = |u: LogNormal, x: f64| u.mean * (u.variance.sqrt() * x - 0.5 * u.variance).exp();
        rule.expect(|x| rule.expect(|y| (-intensity(first, x) - intensity(second, correlation * x + rest * y)).exp()))
    }

    #[test]
    fn the_series_is_the_product_rule() {
        let intensity = Intensity::default();
        for (mean, variance, tolerance) in
            [(0.05, 0.3, 1e-9), (0.4, 0.5, 1e-9), (1.2, 1.0, 1e-7), (3.0, 1.8, 2e-6), (0.6, 3.0, 2e-6)]
        {
            let first = LogNormal { mean, variance };
            let second = LogNormal { mean: 0.7 * mean, variance: 1.1 * variance };
            for share in [0.02, 0.3, 0.7, 0.9] {
                let fast = intensity.both_bare((1.0, first), (1.0, second), share * variance);
                let slow = both_bare_slowly(first, second, share * variance);
                assert!((fast - slow).abs() < tolerance, "{mean} {variance} {share}: {fast} {slow} {:e}", fast - slow);
            }
        }
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
