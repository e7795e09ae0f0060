//! How people state a change: from one cover to another, in points, or as a share of what is there.

use super::reading::{looks_like_a_share, numbers};
use crate::scenario::shown::number;

/// What was said of a change, before the cover it starts from is known. Percent and points of cover; shares 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stated {
    FromTo(f64, f64),
    To(f64),
    Points(f64),
    ShareOfValue(f64),
}

/// A change in percent of cover, (from, to); `cover` is the typical cover, where the answer does not say from what.
///
/// # Errors
/// What an answer may look like; both readings, where "20 %" may mean points or a share of what is there.
pub fn change(words: &str, cover: f64) -> Result<(f64, f64), String> {
    let rises = is_a_rise(words);
    let towards = |amount: f64| if rises { cover + amount } else { cover - amount };
    let (from, to) = match stated(words, cover)? {
        Stated::FromTo(from, to) => (from, to),
        Stated::To(to) => (cover, to),
        Stated::Points(points) => (cover, towards(points)),
        Stated::ShareOfValue(share) => (cover, towards(share * cover)),
    };
    let to = tidy(to);
    let possible = |value: f64| 0.0 < value && value < 100.0;
    if from != to && possible(from) && possible(to) {
        return Ok((from, to));
    }
    Err(format!(
        "From {} to {} % cannot be: both lie above 0 and below 100 %, and they differ. {EXAMPLES}",
        number(from),
        number(to)
    ))
}

const EXAMPLES: &str = "Write, for example: from 28 to 22, lose 6 points, or lose a fifth of what is there.";

fn stated(words: &str, cover: f64) -> Result<Stated, String> {
    let lower = words.to_lowercase();
    let found = numbers(words);
    let in_points = lower.contains("point");
    if let (Some(share), false) = (fraction(&lower), in_points) {
        return Ok(Stated::ShareOfValue(share));
    }
    let in_percent = lower.contains('%') || lower.contains("percent") || lower.contains("per cent");
    let has_word = |wanted: &str| lower.split(|letter: char| !letter.is_alphabetic()).any(|word| word == wanted);
    match found[..] {
        [from, to] if looks_like_a_share(words, from) || looks_like_a_share(words, to) => {
            Err(format!("Covers in percent: write from {} to {}.", number(100.0 * from), number(100.0 * to)))
        }
        [from, to] if has_word("from") || !(in_points || has_word("of") || states_an_amount(&lower)) => {
            Ok(Stated::FromTo(from, to))
        }
        [to] if has_word("to") => Ok(Stated::To(to)),
        [points] if in_points => Ok(Stated::Points(points)),
        [percent] if in_percent && is_of_the_value(&lower) => Ok(Stated::ShareOfValue(percent / 100.0)),
        [amount] => Err(both_readings(amount, cover, is_a_rise(words))),
        _ => Err(EXAMPLES.to_owned()),
    }
}

fn is_a_rise(words: &str) -> bool {
    let lower = words.to_lowercase();
    ["gain", "rise", "increase", "grow", "more", "recover", "+"].iter().any(|part| lower.contains(part))
}

/// "lose 20 to 30" is an amount that is not settled, not a change from 20 to 30.
fn states_an_amount(lower: &str) -> bool {
    ["lose", "loss", "lost", "by ", "gain", "less"].iter().any(|part| lower.contains(part))
}

fn is_of_the_value(lower: &str) -> bool {
    ["of its", "of the", "of what", "of it", "of that", "of present", "of coral", "relative"]
        .iter()
        .any(|part| lower.contains(part))
}

/// "a fifth", "two thirds", "half", "1/5".
fn fraction(lower: &str) -> Option<f64> {
    const PARTS: [(&str, f64); 9] = [
        ("half", 2.0),
        ("third", 3.0),
        ("quarter", 4.0),
        ("fourth", 4.0),
        ("fifth", 5.0),
        ("sixth", 6.0),
        ("eighth", 8.0),
        ("tenth", 10.0),
        ("twentieth", 20.0),
    ];
    if lower.contains('/') {
        return match numbers(lower)[..] {
            [above, below] if 0.0 < above && above < below => Some(above / below),
            _ => None,
        };
    }
    let word = |word: &str| PARTS.iter().find(|(part, _)| word.strip_suffix('s').unwrap_or(word) == *part);
    let (_, below) = lower.split(|letter: char| !letter.is_alphabetic()).find_map(word)?;
    let above = match numbers(lower)[..] {
        [] => 1.0,
        [above] => above,
        _ => return None,
    };
    (0.0 < above && above < *below).then_some(above / below)
}

/// A bare amount may be points of cover or a share of what is there: both are told with what they would make.
fn both_readings(amount: f64, cover: f64, rises: bool) -> String {
    let sign = if rises { 1.0 } else { -1.0 };
    let reading = |words: &str, to: f64| {
        let to = tidy(to);
        if 0.0 < to && to < 100.0 {
            format!("\"{words}\" (from {} to {} %)", number(cover), number(to))
        } else {
            format!("\"{words}\" (which {} % does not have room for)", number(cover))
        }
    };
    let amount_text = number(amount);
    format!(
        "That may mean two things. Write {}, or {}.",
        reading(&format!("{amount_text} points"), cover + sign * amount),
        reading(&format!("{amount_text} % of its value"), cover * (1.0 + sign * amount / 100.0))
    )
}

/// To a hundredth of a percent: no more digits than anybody states.
fn tidy(percent: f64) -> f64 {
    (percent * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_ways_to_state_a_change_are_understood() {
        for (words, meant) in [
            ("from 28 to 22", (28.0, 22.0)),
            ("28 to 22", (28.0, 22.0)),
            ("28-22 %", (28.0, 22.0)),
            ("a fall from 28 % to 22 %", (28.0, 22.0)),
            ("from twenty-eight to twenty-two", (28.0, 22.0)),
            ("down to 22", (28.0, 22.0)),
            ("lose 5 points", (28.0, 23.0)),
            ("5 points", (28.0, 23.0)),
            ("gain five points", (28.0, 33.0)),
            ("a fifth of what is there", (28.0, 22.4)),
            ("lose a quarter", (28.0, 21.0)),
            ("two thirds", (28.0, 9.33)),
            ("half of it", (28.0, 14.0)),
            ("1/4", (28.0, 21.0)),
            ("20 % of its value", (28.0, 22.4)),
            ("a rise of 25 percent of what is there", (28.0, 35.0)),
        ] {
            assert_eq!(change(words, 28.0), Ok(meant), "{words}");
        }
    }

    #[test]
    fn a_bare_percentage_is_refused_with_both_readings() {
        for words in ["20 %", "lose 20 %", "fall by 20 percent", "20"] {
            let told = change(words, 28.0).unwrap_err();
            assert!(told.contains("\"20 points\" (from 28 to 8 %)"), "{told}");
            assert!(told.contains("\"20 % of its value\" (from 28 to 22.4 %)"), "{told}");
        }
        let told = change("30 %", 20.0).unwrap_err();
        assert!(told.contains("\"30 points\" (which 20 % does not have room for)"), "{told}");
    }

    #[test]
    fn what_cannot_be_or_is_not_settled_is_asked_again() {
        for words in ["lose 30 points", "from 28 to 28", "28 to 0", "lose 5 of 28", "lose 20 to 30 %", "much"] {
            assert!(change(words, 28.0).is_err(), "{words}");
        }
        assert_eq!(change("from 0.28 to 0.22", 28.0), Err("Covers in percent: write from 28 to 22.".to_owned()));
    }
}
