//! An empty sheet for what was done, to be filled in on the boat and read again.

use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{BegunSite, ReadingColumn, ScheduleRow};
use std::collections::BTreeMap;

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
        for (row, units) in self.answer.schedule.iter().zip(self.units_by_number()) {
            for unit in units {
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

    /// The numbers of the units in each row of the schedule: those of a task are counted through at a site, whoever does them.
    pub(super) fn units_by_number(&self) -> Vec<Vec<usize>> {
        let mut done: BTreeMap<(&str, usize, &str), usize> = BTreeMap::new();
        let of_row = |row: &ScheduleRow, done: &mut usize| {
            let first = *done + 1;
            *done += row.units;
            (first..=*done).map(|number| self.unit_at(row, number)).collect()
        };
        let rows = self.answer.schedule.iter();
        rows.map(|row| of_row(row, done.entry((&row.zone, row.site, &row.task)).or_default())).collect()
    }

    /// The number of the how-manieth unit of a task that is to be done at a site: at a begun one of those that it lacks.
    fn unit_at(&self, row: &ScheduleRow, number: usize) -> usize {
        let is_it = |begun: &&BegunSite| (&begun.zone, begun.site) == (&row.zone, row.site);
        let begun = self.answer.begun.iter().find(is_it);
        let lacks = begun.and_then(|begun| begun.lacks.iter().find(|lacks| lacks.method == row.task));
        lacks.and_then(|lacks| lacks.units.get(number - 1).copied()).unwrap_or(number)
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
