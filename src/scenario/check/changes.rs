use crate::design::{
    ALL_FISH, COMMERCIAL, Change, FishMeasure, HARD_CORAL, PRESENCE, Question, RECRUIT_DENSITY, RecruitMeasure, Study,
    Unit, Zone, colony_measures,
};
use crate::scenario::near::nearest;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::scenario::word::word_of;
use crate::survey::{MethodKind, MethodSpec, Scale};

/// Hard coral may rise to this cover: beyond, the density of colonies has no bounds.
const MOST_CORAL: f64 = 0.98;

/// Changes: of an indicator that exists and is read, to a value that can be.
pub fn check(study: &Study, problems: &mut Problems) {
    let asks = study.question.tests();
    // What two maps lack is told with them.
    let by_maps = |zone: usize| problems.is_written(&format!("zone[{zone}].map.file_after"));
    if asks && study.changes.is_empty() && !(0..study.zones.len()).any(by_maps) {
        let message = format!("the question {} needs a change to see", word_of(study.question));
        let remedy = "Add [[change]] with from = 28 and to = 22, or ask question = \"status\".";
        problems.add("change", message, "at least one [[change]]", remedy);
    }
    if !asks && !study.changes.is_empty() {
        let remedy = "Take [[change]] out, or ask question = \"between_these_visits\".";
        problems.add("change", "a status of one visit has no change", "not used by this question", remedy);
    }
    for (index, change) in study.changes.iter().enumerate() {
        let path = format!("change[{index}]");
        check_indicator(study, &change.indicator, &format!("{path}.indicator"), problems);
        if study.recruits_of(&change.indicator).is_some_and(|measure| measure != RecruitMeasure::Density) {
            let message = format!("{} moves with {RECRUIT_DENSITY}", change.indicator);
            let remedy = "Write indicator = \"recruit_density\"; the rows of the others show what it does to them.";
            problems.add(&format!("{path}.indicator"), message, "not by itself", remedy);
            continue;
        }
        if let Some(animal) = study.presence_of(&change.indicator) {
            let message = format!("{} moves with {animal}", change.indicator);
            let remedy = format!(
                "Write indicator = \"{animal}\" with its densities, and also_report = [\"{}\"]: its rows show what that does to it.",
                change.indicator
            );
            problems.add(&format!("{path}.indicator"), message, "not by itself", remedy);
            continue;
        }
        if is_of_colonies(study, &change.indicator) {
            let message = format!("{} moves with hard coral", change.indicator);
            let remedy =
                "Write indicator = \"hard_coral\" with its covers; coral belts then show what that does to colonies.";
            problems.add(&format!("{path}.indicator"), message, "not by itself", remedy);
            continue;
        }
        if !super::fish::check_change(study, change, &path, problems) {
            continue;
        }
        check_values(study, change, &path, problems);
        if study.changes[..index].iter().any(|earlier| earlier == change) {
            problems.add(&path, "this change is written twice", "the same as one above", "Take one of them out.");
        }
    }
    for (index, name) in study.also_report.iter().enumerate() {
        let key = format!("also_report[{index}]");
        check_indicator(study, name, &key, problems);
        if study.also_report[..index].contains(name) {
            problems.add(&key, format!("{name} is reported twice"), "written before", "Take one of them out.");
        }
    }
    if study.question == Question::BetweenGroups && study.observers.second_visit_bias != 0.0 {
        let message = "there is no second visit";
        let remedy = "Take second_visit_bias_percent out.";
        problems.add("observers.second_visit_bias_percent", message, "not used by this question", remedy);
    }
}

pub fn is_of_colonies(study: &Study, name: &str) -> bool {
    study.methods.iter().any(|method| match &method.kind {
        MethodKind::CoralBelt { classes_m, growth_m, .. } => {
            colony_measures(classes_m, *growth_m).iter().any(|(measure, _)| measure == name)
        }
        _ => false,
    })
}

/// The names an indicator may have, zone by zone the same.
fn known_indicators(study: &Study) -> Vec<String> {
    let mut known = vec![HARD_CORAL.to_owned()];
    if let Some(first) = study.zones.first() {
        let in_all = |name: &str| study.zones.iter().all(|zone| cover_of(zone, name).is_some());
        known.extend(first.categories.iter().map(|category| category.name.clone()).filter(|name| in_all(name)));
    }
    for animal in study.zones.iter().flat_map(|zone| &zone.animals) {
        for name in [String::new(), COMMERCIAL.to_owned(), PRESENCE.to_owned()] {
            let is_told = name != COMMERCIAL || animal.commercial_share().is_some();
            let name = animal.name.clone() + &name;
            if is_told && !known.contains(&name) {
                known.push(name);
            }
        }
    }
    let fish = study.fish_groups().into_iter().chain(study.trophic_groups());
    for name in fish.chain((!study.fish_groups().is_empty()).then_some(ALL_FISH)) {
        let measures = [FishMeasure::Density, FishMeasure::Biomass, FishMeasure::MeanLength];
        known.extend(measures.map(|measure| measure.name(name)));
    }
    if study.zones.iter().any(Zone::has_recruits) {
        known.extend(RecruitMeasure::ALL.map(|measure| measure.name().to_owned()));
    }
    for method in &study.methods {
        match &method.kind {
            MethodKind::Components(components) => known.push(components.indicator.clone()),
            MethodKind::CoralBelt { classes_m, growth_m, .. } => {
                let names = colony_measures(classes_m, *growth_m).into_iter().map(|(name, _)| name);
                known.extend(names.filter(|name| !known.contains(name)).collect::<Vec<_>>());
            }
            _ => {}
        }
    }
    known
}

/// Whether there is an indicator of this name, and something that reads it; if not, that is told.
pub fn check_indicator(study: &Study, name: &str, key: &str, problems: &mut Problems) -> bool {
    let known = known_indicators(study);
    if !known.iter().any(|indicator| indicator == name) && study.fish_of(name).is_none() {
        let words: Vec<&str> = known.iter().map(String::as_str).collect();
        let hint = told_by_name(name, &words).or_else(|| nearest(name, &words));
        let hint = hint.map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
        let remedy = format!("{hint}Known here (a category must be in every zone): {}.", known.join(", "));
        problems.add(key, format!("there is no indicator \"{name}\""), "no such indicator", remedy);
        return false;
    }
    let has = |reads: fn(&MethodSpec) -> bool| study.methods.iter().any(reads);
    if study.recruits_of(name).is_some() {
        if !has(|method| matches!(method.kind, MethodKind::RecruitQuadrats { .. })) {
            let remedy = "Add a [[method.recruit_quadrats]].";
            problems.add(key, format!("no method counts {name}"), "nothing counts it", remedy);
            return false;
        }
        return true;
    }
    if study.fish_of(name).is_some() {
        if !has(|method| method.kind.fish_count().is_some()) {
            let remedy = "Add a [[method.fish_belt]] or a [[method.fish_point_count]].";
            problems.add(key, format!("no method counts {name}"), "nothing counts it", remedy);
            return false;
        }
        return true;
    }
    if study.animal_of(name).is_some() || study.presence_of(name).is_some() {
        if !has(|method| matches!(method.kind, MethodKind::InvertebrateBelt { .. })) {
            let remedy = "Add a [[method.invertebrate_belt]].";
            problems.add(key, format!("no method counts {name}"), "nothing counts it", remedy);
            return false;
        }
        return true;
    }
    let is_cover = !study.methods.iter().any(|method| method.serves_by_components(name));
    // Fish belts tell nothing of the bottom, but what a change of coral does to the fish that go with it.
    let is_change = name == HARD_CORAL && key.starts_with("change[");
    let fish_tell = is_change && study.zones.iter().flat_map(|zone| &zone.fish).any(|group| group.with_coral != 0.0);
    let reads = |method: &MethodSpec| match &method.kind {
        MethodKind::Components(_) => false,
        MethodKind::FishBelt { .. } | MethodKind::FishPointCount { .. } => fish_tell,
        _ => true,
    };
    let reef_is_read = study.methods.iter().any(reads);
    if is_cover && !reef_is_read && !study.methods.is_empty() {
        let remedy = "Add a [[method.point_intercept]], [[method.line_intercept]] or [[method.photo_belt]].";
        problems.add(key, format!("no method reads {name}"), "nothing reads it", remedy);
        return false;
    }
    true
}

/// The indicator that is meant by a name with the word for what is told behind it: numbers of animals and fish are told by their
/// name alone.
fn told_by_name<'a>(name: &str, known: &[&'a str]) -> Option<&'a str> {
    let before = ["_density", "_abundance", "_number", "_count"].iter().find_map(|end| name.strip_suffix(end))?;
    let own = known.iter().find(|known| **known == before).copied();
    own.or_else(|| nearest(before, known).filter(|near| near.len() < name.len()))
}

fn check_values(study: &Study, change: &Change, path: &str, problems: &mut Problems) {
    if change.from == change.to {
        let message = format!("{}: nothing changes", change.indicator);
        problems.add(
            &format!("{path}.to"),
            message,
            "must differ from from",
            "Write where it shall go, from = 28, to = 22.",
        );
    }
    if study.unit_of(&change.indicator) != Unit::Share {
        check_own_unit(study, change, path, problems);
        return;
    }
    for (key, value) in [("from", change.from), ("to", change.to)] {
        if !(0.0 < value && value < 1.0) {
            let message = format!("{}: a cover of {} % cannot be", change.indicator, number(value * 100.0));
            let remedy = "Write percent of cover, such as from = 28, to = 22.";
            problems.add(&format!("{path}.{key}"), message, "above 0 and below 100", remedy);
            return;
        }
    }
    if let Some(sd) = change.differs_between_sites_sd.filter(|sd| !(*sd < (change.to * (1.0 - change.to)).sqrt())) {
        let message =
            format!("{}: a change cannot differ between sites by {} points", change.indicator, number(sd * 100.0));
        let key = format!("{path}.differs_between_sites_points");
        problems.add(&key, message, "too large for this cover", "Write the SD of the change, in points of cover.");
    }
    for zone in &study.zones {
        check_room(zone, change, path, problems);
    }
}

/// After the change all covers of a zone still fit together.
fn check_room(zone: &Zone, change: &Change, path: &str, problems: &mut Problems) {
    let Some(before) = cover_of(zone, &change.indicator) else { return };
    let after = before * change.ratio();
    // Hard coral takes its room first; a category may take the room of the other categories.
    let limit = if change.indicator == HARD_CORAL { MOST_CORAL } else { 1.0 - zone.cover };
    if !(after <= limit + 1e-9 || change.ratio() < 1.0) {
        let message = format!(
            "{}: {} would rise from {} to {} %",
            zone.name,
            change.indicator,
            number(before * 100.0),
            number(after * 100.0)
        );
        let allowed = format!("room for {} % there", number(limit * 100.0));
        let remedy = "In each zone the zone's own cover moves by the ratio to / from; choose a smaller ratio.";
        problems.add(&format!("{path}.to"), message, allowed, remedy);
    }
}

fn check_own_unit(study: &Study, change: &Change, path: &str, problems: &mut Problems) {
    if study.fish_of(&change.indicator).is_some() {
        for (key, value) in [("from", change.from), ("to", change.to)] {
            if !(value > 0.0) {
                let message = format!("{}: {value} leaves nothing to compare", change.indicator);
                let remedy = "Write fish per 100 m2 or kg per ha, such as from = 8, to = 4.";
                problems.add(&format!("{path}.{key}"), message, "above 0", remedy);
            }
        }
        return;
    }
    let recruits = study.recruits_of(&change.indicator).is_some();
    if recruits || study.animal_of(&change.indicator).is_some() {
        let (unit, remedy) = if recruits {
            ("per m2", "Write recruits per m2, such as from = 6, to = 3.")
        } else {
            ("per 100 m2", "Write animals per 100 m2, such as from = 4, to = 2.")
        };
        for (key, value) in [("from", change.from), ("to", change.to)] {
            if !(value > 0.0) {
                let message = format!("{}: a density of {value} {unit} leaves nothing to compare", change.indicator);
                problems.add(&format!("{path}.{key}"), message, "above 0", remedy);
            }
        }
    }
    let scales = study.methods.iter().filter_map(|method| match &method.kind {
        MethodKind::Components(components) if components.indicator == change.indicator => Some(components.scale),
        _ => None,
    });
    for scale in scales {
        let allowed = match scale {
            Scale::Plain => continue,
            Scale::Ln => "above 0",
            Scale::Logit => "above 0 and below 1",
        };
        let high = if scale == Scale::Ln { f64::INFINITY } else { 1.0 };
        for (key, value) in [("from", change.from), ("to", change.to)] {
            if !(0.0 < value && value < high) {
                let message = format!("{}: {value} has no place on this scale", change.indicator);
                problems.add(&format!("{path}.{key}"), message, allowed, "Correct it, or write scale = \"plain\".");
            }
        }
    }
}

/// Cover of an indicator in a zone, where it is a cover.
fn cover_of(zone: &Zone, indicator: &str) -> Option<f64> {
    if indicator == HARD_CORAL {
        return Some(zone.cover);
    }
    zone.categories.iter().find(|category| category.name == indicator).map(|category| category.cover)
}
