//! An empty sheet for what was done, to be filled in on the boat and read again.

use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::ReadingColumn;

/// Columns before and after those for readings.
const NAMES: [&str; 11] =
    ["date", "day", "boat", "team_dive", "zone", "site", "site_name", "diver", "task", "unit", "minutes_used"];
const LAST: [&str; 2] = ["interrupted", "notes"];

/// Before the title of the expedition that a sheet is of, in a comment.
const SHEET_OF: &str = "# Sheet of: ";

/// Another expedition whose sheet a text is, by its title; `None` where it is of this one or does not say.
pub fn sheet_of_another<'a>(text: &'a str, title: &str) -> Option<&'a str> {
    // A spreadsheet may have put quotes around a comment, or separators behind it.
    let line = text.lines().map(|line| line.trim_start_matches('"')).find_map(|line| line.strip_prefix(SHEET_OF))?;
    let told = line.trim_end_matches([',', ';', '"', ' ', '\t', '\r']);
    let same = one_line(title).trim_end_matches([',', ';', '"', ' ']) == told;
    (!same && !told.is_empty()).then_some(told)
}

fn one_line(title: &str) -> String {
    title.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl BudgetReport {
    /// A line for each unit of the schedule; what is to be filled in is empty, a reading that its task does not tell is `-`.
    pub fn field_csv(&self) -> String {
        let readings = &self.answer.reading_columns;
        let mut writer = csv::Writer::from_writer(Vec::new());
        let names = readings.iter().map(|reading| reading.column.as_str());
        // Writing into memory does not fail.
        let _ = writer.write_record(NAMES.into_iter().chain(names).chain(LAST));
        for row in &self.answer.schedule {
            for &unit in &row.unit_numbers {
                let [day, boat, team_dive, site, unit] =
                    [row.day, row.boat, row.team_dive, row.site, unit].map(|number| number.to_string());
                let name = row.site_name.as_deref().unwrap_or("");
                let first = ["", &day, &boat, &team_dive, &row.zone, &site, name, &row.diver, &row.task, &unit, ""];
                let reading = |of: &ReadingColumn| if of.task == row.task { "" } else { "-" };
                let _ = writer.write_record(first.into_iter().chain(readings.iter().map(reading)).chain(["", ""]));
            }
        }
        let rows = writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
        format!("{}{}{}\n{}{rows}", self.csv_head(), SHEET_OF, one_line(&self.title), self.how_to_fill_in())
    }

    fn how_to_fill_in(&self) -> String {
        let mut text = String::from(
            "# minutes_used: of the unit itself, from laying it to leaving it; empty where it was not done. interrupted: yes \
             where it was not done to its end.\n",
        );
        for of in &self.answer.reading_columns {
            let unit = if of.unit.is_empty() { "its number" } else { of.unit.as_str() };
            text += &format!("# {}: {unit}, for each unit of {}; may be filled in later.\n", of.column, of.task);
        }
        if !self.answer.reading_columns.is_empty() {
            let columns = counted(self.answer.reading_columns.len(), "column");
            text += &format!("# From these readings ({columns}) the planner learns how they vary, never a change.\n");
        }
        text
    }
}
