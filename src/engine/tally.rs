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
    /// Of estimate - truth.
    pub error: f64,
    pub error_square: f64,
    pub error_fourth: f64,
    /// Of the half-width, over trials with an answer.
    pub half_width: f64,
}

impl Tally {
    pub fn add(&mut self, other: &Tally) {
        self.trials += other.trials;
        self.hits += other.hits;
        self.holds += other.holds;
        self.degenerate += other.degenerate;
        self.line_hits += other.line_hits;
        self.error += other.error;
        self.error_square += other.error_square;
        self.error_fourth += other.error_fourth;
        self.half_width += other.half_width;
    }

    pub fn rejection(&self) -> Rate {
        Rate::new(self.hits, self.trials)
    }

    /// Trials without an answer made no interval; they are left out here and counted apart.
    pub fn interval_truth(&self) -> Rate {
        Rate::new(self.holds, self.trials - self.degenerate)
    }

    /// Mean of estimate - truth and its simulation error.
    pub fn bias(&self) -> (f64, f64) {
        let n = self.trials as f64;
        (self.error / n, (self.variance() / n).sqrt())
    }

    fn variance(&self) -> f64 {
        let n = self.trials as f64;
        ((self.error_square - self.error * self.error / n) / (n - 1.0)).max(0.0)
    }

    /// Standard deviation of estimate - truth and its simulation error (delta method on the variance, whose error is
    /// `sqrt((m4 - v^2) / n)`; the small mean is neglected in the fourth moment).
    pub fn standard_error(&self) -> (f64, f64) {
        let n = self.trials as f64;
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
}
