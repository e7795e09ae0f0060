//! From what a scenario says of animals to the parameters of their law: all of it in closed form, because densities are
//! lognormal.

use crate::reef::{AnimalLaw, AnimalSpec, AnimalState, BetweenSites};
use crate::theory::Curve;
use crate::theory::lattice::cell_kernel;
use crate::theory::placement::mean_over_pairs_in_site;
use thiserror::Error;

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
    #[error("the variance of ln density in patches would be {0:.2}; the largest this reef can be computed with is 4")]
    TooPatchy(f64),
}

/// The kernel `E[Lambda Lambda'] / E[Lambda]^2 - 1` of the patches for a memory between the two times; `None` without
/// patches.
pub(super) fn patch_kernel(spec: &AnimalSpec, memory: f64) -> Option<Curve> {
    let (patches, cell) = spec.patches.zip(spec.patch_cell_m())?;
    Some(cell_kernel(patches.sd * libm::sqrt(memory.max(0.0)), patches.scale_m, cell))
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
    if !(spec.patch_variance() <= 4.0) {
        return Err(AnimalError::TooPatchy(spec.patch_variance()));
    }
    let patches = 1.0 + over_site(patch_kernel(spec, 1.0).as_ref(), asked.site);
    let year_later = 1.0 + over_site(patch_kernel(spec, asked.yearly_memory).as_ref(), asked.site);
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
