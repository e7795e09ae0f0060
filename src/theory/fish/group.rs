use super::remembered::{Swimmers, counted_of};
use super::swept::Counted;
use super::values::{ValueMoments, value_moments};
use crate::design::{FishGroup, FishMeasure};
use crate::reef::Visit;
use crate::reef::fish::SchoolSizes;
use crate::survey::{Dimensions, MethodKind};

/// What one unit counts of one group: how many, in the mean, of those that are there, and how that varies where the
/// density is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroupCounts {
    /// What is told of one fish per m2 of density, by each area: `mean = density area_m2 per_m2 E[value]`.
    pub counted: Counted,
    /// 1 over the area that is told.
    pub per_m2: f64,
    /// How many others swim with a fish.
    pub pairs_per_fish: f64,
    pub values: ValueMoments,
}

impl GroupCounts {
    /// At a visit; `None` where the method does not count the group.
    pub fn of(
        (kind, dimensions): (&MethodKind, Dimensions),
        (group, visit): (&FishGroup, Visit),
        measure: FishMeasure,
    ) -> Option<Self> {
        let (watch, count) = (kind.watch(dimensions, group.hides)?, kind.fish_count()?);
        let area = kind.told_area_m2(dimensions, group.hides)?;
        let spec = &group.spec;
        let sight = group.sighting(visit);
        let mut counted = counted_of(&Swimmers {
            watch,
            movement: spec.movement,
            spread_m: spec.spread_m,
            sighting: *sight,
            left: count.left_by_others,
        });
        // Curious fish come in schools: their schools are denser, and each fish is kept with a lower chance.
        counted.pair_m2 /= sight.greatest().max(1.0);
        Some(Self {
            counted,
            per_m2: 1.0 / area,
            pairs_per_fish: SchoolSizes::new(spec.schools).pairs_per_fish(),
            values: value_moments((spec.lengths, spec.weight, sight), &count.lengths, measure),
        })
    }

    /// What a unit tells in the mean, of one fish per m2.
    pub fn mean_of(&self, value: &ValueMoments) -> f64 {
        self.per_m2 * self.counted.area_m2 * value.first
    }

    /// Variance where the density is known: of `density` fish per m2, an imposed loss having left `survival` of each school.
    pub fn variance_of(&self, value: &ValueMoments, density: f64, survival: f64) -> f64 {
        let alone = self.counted.area_m2 * value.square;
        let together = survival * self.pairs_per_fish * self.counted.pair_m2 * value.pair;
        self.per_m2 * self.per_m2 * density * (alone + together)
    }
}
