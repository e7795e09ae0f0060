//! Computed reference values of the geometry of virtual reefs, each derived in closed form and checked by simulation when
//! it was made (numpy 2.4.6, scipy 1.17.1): our closed forms must give the printed digits, and, for covers made by a
//! threshold and for discs, a small simulation of our own must give the closed form within 4 standard errors. `row` is
//! the number in the table the values come from.

mod bookkeeping;
mod categories;
mod counts;
mod discs;
mod double;
mod lines;
mod thrown_discs;

/// Agreement to the digits printed: within 6 tenths of a unit of the last one.
#[track_caller]
fn printed(row: u32, ours: f64, text: &str) {
    let (value, unit) = value_and_unit(text);
    assert!((ours - value).abs() < 0.6 * unit, "row {row}: {ours} {text}");
}

/// Agreement to a share of the value, where the printed digits are known to be less exact than they look.
#[track_caller]
fn nearly(row: u32, ours: f64, value: f64, share: f64) {
    assert!((ours / value - 1.0).abs() < share, "row {row}: {ours} {value} {:e}", ours / value - 1.0);
}

/// A printed number and one unit of its last digit.
fn value_and_unit(text: &str) -> (f64, f64) {
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    (text.parse().unwrap(), 10f64.powi(-(decimals as i32)))
}

#[test]
fn the_comparison_itself_tells_digits_apart() {
    printed(0, 0.12344, "0.1234");
    assert!(std::panic::catch_unwind(|| printed(0, 0.12347, "0.1234")).is_err());
    assert!(std::panic::catch_unwind(|| printed(0, f64::NAN, "0.1234")).is_err());
    assert!(std::panic::catch_unwind(|| nearly(0, 1.001, 1.0, 1e-4)).is_err());
}
