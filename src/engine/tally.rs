use super::held::STEPS;
use crate::measures::Rate;

/// What many trials of one design gave in one state; all sums, so that tallies add up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    pub trials: u64,
    /// Trials in which the test rejected.
    pub hits: u64,
    /// The same at each of the stricter levels of `held`.
    pub stricter: [u64; STEPS],
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
    pub error_cube: f64,
    pub error_fourth: f64,
    /// Of the half-width, over trials with an answer.
    pub half_width: f64,
    pub half_width_square: f64,
    /// Of animals: units with at least one, its square, and trials in which any unit had one.
    pub occupied: u64,
    pub occupied_square: u64,
    pub met: u64,
    /// Of what is biased: trials in which the interval held what the method writes in the long run.
    pub holds_written: u64,
    /// Of fish, at the first visit: what is written against what is there on the same sites, trial by trial.
    pub written: WrittenRatio,
}

/// Sums of what is written and of what is there, pairs that are independent of each other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WrittenRatio {
    pub pairs: u64,
    written: f64,
    there: f64,
    written_square: f64,
    there_square: f64,
    product: f64,
}

impl WrittenRatio {
    pub fn push(&mut self, written: f64, there: f64) {
        self.pairs += 1;
        self.written += written;
        self.there += there;
        self.written_square += written * written;
        self.there_square += there * there;
        self.product += written * there;
    }

    fn add(&mut self, other: &WrittenRatio) {
        self.pairs += other.pairs;
        self.written += other.written;
        self.there += other.there;
        self.written_square += other.written_square;
        self.there_square += other.there_square;
        self.product += other.product;
    }

    /// Mean written over mean there, and its error from what pairs leave of it: sites that happen to be rich or poor make both
    /// so, and drop out (ratio estimator: Cochran 1977, Sampling Techniques, 3rd ed., section 6.3; cited from memory).
    pub fn ratio(&self) -> Option<(f64, f64)> {
        let n = self.pairs as f64;
        let ratio = self.written / self.there;
        let left = self.written_square - 2.0 * ratio * self.product + ratio * ratio * self.there_square;
        let error = (left.max(0.0) / (n * (n - 1.0))).sqrt() / (self.there / n);
        // Where nothing was written in any trial, the error of nothing is not known.
        let is_told = self.pairs > 1 && self.written > 0.0 && ratio.is_finite() && error.is_finite();
        is_told.then_some((ratio, error))
    }
}

impl Tally {
    pub fn add(&mut self, other: &Tally) {
        self.trials += other.trials;
        self.hits += other.hits;
        self.stricter.iter_mut().zip(&other.stricter).for_each(|(sum, hits)| *sum += hits);
        self.holds += other.holds;
        self.degenerate += other.degenerate;
        self.line_hits += other.line_hits;
        self.told += other.told;
        self.error += other.error;
        self.error_square += other.error_square;
        self.error_cube += other.error_cube;
        self.error_fourth += other.error_fourth;
        self.half_width += other.half_width;
        self.half_width_square += other.half_width_square;
        self.occupied += other.occupied;
        self.occupied_square += other.occupied_square;
        self.met += other.met;
        self.holds_written += other.holds_written;
        self.written.add(&other.written);
    }

    pub fn rejection(&self) -> Rate {
        Rate::new(self.hits, self.trials)
    }

    /// Counts a rejection that passes so many of the stricter levels.
    pub fn reject(&mut self, steps: usize) {
        self.hits += 1;
        self.stricter[..steps].iter_mut().for_each(|hits| *hits += 1);
    }

    /// One standard error of a share of the trials; as of a [`Rate`], never nil.
    pub fn share_error(&self, share: f64) -> f64 {
        let hits = (share * self.trials as f64).round() as u64;
        Rate::new(hits.min(self.trials), self.trials).error()
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

    /// A trial without an answer made no interval, and what is not there holds nothing.
    pub fn interval_truth(&self) -> Rate {
        Rate::new(self.holds, self.trials)
    }

    /// How often the interval held what the method writes in the long run.
    pub fn interval_written(&self) -> Rate {
        Rate::new(self.holds_written, self.trials)
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
    /// `sqrt((m4 - v^2) / n)` with the fourth moment about the mean: what is counted of fish may be far from the truth).
    pub fn standard_error(&self) -> (f64, f64) {
        let n = self.told as f64;
        let variance = self.variance();
        let (mean, square) = (self.error / n, self.error_square / n);
        let fourth =
            self.error_fourth / n - 4.0 * mean * self.error_cube / n + 6.0 * mean * mean * square - 3.0 * mean.powi(4);
        let of_variance = ((fourth - variance * variance).max(0.0) / n).sqrt();
        let sd = variance.sqrt();
        (sd, if sd > 0.0 { of_variance / (2.0 * sd) } else { 0.0 })
    }

    /// Whether any trial made an interval.
    pub fn has_interval(&self) -> bool {
        self.trials > self.degenerate
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose, normal_from_uniform};

    /// Normal errors about a mean many times their spread: an SD of n of them is known to `sd / sqrt(2 (n - 1))`.
    #[test]
    fn the_error_of_a_spread_does_not_know_the_bias() {
        for bias in [0.0, 3.0, -40.0] {
            let mut tally = Tally::default();
            for trial in 0..4_000 {
                let normal = normal_from_uniform(Key::seed(9).uniform(Purpose::Test, trial));
                let error = bias + 0.5 * normal;
                tally.told += 1;
                tally.error += error;
                tally.error_square += error * error;
                tally.error_cube += error.powi(3);
                tally.error_fourth += error.powi(4);
            }
            let (sd, error) = tally.standard_error();
            let exact = 0.5 / (2.0f64 * 4_000.0).sqrt();
            assert!((sd - 0.5).abs() < 4.0 * exact, "{bias}: {sd}");
            // The fourth moment of so many normals is known to some 5 %, its error to half of that.
            assert!((error / exact - 1.0).abs() < 0.15, "{bias}: {error} {exact}");
        }
    }

    /// Rich and poor sites (lognormal, CV some 80 %) of which 56 of 100 fish are written, with an own error of 10 %: the ratio
    /// of means is far surer than the mean of what is written, and its printed error is what it varies by.
    #[test]
    fn rich_sites_drop_out_of_the_ratio_of_what_is_written() {
        let run = |seed: u64| {
            let normal = |of: u64, trial: u64| {
                normal_from_uniform(Key::seed(seed).child(Purpose::Test, trial).uniform(Purpose::Test, of))
            };
            let mut sums = [WrittenRatio::default(); 2];
            for trial in 0..60 {
                let there = libm::exp(0.7 * normal(0, trial));
                sums[trial as usize % 2].push(0.56 * there * (1.0 + 0.1 * normal(1, trial)), there);
            }
            let [mut all, other] = sums;
            all.add(&other);
            all.ratio().unwrap()
        };
        let ratios: Vec<(f64, f64)> = (0..300).map(run).collect();
        let found: Vec<f64> = ratios.iter().map(|of| of.0).collect();
        assert_mean(&found, 0.56);
        let spread = (found.iter().map(|ratio| (ratio - 0.56).powi(2)).sum::<f64>() / 300.0).sqrt();
        let printed = (ratios.iter().map(|of| of.1 * of.1).sum::<f64>() / 300.0).sqrt();
        // 300 values tell a spread to 4 %; without their truth these sites would tell .56 to .06.
        assert!((printed / spread - 1.0).abs() < 0.16 && printed < 0.015, "{printed} {spread}");
        let mut one = WrittenRatio::default();
        one.push(1.0, 2.0);
        assert_eq!(one.ratio(), None);
    }
}
