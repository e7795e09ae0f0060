/// A number with its word: "1 line", "2 lines", "no line" is never said. Words that take an s.
pub fn counted(number: usize, singular: &str) -> String {
    format!("{number} {}", plural(singular, number))
}

/// The word for so many: "line" for one, "lines" for any other number.
pub fn plural(singular: &str, number: usize) -> String {
    if number == 1 { singular.to_owned() } else { format!("{singular}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_singular_and_nothing_else_is() {
        assert_eq!([0, 1, 2, 21].map(|number| counted(number, "line")), ["0 lines", "1 line", "2 lines", "21 lines"]);
    }
}
