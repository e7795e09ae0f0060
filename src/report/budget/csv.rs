//! A budget's tables as CSV.

use super::report::BudgetReport;
use crate::planner::expedition::ScheduleRow;
use serde::Serialize;

impl BudgetReport {
    /// The schedule as CSV; the caution is its first line.
    pub fn schedule_csv(&self) -> String {
        self.csv(self.answer.schedule.iter())
    }

    /// Where units begin, with spares, as CSV.
    pub fn starts_csv(&self) -> String {
        self.csv(self.answer.starts.iter())
    }

    /// An empty sheet for what was done: a line for each unit of the schedule, to be filled in on the boat.
    pub fn field_csv(&self) -> String {
        let rows = self.answer.schedule.iter();
        let units = rows.flat_map(|row| (1..=row.units).map(move |unit| FieldRow::of(row, unit)));
        self.csv(units)
    }

    pub(super) fn csv<T: Serialize>(&self, rows: impl Iterator<Item = T>) -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in rows {
            // Writing into memory does not fail.
            let _ = writer.serialize(row);
        }
        let rows = writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
        format!("# {}\n{rows}", self.caution)
    }
}

/// One unit as it was done; what is empty is filled in on the boat.
#[derive(Serialize)]
struct FieldRow<'a> {
    date: &'static str,
    day: usize,
    boat: usize,
    team_dive: usize,
    zone: &'a str,
    site: usize,
    site_name: Option<&'a str>,
    diver: &'a str,
    task: &'a str,
    unit: usize,
    minutes_used: &'static str,
    interrupted: &'static str,
    notes: &'static str,
}

impl<'a> FieldRow<'a> {
    fn of(row: &'a ScheduleRow, unit: usize) -> Self {
        Self {
            date: "",
            day: row.day,
            boat: row.boat,
            team_dive: row.team_dive,
            zone: &row.zone,
            site: row.site,
            site_name: row.site_name.as_deref(),
            diver: &row.diver,
            task: &row.task,
            unit,
            minutes_used: "",
            interrupted: "",
            notes: "",
        }
    }
}
