/// A number for people, without the last digits of binary arithmetic.
pub fn number(value: f64) -> String {
    format!("{}", (value * 1e6).round() / 1e6)
}

/// A share as points of cover: "8 points".
pub fn points(share: f64) -> String {
    format!("{} points", number(share * 100.0))
}

/// A share as percent: "28 %".
pub fn percent(share: f64) -> String {
    format!("{} %", number(share * 100.0))
}
