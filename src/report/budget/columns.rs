//! Lines of text with a label or a first column, at most 80 columns, words never cut.

use crate::report::terminal::paragraph;

/// A label of its own column, and words that wrap beside it.
pub fn labelled(text: &mut String, label: &str, wide: usize, words: &str) {
    let indent = " ".repeat(wide);
    let mut lines = String::new();
    paragraph(&mut lines, &format!("{indent}{words}"), &indent);
    let label = if label.chars().count() < wide { format!("{label:<wide$}") } else { format!("{label}\n{indent}") };
    *text += &lines.replacen(&indent, &label, 1);
}

/// A row of a table: the first cell wraps within its width, the others stand right in theirs on its first line.
pub fn row(text: &mut String, first: &str, wide: usize, cells: &[(&str, usize)]) {
    let mut lines: Vec<String> = vec![String::new()];
    for word in first.split_whitespace() {
        let line = lines.last_mut().map(|line| line.chars().count()).unwrap_or(0);
        if line > 0 && line + 1 + word.chars().count() > wide {
            lines.push(format!("  {word}"));
        } else if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            *line += word;
        }
    }
    let mut head = format!("{:<wide$}", lines[0]);
    for (cell, wide) in cells {
        head += &format!(" {cell:>wide$}");
    }
    if head.chars().count() > 80 {
        // A cell that has no room stands with the others under the first.
        paragraph(text, &lines[0], "");
        let told: Vec<&str> = cells.iter().map(|(cell, _)| *cell).filter(|cell| !cell.is_empty()).collect();
        paragraph(text, &format!("    {}", told.join("  ")), "    ");
    } else {
        *text += head.trim_end();
        text.push('\n');
    }
    for line in &lines[1..] {
        *text += line;
        text.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_have_a_column_and_words_wrap_beside_it() {
        let mut text = String::new();
        labelled(&mut text, "Sites", 14, &"seven on the outer terrace ".repeat(4));
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[0].starts_with("Sites         seven on"), "{text}");
        assert!(lines.len() > 1 && lines[1].starts_with("              "), "{text}");
        assert!(lines.iter().all(|line| line.chars().count() <= 80));
    }

    #[test]
    fn long_names_wrap_and_numbers_stay_on_the_first_line() {
        let mut text = String::new();
        row(&mut text, "without the target on a very long indicator", 20, &[("8", 4), ("out of reach", 13)]);
        assert_eq!(text.lines().next().unwrap(), "without the target      8  out of reach");
        assert_eq!(text.split_whitespace().filter(|word| *word == "indicator").count(), 1);
    }
}
