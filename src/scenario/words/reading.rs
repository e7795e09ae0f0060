use super::answers::{Band, OnOneReef};
use crate::design::{Crew, Places, Scope, Sites};
use crate::scenario::shown::number;

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

/// Whether a number that should be in percent or points was probably meant as a share: "0.3" for 30 %. With its unit
/// beside it ("0.3 %", "0.5 points") a small number is meant as it stands.
pub fn looks_like_a_share(words: &str, number: f64) -> bool {
    let lower = words.to_lowercase();
    let has_unit = lower.contains('%') || lower.contains("percent") || lower.contains("per cent");
    0.0 < number && number < 1.0 && !has_unit && !lower.contains("point")
}

pub fn cover(words: &str) -> Result<f64, String> {
    match numbers(words)[..] {
        [share] if looks_like_a_share(words, share) => {
            let percent = number(100.0 * share);
            Err(format!(
                "In percent: write {percent} % or {percent}. (A cover below one percent is written with its sign: {} %.)",
                number(share)
            ))
        }
        [percent] if 0.0 < percent && percent < 100.0 => Ok(percent),
        _ => Err("One number above 0 and below 100, in percent, for example: 28".to_owned()),
    }
}

/// "20 to 36", or "half 24 to 32".
pub fn band(words: &str) -> Result<Band, String> {
    match numbers(words)[..] {
        [low, high] if looks_like_a_share(words, high) => {
            Err(format!("In percent: write {} to {}.", number(100.0 * low), number(100.0 * high)))
        }
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
        [low, high, lines] if looks_like_a_share(words, high) => {
            Err(format!("In percent: write {} to {} of {}.", number(100.0 * low), number(100.0 * high), number(lines)))
        }
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
        [share] if looks_like_a_share(words, share) => Err(format!(
            "In points of cover, where 3 points are from 28 to 25 %: write {} points, or {} points.",
            number(100.0 * share),
            number(share)
        )),
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

/// Numbers of sites to compare, rising: "8", or "6, 10 and 14". Of a fixed list, no more than it has; where sites are
/// the replicates, two or more.
pub fn sites(words: &str, scope: Scope, existing: Option<usize>) -> Result<Vec<usize>, String> {
    let mut found = numbers(words);
    found.sort_by(f64::total_cmp);
    found.dedup();
    let most = existing.unwrap_or(1000) as f64;
    let whole = |sites: &f64| sites.fract() == 0.0 && (1.0..=most).contains(sites);
    if found.is_empty() || found.len() > MOST_SITE_NUMBERS || !found.iter().all(whole) {
        return Err(format!(
            "One whole number from 1 to {most}, or up to {MOST_SITE_NUMBERS} of them to compare, for example: 8"
        ));
    }
    let surveyed_whole = scope == Scope::TheseReefs && found == [most];
    if found[0] < 2.0 && scope != Scope::EachReef && !surveyed_whole {
        return Err("Sites are the replicates here: at least 2, for example: 8".to_owned());
    }
    Ok(found.into_iter().map(|sites| sites as usize).collect())
}

/// More numbers of sites than these are too many to read side by side.
const MOST_SITE_NUMBERS: usize = 6;

/// Years between the visits: "2", "two years later", "6 months", "next year".
pub fn years(words: &str) -> Result<f64, String> {
    let lower = words.to_lowercase();
    match numbers(words)[..] {
        [] if lower.contains("year") => Ok(1.0),
        [months] if lower.contains("month") && (0.5..=1200.0).contains(&months) => {
            Ok((months / 12.0 * 100.0).round() / 100.0)
        }
        [years] if !lower.contains("month") && 0.0 < years && years <= 100.0 => Ok(years),
        _ => Err("One number of years above 0 and at most 100, for example: 2".to_owned()),
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
        assert!(cover("0").is_err() && usual_move("60").is_err());
    }

    #[test]
    fn a_share_where_percent_are_asked_for_is_asked_again_with_what_would_be_accepted() {
        assert!(cover("0.3").is_err_and(|told| told.contains("write 30 % or 30.")));
        assert_eq!((cover("0.3 %"), cover("1")), (Ok(0.3), Ok(1.0)));
        assert_eq!(band("0.2 to 0.36"), Err("In percent: write 20 to 36.".to_owned()));
        assert!(band("0.5 to 4").is_ok());
        assert_eq!(on_one_reef("0.15 to 0.4 of 6"), Err("In percent: write 15 to 40 of 6.".to_owned()));
        assert!(usual_move("0.03").is_err_and(|told| told.contains("write 3 points")));
        assert_eq!((usual_move("0.5 points"), usual_move("0")), (Ok(0.5), Ok(0.0)));
    }

    #[test]
    fn numbers_of_sites_and_years_are_read() {
        let (all, these) = (Scope::AllSuchReefs, Scope::TheseReefs);
        assert_eq!(sites("14, 6 or 10", all, None), Ok(vec![6, 10, 14]));
        assert_eq!(sites("eight sites", all, None), Ok(vec![8]));
        assert!(
            sites("1", all, None).is_err() && sites("7.5", all, None).is_err() && sites("many", all, None).is_err()
        );
        assert_eq!(sites("24", these, Some(24)), Ok(vec![24]));
        assert!(sites("25", these, Some(24)).is_err_and(|told| told.contains("from 1 to 24")));
        assert_eq!((years("2"), years("two years later"), years("next year")), (Ok(2.0), Ok(2.0), Ok(1.0)));
        assert_eq!(years("6 months"), Ok(0.5));
        assert!(years("0").is_err() && years("soon").is_err());
    }
}
