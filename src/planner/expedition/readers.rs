//! What must be said of the people of a plan: readers who are not crossed with zones, who stays on board, the odd one.

use super::people::{Crossing, People, Turns};
use super::prepared::Prepared;
use crate::design::{Crew, Standby};

/// From this part of the units on, zones count as read by other people (a judgement; common practice, no source).
const CONFOUNDED: f64 = 0.25;

/// Warnings about readers and turns.
pub fn people_warnings(prepared: &Prepared, people: &People) -> Vec<String> {
    let crossing = people.crossing.iter().filter(|crossing| crossing.apart > CONFOUNDED).map(confounded);
    let visits = second_visit(prepared);
    crossing.chain(visits).chain(staying_up(prepared, &people.turns)).chain(odd_ones(&people.turns)).collect()
}

fn confounded(crossing: &Crossing) -> String {
    let method = crossing.method.replace('_', " ");
    let mut some = Vec::new();
    for reader in &crossing.divers {
        let zones = |reads: bool| {
            let zones = crossing.zones.iter().zip(&reader.units).filter(move |(_, units)| (**units > 0) == reads);
            zones.map(|(zone, _)| zone.as_str()).collect::<Vec<_>>()
        };
        if !zones(true).is_empty() && !zones(false).is_empty() {
            some.push(format!(
                "{} in {}, not in {}",
                reader.diver,
                zones(true).join(" and "),
                zones(false).join(" or ")
            ));
        }
    }
    let who = if some.is_empty() { String::new() } else { format!(" ({})", some.join("; ")) };
    format!(
        "{method}: {:.0} % of the units of one zone are read by other people than those of another{who}. What differs between \
         these zones may be the readers: let people with the same skills share all zones, or compare them beforehand.",
        100.0 * crossing.apart
    )
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
