/// A number with its word: "1 line", "2 lines", "no line" is never said. Words that take an s.
pub fn counted(number: usize, singular: &str) -> String {
    format!("{number} {}", plural(singular, number))
}

/// The word for so many: "line" for one, "lines" for any other number.
pub fn plural(singular: &str, number: usize) -> String {
    if number == 1 { singular.to_owned() } else { format!("{singular}s") }
}

/// "1st", "2nd", "13th"
pub fn ordinal(number: usize) -> String {
    let end = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{number}{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_singular_and_nothing_else_is() {
        assert_eq!([0, 1, 2, 21].map(|number| counted(number, "line")), ["0 lines", "1 line", "2 lines", "21 lines"]);
    }

    #[test]
    fn ordinals_have_their_ends() {
        let told: Vec<String> = [1, 2, 3, 4, 11, 12, 13, 21, 22, 113].map(ordinal).to_vec();
        assert_eq!(told, ["1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "22nd", "113th"]);
    }
}
