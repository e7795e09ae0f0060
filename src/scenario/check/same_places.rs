use crate::design::{COLONY_SIZE_STRUCTURE, Scope, Study, Zone};
use crate::scenario::file::ScenarioFile;
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// Zones that share places: two of them, the deeper one named, site by site, and only where whole places are replicates.
pub fn check(file: &ScenarioFile, study: &Study, problems: &mut Problems) {
    for index in 0..study.zones.len() {
        let found = problem(file, study, index);
        if let Some(Refused { key, message, allowed, remedy }) = found {
            problems.add(&key, message, allowed, remedy);
            return;
        }
    }
    if study.shares_places() {
        check_study(study, problems);
    }
}

struct Refused {
    key: String,
    message: String,
    allowed: String,
    remedy: String,
}

impl Refused {
    fn new(key: String, message: String, allowed: impl Into<String>, remedy: &str) -> Option<Self> {
        Some(Self { key, message, allowed: allowed.into(), remedy: remedy.into() })
    }
}

/// What is wrong with the places of one zone.
fn problem(file: &ScenarioFile, study: &Study, index: usize) -> Option<Refused> {
    let zone = &study.zones[index];
    let same = zone.same_places.as_ref()?;
    let key = format!("zone[{index}].same_places_as");
    let others = study.zones.iter().enumerate().filter(|(other, _)| *other != index);
    let Some(named) = others.clone().find(|(_, other)| other.name == same.as_zone).map(|(named, _)| named) else {
        let names: Vec<&str> = others.map(|(_, other)| other.name.as_str()).collect();
        let allowed = if names.is_empty() { "there is no other zone".to_owned() } else { names.join(", ") };
        let message = format!("{}: no other zone is called \"{}\"", zone.name, same.as_zone);
        return Refused::new(key, message, allowed, "Write the name of the deeper zone at whose places this one lies.");
    };
    let deep = &study.zones[named];
    if deep.same_places.is_some() {
        let message = format!("{}: {} shares the places of another zone itself", zone.name, deep.name);
        let remedy = "A place has two depths at most: name a zone that names none, or take one of the two out.";
        return Refused::new(key, message, "a zone that names none", remedy);
    }
    let is_named_before = |other: &Zone| other.same_places.as_ref().is_some_and(|by| by.as_zone == deep.name);
    if let Some(other) = study.zones[..index].iter().find(|other| is_named_before(other)) {
        let message = format!("{}: {} shares the places of {} already", zone.name, other.name, deep.name);
        return Refused::new(
            key,
            message,
            "two depths a place",
            "A place has two depths at most: take one of the two out.",
        );
    }
    let mapped = [zone, deep].into_iter().find(|zone| zone.map.is_some());
    if let Some(mapped) = mapped {
        let message = format!("{}: {} is a map, of which there is one site", zone.name, mapped.name);
        return Refused::new(key, message, "not with maps", "Take same_places_as out.");
    }
    if zone.sites != deep.sites {
        let lists = [zone, deep].map(|zone| zone.sites.iter().map(usize::to_string).collect::<Vec<_>>().join(", "));
        let message =
            format!("{}: sites = {}, but {} has {} at the same places", zone.name, lists[0], deep.name, lists[1]);
        let remedy = "Each place is surveyed at both depths: write the same numbers of sites in both zones.";
        return Refused::new(format!("zone[{index}].sites"), message, format!("{} as there", lists[1]), remedy);
    }
    let depth = |zone: usize| file.zone[zone].dive.as_ref().map(|dive| dive.depth_m.get());
    if let (Some(own), Some(there)) = (depth(index), depth(named))
        && own > there
    {
        let message =
            format!("{}: at {} m it is deeper than {} at {} m", zone.name, number(own), deep.name, number(there));
        let remedy = "The deeper zone is the one to be named: write same_places_as there, or correct depth_m.";
        return Refused::new(key, message, format!("a zone of at least {} m", number(own)), remedy);
    }
    if (zone.bottom_names(), zone.leaves_rest()) != (deep.bottom_names(), deep.leaves_rest())
        && is_read(study, zone, deep)
    {
        let message = format!("{}: other kinds of bottom than {}, or in another order", zone.name, deep.name);
        let remedy = "Write the same [[zone.category]] tables in the same order in both zones, their covers apart (to 100 % in \
                      both or in none); a kind that one of them lacks may have little cover there.";
        return Refused::new(key, message, "the same kinds in both", remedy);
    }
    None
}

/// Whether anything but hard coral matters for what is read.
fn is_read(study: &Study, zone: &Zone, deep: &Zone) -> bool {
    let has = |name: &String| [zone, deep].iter().any(|zone| zone.categories.iter().any(|kind| kind.name == *name));
    let asked = study.changes.iter().map(|change| &change.indicator).chain(&study.also_report);
    study.observers.misidentification.is_some()
        || asked.into_iter().any(has)
        || [zone, deep].iter().any(|zone| zone.recruits.as_ref().is_some_and(|r| r.cannot_live_on.iter().any(has)))
}

/// What is not built for places as replicates.
fn check_study(study: &Study, problems: &mut Problems) {
    if study.scope != Scope::AllSuchReefs {
        let message =
            "zones at the same places take whole places for replicates, as a statement about all such reefs does";
        let remedy =
            "Write statement_about = \"all_such_reefs\", or take same_places_as out (zones are then independent).";
        problems.add("statement_about", message, "needs \"all_such_reefs\"", remedy);
    }
    if study.test.kind.law_of_counts().is_some() && study.question.tests() {
        let message = "zones share places, and a weighted sum of what two depths of a place have is no count";
        let remedy = "Write kind = \"paired_t\", \"welch_t\" or \"permutation\", which compare the values of whole places, or take \
                      same_places_as out.";
        problems.add("test.kind", message, "not with shared places", remedy);
    }
    if let Some(place) = study.also_report.iter().position(|name| study.presence_of(name).is_some()) {
        let message = format!("{} is not told where zones share places", study.also_report[place]);
        let remedy = "Take it out, or put the zones into scenarios of their own.";
        problems.add(&format!("also_report[{place}]"), message, "not with shared places", remedy);
    }
    if let Some(place) = study.also_report.iter().position(|name| name == COLONY_SIZE_STRUCTURE) {
        let message = "zones share places, and distributions of sizes of two depths of a place are not put together";
        let remedy = "Report classes of sizes or mean diameters, or take same_places_as out.";
        problems.add(&format!("also_report[{place}]"), message, "not with shared places", remedy);
    }
    if let Some(change) = study.changes.iter().position(|change| change.deaths.is_some()) {
        let message = "zones share places, and whether a storm hits both depths of a place is not built";
        let remedy = "Take [change.deaths] out, or same_places_as.";
        problems.add(&format!("change[{change}].deaths"), message, "not with shared places", remedy);
    }
}
