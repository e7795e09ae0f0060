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
    if let Some(expedition) = &file.expedition {
        tables.push(("expedition".to_owned(), &expedition.source));
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
        if let Some(dive) = &zone.dive {
            tables.push((format!("zone[{index}].dive"), &dive.source));
        }
    }
    for (index, change) in file.change.iter().enumerate() {
        tables.push((format!("change[{index}]"), &change.source));
    }
    for method in file.method.parts() {
        if let Some(work) = method.work {
            tables.push((format!("{}.work", method.path), &work.source));
        }
        tables.push((method.path, method.source));
    }
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
