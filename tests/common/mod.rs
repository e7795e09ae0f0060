//! What several test files share; each of them uses a part of it.
#![allow(dead_code)]

pub mod bank;
pub mod law;
pub mod studies;

/// Checks a computed number against a printed one, within `tolerance` of the printed one's size.
#[track_caller]
pub fn assert_relative(what: &str, value: f64, printed: f64, tolerance: f64) {
    let apart = value / printed - 1.0;
    assert!(apart.abs() <= tolerance, "{what}: {value} where {printed} is printed, {:+.3} % apart", 100.0 * apart);
}

/// Checks a computed number against a printed one, within an absolute tolerance (as a rule half of its last digit).
#[track_caller]
pub fn assert_near(what: &str, value: f64, printed: f64, tolerance: f64) {
    assert!((value - printed).abs() <= tolerance, "{what}: {value} where {printed} is printed");
}

/// Checks a simulated number against an exact one, within `errors` of its own simulation errors.
#[track_caller]
pub fn assert_simulated(what: &str, measured: reefwright::analysis::Measured, exact: f64, errors: f64) {
    let apart = measured.errors_from(exact);
    assert!(apart < errors, "{what}: {measured:?} where {exact} is exact, {apart:.2} errors apart");
}
