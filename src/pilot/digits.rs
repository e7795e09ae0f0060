//! Numbers that a reader can bear.

/// Three significant digits: SDs to better than a hundredth. Shares are rounded as percent, so that the percent that is
/// written reads as the same share.
pub(super) fn rounded(value: f64) -> f64 {
    to_digits(value, 3, f64::round)
}

/// So many digits, never below the value: a spread that is the least possible must not fall below it.
pub(super) fn rounded_up(value: f64, digits: i32) -> f64 {
    to_digits(value, digits, f64::ceil)
}

/// So many digits, never above the value.
pub(super) fn rounded_down(value: f64, digits: i32) -> f64 {
    to_digits(value, digits, f64::floor)
}

fn to_digits(value: f64, digits: i32, whole: fn(f64) -> f64) -> f64 {
    if !(value > 0.0) {
        return 0.0;
    }
    let places = digits - 1 - libm::floor(libm::log10(value)) as i32;
    let factor = 10f64.powi(places.clamp(0, 12));
    whole(value * factor) / factor
}
