//! What must be said of the people of a plan: readers who are not crossed with zones, who stays on board, the odd one.

use super::people::{Crossing, People, Turns};
use super::prepared::Prepared;
use crate::design::{Crew, Standby};

/// From this part of the units on, zones count as read by other people (a judgement; common practice, no source).
const CONFOUNDED: f64 = 0.25;

/// Warnings about readers and turns.
pub fn people_warnings(prepared: &Prepared, people: &People) -> Vec<String> {
    let visits = second_visit(prepared);
    let crossing = confounded(&people.crossing).into_iter();
    crossing.chain(visits).chain(staying_up(prepared, &people.turns)).chain(odd_ones(&people.turns)).collect()
}

/// One warning for all methods; who reads what where stands in the table of readers.
fn confounded(crossing: &[Crossing]) -> Option<String> {
    let apart = crossing.iter().filter(|crossing| crossing.apart > CONFOUNDED);
    let methods: Vec<String> = apart
        .map(|crossing| format!("{} {:.0} %", crossing.method.replace('_', " "), 100.0 * crossing.apart))
        .collect();
    (!methods.is_empty()).then(|| {
        format!(
            "Of the units of one zone other people read than of another, at most: {}. What differs between these zones may be \
             the readers: let people with the same skills share all zones, or compare them beforehand.",
            methods.join(", ")
        )
    })
}

fn second_visit(prepared: &Prepared) -> Option<String> {
    let study = &prepared.plan.study;
    let who = match study.observers.between_visits {
        Crew::Same => return None,
        Crew::Changed => "other people read",
        Crew::Mixed => "half of the people are others",
    };
    (study.question.visits() == 2).then(|| {
        format!(
            "At the second visit {who} (between_visits of [observers]): what they read otherwise is part of every change that is \
             seen, in all zones alike only if they share all zones too."
        )
    })
}

/// How even those stay on board whose pair stays up in turn.
fn staying_up(prepared: &Prepared, turns: &[Turns]) -> Option<String> {
    if prepared.expedition.standby != Standby::APairStaysUp {
        return None;
    }
    let (least, most) = span(turns, |turns| turns.on_board)?;
    let listed: Vec<String> = turns.iter().map(|turns| format!("{} {}", turns.diver, turns.on_board)).collect();
    (most > least + 1).then(|| {
        format!(
            "The pair that stays up changes from dive to dive, but skills and depths allow no even turns (team dives on board: \
             {}).",
            listed.join(", ")
        )
    })
}

fn odd_ones(turns: &[Turns]) -> Option<String> {
    let (least, most) = span(turns, |turns| turns.days_off)?;
    if most == 0 {
        return None;
    }
    let listed: Vec<String> = turns
        .iter()
        .filter(|turns| turns.days_off > 0)
        .map(|turns| format!("{} {}", turns.diver, turns.days_off))
        .collect();
    let how = if most > least + 1 {
        "it changes daily only as far as skills and depths allow"
    } else {
        "it changes daily, and the others of the day's pairs with it"
    };
    Some(format!("One diver or more has no partner and does not dive: {how} (days off: {}).", listed.join(", ")))
}

fn span(turns: &[Turns], of: impl Fn(&Turns) -> usize) -> Option<(usize, usize)> {
    let counts = || turns.iter().map(&of);
    Some((counts().min()?, counts().max()?))
}
