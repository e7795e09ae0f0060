//! `pilot` from outside: from a table of lines to a scenario, and on to an answer.

mod bad_input;
mod calibration;
mod counts;
mod end_to_end;
mod open_data;

use assert_cmd::Command;
use reefwright::design::{HARD_CORAL, Study};
use reefwright::pilot::PilotFit;
use reefwright::theory::{UnitMoments, ZoneTheory};
use tempfile::TempDir;

fn reefwright(folder: &TempDir) -> Command {
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command.current_dir(folder.path());
    command
}

/// The text of the example.
const EXAMPLE: &str = include_str!("../../examples/pilot_lines.csv");

/// A folder with the example in it.
fn folder_with_example() -> TempDir {
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join("pilot_lines.csv"), EXAMPLE).unwrap();
    folder
}

/// Options that fit the example.
const EXAMPLE_OPTIONS: [&str; 7] = ["--visit", "year", "--hits", "coral_points", "--length", "10", "--same-marks"];

/// What theory gives for the first zone and method of a scenario.
fn theory_of(study: &Study) -> UnitMoments {
    let zone = &study.zones[0];
    let theory = ZoneTheory::new(study, zone).unwrap();
    theory.moments(study, zone, HARD_CORAL, study.methods[0].kind.dimensions()[0])
}

/// The theory of a written scenario gives the components of the fit: SDs within one in a hundred. Sites and their
/// years are not told apart where the drift of the reef alone moves sites by more than the pilot saw.
fn assert_gives_back(study: &Study, fit: &PilotFit, drift_is_more: bool) {
    let moments = theory_of(study);
    let near = |found: f64, wanted: f64, what: &str| {
        assert!((found / wanted - 1.0).abs() < 0.01, "{what}: {found} for {wanted}");
    };
    near((moments.variance[0] - moments.pair[0]).sqrt(), fit.between_lines.sd, "lines");
    let years = fit.site_year.map_or(0.0, |years| years.sd);
    near(moments.pair[0].sqrt(), fit.between_sites.sd.hypot(years), "sites and their years");
    if fit.site_year.is_some() && !drift_is_more {
        near(moments.across[1].sqrt(), fit.between_sites.sd, "sites");
        near((moments.pair[0] - moments.across[1]).sqrt(), years, "years");
    }
    if let Some(mark) = fit.same_mark_correlation {
        let within = moments.variance[0] - moments.pair[0];
        near((moments.same_marks[1] - moments.across[1]) / within, mark.correlation, "marks");
    }
    assert!((study.zones[0].cover / fit.mean - 1.0).abs() < 0.005);
}
