use super::spec::AnimalSpec;

/// The calibrated law of one kind of animal in one zone: what the virtual reef and the closed forms both read. States are
/// those of [`crate::reef::CoralLaw`]: the first visit, the second without an imposed change, the second under each
/// change.
#[derive(Clone, Debug, PartialEq)]
pub struct AnimalLaw {
    pub spec: AnimalSpec,
    /// SD of ln density between sites that is the same at both visits.
    pub site_sd: f64,
    /// SD of ln density of a site in a year.
    pub site_year_sd: f64,
    /// Correlation of the patches between the visits.
    pub field_memory: f64,
    pub states: Vec<AnimalState>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnimalState {
    /// Mean density in the state over that of the first visit.
    pub ratio: f64,
    /// SD of ln density between sites that the imposed change brings.
    pub change_sd: f64,
}

impl AnimalState {
    pub const UNCHANGED: Self = Self { ratio: 1.0, change_sd: 0.0 };

    /// Share of the animals of a group that an imposed loss leaves.
    pub fn survival(&self) -> f64 {
        self.ratio.min(1.0)
    }

    /// Groups over those of the first visit: an imposed gain brings groups.
    pub fn group_ratio(&self) -> f64 {
        self.ratio.max(1.0)
    }
}

impl AnimalLaw {
    /// Variance of ln density in a state that all of a site shares.
    pub fn site_variance(&self, state: usize) -> f64 {
        let change = self.states[state].change_sd;
        self.site_sd * self.site_sd + self.site_year_sd * self.site_year_sd + change * change
    }

    /// Mean density of animals in a state, per m2.
    pub fn mean_density(&self, state: usize) -> f64 {
        self.spec.density_per_m2 * self.states[state].ratio
    }

    /// Mean density of groups in a state, per m2.
    pub fn mean_group_density(&self, state: usize) -> f64 {
        self.spec.density_per_m2 / self.spec.group_size() * self.states[state].group_ratio()
    }
}
