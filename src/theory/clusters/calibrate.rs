//! From what a scenario says of animals to the parameters of their law: all of it in closed form, because densities are
//! lognormal.

use crate::reef::{AnimalLaw, AnimalSpec, AnimalState, BetweenSites, PatchDensity, PatchLaw};
use crate::theory::Curve;
use crate::theory::lattice::{cell_kernel, cell_kernel_of_squares};
use crate::theory::placement::mean_over_pairs_in_site;
use crate::theory::quadrature::orthonormal_hermite;
use thiserror::Error;

/// The largest relative variance between patches: ln SD of almost 2, gamma k of .02.
const MOST_PATCHY: f64 = 50.0;

/// What a zone and the visits ask of the law of one kind of animal.
#[derive(Clone, Debug, PartialEq)]
pub struct AnimalAsked {
    pub spec: AnimalSpec,
    /// Size of a site, metres.
    pub site: (f64, f64),
    /// Correlation of the patches between the visits, and over one year.
    pub field_memory: f64,
    pub yearly_memory: f64,
    /// Changes: density at the second visit over that at the first and, where asked, the SD between sites of the true
    /// change, animals per m2.
    pub changes: Vec<(f64, Option<f64>)>,
}

/// Why the law cannot be what was asked; SDs of density as shares of the mean.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum AnimalError {
    #[error("the patches alone make the density of whole sites differ by {0:.3} of its mean, more than was asked")]
    SpreadBelowFloor(f64),
    #[error("a site can move by at most {0:.3} of the mean density in a year, less what patches hold")]
    SiteYearOutOfReach(f64),
    #[error(
        "the density would vary between patches by {0:.2} times its squared mean; 50 is the most that can be computed"
    )]
    TooPatchy(f64),
}

/// The kernel `E[Lambda Lambda'] / E[Lambda]^2 - 1` of the patches for a memory between the two times; `None` without
/// patches.
pub(super) fn patch_kernel(spec: &AnimalSpec, memory: f64) -> Option<Curve> {
    let (patches, cell) = spec.patches.zip(spec.patch_cell_m())?;
    Some(match patches.law {
        PatchLaw::LogNormal { ln_sd } | PatchLaw::OfCoral { ln_sd, .. } => {
            cell_kernel(ln_sd * libm::sqrt(memory.max(0.0)), patches.scale_m, cell)
        }
        PatchLaw::Gamma { .. } => {
            let mut kept = 1.0;
            let squares: Vec<f64> = hermite_squares(patches.law)
                .into_iter()
                .map(|square| {
                    kept *= memory;
                    kept * square
                })
                .collect();
            cell_kernel_of_squares(&squares, patches.scale_m, cell)
        }
    })
}

/// The same of the patches that the density of whole sites is told with: those of the coral are not among them.
pub(super) fn site_kernel(spec: &AnimalSpec, memory: f64) -> Option<Curve> {
    if spec.is_in_patches_of_coral() { None } else { patch_kernel(spec, memory) }
}

/// Terms of the series of a gamma density in Hermite polynomials; what is left of its variance is put into the last.
const TERMS: usize = 24;

/// Squares of the coefficients of the density in orthonormal Hermite polynomials of order 1, 2 ...
fn hermite_squares(law: PatchLaw) -> Vec<f64> {
    let density = PatchDensity::new(law);
    let mut squares: Vec<f64> = (1..=TERMS)
        .map(|order| {
            let coefficient = density.expect(|value, z| value * orthonormal_hermite(order, z));
            coefficient * coefficient
        })
        .collect();
    let left = density.expect(|value, _| (value - 1.0) * (value - 1.0)) - squares.iter().sum::<f64>();
    squares[TERMS - 1] += left.max(0.0);
    squares
}

/// Mean of a kernel over all pairs of places of a site: the variance of the site's mean density that patches bring.
pub(super) fn over_site(kernel: Option<&Curve>, site: (f64, f64)) -> f64 {
    kernel.map_or(0.0, |kernel| mean_over_pairs_in_site(site.0, site.1, |h| kernel.at(h)))
}

/// Solves the law for what is asked. With `K` the mean of the patches' kernel over pairs of places of the site, the true
/// density of sites in one visit has the relative variance `exp(site + year)(1 + K) - 1`, and what a site keeps over a
/// year the covariance `exp(site)(1 + K of the year) - 1`.
pub fn calibrate_animals(asked: &AnimalAsked) -> Result<AnimalLaw, AnimalError> {
    let spec = &asked.spec;
    if let Some(variance) = spec.patches.map(|patches| patches.law.variance())
        && !(variance <= MOST_PATCHY)
    {
        return Err(AnimalError::TooPatchy(variance));
    }
    let patches = 1.0 + over_site(site_kernel(spec, 1.0).as_ref(), asked.site);
    let year_later = 1.0 + over_site(site_kernel(spec, asked.yearly_memory).as_ref(), asked.site);
    let total = match spec.between_sites {
        BetweenSites::LnSd(sd) => sd * sd,
        BetweenSites::Share(share) => {
            let total = libm::log((1.0 + share * share) / patches);
            // A spread that equals the floor to rounding is the floor.
            if !(total >= -1e-9) {
                return Err(AnimalError::SpreadBelowFloor(libm::sqrt(patches - 1.0)));
            }
            total.max(0.0)
        }
    };
    let year = match spec.site_year {
        BetweenSites::LnSd(sd) => sd * sd,
        BetweenSites::Share(share) => {
            let kept = libm::exp(total) * patches - share * share;
            // The drift of a year alone may move the sites as much as was asked, or more; no further effect is then added.
            total - libm::log((kept / year_later).max(0.0)).min(total)
        }
    };
    if !(year <= total) {
        let most = libm::exp(total) * patches - year_later;
        return Err(AnimalError::SiteYearOutOfReach(libm::sqrt(most.max(0.0))));
    }
    let persistent = libm::exp(total - year) * patches;
    let mut states = vec![AnimalState::UNCHANGED; 2];
    for &(ratio, differs) in &asked.changes {
        let asked_variance = differs.map_or(0.0, |sd| libm::pow(sd / spec.density_per_m2, 2.0));
        states.push(AnimalState { ratio, change_sd: change_sd(ratio, asked_variance, persistent) });
    }
    let (site_sd, site_year_sd) = (libm::sqrt(total - year), libm::sqrt(year));
    Ok(AnimalLaw { spec: spec.clone(), site_sd, site_year_sd, field_memory: asked.field_memory, states })
}

/// The SD of ln density with which the true changes of sites have the variance asked (in mean densities squared): it is
/// `B (1 - 2F + F^2 exp(change)) - (1 - F)^2`, B = E of the squared lasting density. Nil where the common change of so
/// different sites varies as much by itself.
fn change_sd(ratio: f64, asked: f64, persistent: f64) -> f64 {
    if !(ratio > 0.0) {
        return 0.0;
    }
    let loss = 1.0 - ratio;
    let factor = ((asked + loss * loss) / persistent - 1.0 + 2.0 * ratio) / (ratio * ratio);
    libm::sqrt(libm::log(factor.max(1.0)))
}
