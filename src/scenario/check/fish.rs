use crate::design::{
    ALL_FISH, COLONY_DENSITY, Change, FishMeasure, FishWho, REST, RecruitMeasure, Study, Zone, fish_of,
};
use crate::scenario::file::ScenarioFile;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;
use crate::survey::swim::CountingRule;
use crate::survey::{MethodKind, MethodSpec};

/// Groups of fish and the methods that count them.
pub fn check(study: &Study, problems: &mut Problems) {
    for (index, zone) in study.zones.iter().enumerate() {
        check_names(study, zone, &format!("zone[{index}]"), problems);
    }
    let mut numbers = [0, 0];
    for method in &study.methods {
        let (place, table) = match &method.kind {
            MethodKind::FishBelt { .. } => (0, "fish_belt"),
            MethodKind::FishPointCount { .. } => (1, "fish_point_count"),
            _ => continue,
        };
        let path = format!("method.{table}[{}]", numbers[place]);
        numbers[place] += 1;
        check_method(study, method, &path, problems);
    }
    check_hidden(study, problems);
}

/// Where nothing is visited twice nothing is otherwise at the second visit.
pub fn check_visits(file: &ScenarioFile, study: &Study, problems: &mut Problems) {
    if study.question.visits() == 2 {
        return;
    }
    for (z, zone) in file.zone.iter().enumerate() {
        for (index, table) in zone.fish.iter().enumerate() {
            for (key, is_written) in [
                ("second_visit_shy_percent", table.second_visit_shy_percent.is_some()),
                ("second_visit_sight_scale_m", table.second_visit_sight_scale_m.is_some()),
                ("second_visit_seen_percent", table.second_visit_seen_percent.is_some()),
            ] {
                if is_written {
                    let message = format!("{}: there is no second visit", table.name);
                    let remedy = format!("Take {key} out, or ask question = \"between_these_visits\".");
                    problems.add(
                        &format!("zone[{z}].fish[{index}].{key}"),
                        message,
                        "not used by this question",
                        remedy,
                    );
                }
            }
        }
    }
}

/// Names of groups, which are names of indicators too.
fn check_names(study: &Study, zone: &Zone, path: &str, problems: &mut Problems) {
    let others: Vec<&str> = zone.animals.iter().map(|animal| animal.name.as_str()).collect();
    let is_component = |name: &str| study.methods.iter().any(|method| method.serves_by_components(name));
    let is_taken = |name: &str| {
        name.trim().is_empty()
            || name == ALL_FISH
            || name == REST
            || name == COLONY_DENSITY
            || others.contains(&name)
            || zone.bottom_names().iter().any(|other| other == name)
            || is_component(name)
            || RecruitMeasure::from_name(name).is_some()
    };
    for (index, group) in zone.fish.iter().enumerate() {
        let (key, name) = (format!("{path}.fish[{index}].name"), &group.name);
        if zone.fish[..index].iter().any(|earlier| earlier.name == *name) {
            let message = format!("{}: two groups of fish are called {name}", zone.name);
            problems.add(&key, message, "name used above", "Give every group a name of its own.");
        } else if is_taken(name) || !is_read_as_itself(study, name) {
            let message = format!("{}: a group of fish cannot be called \"{name}\"", zone.name);
            problems.add(&key, message, "taken or empty", "Give the group a name of its own, such as \"parrotfish\".");
        }
        let Some(trophic) = &group.trophic_group else { continue };
        let is_group = study.zones.iter().flat_map(|zone| &zone.fish).any(|other| other.name == *trophic);
        if is_taken(trophic) || is_group {
            let message = format!("{}: a trophic group cannot be called \"{trophic}\"", zone.name);
            let remedy =
                "It is the name of an indicator of all groups of its kind: write another, such as \"scrapers\".";
            problems.add(&format!("{path}.fish[{index}].trophic_group"), message, "taken or empty", remedy);
        }
    }
}

/// Whether no other name of fish and measure is spelled like it.
fn is_read_as_itself(study: &Study, name: &str) -> bool {
    fish_of(&study.zones, name)
        .is_some_and(|told| told.measure == FishMeasure::Density && told.who == FishWho::Group(name.to_owned()))
}

fn check_method(study: &Study, method: &MethodSpec, path: &str, problems: &mut Problems) {
    if study.zones.iter().all(|zone| zone.fish.is_empty()) {
        let remedy = "Add a [[zone.fish]] with name, density_per_100_m2 and length_cm below each [[zone]].";
        problems.add(path, "no zone has any fish to count", "needs [[zone.fish]]", remedy);
    }
    check_swim(method, path, problems);
    let Some(visibility) = method.kind.fish_count().and_then(|count| count.visibility_m) else { return };
    let (key, widest, allowed) = match &method.kind {
        MethodKind::FishBelt { width_m, .. } => ("width_m", width_m, 2.0 * visibility),
        MethodKind::FishPointCount { radius_m, .. } => ("radius_m", radius_m, visibility),
        _ => return,
    };
    if let Some(too_wide) = widest.iter().find(|size| **size > allowed) {
        let message =
            format!("{} m is more than can be searched when fish are seen {visibility} m far", number(*too_wide));
        let remedy = "Make the unit narrower, or correct visibility_m: what cannot be seen is not counted.";
        problems.add(&format!("{path}.{key}"), message, format!("at most {} m", number(allowed)), remedy);
    }
}

/// A diver who counts swims no faster than this, m/s: common practice, no source (belts of 30 to 50 m take 4 to 20 minutes).
const FASTEST_COUNT_M_S: f64 = 0.6;

/// What is looked at while a diver swims must lie in the belt and be seen.
fn check_swim(method: &MethodSpec, path: &str, problems: &mut Problems) {
    let MethodKind::FishBelt { length_m, swim_minutes, rule, count, .. } = &method.kind else { return };
    let shortest = length_m.iter().copied().fold(f64::INFINITY, f64::min);
    if let CountingRule::MovingWindow { depth_m } = *rule {
        let seen = count.visibility_m.filter(|seen| *seen < shortest);
        let most = seen.unwrap_or(shortest);
        if depth_m > most {
            let what = if seen.is_some() { "fish are seen" } else { "the shortest belt is" };
            let message = format!("a window of {} m is deeper than {what} {} m", number(depth_m), number(most));
            let remedy = "What is counted in one look must lie in the belt and be seen: make window_m less, or correct the other.";
            let far = if seen.is_some() { " far" } else { " long" };
            problems.add(&format!("{path}.window_m"), message + far, format!("at most {} m", number(most)), remedy);
        }
    }
    if let (CountingRule::WholeSwim, Some(seen)) = (*rule, count.visibility_m)
        && let Some(longest) = length_m.iter().copied().reduce(f64::max).filter(|longest| *longest > seen)
    {
        let message = format!(
            "whole_swim counts all that is in the {} m of the belt at any moment, and fish are seen {} m far",
            number(longest),
            number(seen)
        );
        let remedy = "Where the diver sees only what is near, the rule is \"moving_window\" or \"abreast\": far fewer fish that \
                      swim in are counted so.";
        problems.doubt(&format!("{path}.counting"), message, "not beyond what is seen", remedy);
    }
    // Minutes are those of the first length; others are swum at the same speed.
    let first = length_m.first().copied().unwrap_or(0.0);
    if let Some(minutes) = swim_minutes.iter().copied().find(|minutes| first / (60.0 * minutes) > FASTEST_COUNT_M_S) {
        let speed = first / (60.0 * minutes);
        let message = format!(
            "{} m in {} minutes are {} m/s",
            number(first),
            number(minutes),
            number((100.0 * speed).round() / 100.0)
        );
        let remedy = "Nobody counts and sizes fish so fast: raise swim_minutes (8 minutes for 30 m are .06 m/s).";
        problems.doubt(
            &format!("{path}.swim_minutes"),
            message,
            format!("usual: up to {FASTEST_COUNT_M_S} m/s"),
            remedy,
        );
    }
}

/// Fish that hide need a way back, or nobody counts them.
fn check_hidden(study: &Study, problems: &mut Problems) {
    let is_belt_without = |method: &MethodSpec| matches!(&method.kind, MethodKind::FishBelt { way_back: None, .. });
    let has_way_back = |method: &MethodSpec| matches!(&method.kind, MethodKind::FishBelt { way_back: Some(_), .. });
    if !study.methods.iter().any(is_belt_without) || study.methods.iter().any(has_way_back) {
        return;
    }
    for (z, zone) in study.zones.iter().enumerate() {
        for (index, group) in zone.fish.iter().enumerate().filter(|(_, group)| group.hides) {
            let message =
                format!("{}: {} hides, and no belt has a way back on which it is counted", zone.name, group.name);
            let remedy = "Add way_back_width_m = 1 to the [[method.fish_belt]], or take hides out.";
            problems.add(&format!("zone[{z}].fish[{index}].hides"), message, "needs a way back", remedy);
        }
    }
}

/// A change of fish: of their number or biomass, which move together. `false`: there is something wrong, and it is told.
pub fn check_change(study: &Study, change: &Change, path: &str, problems: &mut Problems) -> bool {
    let Some(told) = study.fish_of(&change.indicator) else { return true };
    if !matches!(told.measure, FishMeasure::Density | FishMeasure::Biomass) {
        let message = format!("{} moves with the number of fish alone", change.indicator);
        let remedy = "Write the change of a density or of a biomass; the rows of the others show what it does to them.";
        problems.add(&format!("{path}.indicator"), message, "not by itself", remedy);
        return false;
    }
    let is_one_density = told.measure == FishMeasure::Density && matches!(told.who, FishWho::Group(_));
    if change.differs_between_sites_sd.is_some() && !is_one_density {
        let message = format!("{}: how a change differs between sites is told for one group in fish per 100 m2", {
            &change.indicator
        });
        let remedy = "Write the change of the density of one group, or take differs_between_sites out.";
        problems.add(&format!("{path}.differs_between_sites"), message, "one group's density only", remedy);
        return false;
    }
    true
}
