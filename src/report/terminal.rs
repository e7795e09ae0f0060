//! The answer on one screen: 80 columns, plain text, the same on a terminal and in a pipe.

use super::asked::Asked;
use super::caution::CAUTION;
use super::digits::{NONE, hundredths, significant, with_error};
use super::fish::{BIAS_NOTE, bias_tables, parts_note};
use super::report::Report;
use super::search::{SEARCH_NOTE, asks_for_the_rare, search_tables, surely};
use super::select::{
    Series, Topic, distinct, main_topics, most_sites, not_shown, own_changes, series, table_rows, wanted_row,
};
use super::visit::{VisitRow, visits};
use super::words::{
    Measure, ashore_note, beyond_all_note, error_of_visit, factor_note, plain, sentence, units_word, words_with_units,
};
use crate::engine::Row;
use crate::measures::{in_100, plural};

const WIDTH: usize = 80;
/// Rows of the table; a screen has no room for more, the files have all.
const MOST_ROWS: usize = 14;
/// The first method gets so many of them.
const MOST_OF_FIRST: usize = 8;
const MOST_WARNINGS: usize = 4;
const MOST_SEARCHES: usize = 3;
const MOST_BIAS: usize = 2;
/// Width of the column of changes, and of one of results.
const CHANGE_WIDE: usize = 12;
const RESULT_WIDE: usize = 10;

/// The answer as text; `folder` is where the whole report lies, once it is written.
pub fn terminal(report: &Report, folder: Option<&str>) -> String {
    let mut text = String::new();
    if report.answer.interrupted {
        paragraph(&mut text, "INTERRUPTED: what follows rests on the trials that were finished.", "");
        text.push('\n');
    }
    headline(&mut text, report);
    // Before asking how narrow an error is: how far off is the number itself?
    fish_bias(&mut text, report);
    // What is often not met at all tells nothing: that comes first.
    let is_rare = asks_for_the_rare(report);
    if is_rare {
        searches(&mut text, report);
    }
    table(&mut text, report);
    if !is_rare {
        searches(&mut text, report);
    }
    site_visit(&mut text, report);
    measure_first(&mut text, report);
    warnings(&mut text, report);
    paragraph(&mut text, CAUTION, "");
    if let Some(folder) = folder {
        // A path is never broken: it must be copied whole.
        text += &format!("Report: {folder}\n");
    }
    text
}

fn headline(text: &mut String, report: &Report) {
    if !report.title.is_empty() {
        paragraph(text, &report.title, "");
        text.push('\n');
    }
    if report.answer.headline.is_empty() {
        paragraph(text, "No design was asked for: there is nothing to answer.", "");
    }
    paragraph(text, &report.answer.headline.join(" "), "");
    text.push('\n');
}

fn table(text: &mut String, report: &Report) {
    let all = most_sites(&series(report));
    let mut shown = 0;
    let mut told: Vec<&str> = Vec::new();
    for (index, topic) in main_topics(report, &all).iter().enumerate() {
        let left = MOST_ROWS.saturating_sub(shown);
        // A change that was asked for never leaves the screen.
        let most = if index == 0 { MOST_OF_FIRST } else { left.max(own_changes(report, &topic.indicator)) };
        let rows: Vec<&Row> = main_rows(&all, topic, report, index == 0).into_iter().take(most).collect();
        if !rows.is_empty() {
            shown += rows.len();
            told.extend(rows.iter().map(|row| row.indicator.as_str()));
            block(text, report, topic, &rows);
        }
    }
    let hidden = report.answer.rows.len() - shown.min(report.answer.rows.len());
    if shown > 0 {
        let rest = if hidden > 0 {
            let without = not_shown(report, &told);
            let without = if without.is_empty() { String::new() } else { format!(" (all of {})", without.join(", ")) };
            format!(" {hidden} more {}: designs.csv{without}.", plural("design", hidden))
        } else {
            String::new()
        };
        let is_tested = report.answer.rows.iter().any(|row| row.power.is_some());
        let is_biased = report.answer.rows.iter().any(|row| row.written.is_some());
        let tested = format!(
            " Falsely: seen when nothing changed. Detectable: the change{} seen {} times in 100, by formula.{}",
            if is_biased { " of what is there" } else { "" },
            significant(100.0 * report.seen, 2),
            beyond_all_note(report)
        );
        let tested = if is_tested { tested.as_str() } else { "" };
        let of_change = report.answer.rows.iter().any(|row| row.same_sites.is_some() && row.power.is_none());
        let of_change = if of_change {
            " Half-width and bias without a change: of the difference of the two visits, in which a bias that stays cancels; the error is that \
             of one."
        } else {
            ""
        };
        let ashore = ashore_note(report).map_or(String::new(), |note| format!(" {note}"));
        let note = format!("In brackets: one standard error of the simulation.{tested}{of_change}{ashore}{rest}");
        paragraph(text, &note, "");
        text.push('\n');
    }
}

/// The first change in every zone before the next change; later methods only with what is needed for the changes that were asked
/// of their indicator, or for the first that moves it.
fn main_rows<'a>(all: &[Series<'a>], topic: &Topic, report: &Report, is_first: bool) -> Vec<&'a Row> {
    let mut of_topic: Vec<&Series> = all.iter().filter(|series| topic.holds(series.first())).collect();
    of_topic.sort_by_key(|series| series.change_index);
    if is_first {
        return of_topic.iter().flat_map(|series| table_rows(series, report)).collect();
    }
    // Those that were asked of an indicator come before those that another's bring.
    let asked = own_changes(report, &topic.indicator).max(1);
    let of_asked = of_topic.iter().filter(|series| series.change_index < asked);
    of_asked.filter_map(|series| wanted_row(series, report)).collect()
}

/// One indicator and method: a line of headers and its rows.
fn block(text: &mut String, report: &Report, topic: &Topic, rows: &[&Row]) {
    let measure = Measure::of(report, &topic.indicator);
    paragraph(text, &format!("{}, {}", sentence(&plain(&topic.indicator)), topic.label()), "");
    let zones = distinct(rows.iter().map(|row| row.zone.as_str()));
    let longest = zones.iter().map(|zone| zone.chars().count()).max().unwrap_or(4);
    let wide = longest.clamp(4, 14);
    // "quadrat lines" has no room: the last word tells enough.
    let units = units_word(&topic.method, 2);
    let units = last_word(&units);
    let is_tested = rows.iter().any(|row| row.power.is_some());
    let unit = measure.unit.as_str();
    let (header, second) = if is_tested {
        (["seen", "falsely", "detectable"], ["in 100", "in 100", unit])
    } else {
        (["half-width", "error", "bias"], [unit, "% of mean", unit])
    };
    let header = ["zone", "sites", units, "change", header[0], header[1], header[2], "minutes"];
    let second = ["", "", "", measure.level_unit(), second[0], second[1], second[2], "a site"];
    let has_change = rows.iter().any(|row| row.change_from.is_some());
    line(text, wide, has_change, &header.map(String::from));
    line(text, wide, has_change, &second.map(String::from));
    let mut deaths = None;
    for row in rows {
        if row.deaths != deaths {
            deaths = row.deaths;
            let how = deaths.map_or("all alike".to_string(), |deaths| deaths.short());
            *text += &format!("  struck {how}:\n");
        }
        let change = match (row.change_from, row.change_to) {
            (Some(from), Some(to)) => measure.short_levels(from, to, CHANGE_WIDE),
            _ => "-".to_string(),
        };
        let results = if is_tested { test_cells(&measure, row) } else { precision_cells(&measure, row) };
        let [first, second, third] = results;
        let minutes = significant(row.minutes.round(), 3);
        let (sites, units) = (row.sites.span(), row.units.to_string());
        line(text, wide, has_change, &[row.zone.clone(), sites, units, change, first, second, third, minutes]);
        if let Some(held) = held_to_level(report, row) {
            paragraph(text, &held, "    ");
        }
    }
    text.push('\n');
}

/// What a test that rings falsely too often sees once it is held to its level.
fn held_to_level(report: &Report, row: &Row) -> Option<String> {
    // One that keeps its level by itself loses nothing.
    let loses = row.power_held.zip(row.power).is_some_and(|(held, power)| held < power - 0.005);
    let is_held = loses || (row.false_alarm_marked && row.power.is_some());
    let promised = significant(100.0 * report.alpha, 2);
    is_held.then(|| match row.power_that_counts() {
        Some((power, error)) => {
            format!("  held to {promised} false alarms in 100: seen {}", hundredths(Some(power), Some(error)))
        }
        None => format!("  nothing holds this test to {promised} false alarms in 100"),
    })
}

/// Seen, false alarm, detectable change.
fn test_cells(measure: &Measure, row: &Row) -> [String; 3] {
    let mark = if row.false_alarm_marked { "!" } else { "" };
    let rate = hundredths(row.false_alarm, row.false_alarm_error);
    // The mark must be seen, whatever else has to give way.
    let false_alarm = if row.false_alarm_marked { format!("{}{mark}", cut(&rate, 9)) } else { rate };
    let power = hundredths(row.power, row.power_error);
    // A rate near 100 with its tiny error has no room: fewer digits say as much.
    let short = || row.power.map_or(NONE.to_string(), |power| format!("{} (<1)", in_100(power)));
    let power = if power.chars().count() > 10 { short() } else { power };
    [power, false_alarm, measure.detectable(row)]
}

/// Half-width, relative error of a visit, bias.
fn precision_cells(measure: &Measure, row: &Row) -> [String; 3] {
    let cv = error_of_visit(row);
    let shown = |value: Option<f64>| value.map(|value| measure.shown(value));
    let bias = shown(row.bias).map_or(NONE.to_string(), |bias| with_error(bias, shown(row.bias_error)));
    // Without a change there is room for it (see `line`), else the number alone says what has room.
    let has_room = row.change_from.is_none() || bias.chars().count() <= RESULT_WIDE;
    let bias = if has_room { bias } else { shown(row.bias).map_or(NONE.to_string(), |bias| significant(bias, 2)) };
    [measure.half_width(row), cv, bias]
}

/// Eight cells: the zone to the left, numbers to the right; together at most 80 columns. A status has no change.
fn line(text: &mut String, zone_wide: usize, has_change: bool, cells: &[String; 8]) {
    let last = if has_change { RESULT_WIDE } else { RESULT_WIDE + CHANGE_WIDE };
    let widths = [zone_wide, 5, 5, CHANGE_WIDE, RESULT_WIDE, RESULT_WIDE, last, 7];
    const CHANGE: usize = 3;
    let shown = cells.iter().zip(&widths).enumerate().skip(1).filter(|(column, _)| has_change || *column != CHANGE);
    let zone = Cell::words(&cells[0], zone_wide);
    let row: Vec<Cell> =
        std::iter::once(zone).chain(shown.map(|(_, (cell, wide))| Cell::number(cell, *wide))).collect();
    put_row(text, &row);
}

/// One cell of a row: words to the left or a number with its unit or error to the right, which go on below where they need more
/// room.
struct Cell<'a> {
    text: &'a str,
    wide: usize,
    is_number: bool,
}

impl<'a> Cell<'a> {
    fn words(text: &'a str, wide: usize) -> Self {
        Self { text, wide, is_number: false }
    }

    fn number(text: &'a str, wide: usize) -> Self {
        Self { text, wide, is_number: true }
    }

    fn lines(&self) -> Vec<String> {
        wrapped(self.text, self.wide)
    }
}

/// A row as one line, or as many as its words need: no name is cut.
fn put_row(text: &mut String, cells: &[Cell]) {
    let columns: Vec<Vec<String>> = cells.iter().map(Cell::lines).collect();
    let lines = columns.iter().map(Vec::len).max().unwrap_or(0);
    for line in 0..lines {
        let parts: Vec<String> = cells
            .iter()
            .zip(&columns)
            .map(|(cell, lines)| {
                let (part, wide) = (lines.get(line).map_or("", String::as_str), cell.wide);
                if cell.is_number { format!("{part:>wide$}") } else { format!("{part:<wide$}") }
            })
            .collect();
        *text += parts.join(" ").trim_end();
        text.push('\n');
    }
}

/// Lines of at most so many letters, broken at blanks and behind hyphens and bars; what is longer by itself is cut into pieces.
/// Lines after the first begin with a blank.
fn wrapped(text: &str, wide: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut add = |piece: &str| {
        let length = |text: &str| text.chars().count();
        let last = lines.last().map_or(0, |line| length(line.as_str()));
        if last + length(piece.trim_end()) <= wide || last == 0 {
            if let Some(line) = lines.last_mut() {
                line.push_str(piece);
            }
        } else {
            lines.push(format!(" {piece}"));
        }
    };
    for word in text.split_inclusive([' ', '-', '/', '_']) {
        let letters: Vec<char> = word.chars().collect();
        letters.chunks(wide.max(2) - 1).for_each(|piece| add(&piece.iter().collect::<String>()));
    }
    lines.iter().map(|line| line.trim_end().to_owned()).collect()
}

fn cut(text: &str, wide: usize) -> String {
    if text.chars().count() <= wide {
        return text.to_string();
    }
    text.chars().take(wide - 1).chain(['~']).collect()
}

/// "point counts" has no room: "count".
fn last_word(units: &str) -> &str {
    let last = units.rsplit(' ').next().unwrap_or_default();
    if last.len() > 5 { last.trim_end_matches('s') } else { last }
}

/// Whether animals are met at all, on the largest number of sites.
fn searches(text: &mut String, report: &Report) {
    let tables = search_tables(report);
    for table in tables.iter().take(MOST_SEARCHES) {
        paragraph(text, &format!("{}: met at all?", table.title), "");
        let rows = table.rows.iter().filter(|row| row.has_most_sites);
        let wide = rows.clone().map(|row| row.zone.chars().count()).max().unwrap_or(4).clamp(4, 14);
        let mut line = |[zone, numbers @ ..]: [&str; 7]| {
            let numbers = numbers.into_iter().zip([10, 6, 7, 11, 13, 13]);
            let row =
                std::iter::once(Cell::words(zone, wide)).chain(numbers.map(|(cell, wide)| Cell::number(cell, wide)));
            put_row(text, &row.collect::<Vec<_>>());
        };
        let units = last_word(&table.units);
        let (that, each) = (format!("{units} that"), format!("{units} a site"));
        let to_meet = format!("one {} in", surely());
        line(["zone", &that, "sites", units, "any is met", &each, "if none, less"]);
        line(["", "meet one", "", "a site", "times in", "that meet", "are there per"]);
        line(["", "in 100", "", "", "100", &format!("{to_meet} 100"), "100 m2 (ha)"]);
        for row in rows {
            let (sites, units) = (row.sites.to_string(), row.units.to_string());
            line([&row.zone, &row.occupied, &sites, &units, &row.met, &row.to_meet, &row.if_none]);
        }
        text.push('\n');
    }
    if !tables.is_empty() {
        let hidden = tables.len().saturating_sub(MOST_SEARCHES);
        let rest = if hidden > 0 { format!(" The report has {hidden} more such.") } else { String::new() };
        paragraph(text, &format!("{SEARCH_NOTE}{rest}"), "");
        text.push('\n');
    }
}

/// What is counted of the fish that are there, for the first dimensions of each method.
fn fish_bias(text: &mut String, report: &Report) {
    let tables = bias_tables(report);
    let zones = distinct(tables.iter().flat_map(|table| &table.rows).map(|row| row.zone.as_str()));
    let has_zones = zones.len() > 1;
    for table in tables.iter().take(MOST_BIAS) {
        paragraph(text, &format!("{}: written of 100 that are there", table.title), "");
        let name = if has_zones { 26 } else { 20 };
        *text += &format!("{:name$} {:>13} {:>13}\n", "", "by formula", "simulated");
        let mut line = |[group, zone, number, weight, simulated, most]: [&str; 6]| {
            let mut row = if has_zones {
                vec![Cell::words(group, 16), Cell::words(zone, 9)]
            } else {
                vec![Cell::words(group, 20)]
            };
            row.extend([Cell::number(number, 6), Cell::number(weight, 6), Cell::number(simulated, 13)]);
            // Two blanks before words.
            row.extend([Cell::words("", 0), Cell::words(most, WIDTH - name - 30)]);
            put_row(text, &row);
        };
        line(["group", "zone", "fish", "kg", "fish", "most of it by"]);
        for row in table.rows.iter().take(MOST_ROWS) {
            line([&row.group, &row.zone, &row.density, &row.biomass, &row.density_simulated, &row.most]);
        }
        text.push('\n');
    }
    if !tables.is_empty() {
        let hidden = tables.len().saturating_sub(MOST_BIAS);
        let rest = if hidden > 0 { format!(" The report has {hidden} more such.") } else { String::new() };
        let parts = parts_note(report);
        let causes = "Causes have their factors of fish; kg: of the weight alone.";
        paragraph(text, &format!("{BIAS_NOTE} {causes} In brackets: the error of the simulation. {parts}{rest}"), "");
        text.push('\n');
    }
}

/// All methods of the first zone side by side, where there are several.
fn site_visit(text: &mut String, report: &Report) {
    let Some(table) = visits(report).into_iter().next().filter(|table| table.methods > 1) else { return };
    paragraph(text, &format!("What one site visit gives: {}", table.title), "");
    // Of fish the mean as it is written stands beside the one that is there.
    let has_written = table.has_written;
    // Names get what they need, and go on below where there is no room.
    let longest = |of: fn(&VisitRow) -> &str, least: usize| {
        let shown = table.rows.iter().take(MOST_ROWS).map(|row| of(row).chars().count());
        shown.max().unwrap_or(0).max(least)
    };
    let mean_wide = longest(|row| &row.mean, 5).min(16);
    let numbers = if has_written { 8 + 1 + 7 + 1 + 7 } else { 7 + 1 + 7 };
    let names = WIDTH - numbers - mean_wide - 3;
    let units_wide = longest(|row| &row.units, 5).min(names / 2 + 3);
    let indicator_wide = names - units_wide;
    let mut cells = |[units, indicator, mean, written, error, minutes]: [&str; 6]| {
        let mut row = vec![Cell::words(units, units_wide), Cell::words(indicator, indicator_wide)];
        row.push(Cell::number(mean, mean_wide));
        row.extend(has_written.then_some(Cell::number(written, 8)));
        row.extend([Cell::number(error, 7), Cell::number(minutes, 7)]);
        put_row(text, &row);
    };
    let there = if has_written { "there" } else { "mean" };
    cells(["", "", there, "written", "error %", "minutes"]);
    for row in table.rows.iter().take(MOST_ROWS) {
        cells([&row.units, &row.indicator, &row.mean, &row.written, &row.cv, &row.minutes]);
    }
    let hidden = table.rows.len().saturating_sub(MOST_ROWS);
    let rest = if hidden > 0 { format!(" {hidden} more: site_visit.csv.") } else { String::new() };
    let error = if has_written {
        "Error: standard error of the mean over the sites, in percent of it (of what is there or written, it is the same)."
    } else {
        "Error: standard error of the mean over the sites."
    };
    let factor = factor_note(report);
    let factor = if factor.is_empty() { String::new() } else { format!("{factor} ") };
    let sizes = if table.sizes.is_empty() { String::new() } else { format!("{} ", table.sizes) };
    paragraph(text, &format!("{error} {factor}{sizes}{}{rest}", table.total), "");
    text.push('\n');
}

fn measure_first(text: &mut String, report: &Report) {
    let zones = distinct(report.answer.sensitivity.iter().map(|swing| swing.zone.as_str()));
    if zones.is_empty() {
        return;
    }
    let Some(asked) = Asked::of(report) else { return };
    paragraph(
        text,
        &format!(
            "Measure first ({} a site that see {}, by formula, if it is a third smaller, as given, half as large again):",
            units_word(&asked.topic.method, 2),
            asked.words()
        ),
        "",
    );
    for zone in zones {
        if let Some(swing) = super::figures::by_weight(report, zone).first() {
            let number = |units: Option<usize>| units.map_or("out of reach".to_string(), |units| units.to_string());
            let numbers = [swing.smaller, swing.as_given, swing.larger].map(number).join(", ");
            let simulated =
                asked.simulated_beside(zone, swing.as_given).map_or(String::new(), |text| format!("; {text}"));
            paragraph(text, &format!("- {zone}: {} ({numbers}{simulated})", swing.component), "  ");
        }
    }
    text.push('\n');
}

fn warnings(text: &mut String, report: &Report) {
    let all = &report.answer.warnings;
    for warning in all.iter().take(MOST_WARNINGS) {
        paragraph(text, &format!("! {}", warning.what), "  ");
        paragraph(text, &format!("  {}", warning.remedy), "  ");
    }
    if all.len() > MOST_WARNINGS {
        let more = all.len() - MOST_WARNINGS;
        let are = if more == 1 { "warning is" } else { "warnings are" };
        paragraph(text, &format!("! {more} more {are} in the report."), "  ");
    }
    if !all.is_empty() {
        text.push('\n');
    }
}

/// Breaks a paragraph into lines of at most 80 columns; lines after the first begin with `indent`. Words that are longer
/// than a line are cut into pieces.
pub(super) fn paragraph(text: &mut String, words: &str, indent: &str) {
    let mut line: String = words.chars().take_while(|letter| *letter == ' ').collect();
    let mut length = line.chars().count();
    let mut is_empty = true;
    let room = WIDTH - indent.chars().count();
    for word in words_with_units(words) {
        let letters: Vec<char> = word.chars().filter(|letter| !letter.is_control()).collect();
        for piece in letters.chunks(room) {
            if !is_empty && length + 1 + piece.len() > WIDTH {
                *text += line.trim_end();
                text.push('\n');
                (line, length, is_empty) = (indent.to_string(), indent.chars().count(), true);
            }
            if !is_empty {
                line.push(' ');
                length += 1;
            }
            line.extend(piece);
            length += piece.len();
            is_empty = false;
        }
    }
    if !is_empty {
        *text += &line;
        text.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_go_on_below_and_none_is_cut() {
        assert_eq!(wrapped("recruits under 2 cm", 16), ["recruits under 2", " cm"]);
        assert_eq!(wrapped("colony mean ln diameter", 17), ["colony mean ln", " diameter"]);
        assert_eq!(wrapped("terrace", 7), ["terrace"]);
        assert_eq!(wrapped("outer-terrace", 9), ["outer-", " terrace"]);
        assert_eq!(wrapped("", 5), [""]);
        for text in
            ["4 recruit-quadrat lines", "a_very_long_name_of_a_zone_without_a_blank", "x", "\u{e9}chantillonnage"]
        {
            for wide in 4..30 {
                let lines = wrapped(text, wide);
                assert!(lines.iter().all(|line| line.chars().count() <= wide), "{lines:?}");
                let letters = |text: &str| text.replace(' ', "");
                assert_eq!(letters(&lines.concat()), letters(text));
            }
        }
        let mut text = String::new();
        put_row(
            &mut text,
            &[Cell::words("outer reef terrace", 12), Cell::number("12", 5), Cell::words("too far x 0.5", 8)],
        );
        assert_eq!(text, "outer reef      12 too far\n terrace            x 0.5\n");
    }
}
