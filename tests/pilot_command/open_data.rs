//! Open survey data, where they are present: the folder named by `REEFWRIGHT_DATA`, else `../shared/data`. Sources:
//! `tests/pilot_open_data.rs`.

use super::{assert_gives_back, reefwright};
use reefwright::pilot::{Columns, CoverColumn, PilotFit, fit_pilot, read_pilot};
use reefwright::scenario::load_text;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

/// The path of a data file; `None`, with a word on the terminal, where it is not there.
fn open_data(name: &str) -> Option<PathBuf> {
    let folder = std::env::var_os("REEFWRIGHT_DATA")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"), PathBuf::from);
    let path = folder.join(name);
    if !path.exists() {
        eprintln!("skipped: {} is not there (set REEFWRIGHT_DATA)", path.display());
        return None;
    }
    Some(path)
}

/// `pilot`, `check` and `curves` on a table; the theory of what is written gives the fit back and the answer is finite.
fn goes_all_the_way(table: &[u8], options: &[&str], columns: &Columns) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("table.csv"), table).unwrap();
    reefwright(&folder).args(["pilot", "table.csv", "--scenario", "reef.toml"]).args(options).assert().success();
    let written = fs::read_to_string(folder.path().join("reef.toml")).unwrap();
    let study = load_text("reef.toml", &written).unwrap().study;
    let fit: PilotFit = fit_pilot(&read_pilot(table, "table.csv", columns).unwrap()).unwrap().zones.remove(0);
    assert_gives_back(&study, &fit, false);
    reefwright(&folder).args(["check", "reef.toml"]).assert().success();
    let answer = reefwright(&folder).args(["curves", "reef.toml", "--trials", "64", "--json"]).assert().success();
    let answer: Value = serde_json::from_slice(&answer.get_output().stdout).unwrap();
    let rows = answer["rows"].as_array().unwrap();
    for key in ["power", "theory_power", "se", "half_width", "detectable"] {
        assert!(rows.iter().all(|row| row[key].as_f64().is_some_and(f64::is_finite)), "{key}: {}", rows[0]);
    }
}

/// Two lines of 15 m and 100 points at each of 247 sites of the Florida Keys.
#[test]
fn two_line_sites_of_the_florida_keys() {
    let Some(path) = open_data("atlantic-random-sites/point_intercept_counts.csv") else { return };
    let mut reader = csv::Reader::from_path(path).unwrap();
    let headers = reader.headers().unwrap().clone();
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(&headers).unwrap();
    let region = headers.iter().position(|name| name == "region").unwrap();
    let (year, number) = (region + 1, region + 2);
    assert_eq!((&headers[year], &headers[number]), ("year", "primary_sample_unit"));
    let keys: Vec<csv::StringRecord> =
        reader.records().map(Result::unwrap).filter(|row| &row[region] == "FLK").collect();
    let site = |row: &csv::StringRecord| (row[year].to_owned(), row[number].to_owned());
    for row in keys.iter().filter(|row| keys.iter().filter(|other| site(other) == site(row)).count() == 2) {
        table.write_record(row).unwrap();
    }
    let columns = Columns {
        zone: None,
        site: vec!["year".into(), "primary_sample_unit".into()],
        line: "station_nr".into(),
        visit: None,
        cover: CoverColumn::Counts { hits: "hard_coral".into(), points: "points_total".into() },
        same_marks: false,
    };
    let options = [
        "--site",
        "year,primary_sample_unit",
        "--line",
        "station_nr",
        "--hits",
        "hard_coral",
        "--points",
        "points_total",
        "--length",
        "15",
    ];
    goes_all_the_way(&table.into_inner().unwrap(), &options, &columns);
}

/// Permanent 10 m photo transects of the Virgin Islands; belt width and points are from memory.
#[test]
fn permanent_transects_of_the_virgin_islands() {
    let Some(path) = open_data("virgin-islands-permanent-transects/benthic_cover.csv") else { return };
    let columns = Columns {
        zone: None,
        site: vec!["site".into()],
        line: "transect".into(),
        visit: Some("year".into()),
        cover: CoverColumn::Percent("CoralCov".into()),
        same_marks: true,
    };
    let options = [
        "--line",
        "transect",
        "--visit",
        "year",
        "--cover",
        "CoralCov",
        "--method",
        "photo_belt",
        "--length",
        "10",
        "--width",
        "0.4",
        "--points-per-line",
        "300",
        "--same-marks",
    ];
    goes_all_the_way(&fs::read(path).unwrap(), &options, &columns);
}
