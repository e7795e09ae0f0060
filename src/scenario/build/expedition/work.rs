use super::Notes;
use crate::design::{First, MethodWork, Places, SiteList, Study, WhoWaits, ZoneDiving};
use crate::scenario::count::{Count, CountKind};
use crate::scenario::defaults;
use crate::scenario::file::{DiveTable, MethodParts, ScenarioFile, WorkTable};
use crate::scenario::ledger::Ledger;
use crate::scenario::near::nearest;
use crate::scenario::number::{Kind, Number};
use crate::scenario::origin::Origin;
use crate::scenario::problems::Problems;
use crate::scenario::shown::{number, percent};
use crate::scenario::word::TakesWord;
use crate::survey::MethodKind;

/// Diving in each zone.
pub fn zones(
    file: &ScenarioFile,
    (study, list): (&Study, Option<&SiteList>),
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Vec<ZoneDiving> {
    let zones = file.zone.iter().zip(&study.zones).enumerate();
    let diving = zones.map(|(index, (table, zone))| {
        let path = format!("zone[{index}].dive");
        let Some(dive) = &table.dive else {
            let message = format!("{}: how it is dived is not told", zone.name);
            let remedy = "Add [zone.dive] below this [[zone]], with depth_m and bottom_minutes as the diving officer \
                          allows; they have no usual value.";
            problems.add(&path, message, "needed for an expedition", remedy);
            return ZoneDiving {
                depth_m: 0.0,
                bottom_minutes: 1.0,
                not_working_minutes: 0.0,
                least_sites: 2,
                most_sites: 2,
                current_knots: None,
                needs_calm: false,
                officer_decided: None,
                moving_up_minutes: None,
            };
        };
        let mut notes = Notes { ledger: &mut *ledger, table: &path, about: &zone.name, source: &dive.source };
        zone_diving(dive, zone.existing, list.map(|list| list.counts(index)), &mut notes, problems)
    });
    diving.collect()
}

/// `listed`: sites of the zone that can be used on a list of candidates, and how many of them must be visited.
fn zone_diving(
    dive: &DiveTable,
    existing: Option<usize>,
    listed: Option<(usize, usize)>,
    notes: &mut Notes,
    problems: &mut Problems,
) -> ZoneDiving {
    let depth_m = dive.depth_m.get();
    notes.note("depth_m", "deepest point of its sites", true, format!("{} m", number(depth_m)));
    let bottom_minutes = dive.bottom_minutes.get();
    notes.note("bottom_minutes", "bottom time", true, format!("{} min", number(bottom_minutes)));
    let not_working_minutes = not_working(dive, bottom_minutes, notes, problems);
    let count = |written: Option<usize>, usual: usize| written.unwrap_or(usual);
    let (on_the_list, must) = listed.unwrap_or((usize::MAX, 0));
    let usual = existing.unwrap_or(defaults::MOST_SITES);
    let usual = listed.map_or(usual, |(on_the_list, _)| on_the_list);
    let most_sites = count(counted(dive.most_sites), usual).min(on_the_list);
    notes.plan("most_sites", "most sites", dive.most_sites.is_some(), most_sites.to_string());
    let least_sites = count(counted(dive.least_sites), defaults::LEAST_SITES.min(most_sites).max(2)).max(must);
    notes.plan("least_sites", "fewest sites", dive.least_sites.is_some(), least_sites.to_string());
    let current_knots = dive.current_knots.map(|knots| knots.get());
    if let Some(knots) = current_knots {
        notes.note("current_knots", "strongest current", true, format!("{} knots", number(knots)));
    }
    let needs_calm = dive.needs_calm == Some(true);
    let officer_decided = dive.diving_officer_decided.map(|of| (of.minutes.get(), of.depth_m.get()));
    let moving_up_minutes = minutes(dive.moving_up_minutes);
    if let Some(minutes) = moving_up_minutes {
        notes.note("moving_up_minutes", "moving up from the deeper part", true, format!("{} min", number(minutes)));
    }
    ZoneDiving {
        depth_m,
        bottom_minutes,
        not_working_minutes,
        least_sites,
        most_sites,
        current_knots,
        needs_calm,
        officer_decided,
        moving_up_minutes,
    }
}

fn counted<K: CountKind>(written: Option<Count<K>>) -> Option<usize> {
    written.map(|count| count.get())
}

/// Minutes of the bottom time that are no work: those told one by one, or what work leaves.
fn not_working(dive: &DiveTable, bottom_minutes: f64, notes: &mut Notes, problems: &mut Problems) -> f64 {
    let parts = [
        ("descent_minutes", "descent", minutes(dive.descent_minutes), defaults::DESCENT_MINUTES),
        ("arrival_minutes", "finding the place", minutes(dive.arrival_minutes), defaults::ARRIVAL_MINUTES),
        ("return_minutes", "going back to the line", minutes(dive.return_minutes), defaults::RETURN_MINUTES),
        ("spare_minutes", "kept to spare", minutes(dive.spare_minutes), defaults::SPARE_MINUTES),
    ];
    if let Some(work) = minutes(dive.work_minutes) {
        for (key, ..) in parts.iter().filter(|(_, _, written, _)| written.is_some()) {
            let message = format!("{key} and work_minutes are both written");
            let remedy = "Minutes of work stand for descent, arrival, return and spare together: take one of them out.";
            problems.add(&format!("{}.{key}", notes.table), message, "one of the two", remedy);
        }
        notes.note("work_minutes", "minutes of work on a dive", true, format!("{} min", number(work)));
        return without_dust(bottom_minutes - work);
    }
    let sum = parts.iter().map(|(key, what, written, usual)| notes.minutes(key, what, *written, *usual)).sum();
    // The minutes of work that follow are known no better than the worst of these.
    let of = |(key, _, written, _): &(&str, &str, Option<f64>, f64)| match notes.source {
        Some(source) if written.is_some() => source.of(key),
        _ => Origin::Assumed,
    };
    if let Some(worst) = parts.iter().map(of).min_by_key(Origin::rank) {
        notes.ledger.keep_as(notes.table, "work_minutes", worst);
    }
    without_dust(sum)
}

fn minutes<K: Kind>(written: Option<Number<K>>) -> Option<f64> {
    written.map(|minutes| minutes.get())
}

/// To a nanominute, so that minutes are the same when they are written as work and read again.
fn without_dust(minutes: f64) -> f64 {
    (minutes * 1e9).round() / 1e9
}

/// The work of each method besides laying and reading.
pub fn methods(
    file: &ScenarioFile,
    study: &Study,
    spread_of_all: f64,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Vec<MethodWork> {
    let absent = WorkTable::default();
    let same_marks = study.question.visits() > 1 && study.visits.places == Places::SameMarks;
    let methods = study.methods.iter().zip(file.method.parts());
    let work = methods.map(|(method, MethodParts { path, work, .. })| {
        let (table, path) = (work.as_ref().unwrap_or(&absent), format!("{path}.work"));
        let about = match &method.kind {
            MethodKind::Components(components) => components.indicator.clone(),
            kind => kind.name().replace('_', " "),
        };
        let mut notes = Notes { ledger: &mut *ledger, table: &path, about: &about, source: &table.source };
        let move_minutes =
            notes.minutes("move_minutes", "moving on", minutes(table.move_minutes), table.usual_move_minutes());
        let spread = table.minutes_spread_percent.map(|spread| spread.get() / 100.0);
        if let Some(spread) = spread {
            notes.note("minutes_spread_percent", "spread of the minutes of a unit", true, percent(spread));
        }
        // Where marks are nothing to the plan, guesses of their minutes are not listed.
        let mut marks = |key: &str, what: &str, written: Option<f64>, usual: f64| {
            if same_marks && table.on_line_of.is_none() || written.is_some() {
                return notes.minutes(key, what, written, usual);
            }
            usual
        };
        let mark_minutes = marks("mark_minutes", "setting marks", minutes(table.mark_minutes), defaults::MARK_MINUTES);
        let find_minutes = marks("find_minutes", "finding marks", minutes(table.find_minutes), defaults::FIND_MINUTES);
        let set_up = minutes(table.set_up_minutes);
        let laboratory_cost = table.laboratory_cost.map_or(0.0, |money| money.get());
        if table.laboratory_cost.is_some() {
            notes.note("laboratory_cost", "money for a unit in the laboratory", true, number(laboratory_cost));
        }
        MethodWork {
            move_minutes,
            set_up_minutes: notes.minutes("set_up_minutes", "setting up", set_up, defaults::SET_UP_MINUTES),
            skill: table.skill.clone(),
            takes_both: table.takes.is_some_and(|word| word.0 == TakesWord::Both),
            first: first(table, &mut notes, problems),
            minutes_spread: spread.unwrap_or(spread_of_all),
            mark_minutes,
            find_minutes,
            on_line_of: host(table, &path, study, problems),
            line_stays: table.line_stays == Some(true),
            laboratory_cost,
        }
    });
    work.collect()
}

/// The method on whose line work is done.
fn host(table: &WorkTable, path: &str, study: &Study, problems: &mut Problems) -> Option<usize> {
    let name = table.on_line_of.as_ref()?;
    let names: Vec<&str> = study.methods.iter().map(|method| method.kind.own_name()).collect();
    let found = names.iter().position(|known| known == name);
    if found.is_none() {
        let hint = nearest(name, &names).map_or(String::new(), |near| format!("Did you mean \"{near}\"? "));
        let remedy = format!("{hint}Methods here: {}.", names.join(", "));
        problems.add(&format!("{path}.on_line_of"), format!("there is no method \"{name}\""), "no such method", remedy);
    }
    found
}

fn first(table: &WorkTable, notes: &mut Notes, problems: &mut Problems) -> Option<First> {
    let key = |key: &str| format!("{}.{key}", notes.table);
    let waits = minutes(table.others_wait_minutes);
    if table.first != Some(true) {
        for (name, is_written) in [("others_wait_minutes", waits.is_some()), ("who_waits", table.who_waits.is_some())] {
            if is_written {
                let message = "the others wait for work that comes first, and this does not";
                problems.add(&key(name), message, "needs first = true", "Write first = true, or take it out.");
            }
        }
        return None;
    }
    let who_waits = table.who_waits.map_or(WhoWaits::All, |word| word.0);
    let Some(waits) = waits else {
        let message = "how long the others wait for this work is not told";
        let remedy = "Write others_wait_minutes = 8, for example (0 where they work elsewhere meanwhile).";
        problems.add(&key("others_wait_minutes"), message, "needed with first = true", remedy);
        return Some(First { minutes: 0.0, who_waits });
    };
    let who = match who_waits {
        WhoWaits::All => "all others at the site wait",
        WhoWaits::Buddy => "the buddy waits",
    };
    notes.note("others_wait_minutes", who, true, format!("{} min", number(waits)));
    Some(First { minutes: waits, who_waits })
}
