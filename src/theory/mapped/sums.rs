use super::super::unit_moments::{LayoutMoments, UnitMoments};

/// What a unit at one place tells in one state.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    /// In the mean over what is chance within the unit; NaN where it tells nothing.
    pub mean: f64,
    /// Variance of that chance, and its covariance with that of the first visit at the same marks.
    pub chance: f64,
    pub shared_chance: f64,
}

impl Told {
    /// Of a unit in which nothing is chance.
    pub fn exactly(mean: f64) -> Self {
        Self { mean, chance: 0.0, shared_chance: 0.0 }
    }
}

/// Sums over places, for every state.
#[derive(Clone, Debug)]
pub struct Sums {
    places: f64,
    states: Vec<StateSum>,
}

#[derive(Clone, Copy, Debug, Default)]
struct StateSum {
    known: f64,
    mean: f64,
    square: f64,
    chance: f64,
    /// Of places where the first visit tells something too.
    both: f64,
    first: f64,
    second: f64,
    product: f64,
    shared_chance: f64,
}

impl Sums {
    pub fn new(states: usize) -> Self {
        Self { places: 0.0, states: vec![StateSum::default(); states] }
    }

    /// Adds a place: `told` in every state.
    pub fn add(&mut self, told: impl Fn(usize) -> Told) {
        self.places += 1.0;
        let first = told(0).mean;
        for (s, sum) in self.states.iter_mut().enumerate() {
            let Told { mean, chance, shared_chance } = told(s);
            if mean.is_nan() {
                continue;
            }
            sum.known += 1.0;
            sum.mean += mean;
            sum.square += mean * mean;
            sum.chance += chance;
            if !first.is_nan() {
                sum.both += 1.0;
                sum.first += first;
                sum.second += mean;
                sum.product += first * mean;
                sum.shared_chance += shared_chance;
            }
        }
    }

    /// Moments of one unit. `truth` is what is on the map in every state, `same_marks` whether the places of the second visit
    /// are those of the first.
    ///
    /// Where some places tell nothing, the mean of n units is one of fewer: the variance is that of the others over the share
    /// of places that tell something (right for many units).
    pub fn moments(&self, truth: Vec<f64>, same_marks: bool, read_by_crew: bool) -> UnitMoments {
        let each = |of: &dyn Fn(&StateSum) -> f64| self.states.iter().map(of).collect::<Vec<f64>>();
        let nil = vec![0.0; self.states.len()];
        UnitMoments {
            truth,
            mean: each(&|s| s.mean / s.known),
            variance: each(&|s| {
                let spread = (s.square / s.known - (s.mean / s.known).powi(2)).max(0.0);
                (spread + s.chance / s.known) * self.places / s.known
            }),
            same_marks: each(&|s| {
                if !same_marks {
                    return f64::NAN;
                }
                let covariance = (s.product - s.first * s.second / s.both + s.shared_chance) / s.both;
                covariance * self.places / s.both
            }),
            pair: nil.clone(),
            across: nil.clone(),
            layout: LayoutMoments::default(),
            site_truth: nil.clone(),
            site_truth_across: nil,
            read_by_crew,
        }
    }
}
