//! What must be said of an expedition. Warnings are printed, never dropped.

use super::answer::BudgetAnswer;
use super::prepared::Prepared;
use crate::budget::diving::{FIRST_DIVE_ONLY, flag};
use crate::design::Standby;

/// Most dives a day of a diver without, and without strong, words: a judgement; no standard that could be read gives one.
const DIVES_TO_WARN: usize = 3;
const DIVES_TO_WARN_STRONGLY: usize = 4;
/// Share of the days from which on nothing is left for bad luck.
const FULL: f64 = 0.85;
/// Advice that is common for the time at the surface between dives, minutes (common practice, no source).
const SHORT_INTERVAL: f64 = 60.0;

pub fn warnings(prepared: &Prepared, answer: &BudgetAnswer) -> Vec<String> {
    let expedition = prepared.expedition;
    let mut all = Vec::new();
    let zones = prepared.plan.study.zones.iter().zip(&expedition.zones);
    for (zone, diving) in zones.clone() {
        all.extend(flag(diving.depth_m, diving.bottom_minutes).map(|flag| format!("{}: {flag}", zone.name)));
    }
    all.extend(what_does_not_fit(prepared));
    let dives = expedition.boats.dives_a_day;
    if dives > 1 {
        all.push(FIRST_DIVE_ONLY.to_owned());
    }
    if dives > DIVES_TO_WARN {
        let strongly = if dives > DIVES_TO_WARN_STRONGLY { "far " } else { "" };
        all.push(format!("{dives} dives a day for each diver is {strongly}more than expeditions usually do; the diving officer decides."));
    }
    if let Some(clock) = expedition.boats.clock.filter(|clock| clock.interval < SHORT_INTERVAL) {
        all.push(format!(
            "{} minutes at the surface between dives are fewer than the hour that is often advised.",
            clock.interval
        ));
    }
    let without_depth: Vec<&str> =
        expedition.divers.iter().filter(|diver| diver.depth_m.is_none()).map(|diver| diver.name.as_str()).collect();
    if !without_depth.is_empty() {
        all.push(format!("To what depth is authorised is not told of {}: write depth_m.", without_depth.join(", ")));
    }
    for ((zone, diving), crew) in zones.clone().zip(&prepared.crews) {
        let waiting = expedition.pairs.len() - crew.pairs.len();
        if waiting > 0 {
            all.push(format!(
                "{}: {waiting} of {} pairs may not dive to {} m and wait on board.",
                zone.name,
                expedition.pairs.len(),
                diving.depth_m
            ));
        }
    }
    if expedition.divers.len() < 4 {
        all.push(
            "Fewer than four people on site: many rules ask for a supervisor and a standby diver besides the pair."
                .into(),
        );
    }
    if expedition.standby == Standby::AsTheDivingOfficerDecides {
        all.push("Who stands by is left to the diving officer; where a pair stays up on each dive, less gets done (see the what-ifs).".into());
    }
    let needs = answer.all.as_ref().map(|plan| plan.days);
    if needs.is_some_and(|days| days as f64 > FULL * answer.bookable_days as f64 && days <= answer.bookable_days) {
        all.push("The plan for all targets fills nearly all days: nothing is left for bad luck.".into());
    }
    if expedition.days.lost.is_none() {
        all.push("Days lost to weather are not told (lost_days_percent): no chance can be given, and no day lost is assumed.".into());
    }
    if zones.clone().any(|(_, diving)| diving.least_sites < 3) {
        all.push(
            "With two sites in a zone the test's degrees of freedom are few: trust the simulation, not the formula."
                .into(),
        );
    }
    if !answer.not_planned.is_empty() {
        all.push(format!("No target needs {}: not planned.", answer.not_planned.join(", ").replace('_', " ")));
    }
    for task in answer.all.iter().flat_map(|plan| &plan.site_set) {
        let most =
            prepared.tasks.tasks.iter().position(|of| of.name == task.method).map(|at| prepared.tasks.caps.of(at));
        if most.is_some_and(|most| task.units == usize::from(most) && task.units == task.needs) {
            all.push(format!(
                "The plan lays as many {} as were looked at; raise units.",
                task.method.replace('_', " ")
            ));
        }
    }
    all
}

/// Why a zone can do no site set: a unit that needs more minutes than a dive has, or all together more dives than are looked
/// at.
fn what_does_not_fit(prepared: &Prepared) -> Vec<String> {
    let tasks = &prepared.tasks.tasks;
    let mut all = Vec::new();
    for (zone, table) in prepared.tables.iter().enumerate() {
        let (name, diving) = (&prepared.plan.study.zones[zone].name, &prepared.expedition.zones[zone]);
        let one = |task: usize| (0..tasks.len()).map(|of| u8::from(of == task)).collect::<Vec<u8>>();
        let alone: Vec<usize> = (0..tasks.len()).filter(|&task| table.dives(&one(task)).is_none()).collect();
        for &task in &alone {
            let waits = tasks[task].first.unwrap_or(0.0);
            let hold = if waits > 0.0 { format!(" (its buddy waits {waits:.0})") } else { String::new() };
            all.push(format!(
                "{name}: one of {} takes {:.0} minutes to be done in time{hold}, a dive there has {:.0} for work, and a pair that \
                 can do it must be under water: nothing can be planned until it fits.",
                tasks[task].name.replace('_', " "),
                prepared.finish.needs(tasks, &one(task)),
                diving.work_minutes()
            ));
        }
        if alone.is_empty() && table.dives(&vec![1; tasks.len()]).is_none() {
            all.push(format!(
                "{name}: one unit of everything takes more team dives at a site than are looked at; what comes first must fit \
                 into the first dive, and a pair that stays up is no capacity."
            ));
        }
    }
    all
}
