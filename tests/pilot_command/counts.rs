use super::reefwright;
use predicates::prelude::*;
use reefwright::scenario::{Origin, load_text};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

/// The text of the example of belts with counts.
const EXAMPLE: &str = include_str!("../../examples/pilot_urchins.csv");

const OPTIONS: [&str; 8] = ["--visit", "year", "--count", "urchins,cucumbers", "--length", "10", "--width", "2"];

fn folder() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("belts.csv"), EXAMPLE).unwrap();
    folder
}

#[test]
fn belts_with_counts_go_all_the_way() {
    let folder = folder();
    let told = predicate::str::contains("k of belts of one site, by moments")
        .and(predicate::str::contains("belts.csv: urchins, "))
        .and(predicate::str::contains("a site's own years"));
    let output = reefwright(&folder)
        .args(["pilot", "belts.csv", "--scenario", "animals.toml", "--from-now-to", "8"])
        .args(OPTIONS)
        .assert()
        .success()
        .stdout(told);
    let text = String::from_utf8(output.get_output().stdout.clone()).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let written = fs::read_to_string(folder.path().join("animals.toml")).unwrap();
    let loaded = load_text("animals.toml", &written).unwrap();
    let pilot = Origin::Pilot("belts.csv".into());
    for key in ["density_per_100_m2", "between_sites_percent", "site_year_percent", "patch_k"] {
        assert_eq!(loaded.origins[&format!("zone[0].animal[0].{key}")], pilot, "{key}");
    }
    assert_eq!(loaded.origins["zone[0].animal[0].patch_scale_m"], Origin::Assumed);
    assert_eq!(loaded.study.changes[0].to, 8.0);
    assert_eq!(loaded.study.changes.len(), 2);
    reefwright(&folder).args(["check", "animals.toml"]).assert().success();
    let answer = reefwright(&folder).args(["curves", "animals.toml", "--trials", "32", "--json"]).assert().success();
    let answer: Value = serde_json::from_slice(&answer.get_output().stdout).unwrap();
    assert!(answer["rows"].as_array().unwrap().iter().any(|row| row["indicator"] == "urchins"));
}

#[test]
fn json_holds_the_fits_and_the_scenario() {
    let folder = folder();
    let output = reefwright(&folder).args(["pilot", "belts.csv", "--json", "--quiet"]).args(OPTIONS).assert().success();
    let value: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert_eq!((value["rows"].as_u64(), value["missing"].as_u64()), (Some(143), Some(1)));
    let fit = &value["zones"][0]["animals"][1]["fit"];
    assert!(fit["density_per_100_m2"].as_f64().unwrap() > 1.0);
    assert!(load_text("json.toml", value["scenario"].as_str().unwrap()).is_ok());
}

#[test]
fn belts_that_cannot_be_used_are_refused_with_place_and_remedy() {
    let folder = folder();
    let refused = |table: &str, options: &[&str], parts: &[&str]| {
        fs::write(folder.path().join("bad.csv"), table).unwrap();
        let output =
            reefwright(&folder).args(["pilot", "bad.csv", "--length", "10"]).args(options).assert().code(2).stdout("");
        let message = String::from_utf8(output.get_output().stderr.clone()).unwrap().replace('\n', " ");
        for part in parts {
            assert!(message.contains(part), "{part}: {message}");
        }
    };
    let two = ["--count", "urchins", "--width", "2"];
    let table = "site,belt,urchins\nA,1,3\nA,2,0\nB,1,1\nB,2,2\n";
    refused(table, &["--count", "urchins"], &["--width 2"]);
    refused(
        table,
        &["--count", "urchin", "--width", "2"],
        &["bad.csv:1", "no column `urchin`", "`urchins`", "--count"],
    );
    refused(&table.replace("2,0", "2,x"), &two, &["bad.csv:3", "column `urchins`", "`x`", "whole number"]);
    refused(&table.replace("A,2", "A,1"), &two, &["bad.csv:3", "given before, in line 2"]);
    refused(&table.replace("B", "A").replace("A,1,1\nA,2,2", "A,3,1\nA,4,2"), &two, &["1 site", "two sites"]);
    refused(&table.replace(",3", ",0").replace(",1\n", ",0\n").replace(",2\n", ",0\n"), &two, &["not one is counted"]);
    refused(table, &["--density", "urchins", "--width", "2"], &["bad.csv:2", "multiples of 5", "is the area right?"]);
    refused(table, &["--count", "urchins", "--width", "2", "--cover", "urchins"], &["cannot be used with"]);
    refused(table, &["--count", "urchins", "--width", "2", "--animal", "a,b"], &["2 names for 1 columns"]);
    refused(table, &["--count", "urchins", "--width", "2", "--animal", "hard_coral"], &["hard_coral"]);
    refused(table, &["--count", "urchins", "--width", "30"], &["does not fit", "--site-width"]);
    refused(table, &["--count", "urchins", "--width", "2", "--same-marks"], &["animals move"]);
}
