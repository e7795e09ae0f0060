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

/// A text broken between words, so that no line is longer than `columns` (but for longer words).
pub fn wrapped(text: &str, columns: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= columns => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_between_words() {
        assert_eq!(wrapped("six lines a site are not enough", 10), "six lines\na site are\nnot enough");
        assert_eq!(wrapped("  a  unbreakable ", 3), "a\nunbreakable");
        assert_eq!(wrapped("", 3), "");
    }

    #[test]
    fn numbers_lose_the_dust_of_binary_arithmetic() {
        assert_eq!(number(0.1 + 0.2), "0.3");
        assert_eq!(percent(0.07 * 1.0), "7 %");
        assert_eq!(points(0.0225), "2.25 points");
    }
}
