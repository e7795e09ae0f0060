//! Short codes for what is written in a small box.

/// Two letters for each name, or more where names would be taken for each other: the first letters of its words, or the first
/// two of a single word.
pub fn codes(names: &[String]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for name in names {
        let words: Vec<&str> = name.split(['_', ' ']).filter(|word| !word.is_empty()).collect();
        let letters: Vec<char> = words.concat().chars().collect();
        let initials: String = words.iter().filter_map(|word| word.chars().next()).collect();
        let wanted = if words.len() > 1 { initials } else { letters.iter().take(2).collect() };
        let longer = (2..=letters.len()).map(|length| letters[..length].iter().collect::<String>());
        let numbered = (2..).map(|number| format!("{wanted}{number}"));
        let free = |code: &String| !all.iter().any(|taken| taken.eq_ignore_ascii_case(code));
        let code = std::iter::once(wanted.clone()).chain(longer).chain(numbered).find(free);
        all.push(code.unwrap_or_default().to_uppercase());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_short_and_differ() {
        let names = ["hard_coral", "soft_coral", "sand", "sponge", "sargassum", "hollow_crust", "sand"];
        let codes = codes(&names.map(String::from));
        assert_eq!(codes, ["HC", "SC", "SA", "SP", "SAR", "HO", "SAN"]);
        let many: Vec<String> = (0..40).map(|_| "turf".to_owned()).collect();
        let mut codes = super::codes(&many);
        codes.sort();
        codes.dedup();
        assert_eq!(codes.len(), 40);
    }
}
