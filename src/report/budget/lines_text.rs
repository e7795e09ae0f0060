//! Lines that one diver lays and another reads on the same dive, in words.

use crate::planner::expedition::{BudgetAnswer, LaidAhead, ScheduleRow};
use crate::report::words::method_words;

/// Who goes ahead on a dive and who comes behind. `row`: any of that dive.
pub fn lines_of_dive(answer: &BudgetAnswer, row: &ScheduleRow) -> Option<String> {
    let is_here = |of: &&LaidAhead| (of.day, of.boat, of.team_dive) == (row.day, row.boat, row.team_dive);
    let told: Vec<String> = answer
        .laid_ahead
        .iter()
        .filter(is_here)
        .map(|of| {
            let early = if of.is_early() {
                format!(", {:.0} min later than asked for", of.early_minutes)
            } else {
                String::new()
            };
            format!("line {}: {}, then {} ({}{early})", of.line, of.laid_by, of.read_by, method_words(&of.method))
        })
        .collect();
    (!told.is_empty()).then(|| format!("Laid and read on this dive, who lays goes ahead: {}.", told.join("; ")))
}
