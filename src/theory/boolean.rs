//! A reef of discs thrown at random (a Boolean model) WITHOUT modulated density, in closed form: the oracle of the tests
//! of the modulated reef. Formulas from memory of Chiu, Stoyan, Kendall & Mecke 2013 (Stochastic Geometry and its
//! Applications), each checked by simulation.

use super::quadrature::Rule;
use crate::geometry::disc_overlap;
use std::f64::consts::{PI, TAU};
use std::sync::LazyLock;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(160));

/// Lognormal radii, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LognormalRadius {
    /// Mean and SD of ln radius.
    pub ln_mean: f64,
    pub ln_sd: f64,
}

impl LognormalRadius {
    pub fn from_mean_and_cv(mean: f64, cv: f64) -> Self {
        let square = libm::log1p(cv * cv);
        Self { ln_mean: libm::log(mean) - 0.5 * square, ln_sd: square.sqrt() }
    }

    /// `E R^k = exp(k mu + k^2 s^2 / 2)`.
    pub fn moment(&self, k: i32) -> f64 {
        let k = k as f64;
        libm::exp(k * self.ln_mean + 0.5 * k * k * self.ln_sd * self.ln_sd)
    }

    pub fn mean_area(&self) -> f64 {
        PI * self.moment(2)
    }

    /// `E f(R)` over radii of at least `least`, for an f that is 0 below; nodes are dense towards `least`.
    pub fn expect(&self, least: f64, f: impl Fn(f64) -> f64) -> f64 {
        let low = ((libm::log(least) - self.ln_mean) / self.ln_sd).max(-9.0);
        let high = 9f64.max(low + 0.1);
        RULE.integrate(0.0, 1.0, |v| {
            let z = low + (high - low) * v * v;
            let density = libm::exp(-0.5 * z * z) / TAU.sqrt();
            2.0 * v * (high - low) * density * f(libm::exp(self.ln_mean + self.ln_sd * z))
        })
    }

    /// `E gamma_R(h)`: mean area that two copies of a disc, `distance` apart, have in common.
    pub fn mean_overlap(&self, distance: f64) -> f64 {
        self.expect(0.5 * distance, |radius| disc_overlap(distance, radius))
    }
}

/// Cover of discs whose expected number over a point is `load` (density times mean area): `1 - exp(-load)`.
pub fn cover_of_load(load: f64) -> f64 {
    -libm::expm1(-load)
}

/// The load that gives a cover.
pub fn load_of_cover(cover: f64) -> f64 {
    -libm::log1p(-cover)
}

/// Discs per m2 of mean area `mean_area` that cover this share.
pub fn density_of_cover(cover: f64, mean_area: f64) -> f64 {
    load_of_cover(cover) / mean_area
}

/// Covariance of two points of which the first is read on one state of the reef, with cover `first`, and the second on
/// another, with cover `second`, when `shared_load` is the mean number of discs that cover the first point in the first
/// state and the second point in the second: `(1 - p1)(1 - p2)(exp(shared) - 1)`.
///
/// In one state the shared load is density x E gamma(h); after random survival q it is density x q x E gamma(h) between
/// the states; after survival that depends on the radius, density x E q(R) gamma_R(h); with growth,
/// density x q x E lens(h; R, R').
pub fn covariance(first: f64, second: f64, shared_load: f64) -> f64 {
    (1.0 - first) * (1.0 - second) * libm::expm1(shared_load)
}

/// Probability that two points of one state are both covered.
pub fn both_covered(cover: f64, shared_load: f64) -> f64 {
    cover * cover + covariance(cover, cover, shared_load)
}

/// Cover after a share `survival` of the discs is left, chosen at random: `1 - (1 - p)^q`.
pub fn cover_after_survival(cover: f64, survival: f64) -> f64 {
    cover_of_load(survival * load_of_cover(cover))
}

/// Mortality in patches that are large against a disc: inside them a share `inside` of the discs survives, outside a share
/// `outside`. An approximation: the patch is taken as constant over a disc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PatchyMortality {
    /// Share of the bottom in patches.
    pub patches: f64,
    pub inside: f64,
    pub outside: f64,
}

impl PatchyMortality {
    /// Survival and share of the bottom, in patches and outside.
    fn states(&self) -> [(f64, f64); 2] {
        [(self.inside, self.patches), (self.outside, 1.0 - self.patches)]
    }

    /// Mean cover afterwards.
    pub fn cover_after(&self, cover: f64) -> f64 {
        self.states().iter().map(|(survival, share)| share * cover_after_survival(cover, *survival)).sum()
    }

    /// Covariance of two points afterwards; `shared_load` as before the mortality (density x E gamma(h)), `patch_covariance`
    /// that of the indicator of the patches at the same distance.
    pub fn covariance_after(&self, cover: f64, shared_load: f64, patch_covariance: f64) -> f64 {
        let mut both_bare = 0.0;
        for (k, (survival, share)) in self.states().into_iter().enumerate() {
            for (l, (other_survival, other_share)) in self.states().into_iter().enumerate() {
                let sign = if k == l { 1.0 } else { -1.0 };
                let chance = share * other_share + sign * patch_covariance;
                let bare =
                    (1.0 - cover_after_survival(cover, survival)) * (1.0 - cover_after_survival(cover, other_survival));
                both_bare += chance * bare * libm::exp(0.5 * (survival + other_survival) * shared_load);
            }
        }
        both_bare - (1.0 - self.cover_after(cover)).powi(2)
    }

    /// Covariance of a point before and another after.
    pub fn covariance_between(&self, cover: f64, shared_load: f64) -> f64 {
        let both_bare: f64 = self
            .states()
            .iter()
            .map(|&(survival, share)| {
                let bare_after = 1.0 - cover_after_survival(cover, survival);
                share * (1.0 - cover) * bare_after * libm::exp(survival * shared_load)
            })
            .sum();
        both_bare - (1.0 - cover) * (1.0 - self.cover_after(cover))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_overlap_of_lognormal_discs_has_the_computed_values() {
        // Computed: mean radius .15 m, coefficient of variation .6.
        let radius = LognormalRadius::from_mean_and_cv(0.15, 0.6);
        assert!((radius.ln_mean + 2.05086233).abs() < 6e-9 && (radius.ln_sd - 0.55451303).abs() < 6e-9);
        assert!((radius.moment(2) - 0.0306).abs() < 1e-15);
        let values = [0.09613274, 0.08122934, 0.06695516, 0.04293156, 0.02648718, 0.01000882, 0.00112687];
        for (distance, value) in [0.0, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0].into_iter().zip(values) {
            let ours = radius.mean_overlap(distance);
            assert!((ours - value).abs() < 6e-9, "{distance}: {ours} {value}");
        }
        let density = density_of_cover(0.3, radius.mean_area());
        assert!((density - 3.71023401).abs() < 6e-9);
    }

    #[test]
    fn mortality_without_patches_is_plain_survival() {
        let even = PatchyMortality { patches: 0.4, inside: 0.5, outside: 0.5 };
        let after = cover_after_survival(0.3, 0.5);
        assert!((even.cover_after(0.3) - after).abs() < 1e-15);
        assert!((even.covariance_after(0.3, 0.2, 0.1) - covariance(after, after, 0.1)).abs() < 1e-15);
        assert!((even.covariance_between(0.3, 0.2) - covariance(0.3, after, 0.1)).abs() < 1e-15);
    }

    #[test]
    fn at_the_same_point_the_covariance_is_that_of_an_indicator() {
        let load = load_of_cover(0.3);
        assert!((covariance(0.3, 0.3, load) - 0.21).abs() < 1e-15);
        assert!((both_covered(0.3, load) - 0.3).abs() < 1e-15);
    }
}
