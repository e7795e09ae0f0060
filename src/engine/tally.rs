use crate::measures::Rate;

/// What many trials of one design gave in one state; all sums, so that tallies add up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    pub trials: u64,
    /// Trials in which the test rejected.
    pub hits: u64,
    /// Trials in which the interval held the truth of the scope.
    pub holds: u64,
    /// Trials that gave no answer.
    pub degenerate: u64,
    /// Trials in which a test that takes lines for replicates rejected.
    pub line_hits: u64,
    /// Trials that gave an estimate.
    pub told: u64,
    /// Of estimate - truth.
    pub error: f64,
    pub error_square: f64,
    pub error_fourth: f64,
    /// Of the half-width, over trials with an answer.
    pub half_width: f64,
    pub half_width_square: f64,
    /// Of animals: units with at least one, its square, and trials in which any unit had one.
    pub occupied: u64,
    pub occupied_square: u64,
    pub met: u64,
}

impl Tally {
    pub fn add(&mut self, other: &Tally) {
        self.trials += other.trials;
        self.hits += other.hits;
        self.holds += other.holds;
        self.degenerate += other.degenerate;
        self.line_hits += other.line_hits;
        self.told += other.told;
        self.error += other.error;
        self.error_square += other.error_square;
        self.error_fourth += other.error_fourth;
        self.half_width += other.half_width;
        self.half_width_square += other.half_width_square;
        self.occupied += other.occupied;
        self.occupied_square += other.occupied_square;
        self.met += other.met;
    }

    pub fn rejection(&self) -> Rate {
        Rate::new(self.hits, self.trials)
    }

    /// Counts the occupied units of one trial.
    pub fn add_occupied(&mut self, occupied: u64) {
        self.occupied += occupied;
        self.occupied_square += occupied * occupied;
        self.met += u64::from(occupied > 0);
    }

    /// Share of so many units a trial with at least one animal, and its simulation error (trials are the replicates).
    pub fn occupied_share(&self, units: f64) -> (f64, f64) {
        let n = self.trials as f64;
        let mean = self.occupied as f64 / n;
        let variance = (self.occupied_square as f64 / n - mean * mean).max(0.0) / (n - 1.0).max(1.0);
        (mean / units, variance.sqrt() / units)
    }

    /// How often any unit of a survey had an animal.
    pub fn met_share(&self) -> Rate {
        Rate::new(self.met, self.trials)
    }

    /// Trials without an answer made no interval; they are left out here and counted apart.
    pub fn interval_truth(&self) -> Rate {
        Rate::new(self.holds, self.trials - self.degenerate)
    }

    /// Mean of estimate - truth and its simulation error.
    pub fn bias(&self) -> (f64, f64) {
        let n = self.told as f64;
        (self.error / n, (self.variance() / n).sqrt())
    }

    fn variance(&self) -> f64 {
        let n = self.told as f64;
        ((self.error_square - self.error * self.error / n) / (n - 1.0)).max(0.0)
    }

    /// Standard deviation of estimate - truth and its simulation error (delta method on the variance, whose error is
    /// `sqrt((m4 - v^2) / n)`; the small mean is neglected in the fourth moment).
    pub fn standard_error(&self) -> (f64, f64) {
        let n = self.told as f64;
        let variance = self.variance();
        let fourth = self.error_fourth / n;
        let of_variance = ((fourth - variance * variance).max(0.0) / n).sqrt();
        let sd = variance.sqrt();
        (sd, if sd > 0.0 { of_variance / (2.0 * sd) } else { 0.0 })
    }

    pub fn mean_half_width(&self) -> Option<f64> {
        let answered = self.trials - self.degenerate;
        (answered > 0).then(|| self.half_width / answered as f64)
    }

    /// Simulation error of the mean half-width.
    pub fn half_width_error(&self) -> Option<f64> {
        let n = (self.trials - self.degenerate) as f64;
        let mean = self.mean_half_width()?;
        (n > 1.0).then(|| ((self.half_width_square / n - mean * mean).max(0.0) / (n - 1.0)).sqrt())
    }
}
