/// The chance that a colony survives a change, by its size: log odds are linear in ln diameter.
///
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeSurvival {
    /// Log odds that a disc of the diameter `at_m` survives.
    pub log_odds: f64,
    pub at_m: f64,
    /// How much the log odds rise with each factor e in diameter: above 0 large colonies live, below 0 small ones do.
    pub slope: f64,
}

impl SizeSurvival {
    /// The same chance for all sizes.
    pub fn even(survival: f64) -> Self {
        Self { log_odds: libm::log(survival / (1.0 - survival)), at_m: 1.0, slope: 0.0 }
    }

    /// The chance of a disc of this radius, m.
    pub fn of(&self, radius_m: f64) -> f64 {
        1.0 / (1.0 + libm::exp(-self.log_odds - self.slope * libm::log(2.0 * radius_m / self.at_m)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_log_odds_are_linear_in_ln_diameter() {
        let survival = SizeSurvival { at_m: 0.1, slope: 1.5, ..SizeSurvival::even(0.6) };
        assert!((survival.of(0.05) - 0.6).abs() < 1e-15);
        let odds = |radius: f64| survival.of(radius) / (1.0 - survival.of(radius));
        assert!((odds(0.2) / odds(0.1) - 2f64.powf(1.5)).abs() < 1e-9);
        for certain in [0.0, 1.0] {
            assert_eq!(SizeSurvival { slope: 1.5, ..SizeSurvival::even(certain) }.of(0.3), certain);
            assert_eq!(SizeSurvival::even(certain).of(0.3), certain);
        }
    }
}
