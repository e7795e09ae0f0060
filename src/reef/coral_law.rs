use super::deaths::Deaths;
use super::spec::ReefSpec;

/// The calibrated law of the hard corals of one zone: the numbers that the virtual reef and the closed forms both read.
///
/// Colony centres are Poisson with a density that is lognormal along four components: patches and the slow along-reef
/// field (both drifting between visits), the site, and the site in that year. A state is a visit under one of the
/// worlds asked for: state 0 is the first visit, state 1 the second visit when nothing is imposed, states 2, 3 ... the
/// second visit under each change.
#[derive(Clone, Debug, PartialEq)]
pub struct CoralLaw {
    pub spec: ReefSpec,
    /// Mean area of a colony, m2.
    pub mean_area_m2: f64,
    /// SD of ln density between sites, the same at all visits.
    pub site_sd: f64,
    /// SD of ln density of a site in a year.
    pub site_year_sd: f64,
    /// Correlation of patches and along-reef field between the visits.
    pub field_memory: f64,
    /// Share of colonies that are not renewed between the visits.
    pub same_colonies: f64,
    pub states: Vec<CoralState>,
    /// Variance of ln intensity over a point that patches contribute, averaged over the colonies' own size.
    pub patch_variance_over_a_point: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoralState {
    /// Mean cover over all sites.
    pub cover: f64,
    /// Mean number of discs over a point, E u; where the state has deaths, before them.
    pub mean_intensity: f64,
    /// SD of ln density between sites that the imposed change brings (0 where it is the same everywhere).
    pub change_sd: f64,
    /// How colonies die, where not all have the same chance.
    pub deaths: Option<Deaths>,
}

impl CoralState {
    /// A state that is the same on all sites and in which no colony has a better chance than another.
    pub fn even(cover: f64, mean_intensity: f64) -> Self {
        Self { cover, mean_intensity, change_sd: 0.0, deaths: None }
    }
}

impl CoralLaw {
    /// Variance of ln density at a place in a state, without patches.
    pub fn slow_variance(&self, state: usize) -> f64 {
        let along = self.spec.along.sd;
        let change = self.states[state].change_sd;
        along * along + self.site_sd * self.site_sd + self.site_year_sd * self.site_year_sd + change * change
    }

    /// Mean density of colony centres, per m2, in a state; before its deaths.
    pub fn mean_density(&self, state: usize) -> f64 {
        self.states[state].mean_intensity / self.mean_area_m2
    }
}
