use crate::measures::{decimal, nearest_whole, without_zeros};

/// Shown for a number that does not exist.
pub const NONE: &str = "-";

/// The power of ten of the first digit of a number once it is rounded to so many digits: (0.0125, 1) -> -2,
/// (0.096, 1) -> -1. Read from the decimal text, so that it does not hang on the rounding of a logarithm.
fn place(value: f64, digits: usize) -> i32 {
    let text = format!("{:.*e}", digits.saturating_sub(1), value.abs());
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

fn supports(error: Option<f64>) -> Option<f64> {
    error.filter(|error| error.is_finite() && *error > 1e-12)
}

fn at_place(value: f64, place: i32) -> String {
    if !(value.abs() < 1e12) {
        return significant(value, 2);
    }
    let text = if place < 0 {
        decimal(value, (-place).min(12) as usize)
    } else {
        let unit = 10f64.powi(place);
        format!("{:.0}", nearest_whole(value / unit) * unit)
    };
    without_minus_nought(text)
}

/// A rounded "-0.00" is nought.
fn without_minus_nought(text: String) -> String {
    if text.trim_start_matches(['-', '0', '.']).is_empty() { text.replace('-', "") } else { text }
}

/// A number with so many decimals, never "-0": (-0.2, 0) -> "0".
pub fn fixed(value: f64, decimals: usize) -> String {
    without_minus_nought(decimal(value, decimals))
}

/// The value alone, cut to the digits that one standard error supports: (0.6912, 0.0125) -> "0.69".
/// Without an error: two significant digits.
pub fn rounded(value: f64, error: Option<f64>) -> String {
    if !value.is_finite() {
        return NONE.to_string();
    }
    match supports(error) {
        Some(error) => at_place(value, place(error, 1)),
        None => significant(value, 2),
    }
}

/// The value with its standard error in brackets: (0.6912, 0.0125) -> "0.69 (0.01)", (1234, 40) -> "1230 (40)".
pub fn with_error(value: f64, error: Option<f64>) -> String {
    match (value.is_finite(), supports(error)) {
        (true, Some(error)) => format!("{} ({})", rounded(value, Some(error)), at_place(error, place(error, 1))),
        _ => rounded(value, None),
    }
}

/// A share and its error in hundredths: (0.6912, 0.0125) -> "69 (1)". None or all of the trials have no decimals: (0, 0.007) ->
/// "0 (0.7)".
pub fn hundredths(share: Option<f64>, error: Option<f64>) -> String {
    let Some(share) = share else { return NONE.to_string() };
    let text = with_error(100.0 * share, error.map(|error| 100.0 * error));
    match text.split_once(' ') {
        Some((_, error)) if share == 0.0 || share == 1.0 => format!("{} {error}", fixed(100.0 * share, 0)),
        _ => text,
    }
}

/// A share for a sentence: 0.69 -> "69 in 100"; never "0 in 100" or "100 in 100" for what is only rare or frequent.
pub fn in_hundred(share: f64) -> String {
    if share.is_finite() { format!("{} in 100", whole_hundredths(share)) } else { NONE.to_string() }
}

fn whole_hundredths(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        "fewer than 1".to_string()
    } else if (0.995..1.0).contains(&share) {
        "more than 99".to_string()
    } else {
        fixed(100.0 * share, 0)
    }
}

/// Decimals after which a share and what is wanted are the same.
const SAME_FROM: usize = 7;

/// A share in hundredths beside what is wanted, with as many decimals as tell that it is less, where it is: (0.8964, 0.9) ->
/// "89.6", (0.69, 0.9) -> "69", (0.904, 0.9) -> "90".
pub fn hundredths_beside(share: f64, wanted: f64) -> String {
    if !share.is_finite() {
        return NONE.to_string();
    }
    let is_told = |text: &String| text.parse::<f64>().is_ok_and(|told| (told < 100.0 * wanted) == (share < wanted));
    let mut texts = (0..SAME_FROM).map(|decimals| fixed(100.0 * share, decimals));
    match texts.find(is_told) {
        // Without decimals it is worded.
        Some(text) if text.contains('.') => text,
        _ => whole_hundredths(share),
    }
}

/// A number without a known error, to so many significant digits and without trailing zeros: 0.0456 -> "0.046",
/// 90.0 -> "90", 1234.0 -> "1234" (digits before the point are kept up to ten millions).
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return NONE.to_string();
    }
    if value == 0.0 {
        return "0".to_string();
    }
    let size = value.abs();
    if !(1e-4..1e7).contains(&size) {
        return format!("{value:.*e}", digits.saturating_sub(1));
    }
    let decimals = digits as i32 - 1 - place(size, digits);
    trimmed(value, decimals.max(0) as usize)
}

/// As [`significant`], but with the trailing zeros that belong to it: 4.0 -> "4.0", 90.0 -> "90".
pub fn padded(value: f64, digits: usize) -> String {
    let size = value.abs();
    if size.is_finite() && (1e-4..1e7).contains(&size) {
        let decimals = digits as i32 - 1 - place(size, digits);
        return fixed(value, decimals.max(0) as usize);
    }
    significant(value, digits)
}

/// At most so many decimals, without trailing zeros: (28.000000000000004, 2) -> "28".
pub fn trimmed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NONE.to_string();
    }
    let text = decimal(value, decimals);
    let text = without_zeros(&text);
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_end_where_the_error_begins() {
        assert_eq!(with_error(0.6912, Some(0.0125)), "0.69 (0.01)");
        assert_eq!(with_error(0.6912, Some(0.0042)), "0.691 (0.004)");
        assert_eq!(with_error(0.6912, Some(0.0096)), "0.69 (0.01)");
        assert_eq!(with_error(69.12, Some(1.25)), "69 (1)");
        assert_eq!(with_error(1234.0, Some(40.0)), "1230 (40)");
        assert_eq!(with_error(5.04, Some(0.16)), "5.0 (0.2)");
        assert_eq!(with_error(-0.0004, Some(0.01)), "0.00 (0.01)");
        assert_eq!([fixed(-0.0, 0), fixed(-0.2, 0), fixed(-0.6, 0), fixed(-0.04, 1)], ["0", "0", "-1", "0.0"]);
        assert_eq!([in_hundred(-0.0), in_hundred(-1e-17)], ["0 in 100", "0 in 100"]);
        assert_eq!(hundredths(Some(0.0504), Some(0.0016)), "5.0 (0.2)");
        assert_eq!(hundredths(None, Some(0.1)), "-");
        let of_few = |share: f64| hundredths(Some(share), Some(0.0071));
        assert_eq!([of_few(0.0), of_few(1.0), of_few(0.01)], ["0 (0.7)", "100 (0.7)", "1.0 (0.7)"]);
        // One value, one number: alone, in a sentence, in a table.
        assert_eq!(hundredths(Some(0.685), Some(0.033)), "69 (3)");
        assert_eq!([in_hundred(0.685), fixed(68.5, 0), significant(68.5, 2)], ["69 in 100", "69", "69"]);
    }

    #[test]
    fn numbers_without_an_error_get_two_digits() {
        assert_eq!(with_error(0.0456, None), "0.046");
        assert_eq!(with_error(0.0456, Some(0.0)), "0.046");
        assert_eq!(with_error(0.0456, Some(f64::NAN)), "0.046");
        assert_eq!(significant(90.0, 2), "90");
        assert_eq!(significant(1234.0, 2), "1234");
        assert_eq!(significant(0.996, 2), "1");
        assert_eq!(significant(0.96, 2), "0.96");
        assert_eq!(significant(9.7, 2), "9.7");
        assert_eq!(significant(97.4, 2), "97");
        assert_eq!(significant(0.0, 2), "0");
    }

    #[test]
    fn columns_keep_the_noughts_that_count() {
        assert_eq!(padded(4.0, 2), "4.0");
        assert_eq!(padded(3.96, 2), "4.0");
        assert_eq!(padded(9.96, 2), "10");
        assert_eq!(padded(9.7, 2), "9.7");
        assert_eq!(padded(0.0501, 2), "0.050");
        assert_eq!(padded(105.0, 2), "105");
        assert_eq!(padded(0.0, 2), "0");
        assert_eq!(padded(f64::NAN, 2), "-");
    }

    #[test]
    fn extremes_stay_short() {
        for value in [1e300, -1e300, 1e-300, 1e12, f64::MAX, f64::MIN_POSITIVE] {
            for error in [None, Some(1e-6), Some(1.0), Some(1e200)] {
                assert!(with_error(value, error).len() <= 24, "{}", with_error(value, error));
            }
        }
        assert_eq!(significant(1e300, 2), "1.0e300");
        assert_eq!(with_error(f64::NAN, Some(0.1)), "-");
        assert_eq!(with_error(f64::INFINITY, None), "-");
    }

    #[test]
    fn shares_are_told_in_hundreds() {
        assert_eq!(in_hundred(0.69), "69 in 100");
        assert_eq!(in_hundred(0.0), "0 in 100");
        assert_eq!(in_hundred(0.001), "fewer than 1 in 100");
        assert_eq!(in_hundred(0.999), "more than 99 in 100");
        assert_eq!(in_hundred(1.0), "100 in 100");
        // What is less than wanted is never rounded to it.
        let beside = |share: f64| hundredths_beside(share, 0.9);
        assert_eq!([0.69, 0.8964, 0.895, 0.8996, 0.89999].map(beside), ["69", "89.6", "89.5", "89.96", "89.999"]);
        assert_eq!([0.9, 0.904, 0.999, 1.0].map(beside), ["90", "90", "more than 99", "100"]);
        assert_eq!([hundredths_beside(0.9249, 0.925), hundredths_beside(0.9251, 0.925)], ["92", "93"]);
    }

    #[test]
    fn written_numbers_come_back_as_written() {
        assert_eq!(trimmed(100.0 * 0.28, 2), "28");
        assert_eq!(trimmed(2.5, 2), "2.5");
        assert_eq!(trimmed(-0.0001, 2), "0");
        assert_eq!(trimmed(10.0, 0), "10");
    }
}
