//! What the days of an expedition are for.

use crate::design::ExpeditionDays;
use serde::Serialize;

/// Some of the days from leaving to being back.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DaysFor {
    pub days: usize,
    pub what: &'static str,
}

/// In the order in which they are told; where the days under way lie is not known. `there`: days for diving that are paid for.
pub fn calendar(days: &ExpeditionDays, there: usize) -> Vec<DaysFor> {
    let all = [
        (days.transit, "under way"),
        (days.check_out, "for check-out dives, training and calibrating observers, before the first survey dive"),
        (days.reserved, "kept for other things"),
        (there, "for diving"),
        (days.for_diving().saturating_sub(there), "more that could be dived on, which the money does not pay for"),
    ];
    all.into_iter().filter(|(days, _)| *days > 0).map(|(days, what)| DaysFor { days, what }).collect()
}
