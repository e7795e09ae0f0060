//! Budgets of places with two depths: both served on one dive where that can be packed, and places as the replicates.

mod common;

use common::bank::field;
use common::{bank, studies};
use reefwright::analysis::Tail;
use reefwright::budget::{
    Caps, Crew, Day, DayPacking, Diver, DoneSites, Finish, Hold, Indicator, MET, Minutes, Need, NeedTable, Packing,
    Pair, PlacesTell, Search, SiteTells, Table, Takes, Task, TwoDepths, ZoneDives,
};
use reefwright::engine::{DesignIndex, Until, Watch, Where};
use reefwright::planner::expedition::{
    BudgetAnswer, Confirming, DoneUnit, FieldData, Open, Replanned, ScheduleRow, finished,
};
use reefwright::random::{Key, Purpose};
use reefwright::report::{BudgetReport, FinishedReport, budget_files};
use reefwright::scenario::{Loaded, load_text, load_with};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::AtomicBool;

/// Invented.
const BANK: &str = r#"title = "Quill Bank"
statement_about = "all_such_reefs"
[[zone]]
name = "rim"
sites = 6
same_places_as = "wall"
place_correlation = 0.6
length_m = 5
width_m = 2.5
cover_percent = 30
[zone.dive]
depth_m = 8
bottom_minutes = 55
moving_up_minutes = 4
most_sites = 12
[[zone]]
name = "wall"
sites = 6
length_m = 5
width_m = 2.5
cover_percent = 20
[zone.dive]
depth_m = 20
bottom_minutes = 44
most_sites = 12
[[method.other]]
indicator = "rugosity"
unit = "cm"
mean = 140
between_sites = 20
site_year = 5
between_units = 18
units = "1..6"
lay_minutes = 2
read_minutes = 5
[[method.other]]
indicator = "holes"
unit = "holes"
mean = 30
between_sites = 6
site_year = 2
between_units = 7
units = "1..4"
lay_minutes = 1
read_minutes = 4
[[change]]
indicator = "rugosity"
from = 140
to = 128
[[change]]
indicator = "holes"
from = 30
to = 24
[expedition]
days = 22
transit_days = 2
lost_days_percent = 10
dives_a_day = 2
sites_a_day = 2
standby = "crew"
[[diver]]
name = "Ines"
depth_m = 35
[[diver]]
name = "Odo"
depth_m = 35
[[diver]]
name = "Pia"
depth_m = 35
[[diver]]
name = "Ruan"
depth_m = 35
[[target]]
indicator = "rugosity"
see = true
priority = "must"
[[target]]
indicator = "holes"
see = true
"#;

fn answer(text: &str) -> (BudgetAnswer, Loaded) {
    bank::answer(text, 64)
}

fn same_pair_dive(row: &ScheduleRow) -> (usize, usize, usize, usize) {
    (row.day, row.boat, row.team_dive, row.pair)
}

/// Every place is done at both depths with the whole site set; each pair works its deep part first.
fn check_schedule(answer: &BudgetAnswer) {
    let plan = answer.scheduled().unwrap();
    let sites = plan.zones[0].sites;
    assert_eq!(sites, plan.zones[1].sites);
    let mut done: BTreeMap<(&str, usize, &str), usize> = BTreeMap::new();
    for row in &answer.schedule {
        *done.entry((&row.zone, row.site, &row.task)).or_default() += row.units;
    }
    for zone in ["rim", "wall"] {
        for site in 1..=sites {
            for task in &plan.site_set {
                assert_eq!(done.get(&(zone, site, task.method.as_str())), Some(&task.units), "{zone} {site} {task:?}");
            }
        }
    }
    for dive in answer.schedule.chunk_by(|one, other| same_pair_dive(one) == same_pair_dive(other)) {
        let zones: Vec<&str> = dive.iter().map(|row| row.zone.as_str()).collect();
        let first_shallow = zones.iter().position(|zone| *zone == "rim").unwrap_or(zones.len());
        assert!(zones[first_shallow..].iter().all(|zone| *zone == "rim"), "{dive:?}");
        assert!(dive.iter().all(|row| row.site == dive[0].site && row.finished == dive[0].finished));
        let divers: BTreeSet<&str> = dive.iter().map(|row| row.diver.as_str()).collect();
        assert_eq!(divers.len(), 2, "{dive:?}");
    }
    let dives: BTreeSet<_> = answer.schedule.iter().map(|row| (row.day, row.boat, row.team_dive)).collect();
    assert_eq!(dives.len(), plan.team_dives);
    // Who dives deeper later on a day, which some do where others of the team work deep, is told.
    let deeper = |row: &ScheduleRow| {
        let before = |of: &&ScheduleRow| of.day == row.day && of.diver == row.diver && of.team_dive < row.team_dive;
        answer.schedule.iter().filter(before).any(|before| before.depth_m < row.depth_m)
    };
    let told = answer.warnings.iter().any(|warning| warning.contains("follows one to"));
    assert_eq!(told, answer.schedule.iter().any(deeper));
    if plan.zones[0].on_dives_of.is_some() {
        // The deep part of a place is begun before the shallow one.
        for site in 1..=sites {
            let first = answer.schedule.iter().find(|row| row.site == site).map(|row| row.zone.as_str());
            assert_eq!(first, Some("wall"));
        }
    }
}

/// Whether some team dive has work at both depths, of one pair or of two.
fn serves_both(answer: &BudgetAnswer) -> bool {
    let of = |row: &ScheduleRow| (row.day, row.boat, row.team_dive);
    let dives = answer.schedule.chunk_by(|one, other| of(one) == of(other));
    dives.into_iter().any(|dive| ["rim", "wall"].iter().all(|zone| dive.iter().any(|row| row.zone == *zone)))
}

/// Margins of a plan are those of theory with places as the replicates.
fn check_margins(answer: &BudgetAnswer, loaded: &Loaded) {
    let found = answer.all.as_ref().unwrap();
    let mut study = loaded.study.clone();
    study.zones.iter_mut().for_each(|zone| zone.sites = vec![found.zones[0].sites]);
    for (method, task) in study.methods.iter_mut().zip(&found.site_set) {
        method.units = vec![task.units];
    }
    let plan = studies::plan(study.clone());
    for (target, margin) in found.margins.iter().enumerate() {
        let design = DesignIndex { reading: target, units: 0, sites: 0, place: Where::All };
        let theory = plan.theory(&design, target + 2);
        let detectable = theory.detectable(1.0, 0.8, &plan.critical).unwrap();
        let expected = theory.expected.abs() / detectable;
        assert!((margin.margin / expected - 1.0).abs() < 2e-3, "{} {expected}", margin.margin);
        assert!((theory.df - (found.zones[0].sites as f64 - 1.0)).abs() < 1e-9);
    }
}

#[test]
fn two_depths_on_one_dive() {
    let (answer, loaded) = answer(BANK);
    let plan = answer.all.clone().unwrap();
    assert_eq!(plan.zones[0].on_dives_of.as_deref(), Some("wall"));
    assert!(plan.zones[0].team_dives == 0 && plan.zones[1].team_dives >= plan.zones[1].team_dives_at_least);
    check_schedule(&answer);
    assert!(serves_both(&answer));
    check_margins(&answer, &loaded);
    let told = answer.warnings.iter().find(|warning| warning.contains("lie at the same places")).unwrap();
    assert!(told.contains("wall first, 4 minutes to move up, then rim"), "{told}");
    // Beside the same with so long a way up that no dive serves both: never more team dives, here fewer.
    let (apart, _) = self::answer(&BANK.replace("moving_up_minutes = 4", "moving_up_minutes = 500"));
    check_schedule_apart(&apart);
    let (near, _) = self::answer(&BANK.replace("moving_up_minutes = 4", "moving_up_minutes = 0"));
    assert!(
        takes(&near) <= takes(&answer) && takes(&answer) <= takes(&apart),
        "{:?}",
        [&near, &answer, &apart].map(takes)
    );

    // A pair that may not dive to the deep part waits.
    let (waiting, _) = self::answer(&BANK.replace("name = \"Ruan\"\ndepth_m = 35", "name = \"Ruan\"\ndepth_m = 12"));
    check_schedule(&waiting);
    assert!(waiting.schedule.iter().all(|row| row.diver != "Ruan" && row.diver != "Pia"));
    assert!(takes(&waiting) >= takes(&answer));

    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer.clone(), 7);
    let files = budget_files(&report).unwrap();
    let of = |name: &str| {
        let (_, bytes) = files.iter().find(|(file, _)| file == name).unwrap_or_else(|| panic!("no {name}"));
        String::from_utf8(bytes.clone()).unwrap()
    };
    assert!(of("schedule.txt").contains("    at rim 1\n"));
    let rows = of("field.csv");
    let first = |zone: &str| rows.find(&format!(",{zone},1,")).unwrap();
    assert!(first("wall") < first("rim"));
    assert!(report.terminal(None).contains("wall with rim"), "{}", report.terminal(None));
}

fn check_schedule_apart(answer: &BudgetAnswer) {
    for dive in answer.schedule.chunk_by(|one, other| same_pair_dive(one) == same_pair_dive(other)) {
        assert!(dive.iter().all(|row| row.zone == dive[0].zone), "{dive:?}");
    }
}

const READ_HOLES: &str = "read_minutes = 4\n";

/// Whatever comes first at a depth of a place is done on the first team dive that works there.
fn check_first(answer: &BudgetAnswer, task: &str) {
    let sites = answer.scheduled().unwrap().zones[0].sites;
    for (zone, site) in ["rim", "wall"].iter().flat_map(|zone| (1..=sites).map(move |site| (zone, site))) {
        let at = || answer.schedule.iter().filter(|row| row.zone == *zone && row.site == site && row.units > 0);
        let first = at().map(|row| (row.day, row.team_dive)).min();
        let of_task = at().filter(|row| row.task == task);
        assert!(of_task.clone().count() > 0);
        assert!(of_task.into_iter().all(|row| Some((row.day, row.team_dive)) == first), "{zone} {site}");
    }
}

fn takes(answer: &BudgetAnswer) -> (usize, usize) {
    answer.all.as_ref().map(|plan| (plan.days, plan.team_dives)).unwrap()
}

/// Two boats, and holes that must be counted before anybody works there: the common case of fish counts.
#[test]
fn two_boats_and_what_comes_first() {
    let first = format!("{READ_HOLES}work = {{ first = true, others_wait_minutes = 3 }}\n");
    let two = [
        (READ_HOLES, first.as_str()),
        ("[expedition]\n", "[expedition]\nboats = 2\n"),
        ("units = \"1..6\"", "units = \"1..2\""),
        ("units = \"1..4\"", "units = 1"),
        ("to = 128", "to = 120"),
        ("to = 24\n", "to = 20\n"),
        ("bottom_minutes = 44", "bottom_minutes = 54\ndiving_officer_decided = { minutes = 54, depth_m = 20 }"),
        ("bottom_minutes = 55", "bottom_minutes = 60"),
    ]
    .into_iter()
    .fold(BANK.to_owned(), |text, (from, to)| text.replace(from, to));
    let (answer, loaded) = answer(&two);
    let plan = answer.all.clone().unwrap();
    assert_eq!(plan.zones[0].on_dives_of.as_deref(), Some("wall"));
    check_schedule(&answer);
    check_margins(&answer, &loaded);
    check_first(&answer, "holes");
    assert!(serves_both(&answer) && answer.schedule.iter().any(|row| row.boat == 2));
    // Each boat has its own pair.
    let of_boat = |boat: usize| -> BTreeSet<&str> {
        answer.schedule.iter().filter(|row| row.boat == boat).map(|row| row.diver.as_str()).collect()
    };
    assert!(of_boat(1).is_disjoint(&of_boat(2)));
    let (apart, _) = self::answer(&two.replace("moving_up_minutes = 4", "moving_up_minutes = 500"));
    check_schedule_apart(&apart);
    check_first(&apart, "holes");
    assert!(takes(&answer) < takes(&apart), "{:?} {:?}", takes(&answer), takes(&apart));
    // Who waits as long as holes are counted disturbs nobody, and what is done at the other depth is elsewhere.
    let disturbs = |answer: &BudgetAnswer| {
        answer.warnings.iter().any(|warning| warning.contains("other work is begun at the site"))
    };
    let (waits, _) = self::answer(&two.replace("others_wait_minutes = 3", "others_wait_minutes = 8"));
    assert!(disturbs(&answer) && !disturbs(&waits));
}

/// Marks that are set and found, and a pair that goes home while another comes.
#[test]
fn marks_and_crews_that_change() {
    let marked = BANK.replace("[expedition]\n", "[visits]\nplaces = \"same_marks\"\n[expedition]\n");
    let (answer, loaded) = answer(&marked);
    let plan = answer.all.clone().unwrap();
    assert_eq!((plan.zones[0].on_dives_of.as_deref(), plan.visits.len()), (Some("wall"), 2));
    check_schedule(&answer);
    check_margins(&answer, &loaded);
    let [planned, other] = &plan.visits[..] else { panic!("two visits") };
    assert_eq!((planned.days, planned.team_dives, planned.pair_dives), (plan.days, plan.team_dives, plan.pair_dives));
    assert!(other.team_dives <= planned.team_dives && other.team_dives >= plan.zones[1].sites);

    let changing = BANK
        .replace("name = \"Pia\"\n", "name = \"Pia\"\nto_day = 3\n")
        .replace("name = \"Ruan\"\n", "name = \"Ruan\"\nto_day = 3\n")
        .replace(
            "[[target]]\nindicator = \"rugosity\"",
            "[[diver]]\nname = \"Sol\"\ndepth_m = 35\nfrom_day = 4\n[[diver]]\nname = \"Tam\"\ndepth_m = 35\nfrom_day = 4\n\
             [[target]]\nindicator = \"rugosity\"",
        );
    let (answer, loaded) = self::answer(&changing);
    assert_eq!(answer.all.as_ref().unwrap().zones[0].on_dives_of.as_deref(), Some("wall"));
    check_schedule(&answer);
    let dives = |rows: &[ScheduleRow], name: &str| -> Vec<usize> {
        rows.iter().filter(|row| row.diver == name).map(|row| row.day).collect()
    };
    // So it is when the rest is planned anew after a day.
    let done = field(&loaded, &answer, |row| row.day == 1);
    assert_eq!(done.days(1), 1);
    for rows in [&answer.schedule, &rest(&loaded, &done).rest.schedule] {
        let last = rows.iter().map(|row| row.day).max().unwrap();
        assert!(last > 3 && !dives(rows, "Sol").is_empty() && !dives(rows, "Pia").is_empty());
        assert!(dives(rows, "Pia").iter().all(|day| *day <= 3) && dives(rows, "Sol").iter().all(|day| *day > 3));
    }
}

/// A list of candidates: a place with its two depths is drawn, visited and left out as one.
#[test]
fn places_of_a_list_are_drawn_whole() {
    let listed = BANK.replace("[expedition]\n", "[expedition]\ncandidate_sites = \"list.csv\"\n");
    let row = |zone: &str, place: usize| {
        let depth = if zone == "rim" { 7.5 } else { 19.0 };
        // One may not be used, of another one depth is asked for, a third can be reached late at one depth.
        let (must, first, why) = match (zone, place) {
            ("rim", 3) => ("no", "", "nets"),
            ("wall", 5) => ("yes", "", ""),
            ("rim", 7) => ("no", "3", ""),
            _ => ("no", "", ""),
        };
        format!("{zone} {place},{zone},{depth},-24.5,-110.{place:02},{must},{first},{why},place {place}\n")
    };
    let rows: String =
        (1..=14).map(|place| row("rim", place)).chain((1..=14).rev().map(|place| row("wall", place))).collect();
    let list = format!("name,zone,depth_m,latitude,longitude,must_visit,first_day,cannot_be_used,place\n{rows}");
    let loaded = load_with("bank.toml", &listed, &move |_| Ok(list.clone().into_bytes()));
    let loaded = loaded.unwrap_or_else(|error| panic!("{}", error.render()));
    let answer = bank::of_loaded(&loaded, (7, 64));
    let plan = answer.all.clone().unwrap();
    assert_eq!(plan.zones[0].on_dives_of.as_deref(), Some("wall"));
    let place = |name: &str| name.split(' ').next_back().unwrap().to_owned();
    let mut by_site: BTreeMap<usize, BTreeSet<String>> = BTreeMap::new();
    for row in &answer.schedule {
        let name = row.site_name.as_deref().unwrap();
        assert!(name.starts_with(&row.zone), "{row:?}");
        by_site.entry(row.site).or_default().insert(place(name));
    }
    assert_eq!(by_site.len(), plan.zones[0].sites);
    assert!(by_site.values().all(|places| places.len() == 1), "{by_site:?}");
    let visited: BTreeSet<String> = by_site.into_values().flatten().collect();
    assert!(visited.contains("5") && !visited.contains("3"), "{visited:?}");
    assert!(answer.schedule.iter().all(|row| place(row.site_name.as_deref().unwrap()) != "7" || row.day >= 3));
    let of = |zone: &str| answer.sites.iter().filter(|row| row.zone == zone).collect::<Vec<_>>();
    for (rim, wall) in of("rim").iter().zip(of("wall")) {
        assert_eq!((rim.site, rim.role, rim.day), (wall.site, wall.role, wall.day));
        assert_eq!(place(&rim.name), place(&wall.name));
        let starts = |zone: &str| answer.starts.iter().any(|start| start.zone == zone && start.site == rim.site);
        assert_eq!(starts("rim"), starts("wall"));
    }
    assert!(of("wall").iter().any(|row| row.cannot_be_used == "rim 3: nets"));
}

fn rest(loaded: &Loaded, data: &FieldData) -> Replanned {
    bank::rest(loaded, data, (7, 64))
}

/// The rest of an expedition: places that are done at both depths count whole, those done at one depth do not.
#[test]
fn the_rest_is_planned_by_whole_places() {
    let (answer, loaded) = answer(BANK);
    let all = answer.all.clone().unwrap();
    let rest_of = |data: &FieldData| rest(&loaded, data);
    let sites = all.zones[0].sites;
    let rest = rest_of(&field(&loaded, &answer, |row| row.site <= 4));
    let (planned, as_planned) = (rest.rest.all.as_ref().unwrap(), rest.as_planned.as_ref().unwrap());
    assert_eq!(planned.zones[0].on_dives_of.as_deref(), Some("wall"));
    // Places that are done are places: the rest as planned makes the whole that was planned.
    let weakest = all.margins.iter().map(|margin| margin.margin).fold(f64::INFINITY, f64::min);
    assert_eq!(as_planned.sites, [sites as u16 - 4; 2]);
    assert!((as_planned.weakest / weakest - 1.0).abs() < 1e-9, "{} {weakest}", as_planned.weakest);
    assert!(planned.days <= as_planned.days.unwrap() && planned.margins.iter().all(|margin| margin.margin >= MET));
    assert_eq!(planned.zones[0].sites, planned.zones[1].sites);
    let to_come: BTreeSet<usize> = rest.rest.schedule.iter().map(|row| row.site).collect();
    assert_eq!(to_come, (5..5 + planned.zones[0].sites).collect());
    for zone in ["rim", "wall"] {
        let of_zone: BTreeSet<usize> =
            rest.rest.schedule.iter().filter(|row| row.zone == zone && row.units > 0).map(|row| row.site).collect();
        assert_eq!(of_zone, to_come);
    }
    // One place lacks its shallow part: it is finished by dives at that part alone, first of all, and counts whole then.
    let half = rest_of(&field(&loaded, &answer, |row| row.site <= 4 && (row.site != 2 || row.zone == "wall")));
    let [begun] = &half.rest.begun[..] else { panic!("{:?}", half.rest.begun) };
    assert_eq!((begun.zone.as_str(), begun.site), ("rim", 2));
    // With the minutes of the sheets a new place takes more.
    let new: usize = half.as_planned.as_ref().unwrap().team_dives.as_ref().unwrap().iter().sum();
    assert!(begun.team_dives < new, "{begun:?} {new}");
    let done: Vec<(usize, usize)> = half.zones.iter().map(|zone| (zone.done, zone.planned)).collect();
    assert_eq!(done, [(3, sites), (4, sites)]);
    let there: Vec<&ScheduleRow> = half.rest.schedule.iter().filter(|row| row.site <= 4).collect();
    assert!(!there.is_empty() && there.iter().all(|row| (row.zone.as_str(), row.site) == ("rim", 2)), "{there:?}");
    let first = half.rest.schedule[0].day;
    assert!(there.iter().all(|row| row.day == first && (0.9..=1.0).contains(&row.finished)), "{there:?}");
    for (task, set) in ["rugosity", "holes"].iter().zip(&all.site_set) {
        let units: usize = there.iter().filter(|row| row.task == *task).map(|row| row.units).sum();
        assert_eq!((set.method.as_str(), units), (*task, set.units), "{there:?}");
    }
    let as_planned = half.as_planned.as_ref().unwrap();
    assert_eq!(as_planned.sites, [sites as u16 - 4; 2]);
    assert!((as_planned.weakest / weakest - 1.0).abs() < 1e-9, "{} {weakest}", as_planned.weakest);
    assert!(!half.notes.iter().any(|note| note.contains("was not done at")), "{:?}", half.notes);
    // One of which nearly all is missing takes as much as a new place: it counts for nothing, is left, and told.
    let little = rest_of(&field(&loaded, &answer, |row| {
        row.site <= 4 && (row.site != 2 || row.zone == "wall" && row.task == "holes")
    }));
    assert!(little.rest.begun.is_empty(), "{:?}", little.rest.begun);
    assert!(little.rest.schedule.iter().all(|row| row.site > 4));
    assert!(little.notes.iter().any(|note| note.contains("wall 2 was not done at rim")), "{:?}", little.notes);
}

/// At the end places are the replicates: what was planned is what the budget told, and what came is worked out from the sums of both
/// depths. A place that was read at one depth alone is left out, and counted.
#[test]
fn at_the_end_whole_places_are_told() {
    let asked = |indicator: &str, cv: &str| {
        let text = BANK.replace(&format!("indicator = \"{indicator}\"\nsee = true"), "indicator = \"IND\"\nCV");
        assert!(text != BANK);
        text.replace("IND", indicator).replace("CV", cv)
    };
    let (answer, loaded) = answer(&asked("holes", "cv_percent = 9"));
    let all = answer.all.clone().unwrap();
    let index = all.margins.iter().position(|margin| margin.indicator == "holes").unwrap();
    // What of a place both depths have in common, of each its own, and of each unit, by names.
    let drawn = |name: &str| 4.0 * (Key::seed(11).child_of_name(Purpose::Test, name).uniform(Purpose::Test, 0) - 0.5);
    let mut data = field(&loaded, &answer, |_| true);
    let task = all.site_set.iter().position(|task| task.method == "holes").unwrap();
    let lost = all.zones[0].sites.to_string();
    data.units.retain(|unit| unit.zone == 1 || unit.site != lost);
    for (number, unit) in data.units.iter_mut().enumerate().filter(|(_, unit)| unit.task == task) {
        let own = drawn(&format!("{} {}", unit.zone, unit.site)) + drawn(&format!("unit {number}"));
        unit.readings[index] = Some(30.0 + 2.0 * drawn(&unit.site) + own);
    }
    let plan = studies::plan(loaded.study.clone());
    let watch = Watch { progress: &|_, _| {}, interrupted: &AtomicBool::new(false) };
    let confirming = Confirming { seed: 7, until: Until::Trials(64), watch: &watch, step: &|_| {} };
    let open = Open::new(&plan, loaded.expedition.as_ref().unwrap(), 7);
    let told = finished(&open, (&data, 1), &confirming).unwrap_or_else(|why| panic!("{why:?}"));
    let reached = told.reached.iter().find(|of| of.indicator == "holes").unwrap();
    let (planned, budgeted) = (reached.cv_planned.unwrap(), all.margins[index].achieved);
    assert!((planned / budgeted - 1.0).abs() < 1e-6, "{planned} {budgeted}");
    // By hand.
    let mean_of = |zone: usize, site: &str| {
        let of_site = data.units.iter().filter(|unit| (unit.zone, unit.site.as_str()) == (zone, site));
        let values: Vec<f64> = of_site.filter_map(|unit| unit.readings[index]).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let places = (1..=all.zones[0].sites).map(|site| site.to_string());
    let values: Vec<f64> =
        places.filter_map(|site| Some(0.5 * mean_of(0, &site)? + 0.5 * mean_of(1, &site)?)).collect();
    let number = values.len() as f64;
    let centre = values.iter().sum::<f64>() / number;
    let square: f64 = values.iter().map(|value| (value - centre).powi(2)).sum::<f64>() / (number - 1.0);
    assert!((reached.mean.unwrap() / centre - 1.0).abs() < 1e-12, "{reached:?} {centre}");
    assert!((reached.cv.unwrap() * centre / (square / number).sqrt() - 1.0).abs() < 1e-9, "{reached:?} {square}");
    assert_eq!(reached.degrees_of_freedom, Some(number - 1.0));
    assert_eq!((reached.places_at_one_depth, reached.sites), (1, 2 * values.len()));
    let text = FinishedReport::new(&loaded.study, told.clone()).terminal(None);
    assert!(text.contains("holes: 1 place was read at one depth alone"), "{text}");
}

/// The rest keeps the days on which places of the list can be reached, and names that contradict numbers are told.
#[test]
fn the_rest_keeps_the_days_of_its_sites() {
    let with_late = |late: usize| {
        let row = |zone: &str, place: usize| {
            let (depth, first) = (if zone == "rim" { 7.5 } else { 19.0 }, if place == late { "4" } else { "" });
            format!("{zone} {place},{zone},{depth},-24.5,-110.{place:02},{first},place {place}\n")
        };
        let rows: String = (1..=14).flat_map(|place| ["rim", "wall"].map(|zone| row(zone, place))).collect();
        let list = format!("name,zone,depth_m,latitude,longitude,first_day,place\n{rows}");
        let listed = BANK.replace("[expedition]\n", "[expedition]\ncandidate_sites = \"list.csv\"\n");
        load_with("bank.toml", &listed, &move |_| Ok(list.clone().into_bytes()))
            .unwrap_or_else(|why| panic!("{}", why.render()))
    };
    let at_any_time = with_late(0);
    let answer = bank::of_loaded(&at_any_time, (7, 64));
    let first_day = field(&at_any_time, &answer, |row| row.day == 1);
    let place = |row: &ScheduleRow| row.site_name.as_deref().unwrap().split(' ').next_back().unwrap().to_owned();
    let to_come = rest(&at_any_time, &first_day).rest.schedule;
    assert_eq!(to_come[0].day, 2);
    // What comes next cannot be reached before the fourth day.
    let next: usize = place(&to_come[0]).parse().unwrap();
    let late = with_late(next);
    let told = rest(&late, &first_day);
    let days: Vec<usize> =
        told.rest.schedule.iter().filter(|row| place(row) == next.to_string()).map(|row| row.day).collect();
    assert!(!days.is_empty() && days.iter().all(|day| *day >= 4), "{days:?}");
    assert_eq!(told.rest.schedule[0].day, 2);
    // Names: as drawn they say nothing, another is doubtful with its line.
    let doubts = |data: &FieldData| -> Vec<String> {
        rest(&late, data).notes.into_iter().filter(|note| note.contains("contradict each other")).collect()
    };
    let mut named = first_day.clone();
    let names = |unit: &DoneUnit| {
        let zone = ["rim", "wall"].into_iter().find(|zone| late.study.zones[unit.zone].name == *zone);
        let row =
            answer.schedule.iter().find(|row| Some(row.zone.as_str()) == zone && row.site.to_string() == unit.site);
        row.unwrap().site_name.clone().unwrap()
    };
    for unit in &mut named.units {
        unit.site_name = names(unit);
    }
    assert!(doubts(&named).is_empty(), "{:?}", doubts(&named));
    named.units[0].site_name = "elsewhere".into();
    named.units[0].written_in = "field.csv, line 12".into();
    let [doubt] = &doubts(&named)[..] else { panic!("{:?}", doubts(&named)) };
    assert!(doubt.contains("field.csv, line 12") && doubt.contains("no site of the zone has that name"), "{doubt}");
}

/// Where both depths on one dive are not packed each has its own, places stay the replicates, and why is told.
#[test]
fn dives_of_their_own_where_it_is_not_packed() {
    // A third method that many units of are looked at: more site sets than are packed for two depths.
    let cracks = "[[method.other]]\nindicator = \"cracks\"\nunit = \"m\"\nmean = 30\nbetween_sites = 6\nsite_year = 2\n\
                  between_units = 7\nunits = \"1..16\"\nread_minutes = 4\n[[change]]\nindicator = \"cracks\"\nfrom = 30\nto = 24\n\
                  [expedition]\n";
    let many = BANK
        .replace("units = \"1..6\"", "units = \"1..16\"")
        .replace("units = \"1..4\"", "units = \"1..16\"")
        .replace("[expedition]\n", cracks)
        + "[[target]]\nindicator = \"cracks\"\nsee = true\n";
    let (answer, loaded) = answer(&many);
    let plan = answer.all.clone().unwrap();
    assert!(plan.zones.iter().all(|zone| zone.on_dives_of.is_none() && zone.team_dives > 0));
    check_schedule(&answer);
    check_schedule_apart(&answer);
    check_margins(&answer, &loaded);
    let told = answer.warnings.iter().find(|warning| warning.contains("lie at the same places")).unwrap();
    assert!(told.contains("team dives of its own, because the most units of all methods"), "{told}");
}

/// How a zone is dived is missing: that alone is told, and nothing that follows from it.
#[test]
fn a_zone_without_dives_is_one_mistake() {
    let table = "[zone.dive]\ndepth_m = 20\nbottom_minutes = 44\nmost_sites = 12\n";
    assert!(BANK.contains(table));
    let error = load_text("bank.toml", &BANK.replace(table, "")).unwrap_err();
    let [problem] = &error.problems[..] else { panic!("{}", error.render()) };
    assert_eq!(problem.key, "zone[1].dive");
}

#[test]
fn what_cannot_be_is_refused_at_its_key() {
    let refused = |from: &str, to: &str, key: &str, words: &str| {
        assert!(BANK.contains(from));
        let error = load_text("bank.toml", &BANK.replacen(from, to, 1)).expect_err(key);
        let problem = error.problems.iter().find(|problem| problem.key == key);
        let problem = problem.unwrap_or_else(|| panic!("nothing at {key}: {}", error.render()));
        assert!(problem.message.contains(words) && !problem.remedy.is_empty(), "{problem:?}");
    };
    let key = "zone[0].dive.moving_up_minutes";
    refused("moving_up_minutes = 4\n", "", key, "is not written");
    refused("moving_up_minutes = 4", "moving_up_minutes = -1", key, "out of range");
    refused("same_places_as = \"wall\"\nplace_correlation = 0.6\n", "", key, "not from which deeper zone");
    refused("depth_m = 8", "depth_m = 28", "zone[0].same_places_as", "deeper than wall");
    refused("most_sites = 12", "most_sites = 9", "zone[0].dive.most_sites", "but 12 in wall");
    refused("most_sites = 12", "least_sites = 4\nmost_sites = 12", "zone[0].dive.least_sites", "but 3 in wall");
}

/// The search with two zones at the same places beside one of its own, against every site set with every number of sites.
#[test]
fn the_search_finds_what_trying_everything_finds() {
    let mut random = Key::seed(31);
    let mut uniform = || {
        random = random.child(Purpose::Test, 1);
        random.uniform(Purpose::Test, 2)
    };
    let mut met = 0;
    for number in 0..12 {
        let tasks: Vec<Task> = ["lines", "belts"]
            .map(|name| Task {
                name: name.into(),
                unit: Minutes { mean: 7.0 + 6.0 * uniform(), cv: 0.0 },
                set_up: 2.0 * uniform(),
                takes: Takes::One,
                skill: None,
                first: None,
            })
            .to_vec();
        let crew = Crew { divers: vec![Diver { name: String::new(), skills: 0 }; 2], pairs: vec![Pair(0, 1)] };
        let finish = Finish { quantile: 0.0 };
        let packing = |minutes: f64| Packing {
            tasks: &tasks,
            crew: &crew,
            finish,
            minutes,
            dives_with_first: 1,
            one_stays_up: false,
            most_dives: 4,
            line: None,
        };
        let caps = || Caps::new(vec![4, 3]);
        let place = TwoDepths { depths: [packing(34.0), packing(44.0)], moving_up: 3.0, finish };
        let together = number % 3 > 0;
        let tables = if together {
            let at_place = TwoDepths::table(std::slice::from_ref(&place), caps());
            [Table::on_other_dives(caps()), at_place, Table::new(&packing(40.0), caps())]
        } else {
            [Table::new(&packing(44.0), caps()), Table::new(&packing(34.0), caps()), Table::new(&packing(40.0), caps())]
        };
        let weights = [0.3, 0.4, 0.3];
        let indicators: Vec<Indicator> = (0..2)
            .map(|task| {
                let parts: Vec<(f64, f64)> = (0..3).map(|_| (0.02 + 0.1 * uniform(), 0.1 + 0.3 * uniform())).collect();
                let of = |zone: usize, units: usize| parts[zone].0 + parts[zone].1 / units as f64;
                let covariance = uniform() * (parts[0].0 * parts[1].0).sqrt();
                let units = || 0..=4usize;
                let place = |units: usize| {
                    let apart = 0.09 * of(0, units) + 0.16 * of(1, units);
                    SiteTells::one(apart + 2.0 * 0.12 * covariance)
                };
                Indicator {
                    name: String::new(),
                    task,
                    is_must: task == 0,
                    weight: 1.0,
                    sites: (0..3).map(|zone| units().map(|units| SiteTells::one(of(zone, units))).collect()).collect(),
                    floor: vec![0.0; 5],
                    target: 0.45 + 0.35 * uniform(),
                    need: Need::Table(NeedTable::of_power(0.05, Tail::Two, 0.8)),
                    done: Vec::new(),
                    places: vec![PlacesTell {
                        zones: [1, 0],
                        tells: units().map(place).collect(),
                        done: DoneSites::default(),
                    }],
                }
            })
            .collect();
        let zones: Vec<ZoneDives> = (weights.iter().zip(&tables).enumerate())
            .map(|(zone, (&weight, table))| ZoneDives {
                weight,
                least_sites: 3,
                most_sites: 9,
                table,
                same_sites_as: (zone == 1).then_some(0),
            })
            .collect();
        let day = Day::fixed(3, 2);
        let mut packing = DayPacking::new(&day);
        let mut least: Option<(usize, usize, u16)> = None;
        for units in caps().all().filter(|units| units.iter().all(|&n| n > 0)) {
            let dives: Option<Vec<usize>> = tables.iter().map(|table| table.dives(&units)).collect();
            let Some(dives) = dives else { continue };
            for (shared, own) in (3..=9).flat_map(|shared| (3..=9).map(move |own| (shared, own))) {
                let sites = [shared, shared, own];
                if indicators.iter().any(|of| of.margin(&weights, &sites, usize::from(units[of.task])) < MET) {
                    continue;
                }
                let Some(days) = packing.days_of_zones(&sites, &dives) else { continue };
                let team_dives = sites.iter().zip(&dives).map(|(&sites, dives)| usize::from(sites) * dives).sum();
                let takes = (days, team_dives, sites.iter().sum());
                least = Some(least.map_or(takes, |least| least.min(takes)));
            }
        }
        let found = Search::new(&zones, &indicators, day, 1).least(Hold::All);
        let found = found.map(|found| (found.days, found.team_dives, found.sites.iter().sum()));
        assert_eq!(found, least, "instance {number}");
        met += u32::from(least.is_some());
    }
    assert!(met > 4, "{met}");
}
