//! The days of a plan, dive by dive, as text.

use super::effort_text::{days_for, out_first, pair_line};
use super::lines_text::lines_of_dive;
use super::report::BudgetReport;
use super::screen::MIND_DIVING;
use super::sites_text::calm_words;
use crate::planner::expedition::{BUDDY, ScheduleRow, WAIT};
use crate::report::terminal::paragraph;
use crate::report::words::{count_method, method_words};

/// Stands on every page with dives, before a line to sign on.
pub const RELEASE: &str = "Work proposed, not released for diving until signed:";
pub const REFUSE: &str =
    "Any diver may refuse or end any dive; unfinished work is written down. Minutes are asked for.";

/// "2 point-intercept lines, 28 min", "buddy", "wait, 5 min"
pub fn work_words(row: &ScheduleRow) -> String {
    match row.units {
        0 if row.task == BUDDY => BUDDY.to_owned(),
        0 if row.task == WAIT => format!("{WAIT}, {:.0} min", row.minutes_asked),
        0 => format!("{} with the buddy, {:.0} min", method_words(&row.task), row.minutes_asked),
        units => format!("{}, {:.0} min", count_method(&row.task, units), row.minutes_asked),
    }
}

impl BudgetReport {
    /// The schedule day by day, as text.
    pub fn schedule_text(&self) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text += &format!("\n{RELEASE} ______________________\n");
        paragraph(&mut text, REFUSE, "");
        days_for(&mut text, &self.answer.calendar);
        self.warnings_where(&mut text, |head| head == MIND_DIVING);
        let mut last: Option<&ScheduleRow> = None;
        let mut deep = "";
        for row in &self.answer.schedule {
            let is_new = last.is_none_or(|last| !last.is_of_dive(row));
            if is_new {
                text.push('\n');
                paragraph(&mut text, &format!("Day {}", self.answer.dive_line(row)), "  ");
                if let Some(visit) = self.answer.calm_visit(row) {
                    text += &format!("  {}\n", calm_words(visit));
                }
                if let Some(lines) = lines_of_dive(&self.answer, row) {
                    paragraph(&mut text, &lines, "  ");
                }
            }
            if is_new || last.is_some_and(|last| last.pair != row.pair) {
                text += &pair_line(row);
            }
            // What a pair does at the shallow part of a place stands after what it does at the deep part.
            if is_new {
                deep = &row.zone;
            }
            let before = last.filter(|last| !is_new && last.pair == row.pair);
            if row.zone != before.map_or(deep, |last| last.zone.as_str()) {
                text += &format!("    at {}\n", row.place());
            }
            text += &format!("    {:<14} {}{}\n", row.diver, work_words(row), out_first(self, row));
            last = Some(row);
        }
        text.push('\n');
        if let Some(flight) = &self.answer.flight {
            paragraph(&mut text, &flight.told, "");
            text.push('\n');
        }
        self.warnings_where(&mut text, |head| head != MIND_DIVING);
        text.trim_end().to_owned() + "\n"
    }
}
