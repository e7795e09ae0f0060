/// What a closed form knows of one kind of unit in one zone, for every state (first visit; second visit without change;
/// second visit under each change). In the unit of the indicator.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitMoments {
    /// What is there in each state, in the mean.
    pub truth: Vec<f64>,
    /// Mean reading in each state: the truth, but for what is written wrongly.
    pub mean: Vec<f64>,
    /// Variance of one reading, all levels of variation included.
    pub variance: Vec<f64>,
    /// Covariance of two units of one site in one visit.
    pub pair: Vec<f64>,
    /// Covariance of one unit's first reading with its reading in the state, at the same marks (index 0 unused).
    pub same_marks: Vec<f64>,
    /// Covariance of two different units of one site across the visits (index 0 unused).
    pub across: Vec<f64>,
    /// Variance of the truth of whole sites in each state, and its covariance with the first visit's (index 0 unused).
    /// Units of one site share more than its truth: its patches, which are chance.
    pub site_truth: Vec<f64>,
    pub site_truth_across: Vec<f64>,
    /// Whether a crew's ratios of written to true apply: to what is read on the bottom, not to an indicator by components.
    pub read_by_crew: bool,
}

impl UnitMoments {
    /// Of something that is nowhere.
    pub fn never_there(states: usize) -> Self {
        let nil = vec![0.0; states];
        Self {
            truth: nil.clone(),
            mean: nil.clone(),
            variance: nil.clone(),
            pair: nil.clone(),
            same_marks: nil.clone(),
            across: nil.clone(),
            site_truth: nil.clone(),
            site_truth_across: nil,
            read_by_crew: true,
        }
    }

    /// Variance of the mean of `n` units of a site, as a draw from all sites.
    pub fn site_mean_variance(&self, state: usize, n: f64) -> f64 {
        (self.variance[state] + (n - 1.0) * self.pair[state]) / n
    }

    /// Covariance of the site's two means.
    pub fn site_mean_covariance(&self, state: usize, n: f64, same_marks: bool) -> f64 {
        if same_marks { (self.same_marks[state] + (n - 1.0) * self.across[state]) / n } else { self.across[state] }
    }

    /// Variance, about the truth of a site, of what all units of the site share by chance: its patches.
    pub fn shared_by_chance(&self, state: usize) -> f64 {
        (self.pair[state] - self.site_truth[state]).max(0.0)
    }

    /// The same of the difference between the visits.
    pub fn shared_by_chance_difference(&self, state: usize) -> f64 {
        let both = self.pair[0] + self.pair[state] - self.site_truth[0] - self.site_truth[state];
        (both - 2.0 * (self.across[state] - self.site_truth_across[state])).max(0.0)
    }

    /// Variance of one unit about the mean of its site.
    pub fn within_site(&self, state: usize) -> f64 {
        (self.variance[state] - self.pair[state]).max(0.0)
    }

    /// Variance of the difference of one unit's readings about that of its site, at the same marks.
    pub fn within_site_difference(&self, state: usize) -> f64 {
        let shared = self.same_marks[state] - self.across[state];
        (self.within_site(0) + self.within_site(state) - 2.0 * shared).max(0.0)
    }
}
