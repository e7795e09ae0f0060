use super::{EXAMPLE, EXAMPLE_OPTIONS, assert_gives_back, folder_with_example, reefwright};
use predicates::prelude::*;
use reefwright::pilot::{Columns, CoverColumn, fit_pilot, read_pilot};
use reefwright::scenario::{Origin, load_text};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

#[test]
fn the_example_goes_all_the_way() {
    let folder = folder_with_example();
    let told = predicate::str::contains("119 rows read; 1 row without a value left out")
        .and(predicate::str::contains("between lines of one site"))
        .and(predicate::str::contains("1 visit (2 years) apart"))
        .and(predicate::str::contains("three visits"));
    let output = reefwright(&folder)
        .args(["pilot", "pilot_lines.csv"])
        .args(EXAMPLE_OPTIONS)
        .args(["--scenario", "atolls.toml"])
        .assert()
        .success()
        .stdout(told)
        .stderr(predicate::str::contains("atolls.toml is written"));
    let text = String::from_utf8(output.get_output().stdout.clone()).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");

    let written = fs::read_to_string(folder.path().join("atolls.toml")).unwrap();
    let loaded = load_text("atolls.toml", &written).unwrap();
    assert_eq!(loaded.origins["zone[0].reef"], Origin::Pilot("pilot_lines.csv".into()));
    assert_eq!(loaded.origins["zone[0].between_sites_points"], Origin::Pilot("pilot_lines.csv".into()));
    assert_eq!(loaded.origins["visits.relay_within_m"], Origin::Pilot("pilot_lines.csv".into()));
    assert_eq!(loaded.origins["visits.drift_years"], Origin::Assumed);
    assert!(written.contains("(6.4 to 12.7)"), "intervals stand beside the numbers: {written}");
    assert_gives_back(&loaded.study, &fit(), true);

    let from_pilot = predicate::str::contains("From a pilot").and(predicate::str::contains("pilot_lines.csv"));
    reefwright(&folder).args(["check", "atolls.toml"]).assert().success().stdout(from_pilot);
    let answer = reefwright(&folder).args(["curves", "atolls.toml", "--trials", "64", "--json"]).assert().success();
    let answer: Value = serde_json::from_slice(&answer.get_output().stdout).unwrap();
    let rows = answer["rows"].as_array().unwrap();
    assert!(rows.len() >= 12);
    let powers: Vec<f64> = rows.iter().filter_map(|row| row["theory_power"].as_f64()).collect();
    assert!(powers.len() >= 12 && powers.iter().all(|power| power.is_finite() && *power > 0.0));
}

fn fit() -> reefwright::pilot::PilotFit {
    let columns = Columns {
        zone: None,
        site: vec!["site".into()],
        line: "line".into(),
        visit: Some("year".into()),
        cover: CoverColumn::Counts { hits: "coral_points".into(), points: "points".into() },
        same_marks: true,
    };
    let data = read_pilot(EXAMPLE.as_bytes(), "pilot_lines.csv", &columns).unwrap();
    fit_pilot(&data).unwrap().zones.remove(0)
}

#[test]
fn without_a_file_the_scenario_is_printed_and_nothing_else() {
    let folder = folder_with_example();
    let output = reefwright(&folder)
        .args(["pilot", "pilot_lines.csv"])
        .args(EXAMPLE_OPTIONS)
        .args(["--from-now-to", "22"])
        .assert()
        .success()
        .stderr(predicate::str::contains("How cover varies"));
    let text = String::from_utf8(output.get_output().stdout.clone()).unwrap();
    let study = load_text("printed.toml", &text).unwrap().study;
    assert_eq!(study.changes[0].to, 0.22);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn json_holds_fit_reef_and_scenario() {
    let folder = folder_with_example();
    let output = reefwright(&folder)
        .args(["pilot", "pilot_lines.csv"])
        .args(EXAMPLE_OPTIONS)
        .args(["--json", "--quiet"])
        .assert();
    let value: Value = serde_json::from_slice(&output.success().stderr("").get_output().stdout).unwrap();
    assert_eq!(value["rows"], 119);
    let fit = fit();
    assert_eq!(value["zones"][0]["between_lines"]["sd"].as_f64().unwrap(), fit.between_lines.sd);
    let gives = &value["reefs"][0]["years"]["gives"];
    assert!((gives["between_lines"].as_f64().unwrap() / fit.between_lines.sd - 1.0).abs() < 0.01);
    assert!(load_text("json.toml", value["scenario"].as_str().unwrap()).is_ok());
}

#[test]
fn zones_become_zones() {
    let folder = TempDir::new().unwrap();
    let mut lines = EXAMPLE.lines();
    let mut table = format!("{},side\n", lines.next().unwrap());
    for line in lines {
        table += &format!("{line},{}\n", if line < "F" { "west" } else { "east" });
    }
    fs::write(folder.path().join("sides.csv"), table).unwrap();
    reefwright(&folder)
        .args(["pilot", "sides.csv", "--zone", "side", "--scenario", "sides.toml"])
        .args(EXAMPLE_OPTIONS)
        .assert()
        .success()
        .stdout(predicate::str::contains("Zone east").and(predicate::str::contains("Zone west")))
        .stdout(predicate::str::contains("10 or more").and(predicate::str::contains("70 or more")));
    let written = fs::read_to_string(folder.path().join("sides.toml")).unwrap();
    let study = load_text("sides.toml", &written).unwrap().study;
    let names: Vec<&str> = study.zones.iter().map(|zone| zone.name.as_str()).collect();
    assert_eq!(names, ["east", "west"]);
    assert!(study.zones.iter().all(|zone| zone.weight == 0.5 && zone.sites == [5]));
    reefwright(&folder).args(["check", "sides.toml"]).assert().success();
}

#[test]
fn a_scenario_that_is_there_is_kept_unless_forced() {
    let folder = folder_with_example();
    fs::write(folder.path().join("mine.toml"), "mine").unwrap();
    let mut arguments = vec!["--scenario", "mine.toml"];
    arguments.extend(EXAMPLE_OPTIONS);
    let run =
        |more: &[&str]| reefwright(&folder).args(["pilot", "pilot_lines.csv"]).args(&arguments).args(more).assert();
    run(&[]).code(2).stdout("").stderr(predicate::str::contains("--force"));
    assert_eq!(fs::read_to_string(folder.path().join("mine.toml")).unwrap(), "mine");
    run(&["--force"]).success();
    assert!(fs::read_to_string(folder.path().join("mine.toml")).unwrap().contains("[[zone]]"));
}

/// Lines that differ by less than counting alone would make them: no reef can follow, the components can.
#[test]
fn a_pilot_that_no_reef_can_follow_is_written_by_its_components() {
    let folder = TempDir::new().unwrap();
    let mut table = String::from("site,visit,line,cover\n");
    for site in 0..12 {
        for visit in 0..2 {
            for line in 0..6 {
                let cover = 20.0 + f64::from(site) + 0.5 * f64::from((site * visit) % 3) + 0.1 * f64::from(line % 3);
                table += &format!("{site},{visit},{line},{cover}\n");
            }
        }
    }
    fs::write(folder.path().join("even.csv"), table).unwrap();
    reefwright(&folder)
        .args(["pilot", "even.csv", "--length", "10", "--spacing", "0.1", "--scenario", "even.toml"])
        .assert()
        .success()
        .stdout(predicate::str::contains("No virtual reef varies as these lines do: lines differ by less"));
    let written = fs::read_to_string(folder.path().join("even.toml")).unwrap();
    assert!(written.contains("[[method.other]]") && written.contains("no virtual reef varies"), "{written}");
    reefwright(&folder).args(["check", "even.toml"]).assert().success();
    let answer = reefwright(&folder).args(["curves", "even.toml", "--trials", "64", "--json"]).assert().success();
    let answer: Value = serde_json::from_slice(&answer.get_output().stdout).unwrap();
    assert!(answer["rows"][0]["theory_power"].as_f64().unwrap() > 0.5);
}
