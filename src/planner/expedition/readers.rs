//! What must be said of the people of a plan: readers who are not crossed with zones, who stays on board, the odd one.

use super::people::{Crossing, People, Turns};
use super::prepared::Prepared;
use crate::design::{Crew, Standby};

/// From this part of the units on, zones count as read by other people (a judgement; common practice, no source).
const CONFOUNDED: f64 = 0.25;

/// Warnings about readers and turns.
pub fn people_warnings(prepared: &Prepared, people: &People) -> Vec<String> {
    let visits = second_visit(prepared);
    let crossing = confounded(prepared, &people.crossing).into_iter();
    crossing.chain(visits).chain(staying_up(prepared, &people.turns)).chain(odd_ones(&people.turns)).collect()
}

/// One warning for all methods, where whoever plans could change it: where not all divers can do the same. Who reads what
/// stands in the table of readers.
fn confounded(prepared: &Prepared, crossing: &[Crossing]) -> Option<String> {
    let apart: Vec<&Crossing> = crossing.iter().filter(|crossing| crossing.apart > CONFOUNDED).collect();
    let worst = apart.iter().max_by(|one, other| one.apart.total_cmp(&other.apart))?;
    let remedies = what_keeps_apart(prepared, &apart);
    let remedies: Vec<String> = remedies?.into_iter().chain(["compare readers beforehand".to_owned()]).collect();
    Some(format!(
        "Zones are read by other people, up to {:.0} % of the units ({}): {}.",
        100.0 * worst.apart,
        worst.method.replace('_', " "),
        remedies.join(", or ")
    ))
}

/// What of the crew keeps readers of some methods from sharing all zones, each as what would mend it; `None`: nothing, divers
/// can all do the same. More divers with a skill share no work that needs none.
fn what_keeps_apart(prepared: &Prepared, apart: &[&Crossing]) -> Option<Vec<String>> {
    let expedition = prepared.expedition;
    let lacks = |skill: &&str| expedition.divers.iter().any(|diver| !diver.skills.iter().any(|of| of == skill));
    let tasks = prepared.tasks.tasks.iter().zip(&prepared.tasks.methods);
    let of_apart = tasks.filter(|(task, _)| apart.iter().any(|of| of.method == task.name));
    let asked = |methods: &mut dyn Iterator<Item = usize>| {
        let mut skills: Vec<&str> = methods.filter_map(|method| expedition.methods[method].skill.as_deref()).collect();
        skills.sort_unstable();
        skills.dedup();
        skills.into_iter().filter(lacks).collect::<Vec<&str>>()
    };
    let skills = asked(&mut of_apart.map(|(_, &method)| method));
    let all_skills = asked(&mut (0..expedition.methods.len()));
    let deepest = expedition.zones.iter().map(|zone| zone.depth_m).fold(0.0, f64::max);
    let is_shallow = |diver: &crate::design::DiverSpec| diver.depth_m.is_some_and(|depth| depth < deepest);
    let comes_or_leaves = |diver: &crate::design::DiverSpec| diver.from_day > 1 || diver.to_day.is_some();
    let mut all = Vec::new();
    if !skills.is_empty() {
        all.push(format!("train more divers in {}", skills.join(", ")));
    }
    if expedition.divers.iter().any(is_shallow) {
        all.push("take divers who may go to all zones".to_owned());
    }
    if expedition.divers.iter().any(comes_or_leaves) {
        all.push("keep one crew throughout".to_owned());
    }
    (!all.is_empty() || !all_skills.is_empty()).then_some(all)
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
             seen."
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
            "The pair that stays up changes from dive to dive, but not evenly (team dives on board: {}): more divers with the \
             skills or depths that are few would even it.",
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
    // Where it falls on one diver or few, skills and depths keep the others from taking turns.
    let uneven = if most > least + 1 { ", not in even turns" } else { "" };
    Some(format!(
        "One diver or more has no partner and does not dive{uneven} (days off: {}): one diver more would make a pair.",
        listed.join(", ")
    ))
}

fn span(turns: &[Turns], of: impl Fn(&Turns) -> usize) -> Option<(usize, usize)> {
    let counts = || turns.iter().map(&of);
    Some((counts().min()?, counts().max()?))
}
