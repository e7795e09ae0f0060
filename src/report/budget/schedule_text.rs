//! The days of a plan, dive by dive, as text.

use super::report::BudgetReport;
use crate::planner::expedition::ScheduleRow;
use crate::report::terminal::paragraph;
use crate::report::words::method_words;

impl BudgetReport {
    /// The schedule day by day, as text.
    pub fn schedule_text(&self) -> String {
        let mut text = String::new();
        paragraph(&mut text, self.caution, "");
        text += "\nWork proposed, not released for diving until signed: ______________________\n";
        paragraph(
            &mut text,
            "Any diver may refuse or end any dive; unfinished work is written down. Minutes are asked for.",
            "",
        );
        let mut last: Option<&ScheduleRow> = None;
        for row in &self.answer.schedule {
            let is_new = |of: fn(&ScheduleRow) -> (usize, usize, usize)| last.is_none_or(|last| of(last) != of(row));
            if is_new(|row| (row.day, row.boat, row.team_dive)) {
                text += &format!(
                    "\nDay {}, boat {}, dive {}: {} {}\n",
                    row.day, row.boat, row.team_dive, row.zone, row.site
                );
            }
            let work = match row.units {
                0 if row.task == "buddy" => "buddy".to_owned(),
                0 => format!("{} with the buddy, {:.0} min", method_words(&row.task), row.minutes_asked),
                units => format!("{units} x {}, {:.0} min", method_words(&row.task), row.minutes_asked),
            };
            text += &format!("  pair {} {:<14} {work}\n", row.pair, row.diver);
            last = Some(row);
        }
        text
    }
}
