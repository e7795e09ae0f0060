//! Covers made by a threshold: the indicator I = 1{Z > t} of a standard Gaussian field Z has mean `p = 1 - Phi(t)`, and the
//! covariance of two indicators depends on the correlation rho of the two values of Z alone.

use super::quadrature::{Rule, root};
use crate::random::normal_cdf;
use crate::reef::threshold_on_site;
use std::f64::consts::{FRAC_PI_2, TAU};
use std::sync::LazyLock;

pub use crate::reef::threshold_of;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(40));

/// `c_p(rho) = P(Z1 > t, Z2 > t) - p^2 = (1 / 2 pi) int_0^asin(rho) exp(-t^2 / (1 + sin theta)) d theta`, 40 nodes; error
/// below 1e-12 for rho in [-.9, 1]. At rho = 1 it is p (1 - p).
pub fn covariance(share: f64, rho: f64) -> f64 {
    if !(0.0 < share && share < 1.0) {
        return 0.0;
    }
    let square = threshold_of(share).powi(2);
    // A tabulated correlation may exceed 1 by rounding.
    let rho = rho.clamp(-1.0, 1.0);
    RULE.integrate(0.0, libm::asin(rho), |angle| libm::exp(-square / (1.0 + libm::sin(angle)))) / TAU
}

/// `P(Z1 > t1, Z2 > t2) - p1 p2` for two different covers, of two visits or two fields: `(1 / 2 pi) int_0^asin(rho)
/// exp(-(t1^2 - 2 t1 t2 sin theta + t2^2) / (2 cos^2 theta)) d theta`, 40 nodes. At rho = 1 it is min(p1, p2) - p1 p2.
///
/// Towards rho = 1 the integrand falls to 0 within an angle of |t1 - t2|; there the integral is taken from the other end
/// with its sharp part in closed form (the idea of Drezner & Wesolowsky 1990, Journal of Statistical Computation and
/// Simulation 35:101; from memory). Error below 1e-12 for rho in [-.9, 1].
pub fn covariance_of_two(first: f64, second: f64, rho: f64) -> f64 {
    if first == second {
        return covariance(first, rho);
    }
    if !(0.0 < first.min(second) && first.max(second) < 1.0) {
        return 0.0;
    }
    let (t1, t2) = (threshold_of(first), threshold_of(second));
    let rho = rho.clamp(-1.0, 1.0);
    if rho <= 0.5 {
        let integral = RULE.integrate(0.0, libm::asin(rho), |angle| {
            let (sin, cos) = libm::sincos(angle);
            libm::exp(-(t1 * t1 - 2.0 * t1 * t2 * sin + t2 * t2) / (2.0 * cos * cos))
        });
        return integral / TAU;
    }
    // From rho to 1, in x = cos theta: exp(-gap^2 / 2 x^2) S(x) with S smooth and even. Its value at 0 times the sharp
    // factor has a closed form; what is left starts like x^2.
    let x_end = libm::sqrt((1.0 - rho) * (1.0 + rho));
    let gap = (t1 - t2).abs();
    let sharp = |x: f64| libm::exp(-gap * gap / (2.0 * x * x));
    let smooth = |x: f64| {
        let sin = libm::sqrt(1.0 - x * x);
        libm::exp(-t1 * t2 / (1.0 + sin)) / sin
    };
    let at_zero = libm::exp(-0.5 * t1 * t2);
    let closed =
        if x_end > 0.0 { x_end * sharp(x_end) - gap * libm::sqrt(TAU) * normal_cdf(-gap / x_end) } else { 0.0 };
    let rest = RULE.integrate(0.0, x_end, |x| sharp(x) * (smooth(x) - at_zero));
    first.min(second) - first * second - (at_zero * closed + rest) / TAU
}

/// A site effect of latent share w: on a site with effect S (standard normal) the expected cover is
/// `Phi((sqrt(w) S - t) / sqrt(1 - w))`. Over sites its mean is exactly p and its variance exactly `c_p(w)`
/// (probit-normal law).
pub fn share_on_site(share: f64, latent_share: f64, effect: f64) -> f64 {
    normal_cdf(-threshold_on_site(share, latent_share, effect))
}

/// The latent share w that gives the expected covers of sites the standard deviation `sd`: the root of `c_p(w) = sd^2`.
/// `None` when no site effect can, `sd >= sqrt(p (1 - p))`.
pub fn latent_share_of(share: f64, sd: f64) -> Option<f64> {
    if sd == 0.0 {
        return Some(0.0);
    }
    if !(sd > 0.0 && sd * sd < share * (1.0 - share)) {
        return None;
    }
    // In the angle asin(w) the covariance is nearly a straight line.
    root(0.0, FRAC_PI_2, 1e-13, |angle| covariance(share, libm::sin(angle)) - sd * sd).map(libm::sin)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `P(Z1 > t1, Z2 > t2) - p1 p2` by the conditional probability, integrated finely.
    fn by_conditioning(first: f64, second: f64, rho: f64) -> f64 {
        let (t1, t2) = (threshold_of(first), threshold_of(second));
        let steps = 400_000;
        let width = 9.5 / steps as f64;
        let joint: f64 = (0..steps)
            .map(|i| t1 + (i as f64 + 0.5) * width)
            .map(|z| {
                let above = normal_cdf((rho * z - t2) / libm::sqrt(1.0 - rho * rho));
                libm::exp(-0.5 * z * z) / TAU.sqrt() * above * width
            })
            .sum();
        joint - first * second
    }

    #[test]
    fn both_forms_equal_the_integral_of_the_conditional_probability() {
        for (first, second) in [(0.2, 0.2), (0.3, 0.21), (0.3, 0.2999), (0.05, 0.6), (0.9, 0.88)] {
            for rho in [-0.8, -0.3, 0.2, 0.5, 0.51, 0.8, 0.97, 0.999] {
                let (fast, slow) = (covariance_of_two(first, second, rho), by_conditioning(first, second, rho));
                assert!((fast - slow).abs() < 2e-9, "{first} {second} {rho}: {fast} {slow}");
            }
        }
    }

    #[test]
    fn the_ends_are_exact() {
        for (first, second) in [(0.2f64, 0.2), (0.3, 0.21), (0.3, 0.3 - 1e-9), (0.05, 0.6)] {
            let full = first.min(second) - first * second;
            assert!((covariance_of_two(first, second, 1.0) - full).abs() < 1e-14);
            assert_eq!(covariance_of_two(first, second, 0.0), 0.0);
        }
        assert_eq!(covariance(0.2, 1.0 + 1e-12), covariance(0.2, 1.0));
        // p = 1/2: asin(rho) / 2 pi.
        assert!((covariance(0.5, 0.3) - 0.3f64.asin() / TAU).abs() < 1e-15);
        assert_eq!(covariance(0.0, 0.5), 0.0);
        assert_eq!(covariance_of_two(1.0, 0.5, 0.5), 0.0);
    }

    #[test]
    fn towards_full_correlation_it_is_exact_to_rounding() {
        // Computed with 25 digits (mpmath 1.4.1, the same integral cut into 40 pieces).
        let values = [
            (0.3, 0.24, 0.999, 0.1679999219226069),
            (0.3, 0.24, 0.9, 0.1340654838949339),
            (0.3, 0.2999, 0.99, 0.1903531181379005),
            (0.05, 0.6, 0.8, 0.01992295548852768),
            (0.3, 0.299, 0.9999, 0.2077993674846962),
            (0.001, 0.002, 0.95, 0.0007893843515972524),
        ];
        for (first, second, rho, exact) in values {
            let ours = covariance_of_two(first, second, rho);
            assert!((ours - exact).abs() < 1e-12, "{first} {second} {rho}: {ours} {exact}");
        }
    }

    #[test]
    fn the_two_ways_of_integrating_meet() {
        for (first, second) in [(0.3, 0.21), (0.3, 0.299), (0.05, 0.6)] {
            let (below, above) = (covariance_of_two(first, second, 0.5), covariance_of_two(first, second, 0.5 + 1e-12));
            assert!((below - above).abs() < 1e-9, "{below} {above}");
        }
    }

    #[test]
    fn latent_shares_are_the_computed_ones() {
        // Computed (reference values to 7 decimals): p = .3.
        for (sd, share) in [(0.03, 0.0074371), (0.05, 0.0206207), (0.08, 0.0525476), (0.10, 0.0817491)] {
            let ours = latent_share_of(0.3, sd).unwrap();
            assert!((ours - share).abs() < 6e-8, "{sd}: {ours} {share}");
        }
        assert_eq!(latent_share_of(0.3, 0.46), None);
        assert_eq!(latent_share_of(0.3, 0.0), Some(0.0));
        assert_eq!(latent_share_of(0.3, f64::NAN), None);
    }

    #[test]
    fn the_site_effect_has_its_mean_and_variance() {
        let (share, sd) = (0.12, 0.06);
        let latent = latent_share_of(share, sd).unwrap();
        let rule = Rule::normal(48);
        let mean = rule.expect(|effect| share_on_site(share, latent, effect));
        let square = rule.expect(|effect| share_on_site(share, latent, effect).powi(2));
        assert!((mean - share).abs() < 1e-9 && (square - mean * mean - sd * sd).abs() < 1e-9);
    }
}
