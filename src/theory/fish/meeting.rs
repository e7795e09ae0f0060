use super::group::GroupCounts;
use super::patches::SharedPatches;
use crate::design::{FishGroup, FishIndicator, FishMeasure, Study, Zone};
use crate::random::{Key, Purpose, stream};
use crate::reef::Visit;
use crate::reef::fish::SchoolSizes;
use crate::survey::swim::Swim;
use crate::survey::{Dimensions, Ground, MethodKind};
use crate::theory::clusters::{Groups, Meeting, TwoInPatches};
use crate::theory::zone::{ZoneTheory, unit_of};
use rand::RngExt;
use rand_distr::StandardNormal;

/// Schools that are drawn to find from which area one is met: the error of the area is about two per cent where
/// a tenth of the schools within reach are met.
const SCHOOLS: usize = 20_000;

/// Where so many schools are in a unit in the mean nobody asks whether there is one.
const MET_ANYWAY: f64 = 4.0;

impl ZoneTheory {
    /// The chance of meeting at least one fish that an indicator counts, at the first visit: of one group or of several, all of
    /// them or those above a length. Over sites and patches, those of coral in common, in closed form; the area from which a school is met by single
    /// schools that are drawn with a key of their own. `None` also for what is met anyway.
    pub fn fish_meeting(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        told: &FishIndicator,
    ) -> Option<Meeting> {
        let limit_cm = match told.measure {
            FishMeasure::Density => 0.0,
            FishMeasure::LongerThan(cm) => cm,
            _ => return None,
        };
        let own: Vec<usize> = (0..zone.fish.len()).filter(|&index| told.includes(&zone.fish[index])).collect();
        let counts = |index: usize| {
            let of = GroupCounts::of((kind, dimensions), (&zone.fish[index], Visit::First), told.measure);
            of.map(|of| (index, of))
        };
        let counted: Vec<(usize, GroupCounts)> = own.iter().filter_map(|&index| counts(index)).collect();
        let schools_met = |(index, counts): &(usize, GroupCounts)| {
            // A school that is met puts no more fish into a unit than swim with a fish of it.
            let fish_met = self.fish[*index].law.mean_density(0) * counts.counted.area_m2 * counts.values.first;
            fish_met / (1.0 + counts.pairs_per_fish)
        };
        if counted.is_empty() || counted.iter().map(schools_met).sum::<f64>() > MET_ANYWAY {
            return None;
        }
        let ground = Ground { site: self.site, placement: study.placement };
        let unit_areas = kind.fish_count().map_or(0.0, |count| count.area_variance(dimensions));
        let of_group = |index: usize| {
            let (group, law) = (&zone.fish[index], &self.fish[index].law);
            let density = law.mean_density(0);
            let groups = Groups {
                density,
                groups_per_m2: density / SchoolSizes::new(group.spec.schools).mean(),
                // What the method does not count is there, and never met.
                area_m2: area_of_one((kind, dimensions), group, limit_cm).unwrap_or(0.0),
                with_site: if group.with_coral == 0.0 { 0.0 } else { self.site_coral().ln_sd(group.with_coral) },
                unit_areas,
            };
            self.fish[index].meeting_of_groups(groups, unit_of(dimensions), ground.sides(), 0)
        };
        let read = self.read_by(study, dimensions);
        let in_patches = |one: usize, other: usize| {
            let shared = SharedPatches::new(self.patches_of_two(own[one], own[other])?, &read);
            Some(TwoInPatches { kinds: (one, other), of_unit: shared.of_unit, of_two: shared.of_two })
        };
        let pairs = (0..own.len()).flat_map(|one| (0..one).map(move |other| (one, other)));
        let in_patches = pairs.filter_map(|(one, other)| in_patches(one, other)).collect();
        Some(Meeting::of_any(own.iter().map(|&index| of_group(index)).collect(), in_patches))
    }
}

/// Integral over the middle of a school of the chance that at least one of its fish is counted, seen and long enough, m2.
fn area_of_one((kind, dimensions): (&MethodKind, Dimensions), group: &FishGroup, limit_cm: f64) -> Option<f64> {
    let (watch, count) = (kind.watch(dimensions, group.hides)?, kind.fish_count()?);
    let spec = &group.spec;
    let swim = Swim::new(watch, spec.movement, spec.spread_m);
    let sizes = SchoolSizes::new(spec.schools);
    let greatest = spec.sighting.greatest().max(1.0);
    let mut rng = stream(Key::seed(0x0F15_4A11).child(Purpose::Fish, 1));
    let mut counted = Vec::new();
    let mut met = 0;
    for _ in 0..SCHOOLS {
        let size = sizes.draw(rng.random());
        counted.clear();
        swim.one_school(size, &mut rng, &mut counted);
        let of_school = rng.sample(StandardNormal);
        let any = counted.iter().any(|fish| {
            let cm = spec.lengths.length_cm(of_school, rng.sample(StandardNormal));
            let written = count.lengths.read(cm, rng.sample(StandardNormal));
            let chance = count.left_by_others
                * spec.sighting.length_chance(cm)
                * spec.sighting.distance_chance(f64::from(fish.nearest_m));
            rng.random::<f64>() * greatest < chance && written.middle_cm() >= limit_cm
        });
        met += usize::from(any);
    }
    Some(greatest * swim.reach_m2() * met as f64 / SCHOOLS as f64)
}
