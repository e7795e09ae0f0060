//! Belts of fish with their number and weight: real ones where they are present, and the command.
//!
//! Virgin Islands: Ennis et al. 2020, The United States Virgin Islands Territorial Coral Reef Monitoring Program, annual report;
//! in the folder named by `REEFWRIGHT_DATA`, else `../shared/data`. Its fish are in grams per 100 m2, and numbers per 100 m2 are
//! whole, so that belts are taken for 25 x 4 m. "Computed" values were worked out from that table by other code.

use assert_cmd::Command;
use reefwright::pilot::Named;
use reefwright::pilot::counts::*;
use reefwright::scenario::load_text;
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

fn open_data(name: &str) -> Option<String> {
    let folder = std::env::var_os("REEFWRIGHT_DATA")
        .map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/data"), PathBuf::from);
    let path = folder.join(name);
    let text = fs::read_to_string(&path).ok();
    if text.is_none() {
        eprintln!("skipped: {} is not there (set REEFWRIGHT_DATA)", path.display());
    }
    text
}

fn reefwright(folder: &TempDir) -> Command {
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command.current_dir(folder.path());
    command
}

const OPTIONS: [&str; 10] =
    ["--visit", "year", "--density", "n_per_100m2", "--biomass", "biomass_per_100m2", "--length", "25", "--width", "4"];

/// 1,725 belts of 33 sites and ten years: mean 190 fish, variance 65.1 times the mean within a site and year, 8.9 kg in a belt;
/// over sites and years the median SD over mean is .44 of numbers and .66 of biomass (computed).
#[test]
fn fish_of_the_virgin_islands() {
    let Some(text) = open_data("virgin-islands-permanent-transects/fish_belt_totals.csv") else { return };
    let read = |counted: CountedColumn| {
        // Transects were counted again in some years under their numbers: rows are belts.
        let named = Named { zone: None, site: vec!["site".into()], unit: None, visit: Some("year".into()) };
        let columns = CountColumns { named, counted, area: BeltArea::Same(100.0) };
        read_counts(text.as_bytes(), "open data", &columns).unwrap()
    };
    let numbers = read(CountedColumn::Per100M2("n_per_100m2".into()));
    let grams = read(CountedColumn::GramsPer100M2("biomass_per_100m2".into()));
    assert_eq!((numbers.rows, grams.rows), (1725, 1725));
    let fit = fit_fish(&numbers, Some(&grams)).unwrap().remove(0);
    let counts = fit_counts(&numbers).unwrap().zones.remove(0);
    println!("{fit:#?}\n{counts:#?}");
    let over_all =
        text.lines().skip(1).map(|line| line.split(',').nth(3).unwrap().parse::<f64>().unwrap()).sum::<f64>();
    assert!((over_all / 1725.0 - 190.186).abs() < 0.001);
    // Pooled over degrees of freedom here and there, over the mean of all belts there.
    assert!((fit.variance_over_mean / 65.12 - 1.0).abs() < 0.05, "{}", fit.variance_over_mean);
    // All kinds together vary with the square of their mean, as they do at Little Cayman (Taylor exponent 2.4, computed): schools
    // hardly show. k of the median SD over mean, .44, is 5.3.
    let schooling = fit.schooling.unwrap();
    assert!(schooling.others_80.low == 0.0 && (3.0..6.0).contains(&schooling.patch_k), "{schooling:?}");
    let biomass = fit.biomass.unwrap();
    assert!((0.5..1.3).contains(&biomass.cv_within), "{biomass:?}");
    assert!((30.0..70.0).contains(&biomass.grams_per_fish), "{biomass:?}");
    assert!(biomass.between_sites.is_some() && biomass.site_year.is_some());
    let animal = calibrate_animal(
        &counts,
        &BeltsTaken { length_m: 25.0, width_m: 4.0, site_length_m: 100.0, site_width_m: 20.0 },
        UsualSpreads { between_sites: 0.8, site_year: 0.3 },
    )
    .unwrap();
    assert!(animal.between_sites_told && animal.site_year_told, "{animal:?}");
}

/// From the belts to a curve.
#[test]
fn fish_of_the_virgin_islands_end_in_a_curve() {
    let Some(text) = open_data("virgin-islands-permanent-transects/fish_belt_totals.csv") else { return };
    let folder = TempDir::new().unwrap();
    // Rows are belts: without the column of the transect.
    fs::write(folder.path().join("fish.csv"), text.replace("site,year,transect,", "site,year,tape,")).unwrap();
    reefwright(&folder)
        .args(["pilot", "fish.csv", "--scenario", "fish.toml", "--animal", "fish"])
        .args(OPTIONS)
        .assert()
        .success();
    let answer = reefwright(&folder).args(["curves", "fish.toml", "--trials", "32", "--json"]).assert().success();
    let answer: Value = serde_json::from_slice(&answer.get_output().stdout).unwrap();
    let rows = answer["rows"].as_array().unwrap();
    for indicator in ["counted_fish", "weighed_biomass"] {
        assert!(rows.iter().any(|row| row["indicator"] == indicator), "{indicator}");
    }
    // Biomass by itself varies more than the number of fish: the same fall is seen more rarely.
    let power = |indicator: &str| {
        let of = rows.iter().filter(|row| row["indicator"] == indicator);
        of.filter_map(|row| row["theory_power"].as_f64()).fold(0.0, f64::max)
    };
    assert!(
        power("weighed_biomass") < 0.7 * power("counted_fish"),
        "{} {}",
        power("weighed_biomass"),
        power("counted_fish")
    );
}

/// Invented belts.
fn table() -> String {
    let mut table = "site,year,n_per_100m2,biomass_per_100m2\n".to_owned();
    for (site, richness) in [("Anvil", 1), ("Bell", 2), ("Crane", 5), ("Drum", 9)] {
        for year in [2027, 2028, 2029] {
            for belt in 0..5 {
                let fish = richness * [2, 9, 4, 17, 3][(belt + year) % 5];
                table += &format!("{site},{year},{fish},{}.5\n", 45 * fish);
            }
        }
    }
    table
}

#[test]
fn schools_and_biomass_are_told_on_request() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("fish.csv"), table()).unwrap();
    let output =
        reefwright(&folder).args(["pilot", "fish.csv", "--scenario", "fish.toml"]).args(OPTIONS).assert().success();
    let told = String::from_utf8(output.get_output().stdout.clone()).unwrap();
    let words = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "`weighed_biomass`",
        "as the median over belts",
        "As fish: within a site",
        "others of its school",
        "kg per ha",
        "A fish weighs 45",
        "W = 0.02 L^3",
    ] {
        assert!(words.contains(part), "{part}: {told}");
    }
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    assert!(load_text("fish.toml", &fs::read_to_string(folder.path().join("fish.toml")).unwrap()).is_ok());
    let output = reefwright(&folder).args(["pilot", "fish.csv", "--json", "--quiet"]).args(OPTIONS).assert().success();
    let value: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    let biomass = &value["fish"][0]["biomass"];
    assert!((biomass["grams_per_fish"].as_f64().unwrap() - 45.0).abs() < 0.1, "{biomass}");
    let without: Vec<&str> = OPTIONS.into_iter().filter(|word| !word.contains("biomass")).collect();
    let output = reefwright(&folder).args(["pilot", "fish.csv", "--json", "--quiet"]).args(without).assert().success();
    let value: Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert!(value["fish"].is_null());
}

#[test]
fn biomass_that_cannot_be_is_refused_with_its_place() {
    let folder = TempDir::new().unwrap();
    let refused = |table: &str, options: &[&str], parts: &[&str]| {
        fs::write(folder.path().join("bad.csv"), table).unwrap();
        let output = reefwright(&folder)
            .args(["pilot", "bad.csv", "--length", "25", "--width", "4", "--visit", "year"])
            .args(options)
            .assert()
            .code(2)
            .stdout("");
        let message = String::from_utf8(output.get_output().stderr.clone()).unwrap().replace('\n', " ");
        for part in parts {
            assert!(message.contains(part), "{part}: {message}");
        }
    };
    let one = ["--density", "n_per_100m2", "--biomass", "biomass_per_100m2"];
    refused(
        &table().replacen("90.5", "-4", 1),
        &one,
        &["bad.csv:", "column `biomass_per_100m2`", "`-4`", "grams per 100 m2"],
    );
    refused(&table(), &["--biomass", "biomass_per_100m2"], &["--biomass", "--count"]);
    let two = ["--density", "n_per_100m2,n_per_100m2", "--biomass", "biomass_per_100m2"];
    refused(&table(), &two, &["--biomass", "one column"]);
}
