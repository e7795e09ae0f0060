//! `budget --done` from outside: plan, field sheet, new plan of the rest.

use assert_cmd::Command;
use reefwright::random::{Key, Purpose, normal_from_uniform};
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// The invented expedition of the examples; half of the tests leave its lines of cover out, which have a reef behind them.
fn with_cover() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/quill_bank.toml")).unwrap()
}

fn by_components() -> String {
    let text = with_cover();
    let target = "[[target]]\nindicator = \"hard_coral\"\nsee = true\npriority = \"must\"\n";
    assert!(text.contains(target));
    text.replace(target, "")
}

fn budget(folder: &TempDir, text: &str, arguments: &[&str]) -> assert_cmd::assert::Assert {
    fs::write(folder.path().join("bank.toml"), text).unwrap();
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command
        .current_dir(folder.path())
        .args(["budget", "bank.toml", "--trials", "200", "--quiet"])
        .args(arguments)
        .assert()
}

fn output(folder: &TempDir, text: &str, arguments: &[&str]) -> String {
    let out = budget(folder, text, arguments).success().get_output().stdout.clone();
    String::from_utf8(out).unwrap()
}

fn json(folder: &TempDir, text: &str, arguments: &[&str]) -> Value {
    serde_json::from_str(&output(folder, text, &[&["--json"], arguments].concat())).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// Standard normal numbers, one after the other.
struct Normals(Key, u64);

impl Normals {
    fn new(seed: u64) -> Self {
        Self(Key::seed(seed), 0)
    }

    fn next(&mut self) -> f64 {
        self.1 += 1;
        normal_from_uniform(self.0.uniform(Purpose::Site, self.1))
    }
}

/// A row of a field sheet by the names of its columns.
struct Filled<'a> {
    names: &'a [String],
    cells: &'a mut [String],
}

impl Filled<'_> {
    fn get(&self, name: &str) -> &str {
        &self.cells[self.names.iter().position(|of| of == name).unwrap()]
    }

    fn set(&mut self, name: &str, value: impl ToString) {
        let place = self.names.iter().position(|of| of == name).unwrap();
        self.cells[place] = value.to_string();
    }
}

/// A field sheet with its rows filled in; notes stay.
fn fill(sheet: &str, mut each: impl FnMut(&mut Filled)) -> String {
    let notes: String = sheet.lines().filter(|line| line.starts_with('#')).map(|line| format!("{line}\n")).collect();
    let rows: Vec<Vec<String>> = sheet
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect();
    let names = &rows[0];
    let mut text = notes + &names.join(",") + "\n";
    for row in &rows[1..] {
        let mut cells = row.clone();
        each(&mut Filled { names, cells: &mut cells });
        text += &(cells.join(",") + "\n");
    }
    text
}

/// Readings as the scenario has them, lines slower: sites and units drawn by their names.
fn as_it_went(row: &mut Filled) {
    let site: u64 = row.get("site").parse().unwrap();
    let zone = if row.get("zone") == "rim" { 0 } else { 1 };
    let unit: u64 = row.get("unit").parse().unwrap();
    let task = row.get("task").to_owned();
    let of_site = Normals::new(100 + 10 * site + zone).next();
    let of_unit = Normals::new(10_000 + 1000 * site + 100 * zone + 10 * unit + task.len() as u64).next();
    row.set("date", format!("2031-05-0{}", row.get("day")));
    match task.as_str() {
        "point_intercept" => {
            row.set("minutes_used", 16 + unit % 3);
            row.set("hard_coral_percent", (25.0 + 6.0 * of_site + 8.0 * of_unit).clamp(0.0, 100.0).round());
        }
        "rugosity" => {
            row.set("minutes_used", 9);
            row.set("rugosity", (140.0 + 20.0 * of_site + 18.0 * of_unit).round());
        }
        _ => {
            row.set("minutes_used", 8.5);
            row.set("grazers", (200.0 * (0.4 * of_site + 0.5 * of_unit).exp()).round());
        }
    }
}

/// Plans, fills in the sheet up to a day, and leaves it as `done.csv`.
fn planned_and_done(folder: &TempDir, text: &str, days: usize) -> Value {
    let plan = json(folder, text, &["--out", "plan"]);
    let sheet = fs::read_to_string(folder.path().join("plan/field.csv")).unwrap();
    let filled = fill(&sheet, |row| {
        if row.get("day").parse::<usize>().unwrap() <= days {
            as_it_went(row);
        }
    });
    fs::write(folder.path().join("done.csv"), filled).unwrap();
    plan
}

fn scheduled_sites(rows: &Value) -> Vec<(String, u64)> {
    let rows = rows.as_array().unwrap();
    let site = |row: &Value| (row["zone"].as_str().unwrap().to_owned(), row["site"].as_u64().unwrap());
    let mut sites: Vec<(String, u64)> = rows.iter().map(site).collect();
    sites.sort();
    sites.dedup();
    sites
}

#[test]
fn the_rest_is_planned_from_what_three_days_brought() {
    let folder = TempDir::new().unwrap();
    let text = with_cover();
    let plan = planned_and_done(&folder, &text, 3);
    let screen = output(&folder, &text, &["--done", "done.csv", "--out", "rest"]);
    let told: Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("rest/replan.json")).unwrap()).unwrap();
    assert_eq!((number(&told["days_used"]), number(&told["days_left"])), (3.0, 7.0));
    // Sites that are done are those of the first three days; none of them is visited again.
    let rows = plan["schedule"].as_array().unwrap();
    let first: Value = rows.iter().filter(|row| number(&row["day"]) <= 3.0).cloned().collect::<Vec<_>>().into();
    let done = scheduled_sites(&first);
    let counted: f64 = told["zones"].as_array().unwrap().iter().map(|zone| number(&zone["done"])).sum();
    assert_eq!(counted as usize, done.len());
    let to_come = scheduled_sites(&told["rest"]["schedule"]);
    assert!(!to_come.is_empty() && to_come.iter().all(|site| !done.contains(site)), "{to_come:?} {done:?}");
    assert!(told["rest"]["schedule"].as_array().unwrap().iter().all(|row| number(&row["day"]) > 3.0));
    // Minutes: ten units as planned, and those that were done.
    let lines = told["minutes"].as_array().unwrap().iter().find(|of| of["task"] == "point_intercept").unwrap();
    let [planned, seen, units, new] = ["planned", "seen", "units", "new"].map(|key| number(&lines[key]));
    assert!((new - (10.0 * planned + units * seen) / (10.0 + units)).abs() < 1e-9 && new > planned, "{lines}");
    for of in told["variances"].as_array().unwrap() {
        let [planned, seen, df, new] = ["planned", "seen", "degrees_of_freedom", "new"].map(|key| number(&of[key]));
        assert!((new - (10.0 * planned + df * seen) / (10.0 + df)).abs() < 1e-9 * new, "{of}");
    }
    assert_eq!(told["variances"].as_array().unwrap().len(), 6);
    // The schedule holds exactly the units to come; every one of them has its row in the new sheet.
    let next = if number(&told["rest"]["all"]["days"]) <= 7.0 { &told["rest"]["all"] } else { &told["rest"]["best"] };
    let sites: f64 = next["zones"].as_array().unwrap().iter().map(|zone| number(&zone["sites"])).sum();
    assert_eq!(sites as usize, to_come.len());
    let sheet = fs::read_to_string(folder.path().join("rest/rest_field.csv")).unwrap();
    for task in next["site_set"].as_array().unwrap() {
        let name = task["method"].as_str().unwrap();
        let rows = told["rest"]["schedule"].as_array().unwrap().iter().filter(|row| row["task"] == name);
        let units: f64 = rows.map(|row| number(&row["units"])).sum();
        assert_eq!(units, number(&task["units"]) * sites, "{task}");
        let rows = sheet.lines().filter(|line| line.starts_with(',') && line.contains(&format!(",{name},")));
        assert_eq!(rows.count() as f64, units, "{sheet}");
    }
    // Covers have the new variances by their formula only, and it says so.
    let cover = next["margins"].as_array().unwrap().iter().find(|margin| margin["indicator"] == "hard_coral").unwrap();
    assert!(cover["seen"].is_null(), "{cover}");
    assert!(screen.contains("not simulated"));
    assert!(told["amendments"][0]["date"] == "2031-05-03", "{}", told["amendments"]);
    let schedule = fs::read_to_string(folder.path().join("rest/rest_schedule.txt")).unwrap();
    assert!(!schedule.contains("Of the days: ."), "{schedule}");
    // Screen and files.
    assert!(screen.starts_with("This is an effort budget"));
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
    for name in [
        "replan.txt",
        "replan.json",
        "replan.html",
        "rest_sheets.html",
        "rest_schedule.csv",
        "rest_schedule.txt",
        "rest_field.csv",
        "rest_starts.csv",
    ] {
        let text = fs::read_to_string(folder.path().join("rest").join(name)).unwrap();
        // The letters of a page stand before everything that is read.
        let read = text.rsplit_once("</style>").map_or(text.as_str(), |(_, read)| read);
        assert!(read.find("effort budget").unwrap_or(usize::MAX) < 400, "{name}");
        let lower = read.to_lowercase();
        assert!(!["compliant", " safe ", "approved"].iter().any(|word| lower.contains(word)), "{name}");
    }
    let page = fs::read_to_string(folder.path().join("rest/replan.html")).unwrap();
    let order = ["id=\"answer\"", "id=\"next\"", "id=\"done\"", "id=\"learned\"", "id=\"changed\"", "id=\"schedule\""];
    let places: Vec<usize> = order.iter().map(|id| page.find(id).unwrap_or_else(|| panic!("{id}"))).collect();
    assert!(places.windows(2).all(|pair| pair[0] < pair[1]), "{places:?}");
    // The new sheet is read again, beside the first.
    let again = fs::read_to_string(folder.path().join("rest/rest_field.csv")).unwrap();
    let filled = fill(&again, |row| {
        if row.get("day") == "4" {
            as_it_went(row)
        }
    });
    fs::write(folder.path().join("more.csv"), filled).unwrap();
    let told = json(&folder, &text, &["--done", "done.csv", "--done", "more.csv"]);
    assert_eq!(number(&told["days_used"]), 4.0);
}

/// With few days left the best use of them is told; days and today's weather are the user's.
#[test]
fn days_left_and_the_weather_of_today() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 2);
    let chance = |today: &str| {
        let told = json(&folder, &text, &["--done", "done.csv", "--days-left", "4", "--today", today]);
        assert_eq!(number(&told["days_left"]), 4.0);
        (number(&told["rest"]["book"][0]["needs"]), number(&told["rest"]["book"][0]["chance"]), told)
    };
    let ((needs, after_good, told), (_, after_bad, _)) = (chance("dived"), chance("lost"));
    assert!(needs > 4.0 || after_bad < after_good, "{needs} {after_bad} {after_good}");
    assert!(number(&told["rest"]["best"]["days"]) <= 4.0);
    let none = json(&folder, &text, &["--done", "done.csv", "--days-left", "0"]);
    assert!(none["rest"]["best"].is_null() && none["rest"]["schedule"].as_array().unwrap().is_empty());
}

/// Sites that are done without a task count for the other targets only.
#[test]
fn a_site_that_lacks_a_method_counts_for_the_others() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 3);
    let whole = json(&folder, &text, &["--done", "done.csv"]);
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let without = fill(&sheet, |row| {
        if row.get("task") == "grazers" {
            row.set("minutes_used", "");
            row.set("grazers", "");
        }
    });
    fs::write(folder.path().join("without.csv"), without).unwrap();
    let told = json(&folder, &text, &["--done", "without.csv"]);
    let weakest = |told: &Value| number(&told["as_planned"]["weakest"]);
    assert!(weakest(&told) < weakest(&whole), "{} {}", told["as_planned"], whole["as_planned"]);
    let notes = told["notes"].to_string();
    assert!(notes.contains("has no grazers: it counts for the others only"), "{notes}");
    assert_eq!(told["zones"], whole["zones"]);
}

/// The same in everything but the last digits of numbers that come from logarithms and means.
fn assert_same(one: &Value, other: &Value, path: &str) {
    match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            assert!(a.keys().eq(b.keys()), "{path}");
            a.iter().for_each(|(key, value)| assert_same(value, &b[key], &format!("{path}.{key}")));
        }
        (Value::Array(a), Value::Array(b)) => {
            assert_eq!(a.len(), b.len(), "{path}");
            a.iter().zip(b).enumerate().for_each(|(i, (a, b))| assert_same(a, b, &format!("{path}[{i}]")));
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            assert!((a - b).abs() <= 1e-9 * a.abs().max(1e-9), "{path}: {a} {b}");
        }
        _ => assert_eq!(one, other, "{path}"),
    }
}

/// What the second visit finds moves nothing but how much its readings vary: a shift of all of them, on a ln scale a factor, and
/// the whole answer is the same.
#[test]
fn nothing_is_learned_of_a_change() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 99);
    let first = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let second = |shift: f64, factor: f64| {
        fill(&first, |row| {
            let day: usize = row.get("day").parse().unwrap();
            for (name, times, plus) in [("rugosity", 1.0, shift), ("grazers", factor, 0.0)] {
                if let Ok(value) = row.get(name).parse::<f64>() {
                    // Another visit finds other numbers.
                    let noise = if name == "rugosity" { 3.0 * (value % 7.0) } else { 0.0 };
                    row.set(name, if day > 2 { String::new() } else { format!("{}", times * value + noise + plus) });
                }
            }
            if day > 2 {
                row.set("minutes_used", "");
            }
        })
    };
    let told = |shift: f64, factor: f64| {
        fs::write(folder.path().join("second.csv"), second(shift, factor)).unwrap();
        json(&folder, &text, &["--done", "second.csv", "--visit", "2"])
    };
    let one = told(0.0, 1.0);
    for (shift, factor) in [(64.0, 1.0), (-64.0, 0.5), (1000.0, 3.0)] {
        let other = told(shift, factor);
        assert_same(&one, &other, "");
    }
    // At the second visit every site keeps its set.
    assert!(one["rest"]["schedule"].as_array().unwrap().iter().all(|row| number(&row["day"]) > 2.0));
    let planned: Vec<(&Value, &Value)> = one["planned"]["site_set"]
        .as_array()
        .unwrap()
        .iter()
        .zip(one["rest"]["best"]["site_set"].as_array().unwrap())
        .collect();
    assert!(planned.iter().all(|(before, now)| before["units"] == now["units"]), "{planned:?}");
}

/// With many units what is seen is the truth, within its sampling error, and what was planned weighs like ten.
#[test]
fn estimates_come_to_the_truth() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    // Sites differ by 30, units by 12, where 20 (and 5 by year) and 18 were planned.
    let mut normals = Normals::new(71);
    let mut sheet = String::from("day,zone,site,diver,task,unit,minutes_used,rugosity\n");
    let (sites, units) = (300usize, 6usize);
    for site in 1..=sites {
        let of_site = 30.0 * normals.next();
        for unit in 1..=units {
            let value = 150.0 + of_site + 12.0 * normals.next();
            let minutes = 15.0 + 3.0 * normals.next();
            let zone = if site % 3 == 0 { "wall" } else { "rim" };
            sheet += &format!("1,{zone},{site},Odo,rugosity,{unit},{minutes},{value}\n");
        }
    }
    fs::write(folder.path().join("many.csv"), sheet).unwrap();
    let told = json(&folder, &text, &["--done", "many.csv"]);
    let minutes = &told["minutes"][0];
    let number_of = (sites * units) as f64;
    let error = 3.0 / number_of.sqrt();
    assert!((number(&minutes["seen"]) - 15.0).abs() < 4.0 * error, "{minutes}");
    assert!((number(&minutes["new"]) - (10.0 * 9.0 + number_of * 15.0) / (10.0 + number_of)).abs() < 4.0 * error);
    // A diver with ten units has a row of his own.
    assert_eq!(told["minutes"][1]["diver"], "Odo");
    let of =
        |level: &str| told["variances"].as_array().unwrap().iter().find(|of| of["level"] == level).unwrap().clone();
    let (within, between) = (of("units"), of("sites"));
    let df = number(&within["degrees_of_freedom"]);
    assert_eq!(df, (sites * (units - 1)) as f64);
    let relative = (2.0 / df).sqrt();
    assert!((number(&within["seen"]) / 144.0 - 1.0).abs() < 4.0 * relative, "{within}");
    assert!((number(&within["planned"]) - 324.0).abs() < 1e-9);
    let df = number(&between["degrees_of_freedom"]);
    assert_eq!(df, sites as f64 - 2.0);
    let relative = (1.0 + 144.0 / 6.0 / 900.0) * (2.0 / df).sqrt();
    assert!((number(&between["seen"]) / 900.0 - 1.0).abs() < 4.0 * relative, "{between}");
    assert!((number(&between["planned"]) - 425.0).abs() < 1e-9);
    // Everything else about the sites is missing, and said.
    assert!(told["notes"].to_string().contains("No column grazers"), "{}", told["notes"]);
}

#[test]
fn at_the_end_precision_and_effort_are_told_and_no_power() {
    let folder = TempDir::new().unwrap();
    let text = with_cover();
    let plan = planned_and_done(&folder, &text, 99);
    let screen = output(&folder, &text, &["--done", "done.csv", "--finished", "--out", "end"]);
    let told: Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("end/finished.json")).unwrap()).unwrap();
    let scheduled = number(&plan["schedule"].as_array().unwrap().last().unwrap()["day"]);
    assert_eq!((number(&told["days"]["planned"]), number(&told["days"]["came"])), (scheduled, scheduled));
    assert_eq!(told["team_dives"]["planned"], told["team_dives"]["came"]);
    for task in told["tasks"].as_array().unwrap() {
        assert_eq!(task["units"]["planned"], task["units"]["came"], "{task}");
    }
    // Half-width and error of the mean of rugosity by hand.
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let mut sites: std::collections::BTreeMap<(String, String), Vec<f64>> = Default::default();
    fill(&sheet, |row| {
        if let Ok(value) = row.get("rugosity").parse::<f64>() {
            sites.entry((row.get("zone").to_owned(), row.get("site").to_owned())).or_default().push(value);
        }
    });
    let (mut mean, mut variance) = (0.0, 0.0);
    for zone in ["rim", "wall"] {
        let means: Vec<f64> = sites
            .iter()
            .filter(|((of, _), _)| of == zone)
            .map(|(_, values)| values.iter().sum::<f64>() / values.len() as f64)
            .collect();
        let centre = means.iter().sum::<f64>() / means.len() as f64;
        let square: f64 = means.iter().map(|value| (value - centre).powi(2)).sum::<f64>() / (means.len() - 1) as f64;
        mean += 0.5 * centre;
        variance += 0.25 * square / means.len() as f64;
    }
    let reached = told["reached"].as_array().unwrap().iter().find(|of| of["indicator"] == "rugosity").unwrap();
    assert!((number(&reached["mean"]) / mean - 1.0).abs() < 1e-9, "{reached} {mean}");
    assert!((number(&reached["cv"]) * mean / variance.sqrt() - 1.0).abs() < 1e-9, "{reached} {variance}");
    assert!(number(&reached["half_width"]) > 1.9 * variance.sqrt() && number(&reached["cv_error"]) > 0.0);
    assert!(screen.starts_with("This is an effort budget") && screen.contains("No power is told after the fact"));
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
    assert!(folder.path().join("end/finished.txt").exists());
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 2);
    let with = |threads: &str| output(&folder, &text, &["--done", "done.csv", "--json", "--threads", threads]);
    let one = with("1");
    assert!(one == with("2") && one == with("5"));
}

#[test]
fn a_sheet_that_cannot_be_is_refused_and_nothing_is_written() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    let head = "day,zone,site,diver,task,unit,minutes_used,rugosity\n";
    let refused = |sheet: &str, arguments: &[&str], told: &str| {
        fs::write(folder.path().join("bad.csv"), sheet).unwrap();
        let out = budget(&folder, &text, &[&["--done", "bad.csv", "--out", "rest"], arguments].concat());
        let said = String::from_utf8(out.code(2).get_output().stderr.clone()).unwrap();
        assert!(said.contains(told), "{said}");
        assert!(!folder.path().join("rest").exists());
    };
    refused(&format!("{head}1,lagoon,1,Odo,rugosity,1,9,140\n"), &[], "bad.csv:2, column `zone`: `lagoon`");
    refused(&format!("{head}1,rim,1,Odo,rugosity,1,,140\n"), &[], "for it has a reading");
    refused(&format!("{head}1,rim,1,Odo,rugosity,1,,\n"), &[], "no unit is done");
    refused("day,zone\n", &[], "there is no column `site`");
    let good = format!("{head}1,rim,1,Odo,rugosity,1,9,140\n");
    refused(&good, &["--days-left", "-1"], "");
    refused(&good, &["--visit", "3"], "");
    refused(&good, &["--finished", "--today", "lost"], "cannot be used with");
    refused(&good.replace("day,", "visit,day,").replace("\n1,rim", "\n2,1,rim"), &["--visit", "1"], "units of visit 2");
    refused(&good.replace("day,", "visit,day,").replace("\n1,rim", "\n3,1,rim"), &[], "column `visit`: `3`");
    let out = budget(&folder, &text, &["--done", "none.csv"]).code(2).get_output().stderr.clone();
    let told = String::from_utf8(out).unwrap();
    assert!(told.contains("there is no such file") && told.contains("--finished"), "{told}");
    let out = budget(&folder, &text, &["--days-left", "3"]).code(2).get_output().stderr.clone();
    assert!(String::from_utf8(out).unwrap().contains("--done"));
    // A sheet that was filled in is not written over.
    fs::create_dir(folder.path().join("rest")).unwrap();
    fs::write(folder.path().join("rest/rest_field.csv"), &good).unwrap();
    let out = budget(&folder, &text, &["--done", "rest/rest_field.csv", "--out", "rest"]).code(2);
    assert!(String::from_utf8(out.get_output().stderr.clone()).unwrap().contains("would be written over"));
    assert_eq!(fs::read_to_string(folder.path().join("rest/rest_field.csv")).unwrap(), good);
    assert_eq!(fs::read_dir(folder.path().join("rest")).unwrap().count(), 1);
}

/// Fewer units than planned are told against the plan, the rest tells its money where rates are given, and a sheet of another
/// expedition is refused.
#[test]
fn what_came_fewer_and_what_the_rest_costs() {
    let folder = TempDir::new().unwrap();
    let rates = "[expedition.rates]\ncurrency = \"crowns\"\nfixed = 5000\nper_day = 1000\n[[target]]";
    let text = by_components();
    planned_and_done(&folder, &text, 1);
    let whole = json(&folder, &text, &["--done", "done.csv"]);
    assert!(!whole["changes"].to_string().contains("grazers: 3 done where"), "{}", whole["changes"]);
    assert!(whole["rest"]["all"].get("cost").is_none());
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let fewer = fill(&sheet, |row| {
        if row.get("task") == "grazers" && row.get("unit") == "1" && row.get("day") == "1" {
            row.set("minutes_used", "");
            row.set("grazers", "");
        }
    });
    fs::write(folder.path().join("fewer.csv"), &fewer).unwrap();
    let text = text.replacen("[[target]]", rates, 1);
    let told = json(&folder, &text, &["--done", "fewer.csv"]);
    let changes = told["changes"].to_string();
    assert!(changes.contains("grazers: ") && changes.contains("done where"), "{changes}");
    let plan = if told["rest"]["best"]["cost"].is_null() { &told["rest"]["all"] } else { &told["rest"]["best"] };
    // Days of the rest and the way home; what is paid once is paid.
    assert_eq!(number(&plan["cost"]["total"]), 1000.0 * (number(&plan["days"]) + 1.0), "{plan}");
    // Spent: once, the way out and a day; planned: all of it.
    let money = &told["money"];
    let all = &told["rest"]["all"];
    let next = if number(&all["days"]) <= number(&told["days_left"]) { all } else { plan };
    assert_eq!((number(&money["spent"]), money["rest"].clone()), (5000.0 + 2000.0, next["cost"]["total"].clone()));
    assert_eq!(number(&money["planned"]), 5000.0 + 1000.0 * (2.0 + number(&told["planned"]["days"])), "{money}");
    let screen = output(&folder, &text, &["--done", "fewer.csv", "--out", "rest"]);
    let screen = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(screen.contains("By your rates 7,000 crowns are spent up to now (1 day for diving gone"), "{screen}");
    let page = fs::read_to_string(folder.path().join("rest/replan.html")).unwrap();
    assert!(page.contains("id=\"money\"") && page.contains("7,000 crowns are spent up to now"));
    let other = text.replacen("title = \"", "title = \"Other ", 1);
    let said = budget(&folder, &other, &["--done", "fewer.csv"]).code(2).get_output().stderr.clone();
    let said = String::from_utf8(said).unwrap();
    assert!(said.contains("this is the field sheet of") && said.contains("Other "), "{said}");
}

/// Days, people, dives, hours ashore and laboratory, spent and to come, add up to what a visit of so many days costs; money there
/// is for the visit is set against both; a visit that went as planned cost what was planned.
#[test]
fn money_spent_and_money_of_the_rest_are_the_whole() {
    let folder = TempDir::new().unwrap();
    let rates = "money = 100\nperson_days_before = 6\nperson_days_after = 9.5\n[expedition.rates]\ncurrency = \"crowns\"\n\
                 fixed = 5000\nper_day = 1000\nper_person_day = 100\nother_people = 3\nper_dive = 10\n\
                 ashore_per_person_day = 150\n[[diver]]\nname = \"Ines\"\nto_day = 9";
    let text = by_components().replacen("[[diver]]\nname = \"Ines\"", rates, 1);
    let text = text.replace("skill = \"fish\"\nfirst = true", "skill = \"fish\"\nlaboratory_cost = 7\nfirst = true");
    let plan = planned_and_done(&folder, &text, 3);
    let told = json(&folder, &text, &["--done", "done.csv"]);
    let money = &told["money"];
    let item = |of: &str, what: &str| {
        let items = money["items"].as_array().unwrap();
        number(&items.iter().find(|item| item["of"] == of).unwrap_or_else(|| panic!("{of}: {money}"))[what])
    };
    let rest = if number(&told["rest"]["all"]["days"]) <= 7.0 { &told["rest"]["all"] } else { &told["rest"]["best"] };
    let days = 3.0 + number(&rest["days"]);
    assert!(days <= 9.0 && item("fixed", "spent") == 1.0 && item("fixed", "rest") == 0.0);
    assert_eq!(item("days", "spent") + item("days", "rest"), 2.0 + days);
    // Four divers and three others; who leaves on the last day but one for diving would not have been there on the last.
    assert_eq!(item("person_days", "spent") + item("person_days", "rest"), 7.0 * (2.0 + days));
    let rows = plan["schedule"].as_array().unwrap().iter().filter(|row| number(&row["day"]) <= 3.0);
    let divers: std::collections::BTreeSet<String> =
        rows.clone().map(|row| format!("{} {} {}", row["day"], row["team_dive"], row["diver"])).collect();
    assert_eq!(item("dives", "spent") as usize, divers.len());
    let grazers: f64 = rows.filter(|row| row["task"] == "grazers").map(|row| number(&row["units"])).sum();
    assert_eq!(item("laboratory", "spent"), grazers);
    // Who prepared it is paid; what follows is to come.
    let ashore = |of: &str| ["planned", "spent", "rest"].map(|what| item(of, what));
    assert_eq!((ashore("days_before"), ashore("days_after")), ([6.0, 6.0, 0.0], [9.5, 0.0, 9.5]));
    let of_items = |what: &str| {
        let items = money["items"].as_array().unwrap().iter();
        items.map(|item| number(&item["rate"]) * number(&item[what])).sum::<f64>()
    };
    for what in ["planned", "spent", "rest"] {
        assert!((of_items(what) - number(&money[what])).abs() < 1e-6, "{what}: {money}");
    }
    let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let screen = output(&folder, &text, &["--done", "done.csv"]);
    assert!(one_line(&screen).contains("Nothing is left of the 100 crowns there are"), "{screen}");
    // All as planned, to the end.
    planned_and_done(&folder, &text, 99);
    let end = json(&folder, &text, &["--done", "done.csv", "--finished"]);
    assert_eq!(end["money"]["spent"], end["money"]["planned"], "{}", end["money"]);
    let screen = output(&folder, &text, &["--done", "done.csv", "--finished"]);
    assert!(screen.contains("money, crowns") && one_line(&screen).contains("were planned (as much)"), "{screen}");
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
}

/// The example that lies beside its scenario.
#[test]
fn the_example_is_read() {
    let folder = TempDir::new().unwrap();
    let sheet = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/quill_bank_field.csv");
    let told = json(&folder, &with_cover(), &["--done", sheet.to_str().unwrap()]);
    assert_eq!(number(&told["days_used"]), 3.0);
    assert!(number(&told["units_interrupted"]) > 0.0 && !told["changes"].as_array().unwrap().is_empty());
    // All units of grazers came fewer than planned; nothing of the whole can be simulated, and no column says so thrice.
    assert!(told["changes"].to_string().contains("grazers: 3 done where 4 were planned"), "{}", told["changes"]);
    let screen = output(&folder, &with_cover(), &["--done", sheet.to_str().unwrap()]);
    assert!(screen.contains("Margins by formula; not simulated.") && !screen.contains("by simulation"), "{screen}");
    // Two sites in a zone: why the interval is so wide.
    let end = output(&folder, &with_cover(), &["--done", sheet.to_str().unwrap(), "--finished"]);
    let end = end.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(end.contains("hard coral: wall has 2 sites, so that the interval rests on"), "{end}");
}

/// Where a unit comes to take more than its dives have, the rest is still planned, with the reason first; sheets that hold what
/// looks like a slip are told of it.
#[test]
fn a_unit_that_no_longer_fits_does_not_end_the_expedition() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 2);
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let with_minutes = |minutes: u64| {
        let slow = fill(&sheet, |row| {
            if row.get("task") == "rugosity" && !row.get("minutes_used").is_empty() {
                row.set("minutes_used", minutes);
                row.set("diver", "Nobody");
            }
        });
        fs::write(folder.path().join("slow.csv"), slow).unwrap();
        json(&folder, &text, &["--done", "slow.csv", "--days-left", "99"])
    };
    let no_longer = |told: &Value| !told["no_longer_fits"].as_array().unwrap().is_empty();
    let (mut least, mut most) = (10, 120);
    while most - least > 1 {
        let middle = (least + most) / 2;
        if no_longer(&with_minutes(middle)) { most = middle } else { least = middle }
    }
    let told = with_minutes(most + 1);
    assert!(no_longer(&told));
    // That unit alone is less sure, by no more than it takes: everything else is in time as often as asked.
    let [less_sure] = &told["less_sure"].as_array().unwrap()[..] else { panic!("{}", told["less_sure"]) };
    let (chance, asked) = (number(&less_sure["chance"]), number(&less_sure["asked"]));
    assert!(less_sure["method"] == "rugosity" && (asked - 0.9f64.sqrt()).abs() < 1e-9, "{less_sure}");
    assert!(chance < asked && chance > asked - 0.06, "{chance}");
    let rows = told["rest"]["schedule"].as_array().unwrap();
    assert!(!rows.is_empty());
    let key = |row: &Value| ["day", "boat", "team_dive", "pair"].map(|key| row[key].as_u64().unwrap());
    let with_it = |row: &Value| {
        let is_it = |of: &&Value| of["task"] == "rugosity" && of["zone"] == less_sure["zone"] && key(of) == key(row);
        rows.iter().any(|of| is_it(&of))
    };
    for row in rows {
        let least = if with_it(row) { chance * chance } else { 0.9 };
        assert!(number(&row["finished"]) > least - 1e-6, "{row}");
    }
    let notes = told["notes"].to_string();
    assert!(
        notes.contains("--days-left 99 is more than") && notes.contains("(Nobody: first in slow.csv, line "),
        "{notes}"
    );
    // What leaving out one of the two methods would do instead is said, whichever lets the other fit.
    let instead = told["without_one_method"].to_string();
    assert!(instead.contains("Without rugosity (then nothing is told of rugosity) all other work fits"), "{instead}");
    let screen = output(&folder, &text, &["--done", "slow.csv"]);
    let place = |words: &str| screen.find(words).unwrap_or_else(|| panic!("{words}: {screen}"));
    assert!(place("With the minutes seen") < place("Against the plan"));
    let screen = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(screen.contains("one thing does not fit as it was asked") && !screen.contains("finish_chance"), "{screen}");
    assert!(screen.contains("all other work is as sure as asked"), "{screen}");
    assert!(screen.contains("m, 44 min on the bottom asked for"), "{screen}");
}

/// A site of which a dive is missing is finished before new ones are begun: with just the units it lacks, by their numbers, for
/// fewer dives than a new site takes.
#[test]
fn what_was_begun_is_finished_first() {
    let folder = TempDir::new().unwrap();
    let text = with_cover();
    let plan = planned_and_done(&folder, &text, 2);
    // The second dive at the last site of two dives was lost.
    let rows = plan["schedule"].as_array().unwrap();
    let of_wall = rows.iter().filter(|row| row["zone"] == "wall" && number(&row["day"]) <= 2.0);
    let last = of_wall.max_by_key(|row| (row["day"].as_u64(), row["team_dive"].as_u64())).unwrap();
    let (site, dive) = (last["site"].to_string(), last["team_dive"].to_string());
    let mut lost: Vec<(String, String)> = Vec::new();
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let cut = fill(&sheet, |row| {
        let is_lost = row.get("zone") == "wall" && row.get("site") == site && row.get("team_dive") == dive;
        if is_lost && !row.get("minutes_used").is_empty() {
            lost.push((row.get("task").to_owned(), row.get("unit").to_owned()));
            ["minutes_used", "hard_coral_percent", "rugosity", "grazers"]
                .into_iter()
                .filter(|name| row.names.iter().any(|of| of == name))
                .for_each(|name| row.set(name, ""));
        }
    });
    fs::write(folder.path().join("done.csv"), cut).unwrap();
    assert!(!lost.is_empty());
    let screen = output(&folder, &text, &["--done", "done.csv", "--out", "rest"]);
    let told: Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("rest/replan.json")).unwrap()).unwrap();
    let [begun] = &told["rest"]["begun"].as_array().unwrap()[..] else { panic!("{}", told["rest"]["begun"]) };
    assert_eq!((begun["zone"].as_str(), begun["site"].to_string()), (Some("wall"), site.clone()));
    assert_eq!(begun["team_dives"], 1);
    let mut lacks: Vec<(String, String)> = Vec::new();
    for of in begun["lacks"].as_array().unwrap() {
        let method = of["method"].as_str().unwrap();
        lacks.extend(of["units"].as_array().unwrap().iter().map(|unit| (method.to_owned(), unit.to_string())));
    }
    lost.sort();
    lacks.sort();
    assert_eq!(lacks, lost);
    // It comes on the first day of the rest, and its units have the numbers that it lacks in the new sheet.
    let rows = told["rest"]["schedule"].as_array().unwrap();
    let there: Vec<&Value> = rows.iter().filter(|row| row["zone"] == "wall" && row["site"] == last["site"]).collect();
    assert!(!there.is_empty() && there.iter().all(|row| number(&row["day"]) == 3.0), "{there:?}");
    let units: f64 = there.iter().map(|row| number(&row["units"])).sum();
    assert_eq!(units as usize, lost.len());
    let both = output(&folder, &text, &["--done", "done.csv", "--done", "rest/rest_field.csv"]);
    assert!(both.contains("Finished first, because that takes fewer dives than new sites: wall"), "{both}");
    assert!(screen.contains("Finished first") && screen.contains("1 team dive)"), "{screen}");
    let sheet = fs::read_to_string(folder.path().join("rest/rest_field.csv")).unwrap();
    for (task, unit) in &lost {
        assert!(
            sheet
                .lines()
                .any(|line| line.contains(&format!("wall,{site},,")) && line.contains(&format!(",{task},{unit},")))
        );
    }
    let starts = fs::read_to_string(folder.path().join("rest/rest_starts.csv")).unwrap();
    let first = fs::read_to_string(folder.path().join("plan/starts.csv")).unwrap();
    let of_site = |text: &str| -> Vec<String> {
        let is_of = |line: &&str| line.starts_with(&format!("wall,{site},")) && line.contains("point_intercept");
        text.lines().filter(is_of).map(str::to_owned).collect()
    };
    assert!(of_site(&starts).iter().all(|line| of_site(&first).contains(line)), "{starts}");
    // A new plan is never worse for it than with the site as it is.
    let days = |told: &Value| number(&told["rest"]["all"]["days"]);
    assert!(days(&told) <= number(&told["as_planned"]["days"]), "{}", told["as_planned"]);
    // All of it is done: nothing is begun any more.
    let done = fill(&fs::read_to_string(folder.path().join("rest/rest_field.csv")).unwrap(), as_it_went);
    fs::write(folder.path().join("more.csv"), done).unwrap();
    let end = json(&folder, &text, &["--done", "done.csv", "--done", "more.csv"]);
    assert!(end["rest"]["begun"].as_array().unwrap().is_empty(), "{}", end["rest"]["begun"]);
}

/// A site that lacks one method counts for those it has towards the fewest sites (3) of its zone; where the days left do not hold
/// these, the rest is planned with fewer, and says so.
#[test]
fn the_fewest_sites_are_counted_method_by_method() {
    let folder = TempDir::new().unwrap();
    let text = with_cover();
    planned_and_done(&folder, &text, 3);
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let told = |lost: &[(&str, &str, &str)], days: &str| {
        let cut = fill(&sheet, |row| {
            let lost = lost.iter().any(|of| *of == (row.get("zone"), row.get("site"), row.get("task")));
            if lost {
                let columns = ["minutes_used", "hard_coral_percent", "rugosity", "grazers"];
                columns.into_iter().for_each(|name| row.set(name, ""));
            }
        });
        fs::write(folder.path().join("cut.csv"), cut).unwrap();
        json(&folder, &text, &["--done", "cut.csv", "--days-left", days])
    };
    let sites = |told: &Value, zone: usize| number(&told["rest"]["best"]["zones"][zone]["sites"]);
    // Three sites of the rim and two of the wall. On each of the rim another method is lost, so that two sites tell of each: one
    // more of each zone, which one day holds.
    let one_each = [("rim", "1", "grazers"), ("rim", "2", "rugosity"), ("rim", "3", "point_intercept")];
    let rest = told(&one_each, "1");
    assert_eq!((sites(&rest, 0), sites(&rest, 1)), (1.0, 1.0), "{}", rest["rest"]["best"]);
    assert!(rest["below_fewest"].is_null() && rest["rest"]["begun"].as_array().unwrap().is_empty());
    // With all of them whole none of the rim is needed, and the day goes where it brings most.
    assert!(sites(&told(&[], "1"), 1) >= 1.0);
    // Grazers are lost on all of the rim: three more, and two are what a day holds.
    let all_of_one = [1, 2, 3].map(|site| ("rim", ["", "1", "2", "3"][site], "grazers"));
    let rest = told(&all_of_one, "1");
    assert_eq!(sites(&rest, 0), 2.0, "{}", rest["rest"]["best"]);
    let below = rest["below_fewest"].to_string();
    assert!(below.contains(r#"{"zone":"rim","fewest":3,"comes_to":2}"#), "{below}");
    // Lines are lost on both of the wall: a dive each brings them back, where a new site takes two.
    let lines = [("wall", "1", "point_intercept"), ("wall", "2", "point_intercept")];
    let rest = told(&lines, "1");
    let begun: Vec<(&str, f64)> = rest["rest"]["begun"]
        .as_array()
        .unwrap()
        .iter()
        .map(|of| (of["zone"].as_str().unwrap(), number(&of["site"])))
        .collect();
    assert_eq!(begun, [("wall", 1.0), ("wall", 2.0)]);
    assert!(rest["below_fewest"].to_string().contains(r#"{"zone":"wall","fewest":3,"comes_to":2}"#));
    // Units of a method alone are lost: the site counts as it is.
    let rest = told(&lines, "4");
    assert!(rest["below_fewest"].is_null(), "{}", rest["below_fewest"]);
}

/// A day with fewer dives than its sheet is a day dived, told by itself; what that pace means for the rest is told beside.
#[test]
fn a_day_cut_short_is_no_day_lost() {
    let folder = TempDir::new().unwrap();
    let text = by_components();
    planned_and_done(&folder, &text, 3);
    let whole = json(&folder, &text, &["--done", "done.csv"]);
    assert!(whole["cut_short"].is_null(), "{}", whole["cut_short"]);
    let sheet = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let last = |day: &str| {
        let rows = sheet.lines().filter(|line| !line.starts_with('#')).map(|line| line.split(',').collect::<Vec<_>>());
        let rows: Vec<Vec<&str>> = rows.collect();
        let place = |name: &str| rows[0].iter().position(|of| *of == name).unwrap();
        let of_day = rows[1..].iter().filter(|row| row[place("day")] == day);
        of_day.map(|row| row[place("team_dive")].parse::<usize>().unwrap()).max().unwrap()
    };
    let dives = last("2");
    let cut = fill(&sheet, |row| {
        if row.get("day") == "2" && row.get("team_dive") == dives.to_string() {
            ["minutes_used", "rugosity", "grazers"].into_iter().for_each(|name| row.set(name, ""));
        }
        // What was begun and not ended was dived.
        if row.get("day") == "3" {
            row.set("interrupted", "yes");
        }
    });
    fs::write(folder.path().join("cut.csv"), cut).unwrap();
    let told = json(&folder, &text, &["--done", "cut.csv"]);
    assert_eq!((&told["days_used"], &told["days_left"]), (&whole["days_used"], &whole["days_left"]));
    assert_eq!(told["rest"]["days_lost"], 0);
    let short = &told["cut_short"];
    assert_eq!(short["days"].to_string(), format!(r#"[{{"day":2,"dived":{},"planned":{dives}}}]"#, dives - 1));
    assert_eq!(number(&short["planned"]) - number(&short["dived"]), 1.0);
    let pace = &short["rest"];
    let days = number(&pace["instead_of"]) * number(&short["planned"]) / number(&short["dived"]);
    assert_eq!(number(&pace["days"]), days.ceil());
    let screen = output(&folder, &text, &["--done", "cut.csv"]);
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    let line = format!("Of 3 days dived 1 was cut short: day 2 ({} of {dives} team dives).", dives - 1);
    assert!(words.contains(&line) && words.contains("days dived, not lost"), "{screen}");
}

/// Who goes ahead on a line that is laid and read on one dive stands with the next days, for every such line.
#[test]
fn the_next_days_tell_who_goes_ahead_on_a_line() {
    let folder = TempDir::new().unwrap();
    let work = "[method.other.work]\nmove_minutes = 1\n";
    let text = with_cover();
    assert!(text.contains(work));
    let text = text.replacen(work, &format!("{work}on_line_of = \"point_intercept\"\n"), 1);
    planned_and_done(&folder, &text, 2);
    let done = fs::read_to_string(folder.path().join("done.csv")).unwrap();
    let done = fill(&done, |row| {
        if row.get("task") == "laying_lines" {
            row.set("grazers", "");
        }
    });
    fs::write(folder.path().join("done.csv"), done).unwrap();
    let rest = &json(&folder, &text, &["--done", "done.csv"])["rest"];
    let first = rest["schedule"][0]["day"].as_u64().unwrap();
    let ahead: Vec<&Value> =
        rest["laid_ahead"].as_array().unwrap().iter().filter(|of| of["day"].as_u64().unwrap() < first + 2).collect();
    let screen = output(&folder, &text, &["--done", "done.csv"]);
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    for of in &ahead {
        let said = |key: &str| of[key].as_str().unwrap().to_owned();
        let line = format!("line {}: {}, then {} (", of["line"], said("laid_by"), said("read_by"));
        assert!(words.contains(&line), "{line}\n{screen}");
    }
    assert!(!ahead.is_empty() && words.contains("Laid and read on this dive, who lays goes ahead"), "{screen}");
}

/// Days of the rest that are left free for a site that opens late are told with it and paid for, as in a plan.
#[test]
fn the_rest_pays_for_the_days_it_waits() {
    let folder = TempDir::new().unwrap();
    let rates = "candidate_sites = \"list.csv\"\n[expedition.rates]\ncurrency = \"crowns\"\nper_day = 1000\n[[diver]]\nname = \"Ines\"";
    let text = by_components().replacen("[[diver]]\nname = \"Ines\"", rates, 1);
    let rest_where = |late: &str| {
        let zone = |zone: &str, depth: f64, count: usize| {
            let row = |site: usize| {
                let name = format!("{zone} {site}");
                let first_day = if name == late { "10" } else { "" };
                format!("{name},{zone},{depth},-24.{site:02},-110.{site:02},{first_day}\n")
            };
            (1..=count).map(row).collect::<String>()
        };
        let list = format!(
            "name,zone,depth_m,latitude,longitude,first_day\n{}{}",
            zone("rim", 7.5, 14),
            zone("wall", 19.0, 12)
        );
        fs::write(folder.path().join("list.csv"), list).unwrap();
        planned_and_done(&folder, &text, 2);
        json(&folder, &text, &["--done", "done.csv"])
    };
    let next = |told: &Value| {
        let all = &told["rest"]["all"];
        let fits = !all.is_null() && number(&all["days"]) <= number(&told["days_left"]);
        if fits { all.clone() } else { told["rest"]["best"].clone() }
    };
    let early = rest_where("");
    assert!(next(&early)["free_days"].is_null() && early["rest"]["access"].is_null());
    // A site that every rest has: the next of the wall.
    let schedule = early["rest"]["schedule"].as_array().unwrap();
    let of_wall = schedule.iter().filter(|row| row["zone"] == "wall").min_by_key(|row| row["site"].as_u64());
    let name = of_wall.unwrap()["site_name"].as_str().unwrap();
    let late = rest_where(name);
    let (plan, access) = (next(&late), &late["rest"]["access"]);
    let schedule = late["rest"]["schedule"].as_array().unwrap();
    assert!(schedule.iter().filter(|row| row["site_name"] == name).all(|row| row["day"] == 10), "{schedule:?}");
    assert_eq!(2.0 + number(&plan["days"]) + number(&plan["free_days"]), 10.0, "{plan}");
    // With the way home.
    let money = 1000.0 * (number(&plan["days"]) + number(&plan["free_days"]) + 1.0);
    assert_eq!([&plan["cost"]["total"], &access["money"], &late["money"]["rest"]].map(number), [money; 3]);
    assert_eq!(number(&access["last_day"]), 10.0);
}

/// Whoever has left is on no dive of the rest, however many days are told to be left: the sheets go on with the days of the
/// calendar.
#[test]
fn nobody_dives_after_leaving() {
    let folder = TempDir::new().unwrap();
    let last_day = 4.0;
    let text = with_cover().replace("name = \"Ruan\"", "name = \"Ruan\"\nto_day = 4");
    planned_and_done(&folder, &text, 2);
    let mut dives = 0;
    for days_left in ["3", "8", "14"] {
        let told = json(&folder, &text, &["--done", "done.csv", "--days-left", days_left]);
        for row in told["rest"]["schedule"].as_array().unwrap() {
            assert!(row["diver"] != "Ruan" || number(&row["day"]) <= last_day, "{days_left}: {row}");
            dives += 1;
        }
    }
    assert!(dives > 0);
}
