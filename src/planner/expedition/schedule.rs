//! The days of a plan, dive by dive and diver by diver.

use super::answer::ZoneSites;
use super::prepared::Prepared;
use crate::budget::schedule::{SiteVisit, days};
use crate::budget::{Found, PairDive, Task, Units};
use serde::Serialize;

/// One diver on one dive with one task; a diver without any is there as the buddy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScheduleRow {
    /// Day on which can be dived, and boat, from 1.
    pub day: usize,
    pub boat: usize,
    /// Team dive of that boat and day, from 1.
    pub team_dive: usize,
    pub zone: String,
    /// The how-manieth site of its zone, in the order of the draw.
    pub site: usize,
    /// Place of the pair in the expedition's list, from 1.
    pub pair: usize,
    pub diver: String,
    /// The method, or `buddy`.
    pub task: String,
    pub units: usize,
    /// Asked for, mean of what is assumed, setting up included; never a time allowed.
    pub minutes_asked: f64,
    /// What was chosen for the method; empty where it has no dimensions.
    pub dimensions: String,
    /// Chance that both divers of the pair are done in the minutes of work of this dive.
    pub finished: f64,
    /// Whether a diver who runs late leaves out a unit of this first.
    pub leave_out_first: bool,
}

/// All rows of a plan, from who does what at a site of each zone. Holds exactly the units of the plan.
pub fn schedule(prepared: &Prepared, found: &Found, zones: &[ZoneSites]) -> Vec<ScheduleRow> {
    let dives: Vec<usize> = zones.iter().map(|zone| zone.team_dives).collect();
    let boats = prepared.expedition.boats.number.max(1);
    let mut rows = Vec::new();
    for (index, mut visits) in days(&prepared.day, &found.sites, &dives).into_iter().enumerate() {
        // The deeper site of a day first.
        let depth = |visit: &SiteVisit| prepared.expedition.zones[visit.zone].depth_m;
        visits.sort_by(|one, other| depth(other).total_cmp(&depth(one)));
        let mut team_dive = 0;
        for visit in &visits {
            for dive in visit.first_dive..visit.first_dive + visit.dives {
                team_dive += 1;
                let at = (index / boats + 1, index % boats + 1, team_dive);
                let work = zones[visit.zone].work_of(at.0, at.1);
                for pair_dive in work.iter().filter(|of| of.team_dive == dive) {
                    rows.extend(rows_of((prepared, found), at, visit, pair_dive));
                }
            }
        }
    }
    rows
}

fn rows_of(
    (prepared, found): (&Prepared, &Found),
    (day, boat, team_dive): (usize, usize, usize),
    visit: &SiteVisit,
    dive: &PairDive,
) -> Vec<ScheduleRow> {
    let tasks = &prepared.tasks.tasks;
    let pairs = &prepared.expedition.pairs;
    let pair = pairs.iter().position(|&(one, other)| (one, other) == (dive.pair.0, dive.pair.1)).unwrap_or(0) + 1;
    let mut rows = Vec::new();
    let finished = prepared.finish.chance(tasks, &dive.work, prepared.expedition.zones[visit.zone].work_minutes());
    for (diver, own) in [(dive.pair.0, &dive.work.one), (dive.pair.1, &dive.work.other)] {
        let dimensions = |task: &str| {
            let place = tasks.iter().position(|of| of.name == task);
            place.map_or(String::new(), |place| prepared.dimensions[prepared.tasks.methods[place]].label())
        };
        let first_out = prepared.leave_out_first(found, visit.zone, [own, &dive.work.both]);
        let row = |task: &str, units: u8, minutes_asked: f64| ScheduleRow {
            day,
            boat,
            team_dive,
            zone: prepared.plan.study.zones[visit.zone].name.clone(),
            site: visit.site + 1,
            pair,
            diver: prepared.expedition.divers[diver].name.clone(),
            task: task.to_owned(),
            units: usize::from(units),
            minutes_asked,
            dimensions: dimensions(task),
            finished,
            leave_out_first: first_out.is_some_and(|out| tasks[out].name == task),
        };
        let before = rows.len();
        for (units, of_both) in [(own, false), (&dive.work.both, true)] {
            let mut done: Vec<(&Task, u8)> =
                tasks.iter().zip((units as &Units).iter().copied()).filter(|(_, number)| *number > 0).collect();
            // What comes first stands first.
            done.sort_by_key(|(task, _)| task.first.is_none());
            for (task, number) in done {
                let minutes = minutes(task, number);
                // Work of both stands in the rows of both and counts once, in those of the first.
                let number = if of_both && diver != dive.pair.0 { 0 } else { number };
                rows.push(row(&task.name, number, minutes));
            }
        }
        if rows.len() == before {
            rows.push(row("buddy", 0, 0.0));
        }
    }
    rows
}

fn minutes(task: &Task, units: u8) -> f64 {
    task.set_up + f64::from(units) * task.unit.mean
}
