use crate::random::normal_tails;
use crate::reef::{ReefSpec, fast};
use cdflib::special::try_gamma_inc_inv;
use serde::Serialize;

/// Patches in which animals are more or less frequent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AnimalPatches {
    pub law: PatchLaw,
    /// Scale of the correlation of the Gaussian field behind the patches, metres (correlation .05 at about 2.7 scales).
    pub scale_m: f64,
}

impl AnimalPatches {
    /// Those of a reef's colonies: as their density goes, to this power.
    pub fn of_coral(reef: &ReefSpec, power: f64) -> Self {
        let law = PatchLaw::OfCoral { ln_sd: power * reef.patch.sd, cell_m: reef.patch_cell_m() };
        Self { law, scale_m: reef.patch.scale_m }
    }
}

/// How the density varies from patch to patch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PatchLaw {
    /// Lognormal, by the SD of ln density.
    LogNormal { ln_sd: f64 },
    /// Gamma: counts in belts much smaller than a patch are negative binomial with this k. A small k means wide empty
    /// bottom between a few dense patches, emptier and with less extreme patches than a lognormal law of the same
    /// variance.
    Gamma { k: f64 },
    /// Lognormal, with the patches of the hard coral of the site: the same field, in its cells of `cell_m` metres. A negative
    /// SD of ln density is that of animals which are fewer where colonies are more. What whole sites have is told without these
    /// patches, as true cover is.
    OfCoral { ln_sd: f64, cell_m: f64 },
}

impl PatchLaw {
    /// Variance of the density over its squared mean.
    pub fn variance(&self) -> f64 {
        match self {
            PatchLaw::LogNormal { ln_sd } | PatchLaw::OfCoral { ln_sd, .. } => libm::expm1(ln_sd * ln_sd),
            PatchLaw::Gamma { k } => 1.0 / k,
        }
    }
}

/// The density over its mean as a function of the Gaussian field.
#[derive(Clone, Debug, PartialEq)]
pub enum PatchDensity {
    LogNormal {
        ln_sd: f64,
    },
    /// Quantiles of the gamma law at the levels of equally spaced normal values, between them linear.
    Gamma {
        quantiles: Vec<f64>,
    },
}

/// Density over its mean in lognormal patches as a function of the Gaussian field, in single precision.
#[inline(always)]
pub(super) fn lognormal(ln_sd: f64) -> impl Fn(f32) -> f32 {
    let (sd, least) = (ln_sd as f32, (0.5 * ln_sd * ln_sd) as f32);
    move |z| fast::exp((sd * z - least).clamp(-80.0, 80.0))
}

/// Range of the table in the Gaussian field, and knots per unit.
const RANGE: f64 = 8.0;
const PER_UNIT: f64 = 64.0;

impl PatchDensity {
    pub fn new(law: PatchLaw) -> Self {
        match law {
            PatchLaw::LogNormal { ln_sd } | PatchLaw::OfCoral { ln_sd, .. } => PatchDensity::LogNormal { ln_sd },
            PatchLaw::Gamma { k } => {
                let mut quantiles: Vec<f64> = Self::knots().map(|z| gamma_quantile(k, z)).collect();
                let weights = Self::knots().map(|z| libm::exp(-0.5 * z * z));
                let (sum, all) = quantiles.iter().zip(weights).fold((0.0, 0.0), |(s, a), (q, w)| (s + w * q, a + w));
                quantiles.iter_mut().for_each(|quantile| *quantile *= all / sum);
                PatchDensity::Gamma { quantiles }
            }
        }
    }

    /// The values of the field at which a gamma law is tabulated.
    fn knots() -> impl Iterator<Item = f64> {
        (0..=(2.0 * RANGE * PER_UNIT) as i32).map(|i| f64::from(i) / PER_UNIT - RANGE)
    }

    /// Density over its mean where the field is `z`.
    #[inline]
    pub fn at(&self, z: f64) -> f64 {
        match self {
            PatchDensity::LogNormal { ln_sd } => libm::exp(ln_sd * z - 0.5 * ln_sd * ln_sd),
            PatchDensity::Gamma { quantiles } => {
                let last = quantiles.len() - 1;
                let place = ((z + RANGE) * PER_UNIT).clamp(0.0, last as f64 - 1e-9);
                let i = place as usize;
                quantiles[i] + (place - i as f64) * (quantiles[i + 1] - quantiles[i])
            }
        }
    }

    /// `E f(density at z, z)` over the normal field, by the trapezoid rule at the knots.
    pub fn expect(&self, mut f: impl FnMut(f64, f64) -> f64) -> f64 {
        let (mut sum, mut all) = (0.0, 0.0);
        for z in Self::knots() {
            let weight = libm::exp(-0.5 * z * z);
            sum += weight * f(self.at(z), z);
            all += weight;
        }
        sum / all
    }
}

/// Quantile of the gamma law of mean 1 at the level of the normal value z.
fn gamma_quantile(k: f64, z: f64) -> f64 {
    let (lower, upper) = normal_tails(z);
    // Far below the law is a power, `P(X < x) = x^k / Gamma(k + 1)`.
    let power = || libm::exp((libm::log(lower) + libm::lgamma(k + 1.0)) / k);
    try_gamma_inc_inv(k, -1.0, lower, upper).map_or_else(|_| power(), |(quantile, _)| quantile) / k
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_laws_have_their_mean_and_variance() {
        for law in [PatchLaw::LogNormal { ln_sd: 0.8 }, PatchLaw::Gamma { k: 0.4 }, PatchLaw::Gamma { k: 3.0 }] {
            let density = PatchDensity::new(law);
            assert!((density.expect(|d, _| d) - 1.0).abs() < 1e-9, "{law:?}");
            let variance = density.expect(|d, _| (d - 1.0) * (d - 1.0));
            assert!((variance / law.variance() - 1.0).abs() < 1e-3, "{law:?}: {variance}");
            let knots: Vec<f64> = PatchDensity::knots().map(|z| density.at(z)).collect();
            assert!(knots.windows(2).all(|pair| pair[0] <= pair[1]), "{law:?}");
        }
    }

    #[test]
    fn a_belt_in_one_gamma_patch_has_a_negative_binomial_count() {
        let density = PatchDensity::new(PatchLaw::Gamma { k: 0.4 });
        for mean in [0.1, 1.0, 10.0] {
            let empty = density.expect(|d, _| libm::exp(-mean * d));
            let exact = libm::exp(-0.4 * libm::log1p(mean / 0.4));
            assert!((empty - exact).abs() < 1e-4, "{mean}: {empty} {exact}");
        }
    }
}
