use super::answers::{Band, OnOneReef};
use crate::design::{Crew, Places, Scope, Sites};

/// Whether the words mean "don't know".
pub fn is_unknown(words: &str) -> bool {
    let words = words.trim().to_lowercase().replace(['\'', '’'], "");
    ["", "?", "-", "dont know", "do not know", "dunno", "no idea", "unknown", "not known"].contains(&words.as_str())
}

/// The numbers in a text, without signs: "20-36 %" holds 20 and 36.
pub fn numbers(words: &str) -> Vec<f64> {
    let parts = words.split(|letter: char| !(letter.is_ascii_digit() || letter == '.'));
    parts.filter_map(|part| part.trim_matches('.').parse().ok()).collect()
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
    match numbers(words)[..] {
        [lines] if (1.0..=200.0).contains(&lines) => Ok(lines),
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
