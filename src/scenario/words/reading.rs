use super::answers::{Band, OnOneReef};
use crate::design::{Crew, Places, Scope, Sites};

/// Whether the words mean "don't know".
pub fn is_unknown(words: &str) -> bool {
    let words = words.trim().to_lowercase().replace(['\'', '’'], "");
    ["", "?", "-", "dont know", "do not know", "dunno", "no idea", "unknown", "not known"].contains(&words.as_str())
}

/// The numbers in a text, without signs: "20-36 %" holds 20 and 36. Where there are no digits, numbers in words count:
/// "six", "twenty to thirty-six".
pub fn numbers(words: &str) -> Vec<f64> {
    let parts = words.split(|letter: char| !(letter.is_ascii_digit() || letter == '.'));
    let found: Vec<f64> = parts.filter_map(|part| part.trim_matches('.').parse().ok()).collect();
    if found.is_empty() { spelled(words) } else { found }
}

const ONES: [&str; 20] = [
    "nought",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// Numbers in words, below a hundred: tens take the digit that follows them.
fn spelled(words: &str) -> Vec<f64> {
    let lower = words.to_lowercase();
    let mut found: Vec<f64> = Vec::new();
    let mut after_tens = false;
    for word in lower.split(|letter: char| !letter.is_alphabetic()).filter(|word| !word.is_empty()) {
        let tens = TENS.iter().position(|name| *name == word).map(|place| 20.0 + 10.0 * place as f64);
        let ones = ONES.iter().position(|name| *name == word).map(|place| place as f64);
        match (tens, ones, found.last_mut()) {
            (None, Some(digit), Some(last)) if after_tens && (1.0..10.0).contains(&digit) => *last += digit,
            (Some(value), ..) | (_, Some(value), _) => found.push(value),
            _ => {}
        }
        after_tens = tens.is_some();
    }
    found
}

/// Which reefs: "each", "these" (with the length of the list), "all".
pub fn scope(words: &str) -> Result<(Scope, Option<usize>), String> {
    let lower = words.to_lowercase();
    if lower.contains("all") || lower.trim() == "3" {
        return Ok((Scope::AllSuchReefs, None));
    }
    if lower.contains("each") || lower.trim() == "1" {
        return Ok((Scope::EachReef, None));
    }
    if lower.contains("these") || lower.trim() == "2" {
        return match numbers(words)[..] {
            [count] if count >= 2.0 && lower.contains("these") => Ok((Scope::TheseReefs, Some(count as usize))),
            _ => Err("For a fixed list tell its length too, for example: these 24".to_owned()),
        };
    }
    Err("Answer each, these 24 (with the length of your list), or all.".to_owned())
}

pub fn cover(words: &str) -> Result<f64, String> {
    match numbers(words)[..] {
        [percent] if 0.0 < percent && percent < 100.0 => Ok(percent),
        _ => Err("One number above 0 and below 100, in percent, for example: 28".to_owned()),
    }
}

/// "20 to 36", or "half 24 to 32".
pub fn band(words: &str) -> Result<Band, String> {
    match numbers(words)[..] {
        [low, high] if low < high && high <= 100.0 => {
            Ok(Band { low, high, holds_half: words.to_lowercase().contains("half") })
        }
        _ => Err("Two numbers, the lower one first, in percent, for example: 20 to 36".to_owned()),
    }
}

pub fn lines_each(words: &str) -> Result<f64, String> {
    // A number of points or percent is an answer to another question.
    let of_something_else = words.contains('%') || words.to_lowercase().contains("point");
    match numbers(words)[..] {
        [lines] if (1.0..=200.0).contains(&lines) && !of_something_else => Ok(lines),
        _ => Err("One number from 1 to 200, for example: 6".to_owned()),
    }
}

/// "15 to 40 of 6", or a word for what it looks like.
pub fn on_one_reef(words: &str) -> Result<OnOneReef, String> {
    let lower = words.to_lowercase();
    if lower.contains("even") {
        return Ok(OnOneReef::Even);
    }
    if lower.contains("bommie") || lower.contains("sand") {
        return Ok(OnOneReef::Bommies);
    }
    if lower.contains("patch") {
        return Ok(OnOneReef::Patches);
    }
    match numbers(words)[..] {
        [low, high, lines] if low < high && high <= 100.0 && (2.0..=200.0).contains(&lines) => {
            Ok(OnOneReef::Range { low, high, lines: lines as usize })
        }
        _ => {
            Err("Lowest, highest, and of how many lines, for example: 15 to 40 of 6; or even, patches, bommies."
                .to_owned())
        }
    }
}

pub fn usual_move(words: &str) -> Result<f64, String> {
    match numbers(words)[..] {
        [points] if points < 50.0 => Ok(points),
        _ => Err("One number in points of cover, below 50, for example: 3".to_owned()),
    }
}

/// Same nails, the same place within about 10 m, anywhere on the reef, or other reefs.
pub fn again(words: &str) -> Result<(Sites, Places), String> {
    let lower = words.to_lowercase();
    if lower.contains("nail") || lower.contains("mark") {
        Ok((Sites::Same, Places::SameMarks))
    } else if lower.contains("other") {
        Ok((Sites::DrawnAnew, Places::NewPlaces))
    } else if lower.contains("place") || lower.contains("near") || lower.contains("anywhere") || lower.contains("10") {
        Ok((Sites::Same, Places::NewPlaces))
    } else {
        Err("Answer nails, near, anywhere, or other reefs.".to_owned())
    }
}

pub fn change(words: &str) -> Result<(f64, f64), String> {
    match numbers(words)[..] {
        [from, to] if from != to && 0.0 < from && from < 100.0 && 0.0 < to && to < 100.0 => Ok((from, to)),
        _ => Err("Two covers in percent, before and after, for example: from 28 to 22".to_owned()),
    }
}

/// "3 lines in 50 minutes".
pub fn dive(words: &str) -> Result<(f64, f64), String> {
    match numbers(words)[..] {
        [lines, minutes] if lines > 0.0 && minutes > 0.0 && minutes <= 300.0 && minutes / lines <= 600.0 => {
            Ok((lines, minutes))
        }
        _ => Err("Lines and minutes, for example: 3 lines in 50 minutes".to_owned()),
    }
}

pub fn crew(words: &str) -> Result<Crew, String> {
    let lower = words.to_lowercase();
    if lower.contains("half") || lower.contains("some") || lower.contains("mixed") {
        Ok(Crew::Mixed)
    } else if lower.contains("other") || lower.contains("chang") || lower.starts_with('n') {
        Ok(Crew::Changed)
    } else if lower.contains("same") || lower.starts_with('y') {
        Ok(Crew::Same)
    } else {
        Err("Answer same, others, or half of them.".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_found_in_words() {
        assert_eq!(numbers("between 20.5 and 36 %."), [20.5, 36.0]);
        assert_eq!(numbers("20-36"), [20.0, 36.0]);
        assert_eq!(numbers("a few. Or so"), Vec::<f64>::new());
        assert_eq!(numbers("Six, I think"), [6.0]);
        assert_eq!(numbers("between twenty and thirty-six"), [20.0, 36.0]);
        assert_eq!(numbers("on one reef 15 to 40 of 6"), [15.0, 40.0, 6.0]);
    }

    #[test]
    fn not_knowing_is_an_answer() {
        for words in ["", "  ", "don't know", "Don’t know", "?", "no idea"] {
            assert!(is_unknown(words), "{words}");
        }
        assert!(!is_unknown("28"));
    }

    #[test]
    fn answers_are_understood_or_asked_again() {
        assert_eq!(scope("these 24 reefs"), Ok((Scope::TheseReefs, Some(24))));
        assert!(scope("these").is_err() && scope("2").is_err());
        assert_eq!(scope("all reefs like these"), Ok((Scope::AllSuchReefs, None)));
        assert_eq!(band("half 24 to 32"), Ok(Band { low: 24.0, high: 32.0, holds_half: true }));
        assert!(lines_each("maybe 3 points").is_err() && lines_each("six lines") == Ok(6.0));
        assert!(band("36 to 20").is_err() && band("8").is_err());
        assert_eq!(on_one_reef("15 to 40 of 6 lines"), Ok(OnOneReef::Range { low: 15.0, high: 40.0, lines: 6 }));
        assert_eq!(on_one_reef("bommies and sand"), Ok(OnOneReef::Bommies));
        assert_eq!(again("same nails"), Ok((Sites::Same, Places::SameMarks)));
        assert_eq!(again("same place within about 10 m"), Ok((Sites::Same, Places::NewPlaces)));
        assert_eq!(crew("other people"), Ok(Crew::Changed));
        assert_eq!(dive("3 in 50"), Ok((3.0, 50.0)));
        assert!(change("28 to 28").is_err() && cover("0").is_err() && usual_move("60").is_err());
    }
}
