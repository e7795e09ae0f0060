//! What must be said of the people of a plan: readers who are not crossed with zones, who stays on board, the odd one.

use super::people::{Crossing, People, ReaderUnits, Turns};
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

/// One warning for all methods, with the people of the one that is farthest apart; all stand in the table of readers.
fn confounded(crossing: &[Crossing]) -> Option<String> {
    let apart = || crossing.iter().filter(|crossing| crossing.apart > CONFOUNDED);
    let worst = apart().max_by(|one, other| one.apart.total_cmp(&other.apart))?;
    let method = |crossing: &Crossing| {
        let who = if std::ptr::eq(crossing, worst) { who(worst) } else { String::new() };
        format!("{} {:.0} %{who}", crossing.method.replace('_', " "), 100.0 * crossing.apart)
    };
    Some(format!(
        "Of the units of one zone other people read than of another, at most: {}. What differs between these zones may be the \
         readers: let people with the same skills share all zones, or compare them beforehand.",
        apart().map(method).collect::<Vec<_>>().join(", ")
    ))
}

/// " (Ana in slope, not in crest)"
fn who(crossing: &Crossing) -> String {
    let zones = |units: &[usize], reads: bool| {
        let zones = crossing.zones.iter().zip(units).filter(|(_, units)| (**units > 0) == reads);
        zones.map(|(zone, _)| zone.as_str()).collect::<Vec<_>>()
    };
    let of = |reader: &ReaderUnits| {
        let (reads, not) = (zones(&reader.units, true), zones(&reader.units, false));
        let differs = !reads.is_empty() && !not.is_empty();
        differs.then(|| format!("{} in {}, not in {}", reader.diver, reads.join(" and "), not.join(" or ")))
    };
    let some: Vec<String> = crossing.divers.iter().filter_map(of).collect();
    if some.is_empty() { String::new() } else { format!(" ({})", some.join("; ")) }
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
