use super::lengths::Sizes;
use super::patches::{AnimalPatches, PatchLaw};
use serde::Serialize;

/// One kind of animal (or the recruits of corals) in one zone, as a scenario tells it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnimalSpec {
    /// Mean number per m2 over all sites of the zone at the first visit, seen or hidden. Of recruits: per m2 of hard bottom
    /// free of colonies; they are laid everywhere and the reader keeps those whose place is free.
    pub density_per_m2: f64,
    /// `None`: they live alone.
    pub groups: Option<Groups>,
    /// Patches in which they are more or less frequent, usually wider than a belt. `None`: even within a site.
    pub patches: Option<AnimalPatches>,
    /// Spread of the density of whole sites in one visit.
    pub between_sites: BetweenSites,
    /// How much the density of a site moves in a year when nothing happens: one year's deviation, so that the difference
    /// of two years has this times the root of two.
    pub site_year: BetweenSites,
    /// Share of the animals that a diver does not see by day. Whether an animal is out is drawn anew at each visit.
    pub hidden: f64,
    pub sizes: Sizes,
    /// Share of the groups (or lone animals) that are at the same place at the second visit; 0 for what moves about.
    pub stays: f64,
}

/// Groups of animals: Thomas clusters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Groups {
    /// Mean number of animals in a group; the number is Poisson, groups that came out empty included.
    pub mean_size: f64,
    /// SD of the distance from the centre along each axis, metres.
    pub spread_m: f64,
}

/// How sites differ.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BetweenSites {
    /// SD of ln density.
    LnSd(f64),
    /// SD of the true density of whole sites as a share of the mean density; what patches and drift contribute is part of
    /// it, and the rest is solved for.
    Share(f64),
}

/// No group reaches farther than this many spreads from its centre: the normal law is cut there and scaled up again. The
/// part cut off is `exp(-12.5)`, four in a million, which the closed forms leave out.
const REACH_IN_SPREADS: f64 = 5.0;

/// `exp(-5^2 / 2)`.
pub(super) const BEYOND_REACH: f64 = 3.726_653_172_078_671e-6;

impl AnimalSpec {
    /// Side of the square cells in which the density of groups is constant, metres: a quarter of the scale of the patches,
    /// but never over 5 m; of the patches of the coral its cells.
    pub fn patch_cell_m(&self) -> Option<f64> {
        self.patches.map(|patches| match patches.law {
            PatchLaw::OfCoral { cell_m, .. } => cell_m,
            PatchLaw::LogNormal { .. } | PatchLaw::Gamma { .. } => (patches.scale_m / 4.0).min(5.0),
        })
    }

    /// Whether they lie in the patches of the hard coral.
    pub fn is_in_patches_of_coral(&self) -> bool {
        self.ln_sd_of_coral().is_some()
    }

    /// The SD of ln density in the patches of the hard coral, where they lie in those; negative where they shun them.
    pub fn ln_sd_of_coral(&self) -> Option<f64> {
        self.patches.and_then(|patches| match patches.law {
            PatchLaw::OfCoral { ln_sd, .. } => Some(ln_sd),
            PatchLaw::LogNormal { .. } | PatchLaw::Gamma { .. } => None,
        })
    }

    /// Mean size of a group; 1 for animals that live alone.
    pub fn group_size(&self) -> f64 {
        self.groups.map_or(1.0, |groups| groups.mean_size)
    }

    /// Distance from its centre beyond which no animal of a group lies, metres.
    pub fn reach_m(&self) -> f64 {
        self.groups.map_or(0.0, |groups| REACH_IN_SPREADS * groups.spread_m)
    }
}
