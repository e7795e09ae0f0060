use crate::design::{FishGroup, Study, Zone};
use crate::theory::clusters::AnimalAsked;
use crate::theory::zone::asked_of_animals;

/// What the law of one group of fish is asked for a zone of a study: how dense it is where.
pub fn fish_asked(study: &Study, zone: &Zone, group: &FishGroup) -> AnimalAsked {
    // Told per 100 m2.
    asked_of_animals(study, zone, &group.places(&zone.reef), 0.01, |indicator| {
        study.fish_of(indicator).is_some_and(|told| told.includes(group))
    })
}
