use super::Beside;
use crate::scenario::Origin;
use crate::scenario::outline::child;
use crate::scenario::shown::wrapped;

/// Comments are broken at the width of the starter scenario.
const COMMENT_COLUMNS: usize = 116;

/// Keys that hold the user's plan and no measurement.
const PLAN: [&str; 14] = [
    "sites",
    "years_apart",
    "days",
    "transit_days",
    "check_out_days",
    "reserved_days",
    "chance_wanted",
    "boats",
    "dives_a_day",
    "sites_a_day",
    "pairs",
    "finish_chance",
    "least_sites",
    "most_sites",
];

/// Writes tables key by key and remembers which keys stand in the present one, so that their origins can be told.
pub struct Writer<'a> {
    beside: &'a Beside,
    out: String,
    path: String,
    keys: Vec<&'static str>,
}

impl<'a> Writer<'a> {
    pub fn new(beside: &'a Beside) -> Self {
        Writer { beside, out: String::new(), path: String::new(), keys: Vec::new() }
    }

    /// Comments at the head of the file.
    pub fn head(&mut self) {
        self.comments("");
        if !self.out.is_empty() {
            self.out.push('\n');
        }
    }

    /// Begins a table: `path` is its key for origins and comments, `header` its line.
    pub fn table(&mut self, path: &str, header: &str) {
        self.out.push('\n');
        self.comments(path);
        self.out.push_str(header);
        self.out.push('\n');
        self.path = path.to_owned();
        self.keys.clear();
    }

    fn comments(&mut self, path: &str) {
        for line in self.beside.comments.get(path).into_iter().flatten().flat_map(|text| text.lines()) {
            for part in wrapped(line, COMMENT_COLUMNS).lines() {
                self.out.push_str(&format!("# {part}\n"));
            }
        }
    }

    /// One key with a value that is written as TOML already.
    pub fn line(&mut self, key: &'static str, value: &str) {
        self.out.push_str(&format!("{key} = {value}\n"));
        self.keys.push(key);
    }

    pub fn text(&mut self, key: &'static str, value: &str) {
        self.line(key, &quoted(value));
    }

    pub fn number(&mut self, key: &'static str, value: f64) {
        self.line(key, &value.to_string());
    }

    pub fn numbers(&mut self, key: &'static str, values: &[f64]) {
        let list: Vec<String> = values.iter().map(f64::to_string).collect();
        self.list(key, &list);
    }

    /// Shares as percent, metres as centimetres.
    pub fn percents(&mut self, key: &'static str, values: &[f64]) {
        let list: Vec<String> = values.iter().map(|value| percent_text(*value)).collect();
        self.list(key, &list);
    }

    /// A number, a list, or a range where the numbers follow one another.
    pub fn counts(&mut self, key: &'static str, values: &[usize]) {
        let follow = values.windows(2).all(|pair| pair[0] + 1 == pair[1]);
        match values {
            [first, .., last] if follow && values.len() > 2 => self.text(key, &format!("{first}..{last}")),
            _ => self.list(key, &values.iter().map(usize::to_string).collect::<Vec<_>>()),
        }
    }

    fn list(&mut self, key: &'static str, values: &[String]) {
        match values {
            [one] => self.line(key, one),
            _ => self.line(key, &format!("[{}]", values.join(", "))),
        }
    }

    /// The origins of the keys written so far in this table: one for all where they agree.
    pub fn source(&mut self) {
        let told: Vec<(&str, &Origin)> = self
            .keys
            .iter()
            .filter_map(|key| Some((*key, self.beside.origins.get(&child(&self.path, key))?)))
            .collect();
        let Some((_, first)) = told.first() else {
            self.out.push_str("source = \"assumed\"\n");
            return;
        };
        // One origin for the whole table speaks for all of its numbers; where it was told of one number alone, the others
        // are assumed and must stay so.
        let has_plan = told.iter().any(|(key, _)| PLAN.contains(key));
        let speaks_for_all = **first == Origin::Assumed || (told.len() > 1 && !has_plan);
        if speaks_for_all && told.iter().all(|(_, origin)| origin == first) {
            self.out.push_str(&format!("source = {}\n", quoted(&first.text())));
            return;
        }
        // On one line, as readers of older TOML want it; what is left out of the table counts as assumed, but for the plan,
        // which then counts as the user's own.
        let is_told = |key: &str, origin: &Origin| *origin != Origin::Assumed || PLAN.contains(&key);
        let known: Vec<_> = told.iter().filter(|(key, origin)| is_told(key, origin)).collect();
        self.out.push_str("source = {");
        for (place, (key, origin)) in known.iter().enumerate() {
            let comma = if place == 0 { "" } else { "," };
            self.out.push_str(&format!("{comma} {key} = {}", quoted(&origin.text())));
        }
        self.out.push_str(" }\n");
    }

    pub fn finish(self) -> String {
        self.out
    }
}

/// A text as a TOML string on one line.
pub fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            control if control.is_control() => out.push_str(&format!("\\u{:04X}", control as u32)),
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

/// A name as a TOML key: bare where it may be.
pub fn key(name: &str) -> String {
    let bare =
        !name.is_empty() && name.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_' || letter == '-');
    if bare { name.to_owned() } else { quoted(name) }
}

/// A share as percent, in the fewest digits that read as the same share; one that differs from a short number by the rounding of
/// a division alone (0.229, that is not 22.9 / 100 to the last bit) as that number.
pub fn percent_text(share: f64) -> String {
    let percent = share * 100.0;
    let same = |text: &String| text.parse::<f64>().is_ok_and(|value| value / 100.0 == share);
    let short = trimmed(percent);
    if short.len() <= SHORT {
        return short;
    }
    (0..17).map(|digits| format!("{percent:.digits$}")).find(same).unwrap_or_else(|| percent.to_string())
}

/// Letters of a short number.
const SHORT: usize = 7;

/// Twelve digits, so that a hundredfold or a difference reads as it was written.
pub fn trimmed(value: f64) -> String {
    let rounded: f64 = format!("{value:.11e}").parse().unwrap_or(value);
    rounded.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percents_read_as_the_same_share() {
        for thousandths in 1..100_000 {
            let share = f64::from(thousandths) / 1000.0 / 100.0;
            let text = percent_text(share);
            assert_eq!(text.parse::<f64>().unwrap() / 100.0, share);
            assert!(text.len() <= 6, "{text}");
        }
        assert_eq!(percent_text(0.28), "28");
        // Not 22.9 / 100 to the last bit.
        assert_eq!(percent_text(0.229), "22.9");
        assert_eq!(percent_text(0.1 + 0.2), "30");
        let odd = 0.123_456_789_012_345_68;
        assert_eq!(percent_text(odd).parse::<f64>().unwrap() / 100.0, odd);
        assert_eq!(percent_text(-0.125), "-12.5");
    }

    #[test]
    fn texts_are_quoted_so_that_toml_reads_them_back() {
        for text in ["plain", "with \"quotes\" and \\", "two\nlines\tand \u{7f} \u{1}", "å ≈ 5 %"] {
            let table: toml::Table = toml::from_str(&format!("{} = {}", key(text), quoted(text))).unwrap();
            assert_eq!(table[text].as_str(), Some(text));
        }
    }
}
