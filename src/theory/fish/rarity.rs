//! Whether rare fish are met at all.

use super::schools::chance_of_none;
use crate::analysis::presence::units_for_chance;
use crate::reef::fish::SchoolSizes;

/// The chance that a unit of an area has at least one counted fish, when they are so many per m2 in the mean, in schools that
/// are small against the unit, and each is counted with the chance `seen` by itself.
pub fn chance_to_meet(fish_per_m2: f64, area_m2: f64, sizes: &SchoolSizes, seen: f64) -> f64 {
    1.0 - chance_of_none(fish_per_m2 * area_m2 / sizes.mean(), sizes, seen)
}

/// Independent units with which at least one is met with a chance: `-ln(1 - chance) / (density area)` where fish are alone and
/// all counted. Infinite without fish.
pub fn units_to_meet(fish_per_m2: f64, area_m2: f64, sizes: &SchoolSizes, seen: f64, chance: f64) -> f64 {
    units_for_chance(chance_to_meet(fish_per_m2, area_m2, sizes, seen), chance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::fish::SchoolLaw;

    /// Reef sharks at one per km2 (Caribbean reef sharks .7-1.0, nurse sharks 1.3-1.8 per km2 off Cayman, by photographs and
    /// marks: Kohler et al. 2023, Frontiers in Marine Science 10:1230896); belts for 95 %, seen as a snapshot (computed).
    #[test]
    fn belts_for_a_shark() {
        let alone = SchoolSizes::new(SchoolLaw::Alone);
        for (area, belts) in [(60.0, 49_929.0), (250.0, 11_983.0), (1000.0, 2_996.0)] {
            assert_eq!(units_to_meet(1e-6, area, &alone, 1.0, 0.95), belts);
        }
        // Seen half of the time; in pairs, of which one is enough.
        assert_eq!(units_to_meet(1e-6, 500.0, &alone, 0.5, 0.95), 11_983.0);
        let pairs = SchoolSizes::new(SchoolLaw::Pairs);
        assert_eq!(units_to_meet(1e-6, 500.0, &pairs, 1.0, 0.95), 11_983.0);
        assert!(units_to_meet(0.0, 60.0, &alone, 1.0, 0.95).is_infinite());
    }
}
