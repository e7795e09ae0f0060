/// Room for what a product of two decimal numbers may miss: 100 x .285 is a hair below 28.5.
const HAIR: f64 = 1e-9;

/// The nearest whole number; halves go away from nought, however the computer writes them down.
pub fn nearest_whole(value: f64) -> f64 {
    (value + HAIR.copysign(value)).round()
}

/// A number with so many decimals, halves away from nought: (0.125, 2) -> "0.13". Every number that is shown is rounded by
/// this, so that one value reads the same in a sentence and in a table.
pub fn decimal(value: f64, decimals: usize) -> String {
    let unit = 10f64.powi(decimals as i32);
    let scaled = value * unit;
    // Beyond this every number is whole, and what is scaled may be without end.
    if !(scaled.abs() < 1e15) {
        return format!("{value:.decimals$}");
    }
    format!("{:.decimals$}", nearest_whole(scaled) / unit)
}

/// A decimal number as it is written without needless digits: "2.50" -> "2.5", "28.0" -> "28", "20" -> "20".
pub fn without_zeros(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

/// A share in hundredths, whole: .685 -> "69".
pub fn in_100(share: f64) -> String {
    decimal(100.0 * share, 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_before_the_point_stay() {
        assert_eq!(["2.50", "28.0", "20", "0.05"].map(without_zeros), ["2.5", "28", "20", "0.05"]);
    }

    #[test]
    fn halves_go_up_however_they_came_about() {
        for (share, text) in [(0.685, "69"), (0.285, "29"), (0.125, "13"), (0.055, "6"), (0.6849, "68"), (1.0, "100")] {
            assert_eq!(in_100(share), text, "{share}");
        }
        // As all rates of 200 trials with an odd number of hits are.
        for hits in (1..200).step_by(2) {
            assert_eq!(in_100(f64::from(hits) / 200.0), format!("{}", (hits + 1) / 2));
        }
        assert_eq!(
            [decimal(0.125, 2), decimal(-0.125, 2), decimal(2.5, 0), decimal(0.1249, 2)],
            ["0.13", "-0.13", "3", "0.12"]
        );
        assert_eq!(
            [decimal(f64::NAN, 0), decimal(f64::INFINITY, 1), decimal(1e300, 0).len().to_string()],
            ["NaN", "inf", "301"]
        );
    }
}
