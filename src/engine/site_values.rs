use super::plan::Plan;

/// The site means of one trial, for tests that look at the sites one by one.
pub struct SiteValues {
    /// For each zone, reading, number of units, state and site.
    means: Vec<f64>,
    readings: usize,
    most_units: usize,
    most_sites: usize,
    states: usize,
}

impl SiteValues {
    pub fn new(plan: &Plan, most_units: usize) -> Self {
        let most_sites = plan.sites.iter().flatten().copied().max().unwrap_or(0);
        let (readings, states) = (plan.layout.readings.len(), plan.states);
        let cells = plan.study.zones.len() * readings * most_units * states;
        Self { means: vec![f64::NAN; cells * most_sites], readings, most_units, most_sites, states }
    }

    fn cell(&self, (zone, reading, units): (usize, usize, usize), state: usize) -> usize {
        let place = (zone * self.readings + reading) * self.most_units + units;
        (place * self.states + state) * self.most_sites
    }

    pub fn keep(&mut self, at: (usize, usize, usize), (state, site): (usize, usize), mean: f64) {
        let cell = self.cell(at, state);
        self.means[cell + site] = mean;
    }

    /// The means of the first so many sites.
    pub fn means(&self, at: (usize, usize, usize), state: usize, sites: usize) -> &[f64] {
        let from = self.cell(at, state);
        &self.means[from..from + sites]
    }
}
