//! The real sites of an expedition from outside: the list, the draw, days, people, files for the boat.

use assert_cmd::Command;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use tempfile::TempDir;

/// A small invented expedition that is searched in a moment.
const EXPEDITION: &str = r#"title = "Quill Bank"
statement_about = "all_such_reefs"
[[zone]]
name = "rim"
cover_percent = 30
[zone.dive]
depth_m = 8
bottom_minutes = 55
[[zone]]
name = "wall"
cover_percent = 20
[zone.dive]
depth_m = 20
bottom_minutes = 44
[[method.other]]
indicator = "rugosity"
unit = "cm"
mean = 140
between_sites = 20
site_year = 5
between_units = 18
units = "1..8"
lay_minutes = 2
read_minutes = 9
[[method.other]]
indicator = "grazers"
unit = "kg/ha"
mean = 200
scale = "ln"
between_sites = 0.4
site_year = 0.15
between_units = 0.5
units = "1..6"
lay_minutes = 0
read_minutes = 8
work = { skill = "fish" }
[[change]]
indicator = "rugosity"
from = 140
to = 124
[[change]]
indicator = "grazers"
from = 200
to = 110
[expedition]
days = 14
dives_a_day = 3
sites_a_day = 2
standby = "crew"
candidate_sites = "list.csv"
[[diver]]
name = "Ines"
skills = ["fish"]
depth_m = 30
[[diver]]
name = "Odo"
depth_m = 30
[[diver]]
name = "Pia"
skills = ["fish"]
depth_m = 30
[[diver]]
name = "Ruan"
depth_m = 30
[[target]]
indicator = "rugosity"
see = true
priority = "must"
[[target]]
indicator = "grazers"
see = true
"#;

const HEAD: &str =
    "name,zone,depth_m,latitude,longitude,sheltered,access,first_day,last_day,old_marks,must_visit,cannot_be_used\n";

fn list() -> String {
    let zone = |zone: &str, depth: f64, count: usize, north: f64| {
        (1..=count)
            .map(|k| format!("{zone} {k},{zone},{depth},{north:.3},-110.{k:03},no,,,,no,no,\n"))
            .collect::<String>()
    };
    format!("{HEAD}{}{}", zone("rim", 7.5, 14, -24.5), zone("wall", 19.0, 12, -24.6))
}

fn run(text: &str, list: &str, arguments: &[&str]) -> (TempDir, assert_cmd::assert::Assert) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("bank.toml"), text).unwrap();
    fs::write(folder.path().join("list.csv"), list).unwrap();
    let mut command = Command::cargo_bin("reefwright").unwrap();
    let result = command
        .current_dir(folder.path())
        .args(["budget", "bank.toml", "--trials", "20", "--quiet"])
        .args(arguments)
        .assert();
    (folder, result)
}

fn answer(text: &str, list: &str, seed: &str) -> Value {
    let (_, result) = run(text, list, &["--json", "--seed", seed]);
    serde_json::from_slice(&result.success().get_output().stdout).unwrap()
}

fn refused(text: &str, list: &str) -> String {
    let (folder, result) = run(text, list, &["--out", "plan"]);
    let told = String::from_utf8(result.code(2).get_output().stderr.clone()).unwrap();
    assert!(!folder.path().join("plan").exists(), "something was written");
    told.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
}

fn rows<'a>(answer: &'a Value, key: &str) -> &'a [Value] {
    answer[key].as_array().unwrap_or_else(|| panic!("no list {key}"))
}

fn text<'a>(row: &'a Value, key: &str) -> &'a str {
    row[key].as_str().unwrap_or_else(|| panic!("{key} of {row} is no text"))
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap_or_else(|| panic!("{key} of {row} is no number"))
}

fn names_by_role<'a>(answer: &'a Value, zone: &str, role: &str) -> Vec<&'a str> {
    let of = rows(answer, "sites").iter().filter(|row| row["zone"] == zone && row["role"] == role);
    of.map(|row| text(row, "name")).collect()
}

fn warned(answer: &Value, words: &str) -> bool {
    rows(answer, "warnings").iter().any(|warning| warning.as_str().unwrap().contains(words))
}

/// What every schedule of a list must be: the planned sites and no others, all units at each, and two divers on every dive
/// who have the skills, in their minutes.
fn assert_is_whole(answer: &Value, skilled: &BTreeMap<&str, Vec<&str>>, work_minutes: &BTreeMap<&str, f64>) {
    let planned: BTreeSet<(&str, &str)> = rows(answer, "sites")
        .iter()
        .filter(|row| ["must_visit", "drawn"].contains(&text(row, "role")))
        .map(|row| (text(row, "zone"), text(row, "name")))
        .collect();
    let schedule = rows(answer, "schedule");
    let visited: BTreeSet<(&str, &str)> =
        schedule.iter().map(|row| (text(row, "zone"), text(row, "site_name"))).collect();
    assert_eq!(planned, visited);
    let plan = if answer["all"].is_null() { &answer["best"] } else { &answer["all"] };
    for zone in rows(plan, "zones") {
        let of_zone = planned.iter().filter(|(of, _)| *of == text(zone, "zone")).count();
        assert_eq!(of_zone as f64, number(zone, "sites"));
    }
    for (_, name) in &planned {
        for task in rows(plan, "site_set") {
            let done = schedule.iter().filter(|row| row["site_name"] == *name && row["task"] == task["method"]);
            assert_eq!(done.map(|row| number(row, "units")).sum::<f64>(), number(task, "units"), "{name} {task}");
        }
    }
    let mut dives: BTreeMap<String, BTreeMap<&str, f64>> = BTreeMap::new();
    for row in schedule {
        if let Some(able) = skilled.get(text(row, "task")) {
            assert!(able.contains(&text(row, "diver")), "{row}");
        }
        let key = ["day", "boat", "team_dive", "pair"].map(|key| row[key].to_string()).join(" ");
        *dives.entry(key).or_default().entry(text(row, "diver")).or_default() += number(row, "minutes_asked");
        let minutes = dives.values().flat_map(BTreeMap::values).copied().fold(0.0, f64::max);
        assert!(minutes <= work_minutes.values().copied().fold(0.0, f64::max));
    }
    assert!(dives.values().all(|divers| divers.len() == 2), "{dives:?}");
    // Nobody is in two places: on each team dive a diver is in one pair.
    for row in schedule {
        let same = |other: &&Value| {
            ["day", "team_dive", "diver"].iter().all(|key| other[key] == row[key]) && other["pair"] != row["pair"]
        };
        assert!(!schedule.iter().any(|other| same(&other)), "{row}");
    }
}

#[test]
fn the_example_is_drawn_scheduled_and_written_for_the_boat() {
    let folder = TempDir::new().unwrap();
    for name in ["ember_reefs.toml", "ember_sites.csv"] {
        let from = format!("{}/examples/{name}", env!("CARGO_MANIFEST_DIR"));
        fs::copy(from, folder.path().join(name)).unwrap();
    }
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command
        .current_dir(folder.path())
        .args(["budget", "ember_reefs.toml", "--trials", "20", "--quiet", "--out", "plan"])
        .assert()
        .success();
    let read = |name: &str| fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
    let answer: Value = serde_json::from_str(&read("budget.json")).unwrap();
    let corals = vec!["Cato", "Dita", "Fay"];
    let skilled = BTreeMap::from([("coral_belt", corals.clone()), ("recruit_quadrats", corals)]);
    assert_is_whole(&answer, &skilled, &BTreeMap::from([("crest", 48.0), ("slope", 42.0), ("deep", 34.0)]));
    // What must be visited stands first, what cannot be used is passed over and its place taken, and both are said.
    assert_eq!(names_by_role(&answer, "slope", "must_visit"), ["Lantern"]);
    assert_eq!(names_by_role(&answer, "crest", "cannot_be_used"), ["Dross Corner"]);
    assert!(warned(&answer, "not drawn at random (Lantern)"));
    let spoken = rows(&answer, "not_spoken_of").iter().map(|line| line.as_str().unwrap()).collect::<String>();
    assert!(spoken.contains("not on the list ember_sites.csv") && spoken.contains("Dross Corner"), "{spoken}");
    // Sites are reached on the days on which they can be.
    for row in rows(&answer, "sites").iter().filter(|row| !row["day"].is_null()) {
        let day = number(row, "day");
        assert!(row["first_day"].as_f64().is_none_or(|first| day >= first), "{row}");
        assert!(row["last_day"].as_f64().is_none_or(|last| day <= last), "{row}");
    }
    // Exposed sites of the slope have a sheltered site of a later day, as long as there is one.
    let site = |name: &str| rows(&answer, "sites").iter().find(|row| row["name"] == name).unwrap();
    let calm = rows(&answer, "calm_visits");
    let exposed = rows(&answer, "sites")
        .iter()
        .filter(|row| row["zone"] == "slope" && row["sheltered"] == false && !row["day"].is_null());
    assert_eq!(calm.len(), exposed.count());
    assert!(calm.iter().any(|visit| !visit["instead"].is_null()), "{calm:?}");
    for visit in calm.iter().filter(|visit| !visit["instead"].is_null()) {
        let instead = site(text(&visit["instead"], "site_name"));
        assert!(instead["sheltered"] == true && number(instead, "day") > number(visit, "day"), "{visit}");
    }
    // On no day two visits have the same one, and whose own it is has it alone.
    for (place, visit) in calm.iter().enumerate().filter(|(_, visit)| !visit["instead"].is_null()) {
        let same = |other: &&Value| other["instead"]["site_name"] == visit["instead"]["site_name"];
        let others = || calm.iter().enumerate().filter(|(other, of)| *other != place && same(of)).map(|(_, of)| of);
        assert!(others().all(|other| other["day"] != visit["day"]), "{visit}");
        assert_eq!(visit["instead"]["is_own"] == true, others().next().is_none(), "{visit}");
    }
    assert!(read("schedule.txt").contains("needs calm weather; else "));
    assert!(warned(&answer, "Calm weather is needed on "));

    let gpx = read("sites.gpx");
    let document = roxmltree::Document::parse(&gpx).unwrap();
    let root = document.root_element();
    assert_eq!((root.tag_name().name(), root.attribute("version")), ("gpx", Some("1.1")));
    assert_eq!(root.tag_name().namespace(), Some("http://www.topografix.com/GPX/1/1"));
    let caution = root.descendants().find(|node| node.has_tag_name((root.tag_name().namespace().unwrap(), "desc")));
    assert!(caution.unwrap().text().unwrap().contains("It is not a dive plan"));
    let points: Vec<_> = root.children().filter(|node| node.tag_name().name() == "wpt").collect();
    assert_eq!(points.len(), 32);
    for point in points {
        let child = |name: &str| point.children().find(|node| node.tag_name().name() == name).unwrap().text().unwrap();
        let row = site(child("name"));
        assert_eq!(point.attribute("lat").unwrap().parse::<f64>().unwrap(), number(row, "latitude"));
        assert_eq!(point.attribute("lon").unwrap().parse::<f64>().unwrap(), number(row, "longitude"));
        assert_eq!(child("type").replace(' ', "_"), text(row, "role"));
        assert!(child("desc").starts_with(&format!("{} {}", text(row, "zone"), row["site"])));
    }
    for name in ["sites.csv", "field.csv", "schedule.csv", "starts.csv"] {
        let table = read(name);
        assert!(table.starts_with("# This is an effort budget"), "{name}");
        assert!(table.contains("Lantern") && !table.contains("site_name,site_name"), "{name}");
    }
    assert_eq!(read("sites.csv").lines().filter(|line| !line.starts_with('#')).count(), 1 + 33);
}

#[test]
fn a_spare_takes_the_place_of_a_site_that_cannot_be_used_and_nothing_else_moves() {
    let before = answer(EXPEDITION, &list(), "3");
    assert_is_whole(&before, &BTreeMap::from([("grazers", vec!["Ines", "Pia"])]), &BTreeMap::from([("rim", 43.0)]));
    let (drawn, spares) = (names_by_role(&before, "rim", "drawn"), names_by_role(&before, "rim", "spare"));
    assert!(drawn.len() > 2 && !spares.is_empty(), "{drawn:?} {spares:?}");
    let gone = drawn[1];
    let changed: String = list()
        .lines()
        .map(|line| {
            if line.starts_with(&format!("{gone},")) {
                format!("{line}a ship's anchor chain\n")
            } else {
                format!("{line}\n")
            }
        })
        .collect();
    let after = answer(EXPEDITION, &changed, "3");
    let mut expected: Vec<&str> = drawn.iter().copied().filter(|name| *name != gone).collect();
    expected.push(spares[0]);
    assert_eq!(names_by_role(&after, "rim", "drawn"), expected);
    assert_eq!(names_by_role(&after, "rim", "spare"), spares[1..]);
    assert_eq!(names_by_role(&after, "wall", "drawn"), names_by_role(&before, "wall", "drawn"));
    let row = rows(&after, "sites").iter().find(|row| row["name"] == gone).unwrap();
    assert_eq!((text(row, "role"), text(row, "replaced_by")), ("cannot_be_used", spares[0]));
    assert!(warned(&after, "takes the place of"));
    // Another seed draws others.
    let other = answer(EXPEDITION, &list(), "4");
    assert_ne!(names_by_role(&other, "rim", "drawn"), drawn);
}

#[test]
fn days_on_which_sites_can_be_reached_are_kept_or_it_is_said() {
    // Every other site of the rim can be reached late only, every other of the wall early only.
    let is_odd = |line: &str| line.split(',').next().unwrap().ends_with(['1', '3', '5', '7', '9']);
    let with = |rim: &str, wall: &dyn Fn(&str) -> bool, last: &str| -> String {
        let line = |line: &str| match line {
            _ if line.starts_with("rim ") && is_odd(line) => line.replace("no,,,,no", rim) + "\n",
            _ if line.starts_with("wall ") && wall(line) => line.replace("no,,,,no", last) + "\n",
            _ => format!("{line}\n"),
        };
        list().lines().map(line).collect()
    };
    let before = answer(EXPEDITION, &list(), "3");
    let kept = answer(EXPEDITION, &with("no,,2,,no", &is_odd, "no,,,3,no"), "3");
    let mut bound = 0;
    for row in rows(&kept, "sites").iter().filter(|row| !row["day"].is_null()) {
        let day = number(row, "day");
        assert!(row["first_day"].as_f64().is_none_or(|first| day >= first), "{row}");
        assert!(row["last_day"].as_f64().is_none_or(|last| day <= last), "{row}");
        let same = rows(&before, "sites").iter().find(|other| other["name"] == row["name"]).unwrap();
        bound += usize::from(same["day"] != row["day"]);
    }
    assert!(bound > 0 && !warned(&kept, "cannot be reached"));
    // All of the wall on the first day cannot be, and is said of each site.
    let said = answer(EXPEDITION, &with("no,,,,no", &|_| true, "no,,,1,no"), "3");
    let wall = || rows(&said, "sites").iter().filter(|row| row["zone"] == "wall" && !row["day"].is_null());
    let first = wall().filter(|row| number(row, "day") == 1.0).count();
    let is_said = |warning: &&Value| warning.as_str().unwrap().contains("cannot be reached (up to day 1)");
    assert!(first > 0 && wall().count() > first);
    assert_eq!(rows(&said, "warnings").iter().filter(is_said).count(), wall().count() - first);
}

/// Sites that can be reached only after the days that the plan takes: days before them stay free, the schedule keeps every
/// window, and the answer says on which day it ends, with the money of the free days; where no day is late enough, how much
/// is missing.
#[test]
fn a_schedule_waits_for_sites_that_can_be_reached_later_only() {
    let rates = "[expedition.rates]\ncurrency = \"crowns\"\nper_day = 1000\n[[diver]]\nname = \"Ines\"";
    let text = EXPEDITION.replacen("[[diver]]\nname = \"Ines\"", rates, 1);
    let before = answer(&text, &list(), "3");
    assert!(before["access"].is_null());
    let days = number(&before["all"], "days") as usize;
    let late: BTreeSet<&str> = names_by_role(&before, "wall", "drawn").into_iter().take(1).collect();
    let from = |day: usize| {
        let lines = list();
        let line = |line: &str| match late.contains(line.split(',').next().unwrap()) {
            true => line.replace("no,,,,no", &format!("no,,{day},,no")) + "\n",
            false => format!("{line}\n"),
        };
        lines.lines().map(line).collect::<String>()
    };
    let waits = answer(&text, &from(days + 3), "3");
    let access = &waits["access"];
    assert_eq!((number(access, "last_day") as usize, rows(access, "free_days").len()), (days + 3, 3), "{access}");
    assert!(rows(access, "not_reached").is_empty() && access["weakest_without"].is_null());
    let cost = |answer: &Value| number(&answer["all"]["cost"], "total");
    assert_eq!((number(access, "money"), cost(&waits) - cost(&before)), (cost(&waits), 3000.0));
    assert_eq!((number(&waits["all"], "days") as usize, number(&waits["all"], "free_days")), (days, 3.0));
    for row in rows(&waits, "sites").iter().filter(|row| !row["day"].is_null()) {
        assert!(row["first_day"].as_f64().is_none_or(|first| number(row, "day") >= first), "{row}");
    }
    let dived: BTreeSet<u64> = rows(&waits, "schedule").iter().map(|row| row["day"].as_u64().unwrap()).collect();
    assert_eq!((dived.len(), dived.last()), (days, Some(&(days as u64 + 3))));
    assert!(warned(&waits, "ends on day") && late.iter().all(|name| warned(&waits, &format!("{name} (from day"))));
    // Later than any day there is: they are not reached, and what the others alone bring is told.
    let never = answer(&text, &from(99), "3");
    assert_eq!(rows(&never["access"], "not_reached").len(), late.len());
    let without = number(&never["access"], "weakest_without");
    let whole = rows(&never["all"], "margins").iter().map(|of| number(of, "margin")).fold(f64::INFINITY, f64::min);
    assert!(0.0 < without && without < whole, "{without} {whole}");
    let (_, result) = run(&text, &from(days + 3), &["--seed", "3"]);
    let screen = String::from_utf8(result.success().get_output().stdout.clone()).unwrap();
    let screen = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(screen.contains(&format!("the schedule ends on day {} of those for diving, with 3 days free", days + 3)));
}

/// The best use of money pays for the days that are left free too, and never costs more than there is.
#[test]
fn free_days_are_paid_from_the_money_there_is() {
    let rates = "money = 9000\nschedule = \"best_of_money\"\n[expedition.rates]\ncurrency = \"crowns\"\nper_day = 1000\n\
                 [[diver]]\nname = \"Ines\"";
    let text = EXPEDITION.replacen("[[diver]]\nname = \"Ines\"", rates, 1);
    let before = answer(&text, &list(), "3");
    let plan = &before["for_money"]["plan"];
    let days = number(plan, "days") as usize;
    assert!(days > 2 && before["access"].is_null() && number(&plan["cost"], "total") == 1000.0 * days as f64);
    let drawn = names_by_role(&before, "wall", "drawn");
    let late = |name: &str, day: usize| {
        let late = |line: &str| line.split(',').next() == Some(name);
        let lines = list();
        let line =
            |line: &str| if late(line) { line.replace("no,,,,no", &format!("no,,{day},,no")) } else { line.into() };
        lines.lines().map(|of| line(of) + "\n").collect::<String>()
    };
    // The site that is drawn last opens on a day that the money does not pay for: another plan does without.
    let last = drawn.last().unwrap();
    let others = answer(&text, &late(last, 10), "3");
    let plan = &others["for_money"]["plan"];
    assert!(number(&plan["cost"], "total") <= 9000.0 && others["access"].is_null(), "{plan} {}", others["access"]);
    assert!(!names_by_role(&others, "wall", "drawn").contains(last));
    // That which every plan has: the days before it are in the money of the plan, and there are fewer to dive on.
    let first = drawn.first().unwrap();
    let waits = answer(&text.replace("per_day = 1000", "per_day = 1000\nper_dive = 100"), &late(first, 7), "3");
    let (plan, access) = (&waits["for_money"]["plan"], &waits["access"]);
    assert!(number(plan, "free_days") > 0.0 && number(access, "last_day") >= 7.0, "{plan} {access}");
    assert_eq!(number(access, "money"), number(&plan["cost"], "total"));
    assert!(number(access, "money") <= 9000.0 && access["over"].is_null());
    // And one day too late for the money: there is no plan, and what the fewest sites cost is told.
    let none = answer(&text, &late(first, 10), "3");
    assert!(none["for_money"]["plan"].is_null(), "{}", none["for_money"]);
    assert_eq!(number(&none["for_money"], "fewest_sites"), 10_000.0);
}

/// A plan that ends before the crew changes waits longer for a site, where those who are left do the same there in as many dives: they
/// do it. Where they cannot (at the wall), the site is not reached, and that is told.
#[test]
fn a_site_that_opens_after_the_crew_has_changed_is_left_to_the_next() {
    let text = EXPEDITION.replace("bottom_minutes = 44", "bottom_minutes = 34");
    let text = text.replace("units = \"1..8\"", "units = \"1..3\"").replace("units = \"1..6\"", "units = \"1..2\"");
    let text = text.replace("name = \"Ruan\"", "name = \"Ruan\"\nto_day = 6");
    let before = answer(&text, &list(), "3");
    assert!(number(&before["all"], "days") <= 6.0);
    let late = |zone: &str| {
        let first = names_by_role(&before, zone, "drawn")[0];
        let is_late = |line: &str| line.split(',').next() == Some(first);
        let lines = list();
        let line = |line: &str| if is_late(line) { line.replace("no,,,,no", "no,,8,,no") } else { line.into() };
        (first.to_owned(), lines.lines().map(|of| line(of) + "\n").collect::<String>())
    };
    let (first, sites) = late("rim");
    let waits = answer(&text, &sites, "3");
    let access = &waits["access"];
    assert!(rows(access, "not_reached").is_empty() && number(access, "last_day") == 8.0, "{access}");
    assert_eq!(waits["all"]["site_set"], before["all"]["site_set"]);
    let there: Vec<&Value> = rows(&waits, "schedule").iter().filter(|row| row["site_name"] == first.as_str()).collect();
    assert!(there.iter().all(|row| number(row, "day") == 8.0 && ["Ines", "Odo"].contains(&crate::text(row, "diver"))));
    for task in rows(&waits["all"], "site_set") {
        let done = there.iter().filter(|row| row["task"] == task["method"]).map(|row| number(row, "units"));
        assert_eq!(done.sum::<f64>(), number(task, "units"), "{task}");
    }
    let (first, sites) = late("wall");
    let missed = answer(&text, &sites, "3");
    assert_eq!(rows(&missed["access"], "not_reached"), [Value::from(first)]);
}

#[test]
fn who_stays_up_and_who_has_no_partner_changes() {
    let six = EXPEDITION.replace(
        "[[target]]\nindicator = \"rugosity\"",
        "[[diver]]\nname = \"Sol\"\nskills = [\"fish\"]\ndepth_m = 30\n[[diver]]\nname = \"Tove\"\ndepth_m = 30\n[[target]]\n\
         indicator = \"rugosity\"",
    );
    let up = answer(&six.replace("\"crew\"", "\"a_pair_stays_up\""), &list(), "3");
    assert_is_whole(&up, &BTreeMap::from([("grazers", vec!["Ines", "Pia", "Sol"])]), &BTreeMap::from([("rim", 43.0)]));
    let on_board: Vec<f64> = rows(&up, "turns").iter().map(|turns| number(turns, "on_board")).collect();
    let (least, most) =
        (on_board.iter().copied().fold(f64::INFINITY, f64::min), on_board.iter().copied().fold(0.0, f64::max));
    assert!(most >= 2.0 && most - least <= 1.0, "{on_board:?}");
    // On every team dive a pair is on board.
    let mut pairs: BTreeMap<String, BTreeSet<u64>> = BTreeMap::new();
    for row in rows(&up, "schedule") {
        let key = ["day", "team_dive"].map(|key| row[key].to_string()).join(" ");
        pairs.entry(key).or_default().insert(row["pair"].as_u64().unwrap());
    }
    assert!(pairs.values().all(|down| down.len() < 3), "{pairs:?}");

    let five = EXPEDITION
        .replace("[[diver]]\nname = \"Odo\"", "[[diver]]\nname = \"Quin\"\ndepth_m = 30\n[[diver]]\nname = \"Odo\"");
    let odd = answer(&five, &list(), "3");
    let skilled = BTreeMap::from([("grazers", vec!["Ines", "Pia"])]);
    assert_is_whole(&odd, &skilled, &BTreeMap::from([("rim", 43.0)]));
    let off: BTreeMap<&str, f64> =
        rows(&odd, "turns").iter().map(|turns| (text(turns, "diver"), number(turns, "days_off"))).collect();
    let days = rows(&odd, "schedule").iter().map(|row| number(row, "day")).fold(0.0, f64::max);
    assert_eq!(off.values().sum::<f64>(), days);
    // Those without a skill of their own take turns at the least.
    assert!(["Quin", "Odo", "Ruan"].iter().all(|name| off[name] >= 1.0), "{off:?}");
    assert!(warned(&odd, "has no partner"));
}

#[test]
fn zones_are_read_by_the_same_people_where_skills_allow_and_else_it_is_said() {
    let even = answer(EXPEDITION, &list(), "3");
    for crossing in rows(&even, "crossing") {
        assert!(number(crossing, "apart") < 0.25, "{crossing}");
        let units: f64 =
            rows(crossing, "divers").iter().flat_map(|of| rows(of, "units")).map(|units| units.as_f64().unwrap()).sum();
        let scheduled = rows(&even, "schedule").iter().filter(|row| row["task"] == crossing["method"]);
        assert_eq!(units, scheduled.map(|row| number(row, "units")).sum::<f64>());
    }
    assert!(!warned(&even, "Zones are read by other people"));
    // One of the two who count fish may not go deep.
    let shallow = EXPEDITION.replace(
        "name = \"Ines\"\nskills = [\"fish\"]\ndepth_m = 30",
        "name = \"Ines\"\nskills = [\"fish\"]\ndepth_m = 12",
    );
    let apart = answer(&shallow, &list(), "3");
    assert!(warned(&apart, "Zones are read by other people"), "{:?}", rows(&apart, "warnings"));
    assert!(rows(&apart, "crossing").iter().any(|crossing| number(crossing, "apart") > 0.25));
}

#[test]
fn a_list_that_cannot_be_is_refused_by_line_and_column() {
    let told = refused(EXPEDITION, &list().replace("rim 3,rim", "rim 3,rmi"));
    assert!(told.contains("list.csv: line 4, column zone: there is no zone \"rmi\""), "{told}");
    assert!(told.contains("expedition.candidate_sites") && told.contains("Did you mean \"rim\"?"), "{told}");
    let told = refused(EXPEDITION, &list().replace("wall 2,wall,19", "wall 2,wall,21"));
    assert!(told.contains("line 17, column depth_m: 21 m is deeper than the zone \"wall\""), "{told}");
    let few: String = list()
        .lines()
        .filter(|line| !line.starts_with("wall ") || line.contains("wall 1,"))
        .map(|line| format!("{line}\n"))
        .collect();
    let told = refused(EXPEDITION, &few);
    assert!(told.contains("wall: 2 sites at least, but 1 that can be used on the list list.csv"), "{told}");
    let many = EXPEDITION.replace("bottom_minutes = 55", "bottom_minutes = 55\nmost_sites = 3");
    let must = list()
        .lines()
        .map(|line| if line.starts_with("rim ") { line.replace(",no,no,", ",no,yes,") } else { line.to_owned() } + "\n")
        .collect::<String>();
    let told = refused(&many, &must);
    assert!(told.contains("rim: 3 sites at most, but 14 must be visited"), "{told}");
    let told = refused(&EXPEDITION.replace("list.csv", "nowhere.csv"), &list());
    assert!(told.contains("nowhere.csv: there is no such file"), "{told}");
    // The list itself is never written over.
    let (folder, result) = run(&EXPEDITION.replace("list.csv", "sites.csv"), "", &["--json"]);
    result.code(2);
    fs::write(folder.path().join("sites.csv"), list()).unwrap();
    let mut again = Command::cargo_bin("reefwright").unwrap();
    let again = again
        .current_dir(folder.path())
        .args(["budget", "bank.toml", "--trials", "20", "--quiet", "--out", "."])
        .assert();
    let told = String::from_utf8(again.code(2).get_output().stderr.clone()).unwrap();
    assert!(told.contains("would be written over it"), "{told}");
    assert_eq!(fs::read_to_string(folder.path().join("sites.csv")).unwrap(), list());
}

#[test]
fn without_a_list_sites_have_numbers() {
    let answer = answer(&EXPEDITION.replace("candidate_sites = \"list.csv\"\n", ""), "", "3");
    assert!(rows(&answer, "sites").is_empty() && rows(&answer, "calm_visits").is_empty());
    for row in rows(&answer, "schedule").iter().chain(rows(&answer, "starts")) {
        assert!(row["site_name"].is_null());
    }
    let rim: BTreeSet<u64> = rows(&answer, "schedule")
        .iter()
        .filter(|row| row["zone"] == "rim")
        .map(|row| row["site"].as_u64().unwrap())
        .collect();
    assert!(rim.iter().copied().eq(1..=rim.len() as u64), "{rim:?}");
}

/// The rest of an expedition knows its sites, people and cylinders as the whole does: those to come with their days, those that are
/// done, spares, files for the boat, and every warning on them.
#[test]
fn the_rest_knows_its_sites_and_people() {
    let shallow = EXPEDITION
        .replace(
            "name = \"Ines\"\nskills = [\"fish\"]\ndepth_m = 30",
            "name = \"Ines\"\nskills = [\"fish\"]\ndepth_m = 12",
        )
        .replace("depth_m = 8\n", "depth_m = 8\nneeds_calm = true\n")
        .replace(
            "candidate_sites",
            "gas = { litres_a_minute = 22, cylinder_litres = 12, fill_bar = 200, reserve_bar = 60 }\ncandidate_sites",
        );
    let list = list()
        .replace("rim 3,rim,7.5,-24.500,-110.003,no,,,,no,no,", "rim 3,rim,7.5,-24.500,-110.003,no,,,,no,yes,")
        .replace("rim 5,rim,7.5,-24.500,-110.005,no", "rim 5,rim,7.5,-24.500,-110.005,yes")
        .replace("rim 6,rim,7.5,-24.500,-110.006,no", "rim 6,rim,7.5,-24.500,-110.006,yes");
    let (folder, result) = run(&shallow, &list, &["--out", "plan"]);
    result.success();
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let whole: Value = serde_json::from_str(&read("plan/budget.json")).unwrap();
    let sheet = read("plan/field.csv");
    let head: Vec<&str> = sheet.lines().find(|line| !line.starts_with('#')).unwrap().split(',').collect();
    let place = |name: &str| head.iter().position(|of| *of == name).unwrap();
    let (day, minutes) = (place("day"), place("minutes_used"));
    let filled = sheet.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if !line.starts_with('#') && cells[day].parse::<usize>().is_ok_and(|day| day <= 2) {
            cells[minutes] = "10";
        }
        cells.join(",") + "\n"
    });
    fs::write(folder.path().join("done.csv"), filled.collect::<String>()).unwrap();
    let mut command = Command::cargo_bin("reefwright").unwrap();
    let arguments = ["budget", "bank.toml", "--trials", "20", "--quiet", "--done", "done.csv", "--out", "rest"];
    command.current_dir(folder.path()).args(arguments).assert().success();
    let told: Value = serde_json::from_str(&read("rest/replan.json")).unwrap();
    let rest = &told["rest"];
    // Done is what the first two days visited; what is scheduled has the day of its first visit.
    let names = |rows: Vec<&Value>| rows.iter().map(|row| text(row, "name").to_owned()).collect::<BTreeSet<String>>();
    let done = names(rows(rest, "sites").iter().filter(|row| row["done"] == true).collect());
    let visited = rows(&whole, "sites").iter().filter(|row| row["day"].as_f64().is_some_and(|day| day <= 2.0));
    assert_eq!(done, names(visited.collect()));
    assert!(rows(&whole, "sites").iter().all(|row| row["done"] == false));
    let to_come = rows(rest, "sites").iter().filter(|row| !row["day"].is_null());
    let scheduled = rows(rest, "schedule").iter().map(|row| text(row, "site_name").to_owned());
    assert_eq!(names(to_come.collect()), scheduled.collect());
    assert!(rows(rest, "sites").iter().any(|row| row["role"] == "spare"));
    assert!(!rows(rest, "crossing").is_empty() && !rows(rest, "turns").is_empty());
    assert!(number(&rest["cylinders"], "fills") > 0.0);
    assert!(rows(rest, "not_spoken_of")[0].as_str().unwrap().contains("not on the list list.csv"));
    for words in ["not drawn at random (rim 3)", "Zones are read by other people", "Sheltered sites come last"] {
        assert!(warned(&whole, words) && warned(rest, words), "{words}: {:?}", rows(rest, "warnings"));
    }
    assert_eq!(read("rest/rest_sites.csv").lines().filter(|line| !line.starts_with('#')).count(), 1 + 26);
    let gpx = read("rest/rest_sites.gpx");
    assert_eq!(
        roxmltree::Document::parse(&gpx)
            .unwrap()
            .root_element()
            .children()
            .filter(|of| of.has_tag_name(("http://www.topografix.com/GPX/1/1", "wpt")))
            .count(),
        26
    );
    // Which dives need calm weather, and where to go else, stands with the dives, as in the plan.
    let screen = read("rest/replan.txt");
    let calm = rows(rest, "calm_visits");
    let sheltered = calm.iter().filter(|visit| !visit["instead"].is_null()).count();
    assert!(sheltered > 0 && told["needs_calm"] == serde_json::json!(["rim"]), "{calm:?} {}", told["needs_calm"]);
    assert_eq!(read("rest/rest_schedule.txt").matches("needs calm weather; ").count(), calm.len());
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("needs calm weather; else "), "{screen}");
    let page = read("rest/replan.html");
    for words in ["rest_sites.csv", "rest_schedule.csv", "rest_starts.csv", "Cylinders: ", "id=\"people\""] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains(" schedule.csv"), "the rest has files of its own");
}
