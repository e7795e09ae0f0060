//! The hours between the last dive of a schedule and a flight. No gap is called long enough.

use super::prepared::Prepared;
use super::schedule::ScheduleRow;
use crate::budget::cautions;
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Flight {
    /// The last day on which is dived.
    pub day: usize,
    /// Whether it ends several dives or days of diving.
    pub after_several_dives: bool,
    /// From the end of the last dive to departure; `None`: not told.
    pub hours: Option<f64>,
    /// By published advice, at the least.
    pub hours_advised: f64,
    /// `None`: no hours are told.
    pub is_shorter: Option<bool>,
    /// In words, for wherever the last dives are shown.
    pub told: String,
}

/// Of the dives of a schedule; `None`: nobody dives.
pub fn flight(prepared: &Prepared, rows: &[ScheduleRow]) -> Option<Flight> {
    let day = rows.iter().map(|row| row.day).max()?;
    let (several, hours) = (are_several(rows), prepared.expedition.flight_hours);
    Some(Flight {
        day,
        after_several_dives: several,
        hours,
        hours_advised: cautions::hours_to_flight(several),
        is_shorter: hours.map(|hours| cautions::early_flight(hours, several).is_some()),
        told: cautions::flight(hours, several),
    })
}

/// More than one dive of a boat. (What is left of an expedition follows days of diving.)
pub fn are_several(rows: &[ScheduleRow]) -> bool {
    rows.iter().any(|row| (row.day, row.team_dive) > (1, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_dive_or_day_makes_several() {
        let row =
            |day: usize, boat: usize, team_dive: usize| ScheduleRow { day, boat, team_dive, ..ScheduleRow::default() };
        assert!(!are_several(&[row(1, 1, 1), row(1, 2, 1)]));
        assert!(are_several(&[row(1, 1, 1), row(1, 1, 2)]) && are_several(&[row(2, 1, 1)]));
    }
}
