use super::lines::paths;
use crate::design::{Question, Scope, Study, Zone, ZoneMap, colony_measures};
use crate::reef::map::ReefMap;
use crate::scenario::file::ScenarioFile;
use crate::scenario::problems::Problems;
use crate::survey::{LineLayout, MethodKind};

/// What a map can answer: it is one reef, exactly as it is, and what it does not show is not made up.
pub fn check(study: &Study, file: &ScenarioFile, problems: &mut Problems) {
    let mapped: Vec<(usize, &Zone, &ZoneMap)> = study
        .zones
        .iter()
        .enumerate()
        .filter_map(|(index, zone)| zone.map.as_ref().map(|map| (index, zone, map)))
        .collect();
    if mapped.is_empty() {
        return;
    }
    check_question(study, problems);
    if study.placement.layout != LineLayout::RandomStarts {
        let remedy = "Write layout = \"random_starts\", or take the map out.";
        problems.add("placement.layout", "units are laid at random starts on a map", "random_starts", remedy);
    }
    if study.observers.misidentification.is_some() {
        let message = "what is taken for what is not known to a map";
        let remedy = "Take the table out: on a map everything is written as it is.";
        problems.add("observers.misidentification", message, "not with a map", remedy);
    }
    if mapped.len() == study.zones.len() {
        check_visits(file, problems);
    }
    let twice = mapped.iter().filter(|(_, _, map)| map.later.is_some()).count();
    if twice > 0 {
        check_later(study, file, mapped[0].0, problems);
    }
    if twice > 0 && twice < study.zones.len() {
        let message = "some zones have a later map, others have none";
        let remedy =
            "Write file_after in every zone, or put the zones that are mapped twice into a scenario of their own.";
        problems.add(&format!("zone[{}].map", mapped[0].0), message, "all zones or none", remedy);
    }
    for (index, zone, map) in mapped {
        check_methods(study, file, (index, zone, map), problems);
        if map.later.is_none() {
            check_changes(study, (zone, map), problems);
        }
    }
}

/// Two maps are the change.
fn check_later(study: &Study, file: &ScenarioFile, zone: usize, problems: &mut Problems) {
    if study.question == Question::Status {
        let message = "a status of one visit has no later map";
        let remedy = "Take file_after out, or ask question = \"between_these_visits\".";
        problems.add(&format!("zone[{zone}].map.file_after"), message, "not used by this question", remedy);
    }
    if study.question.tests() && study.changes.is_empty() {
        let message = "nothing that is read differs between the two maps";
        let remedy = "Name another later map, or ask question = \"status\" without one.";
        problems.add(&format!("zone[{zone}].map.file_after"), message, "needs a difference", remedy);
    }
    if !file.change.is_empty() {
        let message = "the two maps tell what changes";
        problems.add("change[0]", message, "not beside file_after", "Take [[change]] out, or file_after.");
    }
}

fn check_question(study: &Study, problems: &mut Problems) {
    if study.scope != Scope::EachReef {
        let message = "a map is one reef: it says nothing of others";
        let remedy = "Write statement_about = \"each_reef\", or tell what the reefs are like instead of [zone.map].";
        problems.add("statement_about", message, "each_reef with a map", remedy);
    }
    if !matches!(study.question, Question::Status | Question::BetweenTheseVisits) {
        let message = "a map tells nothing of other years and other groups";
        let remedy = "Ask question = \"status\" (how well one visit tells what is there), or \"between_these_visits\" \
                      with a loss.";
        problems.add("question", message, "status or between_these_visits with a map", remedy);
    }
}

/// Between the visits nothing happens on a map but the change.
fn check_visits(file: &ScenarioFile, problems: &mut Problems) {
    let Some(visits) = &file.visits else { return };
    let written = [
        ("renewal_percent_per_year", visits.renewal_percent_per_year.is_some()),
        ("drift_years", visits.drift_years.is_some()),
    ];
    for (key, _) in written.into_iter().filter(|(_, is_written)| *is_written) {
        let message = "on a map no colony settles and no patch moves: nothing happens but the change";
        problems.add(&format!("visits.{key}"), message, "not with a map", "Take it out.");
    }
}

fn check_methods(
    study: &Study,
    file: &ScenarioFile,
    (index, zone, map): (usize, &Zone, &ZoneMap),
    problems: &mut Problems,
) {
    for (method, path) in study.methods.iter().zip(paths(file)) {
        let mut refuse = |message: String, remedy: &str| {
            problems.add(&path, format!("{}: {message}", zone.name), format!("not on {}", map.label()), remedy);
        };
        match (&method.kind, &*map.map) {
            (MethodKind::RecruitQuadrats { .. }, ReefMap::Mosaic(_)) => {
                let message = "a mosaic does not tell one colony from the next, so no recruit can be counted".into();
                let remedy =
                    "Take [[method.recruit_quadrats]] out, or map the colonies: a list (CSV) with x, y, diameter.";
                refuse(message, remedy);
            }
            (MethodKind::RecruitQuadrats { .. }, ReefMap::Colonies(_)) if !zone.has_recruits() => {
                let remedy =
                    "Add the colonies under 4 cm with their diameters, or take [[method.recruit_quadrats]] out.";
                refuse("recruits are colonies under 4 cm, and the map has none".into(), remedy);
            }
            (MethodKind::FishBelt { .. }, _) => {
                refuse("a map does not tell fish".into(), "Take [[method.fish_belt]] out.");
            }
            (MethodKind::FishPointCount { .. }, _) => {
                refuse("a map does not tell fish".into(), "Take [[method.fish_point_count]] out.");
            }
            (MethodKind::CoralBelt { .. }, ReefMap::Mosaic(_)) => {
                let message = "a mosaic does not tell one colony from the next, so none can be counted".into();
                refuse(
                    message,
                    "Take [[method.coral_belt]] out, or map the colonies: a list (CSV) with x, y, diameter.",
                );
            }
            (MethodKind::InvertebrateBelt { .. }, ReefMap::Mosaic(_)) => {
                let message = "a mosaic shows kinds of bottom, no animals".into();
                let remedy = "Take [[method.invertebrate_belt]] out, or map the animals: a list (CSV) with x, y, name.";
                refuse(message, remedy);
            }
            (MethodKind::InvertebrateBelt { .. }, ReefMap::Colonies(list)) if list.animals.is_empty() => {
                let remedy = "Add rows with the animals' names in a column name, or take the method out.";
                refuse("no animal is on the map".into(), remedy);
            }
            (MethodKind::Components(_) | MethodKind::InvertebrateBelt { .. }, _) => {}
            (_, ReefMap::Colonies(list)) if list.discs.is_empty() => {
                let remedy = "Add colonies with their diameters, or count the animals alone.";
                refuse("no colony is on the map".into(), remedy);
            }
            (MethodKind::CoralBelt { classes_m, growth_m, .. }, ReefMap::Colonies(_)) => {
                for (name, measure) in colony_measures(classes_m, *growth_m) {
                    let unknown = match measure {
                        _ if measure.is_of_dead_parts() => "dead parts are",
                        _ if measure.is_of_condition() => "their condition is",
                        _ => continue,
                    };
                    if let Some(place) = study.also_report.iter().position(|asked| *asked == name) {
                        let message = format!("{}: {unknown} not on the map (zone[{index}])", zone.name);
                        let remedy = "Take it out: of a mapped colony the diameter alone is known.";
                        problems.add(&format!("also_report[{place}]"), message, "not on a map", remedy);
                    }
                }
            }
            _ => {}
        }
    }
}

fn check_changes(study: &Study, (zone, map): (&Zone, &ZoneMap), problems: &mut Problems) {
    for (index, change) in study.changes.iter().enumerate() {
        if study.methods.iter().any(|method| method.serves_by_components(&change.indicator)) {
            continue;
        }
        let path = format!("change[{index}]");
        if matches!(*map.map, ReefMap::Mosaic(_)) {
            let message = format!("{}: what goes from a mosaic, pixel by pixel, is not known", zone.name);
            let remedy = "Ask question = \"status\" and take [[change]] out, or map the colonies as a list (CSV).";
            problems.add(&path, message, "not on a mosaic", remedy);
            continue;
        }
        if change.ratio() > 1.0 {
            let message = format!("{}: where new {} would be is not on the map", zone.name, change.indicator);
            problems.add(&format!("{path}.to"), message, "below from on a map", "Ask for a fall instead.");
        }
        if change.deaths.is_some() {
            let message = format!("{}: on a map colonies die whatever their size and wherever they are", zone.name);
            let remedy = "Take [change.deaths] out, or map the reef again after a storm and write file_after.";
            problems.add(&format!("{path}.deaths"), message, "not with a map", remedy);
        }
        if change.differs_between_sites_sd.is_some() {
            let message = format!("{}: there is one reef, so a change does not differ between reefs", zone.name);
            let key = format!("{path}.differs_between_sites_points");
            problems.add(&key, message, "not with a map", "Take it out.");
        }
    }
}
