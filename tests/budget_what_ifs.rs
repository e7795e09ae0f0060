//! What-ifs against the expedition that they speak of, planned by itself.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// Invented. Two boats, so that each needs somebody with each skill; two divers may not go so deep.
const SCENARIO: &str = r#"
title = "Invented banks"
statement_about = "all_such_reefs"
question = "between_these_visits"

[expedition]
days = 10
transit_days = 2
lost_days_percent = 15
boats = 2
dives_a_day = 3
sites_a_day = 2
standby = "crew"

[[zone]]
name = "deep"
reef = "fore_reef"
cover_percent = 24
between_sites_points = 8
[zone.dive]
depth_m = 18
bottom_minutes = 45

[[change]]
indicator = "hard_coral"
from = 28
to = 20

[[method.point_intercept]]
length_m = 20
spacing_m = 0.2
units = "1..4"
lay_minutes = 3
read_minutes = 12
[method.point_intercept.work]
skill = "lines"

[[method.coral_belt]]
length_m = 10
width_m = 1
units = "1..2"
lay_minutes = 3
read_minutes = 15
[method.coral_belt.work]
skill = "corals"

[[target]]
indicator = "hard_coral"
see = true
priority = "must"

[[target]]
indicator = "colony_density"
cv_percent = 15
"#;

const DIVERS: [(&str, &str, u32); 8] = [
    ("Ada", "lines", 30),
    ("Bo", "corals", 30),
    ("Cy", "lines", 30),
    ("Dee", "corals", 30),
    ("Edo", "lines", 30),
    ("Flo", "", 30),
    ("Gil", "", 12),
    ("Hal", "", 12),
];

fn answer(without: &[&str], boats: usize) -> Value {
    let divers = DIVERS.iter().filter(|(name, ..)| !without.contains(name)).map(|(name, skill, depth)| {
        let skills = if skill.is_empty() { String::new() } else { format!("skills = [\"{skill}\"]\n") };
        format!("[[diver]]\nname = \"{name}\"\ndepth_m = {depth}\n{skills}")
    });
    let folder = TempDir::new().unwrap();
    fs::write(
        folder.path().join("banks.toml"),
        SCENARIO.replace("boats = 2", &format!("boats = {boats}")) + &divers.collect::<String>(),
    )
    .unwrap();
    let run = Command::cargo_bin("reefwright")
        .unwrap()
        .current_dir(folder.path())
        .args(["budget", "banks.toml", "--trials", "20", "--quiet", "--json"])
        .assert()
        .success();
    serde_json::from_slice(&run.get_output().stdout).unwrap()
}

/// What takes as much as the expedition does as it is says that it moves nothing, with the reason where it is known; nothing else
/// does.
#[test]
fn what_moves_nothing_is_said() {
    // Of two boats one alone has a pair more, and a site must fit whichever goes there.
    let all = answer(&[], 2);
    let rows = all["what_ifs"].as_array().unwrap();
    let mut told = 0;
    for row in &rows[1..] {
        let is_same = |key: &str| row[key] == rows[0][key];
        let looks_at_musts = row["kind"] != "own_site_sets" && row["without_musts"] != true;
        let moves_nothing = is_same("all") && (is_same("musts") || !looks_at_musts) && row["expeditions"].is_null();
        let words = row["moves_nothing"].as_str();
        assert_eq!(words.is_some(), moves_nothing && row["why"].is_null(), "{row}");
        told += usize::from(words.is_some());
        let of_less = row["kind"] == "caution" || row["what"].as_str().unwrap().contains(" fewer");
        assert!(words.is_none_or(|words| words == "costs nothing" || !of_less && words.starts_with("brings nothing")));
    }
    assert!(told > 1, "{rows:?}");
    let pair = rows.iter().find(|row| row["what"].as_str().unwrap().starts_with("one pair more")).unwrap();
    let why = "brings nothing: of the 2 boats one alone would have it, and a site must fit whichever boat goes there";
    assert_eq!(pair["moves_nothing"], why, "{pair} {}", rows[0]);
}

/// Whoever is missing, those who are left dive with whom they can: the what-if is what their own plan takes.
#[test]
fn who_is_missing_is_what_the_others_take_by_themselves() {
    let all = answer(&[], 2);
    let what_if = |start: &str| {
        let rows = all["what_ifs"].as_array().unwrap();
        rows.iter().find(|row| row["what"].as_str().unwrap().starts_with(start)).unwrap().clone()
    };
    let named = |row: &Value| -> Vec<&str> {
        let what = row["what"].as_str().unwrap().to_owned();
        DIVERS.iter().map(|(name, ..)| *name).filter(|name| what.contains(name)).collect()
    };
    for (start, gone) in [("one diver ill throughout", 1), ("one pair fewer", 2)] {
        let row = what_if(start);
        let names = named(&row);
        assert_eq!(names.len(), gone, "{row}");
        // Only one diver counts corals where Bo is ill: none for a second boat.
        let boats = if row["what"].as_str().unwrap().contains("from 1 boat") { 1 } else { 2 };
        let alone = answer(&names, boats);
        assert_eq!(
            [&row["all"], &row["musts"]],
            [&alone["what_ifs"][0]["all"], &alone["what_ifs"][0]["musts"]],
            "{row}"
        );
        assert!(!row["musts"].is_null(), "{row}");
    }
}
