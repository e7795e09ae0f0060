//! How a report calls things: from keys and shares to what people say.

use super::digits::{NONE, padded, significant, trimmed};
use super::report::Report;
use crate::engine::{Row, SiteCount};
use crate::measures::{counted, decimal, plural};
use crate::survey::{kind_and_how, unit_of};

/// How the amounts of one indicator are shown: covers in points of 100, others in their own unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    factor: f64,
    /// "points" for covers, else the indicator's own unit (may be empty).
    pub unit: String,
    is_cover: bool,
    /// " of slate urchin" in sentences; empty for hard coral, which goes without saying.
    of_what: String,
    /// Two groups are compared at one visit: a difference, not a change in time.
    compares_groups: bool,
}

/// Stands for a detectable loss that is larger than what is there.
pub const BEYOND_ALL: &str = "> all";

/// Whether the least loss that is seen so often as asked is more than there is.
pub fn is_beyond_all(row: &Row) -> bool {
    let falls = row.change_from.zip(row.change_to).is_some_and(|(from, to)| to < from);
    // Of logarithms there is no such bound.
    falls && row.error_factor.is_none() && row.detectable.zip(row.mean).is_some_and(|(least, there)| least > there)
}

/// What [`BEYOND_ALL`] means; empty where no design has it.
pub fn beyond_all_note(report: &Report) -> &'static str {
    if report.answer.rows.iter().any(is_beyond_all) {
        " > all: more than is there, so that no loss is seen so often."
    } else {
        ""
    }
}

impl Measure {
    pub fn of(report: &Report, indicator: &str) -> Measure {
        let row = report.answer.rows.iter().find(|row| row.indicator == indicator);
        let unit = row.map_or("share", |row| row.unit.as_str());
        let changed = row.and_then(|row| row.change_of.as_deref()).unwrap_or(indicator);
        let is_cover = unit == "share";
        // Sizes of colonies are read in centimetres.
        let is_metres = unit == "m";
        Measure {
            factor: if is_cover || is_metres { 100.0 } else { 1.0 },
            unit: match unit {
                _ if is_cover => "points".to_string(),
                _ if is_metres => "cm".to_string(),
                other => other.to_string(),
            },
            is_cover,
            of_what: if changed == "hard_coral" { String::new() } else { format!(" of {}", plain(changed)) },
            compares_groups: report.scenario["question"].as_str() == Some("between_groups"),
        }
    }

    /// The number that is shown: 0.06 -> 6 points.
    pub fn shown(&self, amount: f64) -> f64 {
        self.factor * amount
    }

    /// Two digits, without the unit, for sentences: "4".
    pub fn number(&self, amount: f64) -> String {
        significant(self.shown(amount), 2)
    }

    /// Two digits for the columns of a table, where a last nought counts: "4.0".
    pub fn cell(&self, amount: Option<f64>) -> String {
        amount.map_or(NONE.to_string(), |amount| padded(self.shown(amount), 2))
    }

    /// The half-width as a cell; one that is wider than can be is told as such, and that of a ratio as a factor, which is the same
    /// whatever the change is.
    pub fn half_width(&self, row: &Row) -> String {
        if let Some(factor) = row.ratio_factor {
            return format!("{RATIO} {}", decimal(factor, 3));
        }
        match row.half_width {
            Some(half_width) if half_width > self.most_half_width(row.change_from) => {
                format!("> {}", significant(self.shown(self.most_half_width(row.change_from)), 3))
            }
            half_width => self.cell(half_width),
        }
    }

    /// The detectable change as a cell; a loss of more than there is is told as such.
    pub fn detectable(&self, row: &Row) -> String {
        if is_beyond_all(row) { BEYOND_ALL.to_string() } else { self.cell(row.detectable) }
    }

    /// The widest half-width that says anything: a mean cover lies in 0 to 100 %, a change of cover in -100 to 100
    /// points. Other indicators have no bounds.
    pub fn most_half_width(&self, change_from: Option<f64>) -> f64 {
        match (self.is_cover, change_from) {
            (false, _) => f64::INFINITY,
            (true, None) => 0.5,
            (true, Some(_)) => 1.0,
        }
    }

    /// What is estimated: the mean of one visit, or what two have between them.
    pub fn estimand(&self, row: &Row) -> &'static str {
        match (row.change_from.is_some() || row.same_sites.is_some(), self.compares_groups) {
            (false, _) => "mean",
            (true, true) => "difference",
            (true, false) => "change",
        }
    }

    /// Two digits and the unit: "6.1 points".
    pub fn amount(&self, amount: f64) -> String {
        format!("{} {}", self.number(amount), self.unit).trim_end().to_string()
    }

    /// The unit of levels (not of differences): "%" for covers.
    pub fn level_unit(&self) -> &str {
        if self.is_cover { "%" } else { &self.unit }
    }

    fn level(&self, value: f64) -> String {
        let value = self.shown(value);
        if self.is_cover && value.abs() < 1e4 { trimmed(value, 1) } else { significant(value, 3) }
    }

    /// "28 to 22"
    pub fn levels(&self, from: f64, to: f64) -> String {
        format!("{} to {}", self.level(from), self.level(to))
    }

    /// The same in at most so many letters: with fewer digits where it must be.
    pub fn short_levels(&self, from: f64, to: f64, most: usize) -> String {
        let text = self.levels(from, to);
        if text.chars().count() <= most { text } else { format!("{} to {}", self.number(from), self.number(to)) }
    }

    /// A level with its unit: "12.8 per m2", "28 %".
    pub fn level_with_unit(&self, value: f64) -> String {
        format!("{} {}", self.level(value), self.level_unit()).trim_end().to_string()
    }

    /// "28 to 22 %"
    pub fn span(&self, from: f64, to: f64) -> String {
        format!("{} {}", self.levels(from, to), self.level_unit()).trim_end().to_string()
    }

    /// "a fall from 28 to 22 %"
    pub fn change(&self, from: f64, to: f64) -> String {
        match (from.is_finite() && to.is_finite(), self.compares_groups) {
            (false, _) => "the change".to_string(),
            (true, true) => {
                format!("a difference{} between {}", self.of_what, self.span(from, to).replacen(" to ", " and ", 1))
            }
            (true, false) => format!("a {}{} from {}", rise_or_fall(from, to), self.of_what, self.span(from, to)),
        }
    }

    /// "a fall by 21 % of what was there": the same in every zone.
    pub fn relative_change(&self, from: f64, to: f64) -> String {
        let share = 100.0 * (to - from).abs() / from.abs();
        match (share.is_finite(), self.compares_groups) {
            (false, _) => "the change".to_string(),
            (true, true) => format!("a difference{} by {} % of the first group", self.of_what, significant(share, 2)),
            (true, false) => {
                format!("a {}{} by {} % of what was there", rise_or_fall(from, to), self.of_what, significant(share, 2))
            }
        }
    }
}

/// The error of one visit's mean: in percent of it, or as a factor ("x 1.014") where it is a mean of logarithms.
pub fn error_of_visit(row: &Row) -> String {
    match (row.cv, row.error_factor) {
        (Some(cv), _) => padded(100.0 * cv, 2),
        (None, Some(factor)) => format!("x {}", decimal(factor, 3)),
        (None, None) => NONE.to_string(),
    }
}

/// Before the factor by which the interval of a ratio reaches either way.
pub const RATIO: &str = "x or /";

/// What "x or / 1.4" means in a column of half-widths; empty where there is none.
pub fn ratio_note(report: &Report) -> &'static str {
    if report.answer.rows.iter().any(|row| row.ratio_factor.is_some()) {
        " Half-widths with x or /: the interval of the ratio second over first reaches from the ratio found over this to that times \
         this."
    } else {
        ""
    }
}

/// What "x 1.014" means in a column of percent; empty where there is none.
pub fn factor_note(report: &Report) -> &'static str {
    if report.answer.rows.iter().any(|row| row.error_factor.is_some()) {
        "With x: the error of a mean of logarithms, as a factor of the geometric mean."
    } else {
        ""
    }
}

fn rise_or_fall(from: f64, to: f64) -> &'static str {
    if to > from { "rise" } else { "fall" }
}

/// Keys are words joined by underscores.
pub fn plain(key: &str) -> String {
    key.replace('_', " ")
}

/// "point-intercept lines"
pub fn method_words(method: &str) -> String {
    if let (kind, Some(how)) = kind_and_how(method) {
        return format!("{} ({how})", method_words(kind));
    }
    match method {
        "point_intercept" => "point-intercept lines".to_string(),
        "line_intercept" => "line-intercept lines".to_string(),
        "photo_belt" => "photo belts".to_string(),
        "photo_quadrats" => "photo-quadrat lines".to_string(),
        "invertebrate_belt" => "invertebrate belts".to_string(),
        "coral_belt" => "coral belts".to_string(),
        "recruit_quadrats" => "recruit-quadrat lines".to_string(),
        "fish_belt" => "fish belts".to_string(),
        "fish_point_count" => "fish point counts".to_string(),
        other => plain(other),
    }
}

/// "5 point-intercept lines", "1 coral belt", "2 units of herbivore biomass".
pub fn count_method(method: &str, number: usize) -> String {
    let words = method_words(method);
    match number {
        _ if method == crate::planner::expedition::LAYING => format!("laying {}", counted(number, "line")),
        1 => format!("1 {}", one_of_method(method)),
        _ if words == plain(method) => format!("{number} units of {words}"),
        _ => format!("{number} {words}"),
    }
}

/// "point-intercept line", "unit of herbivore biomass"
pub fn one_of_method(method: &str) -> String {
    let words = method_words(method);
    match words.strip_suffix('s').filter(|_| words != plain(method)) {
        Some(one) => one.to_string(),
        None => format!("unit of {words}"),
    }
}

/// What a diver does once: "line" or "lines" ...
pub fn units_word(method: &str, number: usize) -> String {
    plural(unit_of(method), number)
}

/// "10 lines"
pub fn count_units(method: &str, number: usize) -> String {
    counted(number, unit_of(method))
}

/// "14 sites"; over zones "14 sites in each zone", or "12-20 sites in each zone" where zones differ.
pub fn count_sites(sites: &SiteCount) -> String {
    let text = format!("{} {}", sites.span(), plural("site", sites.most()));
    if sites.in_zones().len() > 1 { format!("{text} in each zone") } else { text }
}

/// Photographs are read ashore, which the minutes do not count: said wherever photo belts are shown with their minutes.
pub fn ashore_note(report: &Report) -> Option<String> {
    let rows = &report.answer.rows;
    if let Some(row) = rows.iter().find(|row| row.ashore_minutes.is_some()) {
        let each = row.ashore_minutes.unwrap_or(0.0) / row.units as f64;
        return Some(format!(
            "Minutes are those under water; reading ashore comes on top ({} minutes a {}).",
            significant(each, 2),
            unit_of(&row.method)
        ));
    }
    rows.iter().any(|row| row.method.starts_with("photo_")).then(|| {
        "Minutes are those under water: reading photographs ashore is not counted; ashore_minutes in the scenario shows it."
            .to_string()
    })
}

/// A target power for a sentence: "four times in five".
pub fn times_seen(share: f64) -> String {
    let said = [
        (0.5, "every second time"),
        (0.75, "three times in four"),
        (0.8, "four times in five"),
        (0.9, "nine times in ten"),
        (0.95, "19 times in 20"),
        (0.99, "99 times in 100"),
    ];
    match said.iter().find(|(value, _)| (value - share).abs() < 1e-9) {
        Some((_, words)) => words.to_string(),
        None => format!("{} times in 100", significant(100.0 * share, 2)),
    }
}

/// Numbers that begin a sentence: words to twelve, digits beyond.
pub fn number_word(number: usize) -> String {
    const WORDS: [&str; 13] =
        ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve"];
    WORDS.get(number).map_or(number.to_string(), |word| word.to_string())
}

/// The first letter in upper case.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Words, with a number and the unit after it as one word.
pub fn words_with_units(text: &str) -> Vec<String> {
    let is_unit = |word: &str| matches!(word.trim_end_matches([',', ';', '.', ':']), "m" | "cm" | "%" | "points");
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(number) if is_unit(word) && number.ends_with(|last: char| last.is_ascii_digit()) => {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covers_are_told_in_points_and_percent() {
        let cover = Measure {
            factor: 100.0,
            unit: "points".into(),
            is_cover: true,
            of_what: String::new(),
            compares_groups: false,
        };
        assert_eq!(cover.amount(0.0612), "6.1 points");
        assert_eq!(cover.change(0.28, 0.22), "a fall from 28 to 22 %");
        assert_eq!(cover.change(0.05, 0.075), "a rise from 5 to 7.5 %");
    }

    #[test]
    fn a_loss_of_more_than_there_is_is_told_as_such() {
        let mut report = crate::report::synthetic::report();
        report.answer.rows.iter_mut().for_each(|row| row.detectable = None);
        assert_eq!(beyond_all_note(&report), "");
        let measure = Measure::of(&report, "hard_coral");
        let falls = |row: &&mut Row| row.change_to < row.change_from;
        let row = report.answer.rows.iter_mut().find(falls).unwrap();
        let there = row.mean.unwrap();
        row.detectable = Some(0.99 * there);
        assert_eq!(measure.detectable(row), measure.cell(Some(0.99 * there)));
        row.detectable = Some(1.2 * there);
        assert_eq!(measure.detectable(row), BEYOND_ALL);
        // As much more may be there at the next visit, and a logarithm may fall by more than it is.
        let mut other = row.clone();
        other.error_factor = Some(1.1);
        assert_eq!(measure.detectable(&other), measure.cell(Some(1.2 * there)));
        let mut other = row.clone();
        (other.change_from, other.change_to) = (row.change_to, row.change_from);
        assert_eq!(measure.detectable(&other), measure.cell(Some(1.2 * there)));
        assert!(beyond_all_note(&report).contains("more than is there"));
        let pages = [crate::report::terminal(&report, None), crate::report::html(&report).unwrap()];
        // Lines are broken anywhere.
        let words = |page: &String| page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(pages.iter().all(|page| words(page).contains("more than is there")));
    }

    #[test]
    fn other_indicators_keep_their_unit() {
        let biomass = Measure {
            factor: 1.0,
            unit: "kg/ha".into(),
            is_cover: false,
            of_what: " of grazers".into(),
            compares_groups: false,
        };
        assert_eq!(biomass.change(120.0, 90.0), "a fall of grazers from 120 to 90 kg/ha");
        assert_eq!(biomass.short_levels(0.1574, 0.1261, 12), "0.16 to 0.13");
        assert_eq!(biomass.short_levels(12.84, 9.63, 12), "12.8 to 9.63");
        assert_eq!(biomass.level_with_unit(12.84), "12.8 kg/ha");
    }

    #[test]
    fn shares_of_five_and_ten_have_words() {
        assert_eq!(times_seen(0.8), "four times in five");
        assert_eq!(times_seen(0.85), "85 times in 100");
    }

    #[test]
    fn one_unit_is_no_plural_and_zones_that_differ_show_both_ends() {
        assert_eq!(
            (count_units("photo_belt", 1), count_units("by_components", 2)),
            ("1 belt".into(), "2 units".into())
        );
        assert_eq!(count_sites(&SiteCount::new(vec![1])), "1 site");
        assert_eq!(count_sites(&SiteCount::new(vec![14, 14])), "14 sites in each zone");
        assert_eq!(count_sites(&SiteCount::new(vec![14, 12])), "12-14 sites in each zone");
    }

    #[test]
    fn sentences_begin_with_a_capital() {
        assert_eq!(sentence("échantillon"), "Échantillon");
        assert_eq!(sentence(""), "");
        assert_eq!(number_word(10), "Ten");
        assert_eq!(number_word(13), "13");
    }
}
