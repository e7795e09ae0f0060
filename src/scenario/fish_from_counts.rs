//! From belts in which fish were counted and weighed to a study of fish: the animals of the pilot, with lengths that give
//! their weight, counted along belts swum as the pilot's.

use super::defaults;
use super::shown::number;
use super::write::Beside;
use crate::design::{ALL_FISH, Animal, FishGroup, FishMeasure, Study, Zone};
use crate::pilot::counts::FishFit;
use crate::reef::fish::{FishLengths, FishSpec, LengthWeight, Movement, SchoolLaw, Sighting};
use crate::survey::fish_sheet::{ClassValue, LengthClasses, LengthReader, WidthReader};
use crate::survey::swim::{CountingRule, FishCount};
use crate::survey::{MethodKind, MethodSpec, UnitMinutes};

/// A group that is called as all fish together are cannot be told from them.
const NAME_OF_ALL: &str = "counted_fish";

/// The animals of a study that was made from a pilot become fish, its belts fish belts.
pub fn as_fish(study: &mut Study, beside: &mut Beside, fits: &[FishFit]) {
    let renamed = |name: &str| if name == ALL_FISH { NAME_OF_ALL.to_owned() } else { name.to_owned() };
    for (index, zone) in study.zones.iter_mut().enumerate() {
        let fit = fits.iter().find(|fit| fit.zone.as_ref().is_none_or(|name| *name == zone.name));
        for place in 0..zone.animals.len() {
            moved(beside, &format!("zone[{index}].animal[{place}]"), &format!("zone[{index}].fish[{place}]"));
        }
        zone.fish = std::mem::take(&mut zone.animals)
            .into_iter()
            .enumerate()
            .map(|(place, animal)| {
                let path = format!("zone[{index}].fish[{place}]");
                group(Animal { name: renamed(&animal.name), ..animal }, fit, (&path, beside))
            })
            .collect();
    }
    for change in &mut study.changes {
        change.indicator = renamed(&change.indicator);
    }
    moved(beside, "method.invertebrate_belt[0]", "method.fish_belt[0]");
    study.methods.iter_mut().for_each(swum);
    study.also_report = names(&study.zones).iter().map(|name| FishMeasure::Biomass.name(name)).collect();
}

fn names(zones: &[Zone]) -> Vec<String> {
    let mut all: Vec<String> = zones.iter().flat_map(|zone| &zone.fish).map(|group| group.name.clone()).collect();
    all.dedup();
    all
}

/// Comments and origins of one table stand with another one.
fn moved(beside: &mut Beside, from: &str, to: &str) {
    if let Some(comments) = beside.comments.remove(from) {
        beside.comments.insert(to.to_owned(), comments);
    }
    let start = format!("{from}.");
    let keys: Vec<String> = beside.origins.keys().filter(|key| key.starts_with(&start)).cloned().collect();
    for key in keys {
        if let Some(origin) = beside.origins.remove(&key) {
            beside.origins.insert(format!("{to}.{}", &key[start.len()..]), origin);
        }
    }
}

/// One group as its belts vary: what belts of one site differ by is put into patches; whether it comes of schools is told
/// where the pilot can tell.
fn group(animal: Animal, fit: Option<&FishFit>, (path, beside): (&str, &mut Beside)) -> FishGroup {
    let weight = LengthWeight { a: defaults::WEIGHT_A, b: defaults::WEIGHT_B };
    let biomass = fit.and_then(|fit| fit.biomass);
    let grams = biomass.map_or(weight.weight_g(20.0), |biomass| biomass.grams_per_fish);
    let lengths = FishLengths::of_mean_weight(grams, weight, defaults::FISH_LENGTH_CV, defaults::ALIKE_IN_SCHOOL);
    let lengths = FishLengths { mean_cm: (10.0 * lengths.mean_cm).round() / 10.0, ..lengths };
    if let Some(biomass) = biomass {
        beside.comment(
            path,
            format!(
                "A fish of the pilot weighs {:.1} g: with this weight by length, a guess, the mean length is {} cm.",
                biomass.grams_per_fish,
                number(lengths.mean_cm)
            ),
        );
        beside.comment(
            path,
            format!(
                "Biomass of belts of one site and visit: SD {:.0} % of the mean ({:.0} to {:.0}).",
                100.0 * biomass.cv_within,
                100.0 * biomass.cv_within_80.low,
                100.0 * biomass.cv_within_80.high
            ),
        );
    }
    if let Some(schooling) = fit.and_then(|fit| fit.schooling).filter(|found| found.others_80.low > 0.0) {
        beside.comment(
            path,
            format!(
                "Schools show: {:.1} others with a fish ({:.1} to {:.1}). Here all of it is in patches; with school = \
                 \"logarithmic\" take patch_k out or raise it.",
                schooling.others, schooling.others_80.low, schooling.others_80.high
            ),
        );
    }
    let spec = FishSpec {
        places: animal.spec,
        schools: SchoolLaw::Alone,
        spread_m: defaults::SCHOOL_SPREAD_M,
        lengths,
        weight,
        movement: Movement::Still,
        sighting: Sighting { shy_m: defaults::SHY_SCALE_M, ln_sd: defaults::SEEN_LN_SD, ..Sighting::ALL },
    };
    FishGroup::new(animal.name, spec)
}

/// Belts of the same size, swum at the usual speed.
fn swum(method: &mut MethodSpec) {
    let MethodKind::InvertebrateBelt { length_m, width_m } = &method.kind else { return };
    let minutes = (defaults::SWIM_MINUTES * length_m[0] / defaults::FISH_BELT_M.0).max(1.0).round();
    let classes = Some(LengthClasses::of(defaults::CLASS_CM));
    let lengths = LengthReader { bias: 0.0, cv: defaults::LENGTH_READING_CV, classes, value: ClassValue::Midpoint };
    method.kind = MethodKind::FishBelt {
        length_m: length_m.clone(),
        width_m: width_m.clone(),
        swim_minutes: vec![minutes],
        rule: CountingRule::default(),
        count: FishCount { width: WidthReader::EXACT, left_by_others: 1.0, lengths, visibility_m: None },
        way_back: None,
    };
    method.minutes = UnitMinutes { lay: defaults::FISH_LAY_MINUTES, read: minutes, ashore: None };
}
