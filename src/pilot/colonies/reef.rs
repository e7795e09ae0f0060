//! The virtual reef whose colonies are those of a pilot.

use super::fit::ColonyFit;
use super::read::ColoniesTaken;
use crate::pilot::calibrate::{CalibratedReef, ColonyGoal, OutOfReach, calibrate_colonies};
use crate::pilot::candidate::Taken;
use crate::pilot::digits::rounded;
use crate::reef::{NamedReef, SizeLaw};
use crate::survey::Dimensions;
use crate::theory::{Discs, root};
use serde::Serialize;

/// A reef with the sizes, the density and the patches of a pilot's colonies.
#[derive(Clone, Debug, Serialize)]
pub struct ColonyReef {
    pub reef: CalibratedReef,
    /// Whether the spread of ln diameter was lowered to what cover allows ([`COVER_LN_SD`]).
    pub spread_lowered: bool,
    /// Whether cover, patches and spread of sites come from numbers of belts; else they are the named reef's.
    pub density_told: bool,
}

/// The largest SD of ln diameter of the discs that make cover. Measured sizes spread by more (1.02 in the Virgin Islands
/// records), but cover read in belts there varies as with discs of .6 to .75: large colonies are lobed and half dead, and
/// belts catch them too often (computed from Ennis et al. 2020, Territorial Coral Reef Monitoring Program).
pub const COVER_LN_SD: f64 = 0.75;

/// Living discs make the cover: density times their mean area. Where they spread by more than cover allows, the spread is
/// lowered and the median raised until the mean area is the same, so that density and cover both stay.
///
/// # Errors
/// Where no reef of the law has so many colonies of this size, or varies so.
pub fn reef_of_colonies(fit: &ColonyFit, taken: &ColoniesTaken) -> Result<ColonyReef, OutOfReach> {
    let found = fit.living;
    let mut sizes =
        SizeLaw { median_m: rounded(found.median_m), ln_sd: rounded(found.ln_sd), max_m: rounded(found.max_m) };
    let spread_lowered = sizes.ln_sd > COVER_LN_SD;
    if spread_lowered {
        let area = Discs::new(&sizes).mean_area;
        let lower = |ln_median: f64| SizeLaw { median_m: libm::exp(ln_median), ln_sd: COVER_LN_SD, ..sizes };
        let gap = |ln_median: f64| libm::log(Discs::new(&lower(ln_median)).mean_area / area);
        let (low, high) = (libm::log(0.2 * sizes.median_m), libm::log(sizes.max_m));
        let median = root(low, high, 1e-6, gap).map_or(sizes.median_m, libm::exp);
        sizes = SizeLaw { median_m: rounded(median), ..lower(0.0) };
    }
    let named = NamedReef::ForeReef;
    let (Some((density, _)), Some(counts), Some((length_m, width_m))) = (fit.density_per_m2, &fit.counts, taken.belt_m)
    else {
        let spec = crate::reef::ReefSpec { sizes, ..named.spec() };
        let (cover, between_sites_sd) = (named.typical_cover(), f64::NAN);
        let reef = CalibratedReef { named: named.name(), reef: spec, cover, between_sites_sd, notes: vec![] };
        return Ok(ColonyReef { reef, spread_lowered, density_told: false });
    };
    let dimensions = Dimensions::CoralBelt { length_m, width_m };
    let taken = Taken { dimensions, site_length_m: taken.site_m.0, site_width_m: taken.site_m.1 };
    let cover = density * Discs::new(&sizes).mean_area;
    let sites = counts.between_sites.map_or(0.0, |sites| sites.share);
    let squared = 1.0 + sites * sites;
    // Variance of one belt within its site over the squared mean: counting, and k.
    let within = 1.0 / (density * length_m * width_m) + squared / counts.k();
    let goal = ColonyGoal { sizes, cover, within: within * cover * cover, pair: (sites * cover).powi(2) };
    let reef = calibrate_colonies(named, &goal, &taken)?;
    Ok(ColonyReef { reef, spread_lowered, density_told: true })
}
