use super::plan::Plan;
use crate::analysis::sizes::SizeCounts;

/// What one trial keeps of every site, for tests that look at the sites one by one.
pub struct SiteValues {
    /// Site means for each zone, reading, number of units, state and site; empty where no test needs them.
    means: Vec<f64>,
    /// Sizes for each zone, column of size structure, number of units, state and site.
    sizes: Vec<SizeCounts>,
    readings: usize,
    sized: usize,
    most_units: usize,
    most_sites: usize,
    states: usize,
}

/// Zone, reading (or column of size structure, by its place among them) and number of units.
pub type At = (usize, usize, usize);

impl SiteValues {
    pub fn new(plan: &Plan, most_units: usize) -> Self {
        let most_sites = plan.sites.iter().flatten().copied().max().unwrap_or(0);
        let (zones, states) = (plan.study.zones.len(), plan.states);
        let (readings, sized) = (plan.layout.readings.len(), &plan.layout.sized);
        let each = zones * most_units * states * most_sites;
        let means = if plan.keeps_means() { vec![f64::NAN; each * readings] } else { Vec::new() };
        let mut sizes = Vec::new();
        if plan.states > 1 {
            for _ in 0..zones {
                let of = |classes: usize| vec![SizeCounts::none(classes); each / zones];
                sizes.extend(sized.iter().flat_map(|sized| of(sized.classes.count())));
            }
        }
        Self { means, sizes, readings, sized: sized.len(), most_units, most_sites, states }
    }

    fn cell(&self, (zone, place, units): At, places: usize, state: usize) -> usize {
        (((zone * places + place) * self.most_units + units) * self.states + state) * self.most_sites
    }

    pub fn keep(&mut self, at: At, (state, site): (usize, usize), mean: f64) {
        let cell = self.cell(at, self.readings, state);
        if let Some(kept) = self.means.get_mut(cell + site) {
            *kept = mean;
        }
    }

    /// The means of the first so many sites.
    pub fn means(&self, at: At, state: usize, sites: usize) -> &[f64] {
        let from = self.cell(at, self.readings, state);
        &self.means[from..from + sites]
    }

    pub fn keep_sizes(&mut self, at: At, (state, site): (usize, usize), sizes: &SizeCounts) {
        let cell = self.cell(at, self.sized, state);
        if let Some(kept) = self.sizes.get_mut(cell + site) {
            kept.clone_from(sizes);
        }
    }

    /// The sizes of the first so many sites.
    pub fn sizes(&self, at: At, state: usize, sites: usize) -> &[SizeCounts] {
        let from = self.cell(at, self.sized, state);
        &self.sizes[from..from + sites]
    }
}
