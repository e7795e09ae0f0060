//! The typeface of figures and pages, carried along: Noto Sans, see `fonts/README.md`.

use super::words::words_with_units;
use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};
use std::sync::Once;

pub const REGULAR: &[u8] = include_bytes!("fonts/NotoSans-Regular.ttf");
pub const BOLD: &[u8] = include_bytes!("fonts/NotoSans-Bold.ttf");

/// The name under which the drawing library knows it.
pub const FAMILY: FontFamily = FontFamily::SansSerif;

/// Makes the typeface known to the drawing library; measuring text fails without it.
pub fn register() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // Both files are part of the program and parse; a failure would show as text of width 0 in the tests.
        let _ = register_font("sans-serif", FontStyle::Normal, REGULAR);
        let _ = register_font("sans-serif", FontStyle::Bold, BOLD);
    });
}

/// Width of a text in the unit of `size` (its font size).
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    register();
    // The library measures in whole pixels, so measure large; it takes a size that counts ascent and descent, which are
    // 1.362 of the font size in Noto Sans.
    const LARGE: f64 = 1000.0;
    let style = if bold { FontStyle::Bold } else { FontStyle::Normal };
    let measured = FontDesc::new(FAMILY, LARGE * 1.362, style).layout_box(text);
    measured.map_or(0.0, |((left, _), (right, _))| f64::from(right - left) / LARGE * size)
}

/// Breaks a text into lines no wider than `room`.
pub fn wrap(text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words_with_units(text) {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, bold) <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// Cuts a text that is wider than `room` and ends it with an ellipsis.
pub fn fit(text: &str, size: f64, bold: bool, room: f64) -> String {
    if width(text, size, bold) <= room {
        return text.to_string();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while !kept.is_empty() {
        kept.pop();
        let shorter = format!("{}…", kept.iter().collect::<String>().trim_end());
        if width(&shorter, size, bold) <= room {
            return shorter;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The width that the PNG renderer gives the same text is the referee.
    #[test]
    fn text_is_as_wide_as_it_is_drawn() {
        for (text, bold) in [("Minutes of work per site", false), ("Ten lines a site see a fall", true)] {
            let weight = if bold { "bold" } else { "normal" };
            let svg = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='900' height='90'><text x='0' y='50' \
                 font-family='Noto Sans' font-size='40' font-weight='{weight}'>{text}</text></svg>"
            );
            let tree = super::super::png::parse(&svg).unwrap();
            let drawn = f64::from(tree.root().bounding_box().width());
            let measured = width(text, 40.0, bold);
            assert!((measured / drawn - 1.0).abs() < 0.02, "{text}: measured {measured}, drawn {drawn}");
        }
    }

    #[test]
    fn wrapped_lines_fit_and_keep_every_word() {
        let text = "With 14 sites three lines are enough; below 8 sites no number of lines up to 12 is";
        let lines = wrap(text, 14.0, true, 200.0);
        assert!(lines.len() > 2 && lines.iter().all(|line| width(line, 14.0, true) <= 200.0));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn cut_texts_fit() {
        assert_eq!(fit("short", 11.0, false, 100.0), "short");
        let cut = fit("a very long name of a zone on a very long reef", 11.0, false, 100.0);
        assert!(cut.ends_with('…') && width(&cut, 11.0, false) <= 100.0);
        assert_eq!(fit("anything", 11.0, false, 0.0), "");
    }
}
