//! A test held to its level: what it sees when it may ring falsely no more often than it promises.
//!
//! A test that rings too often where nothing changed sees changes too often as well. Beside its level it is therefore made
//! at a ladder of stricter ones; the level at which it rings falsely as often as promised lies between two of them, and
//! so does its power there (size-adjusted power: reject beyond the critical value that the simulation has where nothing
//! changed; common practice, no source).

use super::tally::Tally;
use crate::analysis::{CriticalT, TTest, Tail};

/// Stricter levels that are tried beside alpha.
pub const STEPS: usize = 9;

/// How often alpha is halved at each step: power between two of them is told to half a hundredth, and a test whose error is
/// twice what it takes it to be is still held.
const HALVED: [f64; STEPS] = [0.5, 1.0, 2.0, 3.0, 4.5, 6.0, 8.0, 10.0, 12.0];

/// Level of a step: the second is half of alpha, the last a 4096th of it.
pub fn level(alpha: f64, step: usize) -> f64 {
    alpha * libm::exp2(-HALVED[step])
}

/// Critical values of the stricter levels.
#[derive(Clone, Debug)]
pub struct Ladder(Vec<CriticalT>);

impl Ladder {
    pub fn new(alpha: f64, tail: Tail) -> Self {
        Self((0..STEPS).map(|step| CriticalT::new(level(alpha, step), tail)).collect())
    }

    /// How many of the steps a test passes that rejects at alpha.
    pub fn passed(&self, test: &TTest) -> usize {
        self.0.iter().take_while(|critical| test.rejects(critical, 0.0)).count()
    }
}

/// How many of the steps a permutation passes.
pub fn passed(alpha: f64, p_value: f64) -> usize {
    (0..STEPS).take_while(|&step| p_value <= level(alpha, step) * (1.0 + 1e-12)).count()
}

/// Power of a test that is held to its level, and where it must be made for that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Level at which the test rings falsely as often as promised; alpha itself where it does not ring too often.
    pub level: f64,
    pub power: f64,
    /// One standard error: of the power, and of the false alarms by which the level was found (as if the two had nothing in
    /// common).
    pub error: f64,
}

impl Held {
    /// From trials where nothing changed, and under a change. `None` where even the strictest step rings too often.
    ///
    /// Between two steps power is linear in the false alarm: a chord of a curve that bends down, so never too high.
    pub fn new(alpha: f64, unchanged: &Tally, changed: &Tally) -> Option<Self> {
        let rung = |tally: &Tally, step: usize| {
            let hits = if step == 0 { tally.hits } else { tally.stricter[step - 1] };
            hits as f64 / tally.trials as f64
        };
        let point = |step: usize| (rung(unchanged, step), rung(changed, step));
        let level_of = |step: usize| if step == 0 { alpha } else { level(alpha, step - 1) };
        let below = (0..=STEPS).find(|&step| point(step).0 <= alpha)?;
        if below == 0 {
            return Some(Self { level: alpha, power: point(0).1, error: changed.rejection().error() });
        }
        let ((low, low_power), (high, high_power)) = (point(below), point(below - 1));
        let share = (alpha - low) / (high - low);
        let power = low_power + share * (high_power - low_power);
        let level = libm::exp(
            libm::log(level_of(below)) + share * (libm::log(level_of(below - 1)) - libm::log(level_of(below))),
        );
        // Over more than one step, because few false alarms lie between two.
        let (from, to) = (point((below + 1).min(STEPS)), point(below.saturating_sub(2)));
        let slope = (to.1 - from.1) / (to.0 - from.0);
        let n = changed.trials as f64;
        let of_power = changed.share_error(power);
        let of_level = slope * (alpha * (1.0 - alpha) / n).sqrt();
        Some(Self { level, power, error: of_power.hypot(of_level) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{normal_cdf, normal_quantile};

    /// Tallies of a two-sided normal test whose statistic has so large a spread and such a mean, without any error.
    fn tally(spread: f64, mean: f64) -> Tally {
        const TRIALS: u64 = 1_000_000_000;
        let rejects = |alpha: f64| {
            let critical = normal_quantile(1.0 - 0.5 * alpha);
            let share = normal_cdf((mean - critical) / spread) + normal_cdf((-mean - critical) / spread);
            (share * TRIALS as f64).round() as u64
        };
        Tally {
            trials: TRIALS,
            hits: rejects(0.05),
            stricter: std::array::from_fn(|step| rejects(level(0.05, step))),
            ..Tally::default()
        }
    }

    /// A statistic that varies `s` times as much as the test takes it to must be read against `s` times its critical value:
    /// its power is then that of the same change in units of the true error.
    #[test]
    fn a_test_that_takes_its_error_too_small_is_held_to_its_level() {
        for (spread, mean) in [(1.3, 3.0), (1.3, 4.2), (1.15, 2.5), (1.6, 5.0)] {
            let (unchanged, changed) = (tally(spread, 0.0), tally(spread, mean));
            let held = Held::new(0.05, &unchanged, &changed).unwrap();
            let exact = tally(1.0, mean / spread).rejection().value();
            assert!((-0.006..=1e-6).contains(&(held.power - exact)), "{spread} {mean}: {held:?}, exactly {exact}");
            let level = 2.0 * normal_cdf(-spread * normal_quantile(0.975));
            assert!((held.level / level - 1.0).abs() < 0.09, "{held:?}, exactly {level}");
            assert!(held.power < changed.rejection().value() && held.error > 0.0);
        }
    }

    #[test]
    fn a_test_that_keeps_its_level_is_left_alone_and_one_that_never_does_has_no_power() {
        let (unchanged, changed) = (tally(0.9, 0.0), tally(0.9, 2.5));
        let held = Held::new(0.05, &unchanged, &changed).unwrap();
        assert_eq!((held.level, held.power), (0.05, changed.rejection().value()));
        assert_eq!(Held::new(0.05, &tally(3.0, 0.0), &changed), None);
    }

    #[test]
    fn both_kinds_of_tests_climb_the_same_steps() {
        assert!((level(0.05, 1) - 0.025).abs() < 1e-15 && (level(0.05, STEPS - 1) - 0.05 / 4096.0).abs() < 1e-15);
        assert_eq!((passed(0.05, 0.05), passed(0.05, 0.025), passed(0.05, 0.0)), (0, 2, STEPS));
    }
}
