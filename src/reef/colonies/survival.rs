use super::marks::{Mark, mark_uniform};
use crate::reef::Colony;

/// The chance that a colony survives a change, by its size: log odds are linear in ln diameter.
///
/// A survival that does not depend on size is left to the density of the states (`CoralLaw`), which also leaves room for
/// an increase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeSurvival {
    /// Survival of a disc of the diameter `at_m`.
    pub survival: f64,
    pub at_m: f64,
    /// How much the log odds rise with each factor e in diameter: above 0 large colonies live, below 0 small ones do.
    pub slope: f64,
}

impl SizeSurvival {
    pub fn of(&self, radius_m: f64) -> f64 {
        let odds =
            libm::log(self.survival / (1.0 - self.survival)) + self.slope * libm::log(2.0 * radius_m / self.at_m);
        1.0 / (1.0 + libm::exp(-odds))
    }

    /// Takes the colonies out of `state` that do not survive; they are dropped from the list where they live in no other
    /// state. To be called on what a walk of the second visit lists, before any method reads it.
    pub fn apply(&self, colonies: &mut Vec<Colony>, state: usize) {
        colonies.retain_mut(|colony| {
            if mark_uniform(colony.id, Mark::Survival) >= self.of(f64::from(colony.radius)) {
                colony.alive &= !(1 << state);
            }
            colony.alive != 0
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose};

    #[test]
    fn survival_rises_with_size_and_spares_other_states() {
        let survival = SizeSurvival { survival: 0.5, at_m: 0.1, slope: 1.0 };
        assert!((survival.of(0.05) - 0.5).abs() < 1e-15 && survival.of(0.2) > 0.75);
        let all = |radius: f32| -> Vec<Colony> {
            let id = |i| Key::seed(4).child(Purpose::Colony, i).0;
            (0..20_000).map(|i| Colony { along: 0.0, across: 0.0, radius, id: id(i), alive: 0b110 }).collect()
        };
        for radius in [0.02f32, 0.05, 0.3] {
            let mut colonies = all(radius);
            survival.apply(&mut colonies, 2);
            assert_eq!(colonies.len(), 20_000);
            let alive: Vec<f64> = colonies.iter().map(|colony| f64::from(colony.alive >> 2 & 1)).collect();
            assert_mean(&alive, survival.of(f64::from(radius)));
            assert!(colonies.iter().all(|colony| colony.alive & 0b010 != 0));
            survival.apply(&mut colonies, 1);
            assert_eq!(colonies.iter().filter(|colony| colony.alive == 0).count(), 0);
        }
    }
}
