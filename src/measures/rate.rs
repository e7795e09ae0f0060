use serde::Serialize;

/// A probability estimated by simulation: it never appears without its error.
///
/// `hits` of `trials`; the error is one standard error, `sqrt(p (1 - p) / trials)` (Morris, White & Crowther 2019,
/// Statistics in Medicine 38:2074, section 5.2). At 0 or all hits that formula gives 0, which would claim certainty;
/// there the estimate is pulled in by half a hit first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Rate {
    pub hits: u64,
    pub trials: u64,
}

impl Rate {
    pub fn new(hits: u64, trials: u64) -> Self {
        assert!(hits <= trials, "{hits} hits in {trials} trials");
        Self { hits, trials }
    }

    /// The estimate; `NaN` without trials.
    pub fn value(self) -> f64 {
        self.hits as f64 / self.trials as f64
    }

    /// One standard error of the estimate.
    pub fn error(self) -> f64 {
        let n = self.trials as f64;
        let hits = (self.hits as f64).clamp(0.5_f64.min(n / 2.0), (n - 0.5).max(n / 2.0));
        let p = hits / n;
        (p * (1.0 - p) / n).sqrt()
    }

    /// The two counts together, as if the trials had been run in one go.
    pub fn merged(self, other: Rate) -> Rate {
        Rate { hits: self.hits + other.hits, trials: self.trials + other.trials }
    }
}

/// The number of trials at which the error of a rate near `p` is `error` (same formula, solved; rounded up).
pub fn trials_for(p: f64, error: f64) -> u64 {
    (p * (1.0 - p) / (error * error) - 1e-9).ceil() as u64
}

/// The number of trials at which the error of a mean of values with standard deviation `sd` is `error` (rounded up).
pub fn trials_for_mean(sd: f64, error: f64) -> u64 {
    let ratio = sd / error;
    (ratio * ratio - 1e-9).ceil() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Morris, White & Crowther 2019, section 5.4 eq. (3) and section 7.1.
    #[test]
    fn errors_match_the_published_worked_numbers() {
        assert_eq!(trials_for(0.95, 0.005), 1900);
        assert_eq!(trials_for(0.5, 0.005), 10_000);
        assert_eq!(trials_for(0.8, 0.01), 1600);
        assert!((Rate::new(800, 1000).error() - 0.0126491).abs() < 1e-7);
        assert!((Rate::new(1520, 1600).error() - 0.00544862).abs() < 1e-8);
        assert!((Rate::new(800, 1600).error() - 0.0125).abs() < 1e-12);
    }

    #[test]
    fn a_rate_of_none_or_all_still_has_an_error() {
        assert!(Rate::new(0, 100).error() > 0.0);
        assert!(Rate::new(100, 100).error() > 0.0);
        assert_eq!(Rate::new(0, 100).value(), 0.0);
    }
}
