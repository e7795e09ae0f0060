//! Days on which more pairs are aboard than any dive of the plan asks for, where the crew changes on the way.

use super::schedule::ScheduleRow;
use crate::design::{Expedition, Standby};
use std::collections::BTreeSet;

/// Days of diving on end, from 1, on which some of the pairs aboard are on no dive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Idle {
    pub from_day: usize,
    pub to_day: usize,
    /// Pairs that are aboard, and the most of them that are on dives at once; who stays up in turn counts as on a dive.
    pub aboard: usize,
    pub at_once: usize,
}

/// Of each stretch of days, in order; none where the same people are aboard on all days.
pub fn idle(expedition: &Expedition, schedule: &[ScheduleRow]) -> Vec<Idle> {
    let mut all: Vec<Idle> = Vec::new();
    if expedition.crew_changes().len() < 2 {
        return all;
    }
    let last = schedule.iter().map(|row| row.day).max().unwrap_or(0);
    for day in 1..=last {
        let aboard = expedition.pairs_on_day(day).len();
        let Some(at_once) = most_at_once(expedition, schedule, day).filter(|at_once| *at_once < aboard) else {
            continue;
        };
        match all.last_mut() {
            Some(before) if (before.to_day + 1, before.aboard, before.at_once) == (day, aboard, at_once) => {
                before.to_day = day;
            }
            _ => all.push(Idle { from_day: day, to_day: day, aboard, at_once }),
        }
    }
    all
}

/// The most pairs that are on dives at once on a day, all boats together; `None` without a dive.
fn most_at_once(expedition: &Expedition, schedule: &[ScheduleRow], day: usize) -> Option<usize> {
    let on_day = || schedule.iter().filter(|row| row.day == day);
    let dives: BTreeSet<usize> = on_day().map(|row| row.team_dive).collect();
    let up = if expedition.standby == Standby::APairStaysUp { 1 } else { 0 };
    let pairs = |dive: &usize| {
        let rows = || on_day().filter(|row| row.team_dive == *dive);
        let boats: BTreeSet<usize> = rows().map(|row| row.boat).collect();
        let pairs: BTreeSet<(usize, usize)> = rows().map(|row| (row.boat, row.pair)).collect();
        pairs.len() + up * boats.len()
    };
    dives.iter().map(pairs).max()
}

impl Idle {
    /// "3 pairs are aboard on days 1 to 4, and no more than 2 dive at once ..."; whether the plan goes by stretches of the crew.
    pub fn words(&self, by_stretch: bool) -> String {
        let days = if self.from_day == self.to_day {
            format!("day {}", self.from_day)
        } else {
            format!("days {} to {}", self.from_day, self.to_day)
        };
        let why = if by_stretch {
            "the sites of those days take no fewer dives with more of them"
        } else {
            "the plan is made for a crew that can do all of its days"
        };
        format!(
            "{} pairs are aboard on {days}, and no more than {} dive at once: {why}. The \
             others can be given more units, or more sites, by hand.",
            self.aboard, self.at_once
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::load_text;

    #[test]
    fn pairs_that_are_on_no_dive_are_told_by_their_days() {
        let people = ["Ana", "Bo", "Cy", "Di"];
        let with = |leaves: &str| {
            let divers: String = people
                .iter()
                .map(|name| {
                    format!(
                        "[[diver]]\nname = \"{name}\"\ndepth_m = 30\n{}",
                        if ["Cy", "Di"].contains(name) { leaves } else { "" }
                    )
                })
                .collect();
            let text = format!(
                "statement_about = \"all_such_reefs\"\n[[zone]]\nname = \"rim\"\nsites = 6\ncover_percent = 30\n[zone.dive]\ndepth_m = 8\n\
                 bottom_minutes = 55\nmost_sites = 9\n[[method.point_intercept]]\n[[change]]\nfrom = 30\nto = 20\n[expedition]\ndays = 9\ndives_a_day = 2\nsites_a_day = 2\nlost_days_percent = 0\n\
                 standby = \"crew\"\n{divers}[[target]]\nindicator = \"hard_coral\"\nsee = true\n"
            );
            load_text("rim.toml", &text).unwrap_or_else(|error| panic!("{}", error.render())).expedition.unwrap()
        };
        let row = |day: usize, team_dive: usize, pair: usize| ScheduleRow {
            day,
            team_dive,
            pair,
            boat: 1,
            ..ScheduleRow::default()
        };
        // Two pairs on the second dive of day 1, one alone on all dives of days 2 to 4.
        let schedule = [row(1, 1, 1), row(1, 2, 1), row(1, 2, 2), row(2, 1, 1), row(3, 1, 2), row(4, 1, 1)];
        assert_eq!(idle(&with(""), &schedule), []);
        let leave = with("to_day = 3\n");
        assert_eq!(idle(&leave, &schedule), [Idle { from_day: 2, to_day: 3, aboard: 2, at_once: 1 }]);
        assert!(idle(&leave, &schedule)[0].words(false).starts_with("2 pairs are aboard on days 2 to 3"));
        // Who stays up in turn is not idle.
        let in_turn = Expedition { standby: Standby::APairStaysUp, ..leave };
        assert_eq!(idle(&in_turn, &schedule), []);
    }
}
