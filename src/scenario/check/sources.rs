use crate::scenario::file::ScenarioFile;
use crate::scenario::outline::child;
use crate::scenario::problems::Problems;
use crate::scenario::source::Source;

/// Origins written key by key name keys that are written in their table.
pub fn check(file: &ScenarioFile, problems: &mut Problems) {
    let mut tables: Vec<(String, &Option<Source>)> = Vec::new();
    if let Some(visits) = &file.visits {
        tables.push(("visits".to_owned(), &visits.source));
    }
    if let Some(observers) = &file.observers {
        tables.push(("observers".to_owned(), &observers.source));
    }
    if let Some(placement) = &file.placement {
        tables.push(("placement".to_owned(), &placement.source));
    }
    if let Some(variation) = &file.variation {
        tables.push(("variation".to_owned(), &variation.source));
    }
    for (index, zone) in file.zone.iter().enumerate() {
        tables.push((format!("zone[{index}]"), &zone.source));
        for (place, category) in zone.category.iter().enumerate() {
            tables.push((format!("zone[{index}].category[{place}]"), &category.source));
        }
        for (place, animal) in zone.animal.iter().enumerate() {
            tables.push((format!("zone[{index}].animal[{place}]"), &animal.source));
        }
        if let Some(map) = &zone.map {
            tables.push((format!("zone[{index}].map"), &map.source));
        }
        if let Some(recruits) = &zone.recruits {
            tables.push((format!("zone[{index}].recruits"), &recruits.source));
        }
    }
    for (index, change) in file.change.iter().enumerate() {
        tables.push((format!("change[{index}]"), &change.source));
    }
    let methods = &file.method;
    let numbered = |kind: &str, index: usize| format!("method.{kind}[{index}]");
    tables.extend(methods.point_intercept.iter().enumerate().map(|(i, m)| (numbered("point_intercept", i), &m.source)));
    tables.extend(methods.line_intercept.iter().enumerate().map(|(i, m)| (numbered("line_intercept", i), &m.source)));
    tables.extend(methods.photo_belt.iter().enumerate().map(|(i, m)| (numbered("photo_belt", i), &m.source)));
    tables.extend(methods.photo_quadrats.iter().enumerate().map(|(i, m)| (numbered("photo_quadrats", i), &m.source)));
    tables.extend(methods.coral_belt.iter().enumerate().map(|(i, m)| (numbered("coral_belt", i), &m.source)));
    let belts = methods.invertebrate_belt.iter().enumerate();
    tables.extend(belts.map(|(i, m)| (numbered("invertebrate_belt", i), &m.source)));
    let quadrats = methods.recruit_quadrats.iter().enumerate();
    tables.extend(quadrats.map(|(i, m)| (numbered("recruit_quadrats", i), &m.source)));
    tables.extend(methods.other.iter().enumerate().map(|(i, m)| (numbered("other", i), &m.source)));
    for (path, source) in tables {
        let Some(Source::ByKey(origins)) = source else { continue };
        for key in origins.keys() {
            if problems.is_written(&child(&path, key)) {
                continue;
            }
            let message = format!("the origin of {key} is told, but {key} is not written in this table");
            let remedy = format!("Write {key}, or take its origin out.");
            problems.add(&child(&child(&path, "source"), key), message, "no such key here", remedy);
        }
    }
}
