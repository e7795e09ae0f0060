use serde::Serialize;

/// Diameters of coral colonies as seen from above: lognormal, cut off at `max_m` (and below 5 mm).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeLaw {
    /// Median diameter before the cut, metres.
    pub median_m: f64,
    /// Standard deviation of ln diameter.
    pub ln_sd: f64,
    /// Largest diameter, metres.
    pub max_m: f64,
}

/// The smallest colony diameter of the law, metres.
pub const SMALLEST_DIAMETER_M: f64 = 0.005;

/// How strongly and over which distance the density of colonies varies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Patchiness {
    /// Standard deviation of ln density.
    pub sd: f64,
    /// Scale of the correlation, metres (correlation .05 at about 2.7 scales).
    pub scale_m: f64,
}

/// What a reef looks like, apart from how much coral it has.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ReefSpec {
    pub sizes: SizeLaw,
    /// Patches of a metre or few.
    pub patch: Patchiness,
    /// Slow variation along the reef, some tens of metres.
    pub along: Patchiness,
}

impl ReefSpec {
    /// Side of the square cells in which the density of colonies is constant, metres: half a metre, but never over a
    /// third of the patch scale.
    pub fn patch_cell_m(&self) -> f64 {
        (self.patch.scale_m / 3.0).min(0.5)
    }

    /// Side of the square cells of the along-reef field, metres: 10 m, but never over a sixth of its scale.
    pub fn along_cell_m(&self) -> f64 {
        (self.along.scale_m / 6.0).min(10.0)
    }
}

/// One kind of bottom besides hard coral: macroalgae, turf, sand ...
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Category {
    pub name: String,
    /// Mean cover over all sites of the zone at the first visit, as a share of the whole bottom.
    pub cover: f64,
    /// SD between sites of its true cover that comes from its own site effect, as a share of the whole bottom. What hard
    /// coral and the categories before it leave free differs between sites too; that spread comes on top. The last
    /// category has no effect of its own.
    pub between_sites_sd: f64,
    /// Scale of the patches, metres.
    pub scale_m: f64,
}
