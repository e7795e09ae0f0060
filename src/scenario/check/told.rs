//! What a change of fish, of animals or of cover is told of.

use crate::design::{Change, FishMeasure, HARD_CORAL, Study, Zone};
use crate::scenario::shown::number;

/// What a zone has of something; `None` where it has none.
type OfZone<'a> = Box<dyn Fn(&Zone) -> Option<f64> + 'a>;

/// What a change is told of: how a zone's own value is found and written.
pub struct Told<'a> {
    pub what: &'static str,
    pub unit: &'static str,
    pub of_zone: OfZone<'a>,
    pub shown: fn(f64) -> String,
}

impl<'a> Told<'a> {
    pub fn of(study: &Study, change: &'a Change) -> Self {
        if let Some((name, commercial)) = study.animal_of(&change.indicator) {
            let name = name.to_owned();
            let held = move |zone: &Zone| {
                let animal = zone.animals.iter().find(|animal| animal.name == name)?;
                let share = if commercial { animal.commercial_share()? } else { 1.0 };
                Some(100.0 * share * animal.spec.density_per_m2)
            };
            return Self { what: "density", unit: "animals per 100 m2", of_zone: Box::new(held), shown: three_digits };
        }
        if study.recruits_of(&change.indicator).is_some() {
            // Told per m2 of bottom on which they can live in the zone, per m2 of all bottom in the change.
            let held = |zone: &Zone| Some(zone.recruits.as_ref()?.spec.density_per_m2 * zone.free_share());
            return Self {
                what: "density",
                unit: "recruits per m2 of all bottom",
                of_zone: Box::new(held),
                shown: three_digits,
            };
        }
        match study.fish_of(&change.indicator) {
            Some(told) => {
                let unit = if told.measure == FishMeasure::Biomass { "kg per ha" } else { "fish per 100 m2" };
                let held = move |zone: &Zone| {
                    let groups = || zone.fish.iter().filter(|group| told.includes(group));
                    groups().next()?;
                    Some(told.measure.truth(groups().map(|group| (&group.spec, group.spec.places.density_per_m2))))
                };
                Self { what: "number of fish", unit, of_zone: Box::new(held), shown: three_digits }
            }
            None => {
                let cover = |zone: &Zone| {
                    let of_category = |name: &str| zone.categories.iter().find(|category| category.name == name);
                    match change.indicator.as_str() {
                        HARD_CORAL => Some(zone.cover),
                        name => of_category(name).map(|category| category.cover),
                    }
                };
                let in_percent = |share: f64| number((share * 1000.0).round() / 10.0);
                Self { what: "cover", unit: "percent of the bottom", of_zone: Box::new(cover), shown: in_percent }
            }
        }
    }
}

/// To three digits.
fn three_digits(value: f64) -> String {
    let per_unit = libm::pow(10.0, 2.0 - libm::floor(libm::log10(value.abs().max(1e-6))));
    number((value * per_unit).round() / per_unit)
}
