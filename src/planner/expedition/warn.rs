//! What must be said of an expedition. Warnings are printed, never dropped.

use super::answer::BudgetAnswer;
use super::flight::are_several;
use super::idle::{Idle, idle};
use super::known::Known;
use super::new_pairs::new_pairs_line;
use super::pairings::paired;
use super::place_dives::OnOneDive;
use super::prepared::{NothingFits, Prepared};
use super::schedule::ScheduleRow;
use super::variants::variants;
use super::what_ifs::{COMES, PAIR_STAYS_UP, STAYS, WhatIf};
use super::which_method::each_way;
use crate::budget::cautions;
use crate::budget::diving::{FIRST_DIVE_ONLY, cautions_of, undecided};
use crate::budget::gas::flag_gas;
use crate::design::{Expedition, Standby, Target, WhoWaits};
use crate::engine::Plan;
use crate::measures::{counted, told_apart};
use crate::planner::warn::fish_that_behave_otherwise;
use std::collections::BTreeMap;

/// Share of the days that are left in the mean from which on little is left for bad luck: a judgement.
const FULL: f64 = 0.85;

/// What touches diving first, with how many of them do.
pub fn warnings(prepared: &Prepared, answer: &BudgetAnswer) -> (Vec<String>, usize) {
    let mut all: Vec<String> = undecided(&prepared.plan.study, prepared.expedition).into_iter().collect();
    all.extend(of_zones(prepared));
    all.extend(of_dives(prepared, answer));
    all.extend(of_people(prepared, answer));
    let of_diving = all.len();
    all.extend(work_beside_what_comes_first(prepared, &answer.schedule));
    all.extend(bias_of_fish(prepared));
    all.extend(fish_that_behave_otherwise(prepared.plan));
    all.extend(what_does_not_fit(prepared));
    all.extend(at_the_same_places(prepared));
    all.extend(of_days(prepared, answer));
    let by_stretch = answer.stretches.as_ref().zip(answer.scheduled());
    all.extend(by_stretch.map(|(told, plan)| told.words(plan, answer.bookable_days)));
    let words = |idle: &Idle| idle.words(answer.stretches.is_some());
    all.extend(idle(prepared.expedition, &answer.schedule).iter().map(words));
    all.extend(of_targets(prepared, answer));
    (all, of_diving)
}

/// Depths, bottom times, currents and gas of each zone.
fn of_zones(prepared: &Prepared) -> Vec<String> {
    let expedition = prepared.expedition;
    let of = |(zone, diving): (&crate::design::Zone, &crate::design::ZoneDiving)| {
        let gas = expedition.gas.as_ref().and_then(|gas| flag_gas(gas, diving.depth_m, diving.bottom_minutes));
        let told = cautions_of(diving).into_iter().chain([gas]).flatten();
        told.map(|caution| format!("{}: {caution}", zone.name)).collect::<Vec<_>>()
    };
    prepared.plan.study.zones.iter().zip(&expedition.zones).flat_map(of).collect()
}

/// Zones at the same places: what that does to the plan.
fn at_the_same_places(prepared: &Prepared) -> Vec<String> {
    let name = |zone: usize| &prepared.plan.study.zones[zone].name;
    let first: Vec<String> = (prepared.tasks.tasks.iter().filter(|task| task.first.is_some()))
        .map(|task| task.name.replace('_', " "))
        .collect();
    let of = |([deep, shallow], dives): ([usize; 2], Result<OnOneDive, &str>)| {
        let told = match dives {
            Ok(of) => {
                let above = format!(
                    " What comes first ({}) comes first at each depth: on the first dive that works at {}, nobody else \
                     begins there sooner.",
                    first.join(", "),
                    name(shallow)
                );
                format!(
                    "A dive may serve both: {} first, {} minutes to move up, then {}; it is as long as one at {}, and nothing is \
                     gained by the shallower part.{}",
                    name(deep),
                    of.moving_up,
                    name(shallow),
                    name(deep),
                    if first.is_empty() { "" } else { &above }
                )
            }
            Err(why) => format!(
                "Each has team dives of its own, because {why}: on dives that serve both depths fewer may do, which is not packed."
            ),
        };
        format!(
            "{} and {} lie at the same places (sites of one number), so that the zones are not independent and places are the \
             replicates. {told} Site sets of each zone's own, and what a pilot should measure first, are not told beside them: both \
             are worked out zone by zone, and what the two depths of a place have in common is left out there.",
            name(deep),
            name(shallow)
        )
    };
    prepared.places_with_two_depths().into_iter().map(of).collect()
}

/// Dives of a day, intervals, their order, and flights.
fn of_dives(prepared: &Prepared, answer: &BudgetAnswer) -> Vec<String> {
    let (boats, rows) = (&prepared.expedition.boats, &answer.schedule);
    let several = are_several(rows);
    let mut all = Vec::new();
    if boats.dives_a_day > 1 {
        all.push(FIRST_DIVE_ONLY.to_owned());
    }
    all.extend(cautions::many_dives(boats.dives_a_day));
    all.extend(boats.clock.and_then(|clock| cautions::short_interval(clock.interval)));
    all.extend(prepared.expedition.flight_hours.and_then(|hours| cautions::early_flight(hours, several)));
    all.extend(deeper_later(rows));
    all
}

/// The first day on which a deeper dive follows a shallower one of the same diver, and whose that is. (At a place of two depths
/// some of a team dive work at the shallow part alone.)
fn deeper_later(rows: &[ScheduleRow]) -> Option<String> {
    let mut days: BTreeMap<(usize, &str), BTreeMap<usize, f64>> = BTreeMap::new();
    for row in rows {
        let deepest = days.entry((row.day, &row.diver)).or_default().entry(row.team_dive).or_insert(0.0);
        *deepest = deepest.max(row.depth_m);
    }
    let caution = |dives: BTreeMap<usize, f64>| cautions::deeper_later(&dives.into_values().collect::<Vec<_>>());
    let mut told = days.into_iter().filter_map(|((day, diver), dives)| Some((day, diver, caution(dives)?)));
    let (day, diver, caution) = told.next()?;
    let more = match told.count() {
        0 => String::new(),
        more => format!(" The same on {} more.", counted(more, "diver-day")),
    };
    Some(format!("Day {day}, {diver}: {caution}{more}"))
}

/// Work that comes first, where others begin other work at the same site while it is done.
fn work_beside_what_comes_first(prepared: &Prepared, rows: &[ScheduleRow]) -> Vec<String> {
    let first = |row: &ScheduleRow| {
        let task = prepared.tasks.tasks.iter().find(|task| task.name == row.task);
        task.and_then(|task| task.first)
    };
    // When a row begins: after those of the same diver there, and after what the pair does at the deep part of a place.
    let begins = |place: usize| {
        let row = &rows[place];
        let sum = |is_it: &dyn Fn(&ScheduleRow) -> bool| -> f64 {
            let before = rows[..place].iter().filter(|before| before.is_of_dive(row) && is_it(before));
            before.map(|before| before.minutes_asked).sum()
        };
        let elsewhere = |diver: &str| sum(&|before| before.zone != row.zone && before.diver == diver);
        let pair = rows.iter().filter(|other| other.is_of_dive(row) && other.pair == row.pair);
        let deep = pair.map(|other| elsewhere(&other.diver)).fold(0.0, f64::max);
        deep + sum(&|before| before.zone == row.zone && before.diver == row.diver)
    };
    let of_task = |task: &crate::budget::Task| {
        let wait = task.first?.minutes;
        let beside = |place: &usize| {
            let row = &rows[*place];
            let ends = begins(*place) + row.minutes_asked;
            row.task == task.name
                && (0..rows.len()).any(|other| {
                    let of = &rows[other];
                    row.is_of_dive(of)
                        && of.zone == row.zone
                        && of.diver != row.diver
                        && of.units > 0
                        && first(of).is_none()
                        && begins(other) < ends - 1e-9
                })
        };
        let place = (0..rows.len()).find(beside)?;
        let who = match task.first?.who_waits {
            WhoWaits::All => "all others",
            WhoWaits::Buddy => "the buddy alone",
        };
        Some(format!(
            "{}: other work is begun at the site while it is done ({:.0} minutes on a dive; {who} wait{} {wait:.0}). Divers near \
             by halve counts of fish (Dickens et al. 2011, PLoS ONE 6:e18965, abstract): let them wait longer or work away from \
             it.",
            task.name.replace('_', " "),
            rows[place].minutes_asked,
            if who == "all others" { "" } else { "s" },
        ))
    };
    prepared.tasks.tasks.iter().filter_map(of_task).collect()
}

/// A number of fish that is off by less than this is not warned of.
const LEAST_BIAS: f64 = 0.02;

/// How far what is written of fish is from what is there, for each target on them: a narrow error hides it.
fn bias_of_fish(prepared: &Prepared) -> Option<String> {
    let plan = prepared.plan;
    let of_target = |(target, &(_, reading)): (&Target, &(usize, usize))| {
        plan.study.fish_of(&target.indicator)?;
        let written = |zone: &usize| plan.moments(*zone, reading).mean[0] / plan.moments(*zone, reading).truth[0];
        let with_fish = 0..plan.study.zones.len();
        let with_fish: Vec<usize> = with_fish.filter(|&zone| !plan.study.zones[zone].fish.is_empty()).collect();
        let is_off = with_fish.iter().any(|zone| (written(zone) - 1.0).abs() > LEAST_BIAS);
        let hundredths = |zone: &usize| format!("{:.0}", 100.0 * written(zone));
        let in_zone = |zone: &usize| format!("{} in {}", hundredths(zone), plan.study.zones[*zone].name);
        let mut told: Vec<String> = with_fish.iter().map(hundredths).collect();
        told.dedup();
        if told.len() > 1 {
            told = with_fish.iter().map(in_zone).collect();
        }
        is_off.then(|| format!("{}: {}", target.indicator.replace('_', " "), told.join(", ")))
    };
    let targets = prepared.expedition.targets.iter().zip(&prepared.tasks.told_by);
    let told: Vec<String> = targets.filter_map(of_target).collect();
    (!told.is_empty()).then(|| {
        format!(
            "Of 100 that are there (fish, or kg) so many are written, by formula: {}. Half-widths and changes are told \
             of what is there: what is written, divided by that. A bias that stays leaves ratios as they are; another speed, width \
             or rule at the second visit looks like a change.",
            told.join("; ")
        )
    })
}

/// Depths to which divers are authorised, pairs that wait, spares, and who stands by.
fn of_people(prepared: &Prepared, answer: &BudgetAnswer) -> Vec<String> {
    let expedition = prepared.expedition;
    let mut all = Vec::new();
    let without_depth: Vec<&str> =
        expedition.divers.iter().filter(|diver| diver.depth_m.is_none()).map(|diver| diver.name.as_str()).collect();
    if !without_depth.is_empty() {
        all.push(format!("To what depth is authorised is not told of {}: write depth_m.", without_depth.join(", ")));
    }
    let zones = prepared.plan.study.zones.iter().zip(&expedition.zones).zip(&prepared.crews);
    for ((zone, diving), crew) in zones {
        let (waiting, pairs) = (expedition.pairs.len() - crew.pairs.len(), expedition.pairs.len());
        if waiting > 0 {
            let verb = if waiting == 1 { "waits" } else { "wait" };
            all.push(format!(
                "{}: {waiting} of {pairs} pairs {} not authorised to {} m and {verb} on board.",
                zone.name,
                if waiting == 1 { "is" } else { "are" },
                diving.depth_m
            ));
        }
    }
    let crew_stands_by = expedition.standby == Standby::Crew;
    all.extend(cautions::few_people(expedition.divers.len() / expedition.boats.number.max(1), crew_stands_by));
    all.extend(new_pairs_line(&answer.new_pairs));
    all.extend(crew_change(answer));
    if expedition.standby == Standby::AsTheDivingOfficerDecides {
        all.push(standby(prepared, answer));
    }
    all
}

/// What it costs that somebody leaves or comes on the way, and which plans go by whom.
fn crew_change(answer: &BudgetAnswer) -> Vec<String> {
    let Some((now, others)) = answer.what_ifs.split_first() else { return Vec::new() };
    let is_change = |what: &&WhatIf| what.what.ends_with(STAYS) || what.what.ends_with(COMES);
    let takes = |what: &WhatIf| match (what.all, what.musts) {
        (Some((days, _)), _) => format!("all targets take {}", counted(days, "day")),
        (None, Some((days, _))) => format!("the musts take {}, all targets are out of reach", counted(days, "day")),
        (None, None) => "the musts are out of reach".to_owned(),
    };
    let said: Vec<String> =
        others.iter().filter(is_change).map(|what| format!("if {}: {}", what.what, takes(what))).collect();
    if said.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "The crew changes on the way; by formula {} as it is; {}. Plans that end before a change are made with those who are \
         aboard until then, those by stretches with the crew of each, all others so that every crew can do every site; days lost to \
         weather can push dives of the former two past the change.",
        takes(now),
        said.join("; ")
    )]
}

/// Days that are full, and days lost of which nothing or nothing likely is told.
fn of_days(prepared: &Prepared, answer: &BudgetAnswer) -> Vec<String> {
    let lost = prepared.expedition.days.lost;
    let (bookable, share) = (answer.days_there(), lost.map_or(0.0, |lost| lost.share));
    let left = bookable as f64 * (1.0 - share);
    let mut all = Vec::new();
    if let Some(days) = answer.scheduled().map(|plan| plan.days)
        && days as f64 > FULL * left
    {
        let luck = if days as f64 >= left { "nothing" } else { "little" };
        let what = if answer.schedules_all() { " for all targets" } else { "" };
        all.push(format!(
            "The plan{what} takes {days} of {bookable} days, of which {left:.1} are left in the mean: {luck} is left for bad luck."
        ));
    }
    match lost {
        None => all.push("Days lost to weather are not told (lost_days_percent): no chance can be given, and no day lost is assumed.".into()),
        Some(lost) if lost.share == 0.0 => {
            all.push("No day counts as lost to weather (lost_days_percent = 0): a plan that needs every day fails with the first bad one.".into());
        }
        Some(_) => {}
    }
    all
}

/// Few degrees of freedom, methods that nothing needs, and site sets at the edge of what was looked at.
fn of_targets(prepared: &Prepared, answer: &BudgetAnswer) -> Vec<String> {
    let mut all = Vec::new();
    let zones = prepared.expedition.zones.iter().enumerate();
    if zones.into_iter().any(|(zone, diving)| diving.least_sites + prepared.done_sites(zone) < 3) {
        all.push(
            "With two sites in a zone the test's degrees of freedom are few: trust the simulation, not the formula."
                .into(),
        );
    }
    let margins = answer.scheduled().map_or(&[][..], |plan| &plan.margins);
    let told = margins.iter().filter_map(|margin| Some((margin, margin.parts()?)));
    let told: Vec<String> = told
        .map(|(margin, (by_formula, seen))| {
            let name = margin.indicator.replace('_', " ");
            format!("{name} is seen {:.0} times in 100 by formula, {:.0} simulated", 100.0 * by_formula, 100.0 * seen)
        })
        .collect();
    if !told.is_empty() {
        all.push(format!(
            "Formula and simulation part: {}. Believe the simulation; margins, days and what-ifs, which are by formula, are as far \
             off there.",
            told.join("; ")
        ));
    }
    if !answer.not_planned.is_empty() {
        all.push(format!(
            "No target asks for what {} reads: not planned.",
            answer.not_planned.join(" or ").replace('_', " ")
        ));
    }
    all.extend(answer.searched.left_out.clone());
    for task in answer.scheduled().iter().flat_map(|plan| &plan.site_set) {
        let most =
            prepared.tasks.tasks.iter().position(|of| of.name == task.method).map(|at| prepared.tasks.caps.of(at));
        if most.is_some_and(|most| task.units == usize::from(most) && task.units == task.needs) {
            all.push(format!(
                "The plan lays as many units of {} at a site as were looked at ({}): with more it might take less.",
                task.method.replace('_', " "),
                task.units
            ));
        }
    }
    all
}

/// What it costs where a pair stays up on each dive.
fn standby(prepared: &Prepared, answer: &BudgetAnswer) -> String {
    let what_if = answer.what_ifs.iter().find(|what| what.what == PAIR_STAYS_UP);
    let now = answer.all.as_ref().map(|plan| (plan.days, plan.team_dives));
    let cost = match (now, what_if.map(|what| what.all)) {
        (Some(now), Some(Some(then))) if then == now => "all targets then take as many days and team dives".to_owned(),
        (Some((now, dives)), Some(Some((days, more)))) if days == now => {
            format!("all targets then take as many days, and {more} team dives instead of {dives}")
        }
        (Some((now, _)), Some(Some((days, _)))) => format!("all targets then take {days} days instead of {now}"),
        (Some((now, _)), Some(None)) => format!("all targets, {} here, are then out of reach", counted(now, "day")),
        _ if prepared.expedition.pairs.len() < 2 => "one pair alone cannot do that".to_owned(),
        _ => "the plan then takes more".to_owned(),
    };
    format!(
        "Who stands by is left to the diving officer, and all pairs are counted as capacity. Where one of them stays up on each \
         dive, less gets done on a dive: {cost}."
    )
}

/// Why a zone can do no site set.
pub(super) enum Misfit {
    /// A unit that needs more minutes than a dive has.
    Unit { zone: String, method: String, needs: f64, has: f64 },
    /// A boat with one pair there, which stays up.
    NobodyLeft { zone: String },
    /// All together take more dives than are looked at.
    Together { zone: String },
}

impl Misfit {
    fn words(&self) -> String {
        match self {
            Misfit::Unit { zone, method, needs, has } => {
                if needs > has {
                    let [needs, has] = told_apart(*needs, *has);
                    return format!(
                        "{zone}: one of {method} takes {needs} minutes to be done in time, a dive there has {has} for work: \
                         it cannot be planned until it fits. Make a unit smaller (shorter, narrower, fewer points), give its \
                         minutes less spread (minutes_spread_percent) where they vary less."
                    );
                }
                format!(
                    "{zone}: no pair under water can do {method} (one takes {needs:.0} minutes to be done in time, a dive \
                     there has {has:.0} for work): nothing can be planned until there is a pair with the skill and depth aboard \
                     every boat, all the time, or fewer boats."
                )
            }
            Misfit::NobodyLeft { zone } => format!(
                "{zone}: on some boat one pair alone can dive there, and it stays up, so that nobody is left to dive: it takes a \
                 second pair aboard every boat, all the time, or fewer boats. Who stands by is for the diving officer to say."
            ),
            Misfit::Together { zone } => format!(
                "{zone}: one unit of everything takes more team dives at a site than are looked at; what comes first must fit \
                 into the first dive, and a pair that stays up is no capacity."
            ),
        }
    }

    /// For a table.
    pub fn short(&self) -> String {
        match self {
            Misfit::Unit { zone, method, needs, has, .. } if needs > has => {
                let [needs, has] = told_apart(*needs, *has);
                format!(
                    "{zone}: one of {method} does not fit into a dive, it takes {needs} minutes to be done in time and there are {has} for work"
                )
            }
            Misfit::Unit { zone, method, .. } => format!("{zone}: no pair under water can do {method}"),
            Misfit::NobodyLeft { zone } => format!("{zone}: some boat has one pair there, and it stays up"),
            Misfit::Together { zone } => {
                format!("{zone}: one unit of everything takes more team dives at a site than are looked at")
            }
        }
    }
}

pub(super) fn misfits(prepared: &Prepared) -> Vec<Misfit> {
    let tasks = &prepared.tasks.tasks;
    let mut all = Vec::new();
    for (zone, table) in prepared.tables.iter().enumerate() {
        let diving = &prepared.expedition.zones[zone];
        let name_of = |zone: usize| prepared.plan.study.zones[zone].name.as_str();
        let name = match prepared.dives_of(zone) {
            Some(of) => format!("{} or {}", name_of(of.deep), name_of(of.shallow)),
            None => name_of(zone).to_owned(),
        };
        let a_pair_stays_up = prepared.expedition.standby == Standby::APairStaysUp;
        if a_pair_stays_up && prepared.teams.iter().any(|team| team.crews[zone].pairs.len() < 2) {
            all.push(Misfit::NobodyLeft { zone: name });
            continue;
        }
        let methods = prepared.tasks.methods.len();
        let one = |task: usize| (0..methods).map(|of| u8::from(of == task)).collect::<Vec<u8>>();
        let alone: Vec<usize> = (0..methods).filter(|&task| table.dives(&one(task)).is_none()).collect();
        all.extend(alone.iter().map(|&task| Misfit::Unit {
            zone: name.clone(),
            method: tasks[task].name.replace('_', " "),
            needs: prepared.finish.needs(tasks, &one(task)),
            has: diving.work_minutes(),
        }));
        if alone.is_empty() && table.dives(&vec![1; methods]).is_none() {
            all.push(Misfit::Together { zone: name.clone() });
        }
    }
    all
}

pub(super) fn what_does_not_fit(prepared: &Prepared) -> Vec<String> {
    misfits(prepared).iter().map(Misfit::words).collect()
}

/// Work of an expedition that fits into no dive, with the methods and dimensions that leave least of it over; empty where all fits.
///
/// # Errors
/// Where nothing can be planned at all.
pub fn never_fits(plan: &Plan, expedition: &Expedition) -> Result<Vec<String>, NothingFits> {
    let known = Known::default();
    let mut least: Option<Vec<String>> = None;
    for way in each_way(plan, expedition) {
        let (expedition, _) = paired(plan, &way, &known);
        for dimensions in variants(plan, &expedition, &known).all {
            let misfits = what_does_not_fit(&Prepared::new(plan, &expedition, dimensions, &known)?);
            if least.as_ref().is_none_or(|least| misfits.len() < least.len()) {
                least = Some(misfits);
            }
            if least.as_ref().is_some_and(Vec::is_empty) {
                return Ok(Vec::new());
            }
        }
    }
    Ok(least.unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::super::schedule::BUDDY;
    use super::*;

    fn row(day: usize, boat: usize, team_dive: usize, zone: &str) -> ScheduleRow {
        ScheduleRow {
            day,
            boat,
            team_dive,
            depth_m: 8.0,
            bottom_minutes: 50.0,
            zone: zone.into(),
            site: 1,
            site_name: None,
            pair: 1,
            diver: "Ana".into(),
            task: BUDDY.into(),
            units: 0,
            unit_numbers: Vec::new(),
            minutes_asked: 0.0,
            dimensions: String::new(),
            finished: 1.0,
            leave_out_first: false,
        }
    }

    /// 33.2 minutes do not fit into 33, and both are not told as 33.
    #[test]
    fn what_does_not_fit_is_told_apart_from_what_there_is() {
        let misfit = Misfit::Unit { zone: "deep".into(), method: "coral belt".into(), needs: 33.2, has: 33.0 };
        assert!(misfit.words().contains("takes 33.2 minutes to be done in time, a dive there has 33.0 for work"));
        // No margin is offered for sale.
        assert!(!misfit.words().contains("finish_chance") && !misfit.words().contains("bottom time"));
    }

    /// A dive of somebody else, and of another day, is no later dive. (The plans of this program dive the deeper site first.)
    #[test]
    fn a_deeper_dive_later_on_a_day_is_warned_of() {
        let dive = |day: usize, diver: &str, team_dive: usize, depth_m: f64| ScheduleRow {
            depth_m,
            diver: diver.into(),
            ..row(day, 1, team_dive, "rim")
        };
        // Somebody else who went deep, and another day, do not count.
        let quiet = [
            dive(1, "Ana", 1, 20.0),
            dive(1, "Ana", 2, 8.0),
            dive(1, "Ben", 1, 8.0),
            dive(1, "Ben", 2, 8.0),
            dive(2, "Ana", 1, 20.0),
        ];
        assert_eq!(deeper_later(&quiet), None);
        // At one place of two depths Ana works at the shallow part, at the next at the deep one.
        let loud = [dive(1, "Ana", 1, 20.0), dive(2, "Ben", 1, 20.0), dive(2, "Ana", 1, 8.0), dive(2, "Ana", 2, 20.0)];
        let told = deeper_later(&loud).unwrap();
        assert!(told.starts_with("Day 2, Ana: a dive to 20 m follows one to 8 m") && !told.contains("The same"));
        let twice = [&loud[..], &[dive(3, "Ben", 1, 8.0), dive(3, "Ben", 2, 9.0)]].concat();
        assert!(deeper_later(&twice).unwrap().ends_with("The same on 1 diver-day more."));
    }
}
