use super::departure::Departure;

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
    /// Covariance of two units of one site in one visit, laid without regard to each other.
    pub pair: Vec<f64>,
    /// Covariance of one unit's first reading with its reading in the state, at the same marks (index 0 unused).
    pub same_marks: Vec<f64>,
    /// Covariance of two different units of one site across the visits (index 0 unused), laid without regard to each other.
    pub across: Vec<f64>,
    /// What their layout changes in the two.
    pub layout: LayoutMoments,
    /// Variance of the truth of whole sites in each state, and its covariance with the first visit's (index 0 unused).
    /// Units of one site share more than its truth: its patches, which are chance.
    pub site_truth: Vec<f64>,
    pub site_truth_across: Vec<f64>,
    /// Whether a crew's ratios of written to true apply: to what is read on the bottom, not to an indicator by components.
    pub read_by_crew: bool,
}

/// How the layout of a site changes what two of its units share, in every state; nothing where they are laid
/// independently.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LayoutMoments {
    pub within: Vec<Departure>,
    /// Across visits: of different units at the same marks.
    pub across: Vec<Departure>,
    /// The most units that a site has room for.
    pub most_units: Option<usize>,
    /// Share of layouts so crowded that their units lie in rows.
    pub in_rows: f64,
}

impl LayoutMoments {
    fn within(&self, state: usize, n: f64) -> f64 {
        self.within.get(state).map_or(0.0, |departure| departure.of(n))
    }

    fn across(&self, state: usize, n: f64) -> f64 {
        self.across.get(state).map_or(0.0, |departure| departure.of(n))
    }

    /// The same with every departure times a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        let scaled = |all: &[Departure]| all.iter().map(|departure| departure.scaled(factor)).collect();
        Self {
            within: scaled(&self.within),
            across: scaled(&self.across),
            most_units: self.most_units,
            in_rows: self.in_rows,
        }
    }
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
            layout: LayoutMoments::default(),
            site_truth: nil.clone(),
            site_truth_across: nil,
            read_by_crew: true,
        }
    }

    /// The mean of several, each with its weight: what holds within each of several kinds of sites; none without any.
    pub fn mean_over(of: impl Iterator<Item = (Self, f64)>) -> Option<Self> {
        let scaled = |(mut moments, weight): (Self, f64)| {
            moments.columns().into_iter().flatten().for_each(|value| *value *= weight);
            moments
        };
        of.map(scaled).reduce(|mut sum, mut other| {
            for (to, from) in sum.columns().into_iter().zip(other.columns()) {
                to.iter_mut().zip(from).for_each(|(to, from)| *to += *from);
            }
            sum
        })
    }

    /// Everything that is told for each state.
    fn columns(&mut self) -> [&mut Vec<f64>; 8] {
        [
            &mut self.truth,
            &mut self.mean,
            &mut self.variance,
            &mut self.pair,
            &mut self.same_marks,
            &mut self.across,
            &mut self.site_truth,
            &mut self.site_truth_across,
        ]
    }

    /// The same of the first so many states: with one visit what is read has one.
    pub fn of_first(mut self, states: usize) -> Self {
        self.columns().into_iter().for_each(|values| values.truncate(states));
        self
    }

    /// The number of units that can be laid, of those asked for.
    pub fn laid(&self, units: usize) -> usize {
        self.layout.most_units.map_or(units, |most| units.min(most))
    }

    /// Covariance of two of `n` units of one site in one visit, in the mean over their pairs.
    pub fn pair_of(&self, state: usize, n: f64) -> f64 {
        self.pair[state] + self.layout.within(state, n)
    }

    /// The same across the visits.
    pub fn across_of(&self, state: usize, n: f64) -> f64 {
        self.across[state] + self.layout.across(state, n)
    }

    /// Variance of the mean of `n` units of a site, as a draw from all sites.
    pub fn site_mean_variance(&self, state: usize, n: f64) -> f64 {
        (self.variance[state] + (n - 1.0) * self.pair_of(state, n)) / n
    }

    /// Covariance of the site's two means.
    pub fn site_mean_covariance(&self, state: usize, n: f64, same_marks: bool) -> f64 {
        if same_marks {
            (self.same_marks[state] + (n - 1.0) * self.across_of(state, n)) / n
        } else {
            self.across[state]
        }
    }

    /// Variance, about the truth of a site, of what all of its `n` units share: its patches, by chance. A layout that
    /// spreads units over the site may take away more than that (then it is negative).
    pub fn shared_by_chance(&self, state: usize, n: f64) -> f64 {
        (self.pair[state] - self.site_truth[state]).max(0.0) + self.layout.within(state, n)
    }

    /// The same of the difference between the visits.
    pub fn shared_by_chance_difference(&self, state: usize, n: f64) -> f64 {
        let both = self.pair[0] + self.pair[state] - self.site_truth[0] - self.site_truth[state];
        let independent = (both - 2.0 * (self.across[state] - self.site_truth_across[state])).max(0.0);
        let layout = self.layout.within(0, n) + self.layout.within(state, n) - 2.0 * self.layout.across(state, n);
        independent + layout
    }

    /// Variance of one unit about the mean of its site, as `n` units of a layout tell it.
    pub fn within_site(&self, state: usize, n: f64) -> f64 {
        (self.variance[state] - self.pair_of(state, n)).max(0.0)
    }

    /// Variance of the difference of one unit's readings about that of its site, at the same marks.
    pub fn within_site_difference(&self, state: usize, n: f64) -> f64 {
        let shared = self.same_marks[state] - self.across_of(state, n);
        (self.within_site(0, n) + self.within_site(state, n) - 2.0 * shared).max(0.0)
    }
}
