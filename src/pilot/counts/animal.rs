//! The animals of the virtual reef whose belts vary as those of a pilot.

use super::fit::CountFit;
use crate::pilot::digits::{rounded, rounded_down, rounded_up};
use crate::reef::{AnimalPatches, AnimalSpec, BetweenSites, PatchLaw, Sizes};
use crate::theory::clusters::{AnimalAsked, AnimalError, AnimalTheory, CountedAs, ReadBy, calibrate_animals};
use crate::theory::pairs::Unit;
use crate::theory::root;
use serde::Serialize;

/// How the belts of a pilot were laid, metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BeltsTaken {
    pub length_m: f64,
    pub width_m: f64,
    pub site_length_m: f64,
    pub site_width_m: f64,
}

/// What is taken where the pilot cannot tell: relative SDs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualSpreads {
    pub between_sites: f64,
    pub site_year: f64,
}

/// Animals that vary as the pilot's do, in the terms of a scenario.
#[derive(Clone, Debug, Serialize)]
pub struct CalibratedAnimal {
    pub spec: AnimalSpec,
    /// Whether the pilot told how sites differ, and how their years do.
    pub between_sites_told: bool,
    pub site_year_told: bool,
    /// What the closed forms of these animals give for belts like the pilot's: k within a site, share of belts without any.
    pub gives_k: f64,
    pub gives_empty: f64,
    pub notes: Vec<AnimalNote>,
}

/// What the reader must know of how the animals were found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "note", rename_all = "snake_case")]
pub enum AnimalNote {
    /// Belts of one site vary no more than chance: no patches.
    NoPatches,
    /// The scale of patches had to be smaller than is usual (m).
    PatchesSmaller { scale_m: f64 },
    /// Belts of one site differ by more than any patches here make them.
    PatchierThanCanBe { k: f64, gives: f64 },
    /// Sites differ by less than their patches alone make them (relative SDs).
    SitesStillDiffer { pilot: f64, gives: f64 },
    /// Sites differ by more than a scenario can say.
    SitesLowered { pilot: f64, gives: f64 },
    /// A site's years move it by more than sites differ in one visit, or by more than patches as the pilot's leave room for.
    YearsLowered { pilot: f64, gives: f64 },
}

/// Scales of patches that are tried, metres: the usual one first, the others where patches of that size would make belts of
/// one site too much alike, or sites too different.
const SCALES: [f64; 6] = [25.0, 15.0, 10.0, 6.0, 4.0, 2.5];

/// The range of the k of patches that is searched; below, nearly all animals live in one patch of twenty.
const PATCH_K: [f64; 2] = [0.05, 1000.0];

/// A relative spread below this is told as none.
const TOLD_SPREAD: f64 = 0.005;

/// The largest relative spread that a scenario may have.
const MOST_SPREAD: f64 = 5.0;

/// Patches (a gamma law, animals alone) with which two belts of a site differ as the pilot's, and the spread of whole sites
/// with which two belts of one site share as much as the pilot's do. With `K` the kernel of the patches averaged over one
/// belt or over two belts of a site, `1 + 1 / k = (1 + K of one) / (1 + K of two)`, whatever sites do.
///
/// # Errors
/// What the law refuses of animals that were just calibrated, which does not happen but for rounding.
pub fn calibrate_animal(
    fit: &CountFit,
    taken: &BeltsTaken,
    usual: UsualSpreads,
) -> Result<CalibratedAnimal, AnimalError> {
    let mut notes = Vec::new();
    let density = fit.density_per_100_m2 / 100.0;
    let asked_spread = fit.between_sites.map_or(usual.between_sites, |sites| sites.share);
    let squared = 1.0 + asked_spread * asked_spread;
    let k = fit.k();
    let belt = Belt { taken: *taken, density };
    // What two belts of a site may share by patches: not what its years were found to move it by, or patches would leave
    // no room for them; where that is unknown, a hair more than sites differ by passes for rounding.
    let told_years = fit.site_year.map_or(0.0, |years| years.share * years.share);
    let most_pair = if told_years > 0.0 { (squared - told_years).max(1.0) } else { 1.02 * squared };
    let patches = if k > PATCH_K[1] {
        notes.push(AnimalNote::NoPatches);
        None
    } else {
        Some(belt.patches(k, most_pair))
    };
    if let Some(patches) = patches.filter(|patches| patches.scale_m < SCALES[0]) {
        notes.push(AnimalNote::PatchesSmaller { scale_m: patches.scale_m });
    }
    let shared = belt.shared(patches);
    // What two belts of a site share beyond patches, and the spread of whole sites that goes with it.
    let sites = squared / shared.pair;
    let floor = libm::sqrt((shared.site - 1.0).max(0.0));
    let mut between = rounded_up(libm::sqrt((sites.max(1.0) * shared.site - 1.0).max(0.0)).max(1.0001 * floor), 3);
    if sites < 0.98 && between > TOLD_SPREAD {
        notes.push(AnimalNote::SitesStillDiffer { pilot: asked_spread, gives: between });
    }
    if between > MOST_SPREAD {
        notes.push(AnimalNote::SitesLowered { pilot: asked_spread, gives: MOST_SPREAD });
        between = MOST_SPREAD;
    }
    let years = fit.site_year.map_or(usual.site_year.min(0.5 * between), |years| years.share);
    let mut spec = belt.spec(patches);
    spec.density_per_m2 = rounded(fit.density_per_100_m2) / 100.0;
    spec.between_sites = BetweenSites::Share(between);
    spec.site_year = BetweenSites::Share(rounded(years));
    let law = match calibrate_animals(&belt.asked(&spec)) {
        // A site can move by no more than it differs from others.
        Err(AnimalError::SiteYearOutOfReach(most)) => {
            let most = rounded_down(most, 3);
            notes.push(AnimalNote::YearsLowered { pilot: years, gives: most });
            spec.site_year = BetweenSites::Share(most);
            calibrate_animals(&belt.asked(&spec))?
        }
        law => law?,
    };
    let theory = AnimalTheory::new(law);
    let gives_k = 1.0 / (shared.belt / shared.pair - 1.0);
    if k < 0.98 * gives_k && patches.is_some() {
        notes.push(AnimalNote::PatchierThanCanBe { k, gives: gives_k });
    }
    let gives_empty = theory.meeting(belt.unit(), belt.site(), CountedAs::ALL, 0).none(1, 1);
    Ok(CalibratedAnimal {
        spec,
        between_sites_told: fit.between_sites.is_some(),
        site_year_told: fit.site_year.is_some(),
        gives_k,
        gives_empty,
        notes,
    })
}

/// Belts like the pilot's of animals of its density.
struct Belt {
    taken: BeltsTaken,
    density: f64,
}

/// 1 + the mean kernel of patches: over one belt, over two belts of a site, over a whole site.
struct Shared {
    belt: f64,
    pair: f64,
    site: f64,
}

impl Belt {
    fn unit(&self) -> Unit {
        Unit::Strip { length_m: self.taken.length_m, width_m: self.taken.width_m }
    }

    fn site(&self) -> (f64, f64) {
        (self.taken.site_length_m, self.taken.site_width_m)
    }

    /// Animals alone, in sites that do not differ but by their patches.
    fn spec(&self, patches: Option<AnimalPatches>) -> AnimalSpec {
        AnimalSpec {
            density_per_m2: self.density,
            groups: None,
            patches,
            between_sites: BetweenSites::LnSd(0.0),
            site_year: BetweenSites::LnSd(0.0),
            hidden: 0.0,
            sizes: Sizes::one_class(),
            stays: 0.0,
        }
    }

    fn asked(&self, spec: &AnimalSpec) -> AnimalAsked {
        AnimalAsked { spec: spec.clone(), site: self.site(), field_memory: 1.0, yearly_memory: 1.0, changes: vec![] }
    }

    fn shared(&self, patches: Option<AnimalPatches>) -> Shared {
        let read = ReadBy { unit: self.unit(), site: self.site(), per_m2: 1.0, relay_sd_m: 0.0, beyond_m: 0.0 };
        let nothing = Shared { belt: f64::NAN, pair: f64::NAN, site: f64::NAN };
        let Ok(law) = calibrate_animals(&self.asked(&self.spec(patches))) else { return nothing };
        let moments = AnimalTheory::new(law).moments(&read, CountedAs::ALL, None);
        let square = self.density * self.density;
        let counting = self.density / (self.taken.length_m * self.taken.width_m);
        Shared {
            belt: 1.0 + (moments.variance[0] - counting) / square,
            pair: 1.0 + moments.pair[0] / square,
            site: 1.0 + moments.site_truth[0] / square,
        }
    }

    /// Patches of the largest scale with which belts of one site have this k and two of them share no more than
    /// `most_pair` (one plus a relative covariance); where there are none, those that come nearest to both.
    fn patches(&self, k: f64, most_pair: f64) -> AnimalPatches {
        let at = |scale_m: f64, ln_k: f64| AnimalPatches { law: PatchLaw::Gamma { k: libm::exp(ln_k) }, scale_m };
        let written =
            |scale_m: f64, ln_k: f64| AnimalPatches { law: PatchLaw::Gamma { k: rounded(libm::exp(ln_k)) }, scale_m };
        let gap = |patches: AnimalPatches| {
            let shared = self.shared(Some(patches));
            libm::log(shared.belt / shared.pair) - libm::log1p(1.0 / k)
        };
        let (low, high) = (libm::log(PATCH_K[0]), libm::log(PATCH_K[1]));
        let mut nearest: Option<(f64, AnimalPatches)> = None;
        for scale_m in SCALES {
            let found = root(low, high, 1e-3, |ln_k| gap(at(scale_m, ln_k)));
            let patches = written(scale_m, found.unwrap_or(low));
            let shared = self.shared(Some(patches));
            let misses = (libm::log(shared.belt / shared.pair) - libm::log1p(1.0 / k)).abs();
            if misses < 0.01 && shared.pair <= most_pair {
                return patches;
            }
            let misses = misses + libm::log(shared.pair / most_pair).max(0.0);
            if nearest.is_none_or(|(least, _)| misses < least) {
                nearest = Some((misses, patches));
            }
        }
        nearest.map_or(written(SCALES[0], 0.0), |(_, patches)| patches)
    }
}
