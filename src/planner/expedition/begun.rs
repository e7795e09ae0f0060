//! Sites that were begun and lack some of their units: which of them are finished first when the rest is planned.

use super::done::FieldData;
use super::plan::ZoneSites;
use super::prepared::Prepared;
use super::replan::Done;
use crate::budget::{Found, Units};
use crate::measures::{counted, gathered};
use serde::Serialize;
use std::collections::BTreeSet;

/// A site that is finished before new ones are begun.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BegunSite {
    pub zone: String,
    /// The how-manieth site of its zone, in the order of the draw.
    pub site: usize,
    pub team_dives: usize,
    /// What it lacks of what was to be done there.
    pub lacks: Vec<LackingUnits>,
}

/// Units of a method that a site lacks, by their numbers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LackingUnits {
    pub method: String,
    pub units: Vec<usize>,
}

/// The same as the planner needs it.
#[derive(Clone, Debug)]
pub struct Begun {
    pub zone: usize,
    pub told: BegunSite,
    /// Of each task.
    pub lacks: Units,
    /// Who does it.
    pub work: ZoneSites,
}

/// In the order in which they are tried: all that tell nothing of something, then ever fewer of these where the days left do not
/// hold all (those that take most dives are left out first; of places at two depths all or none), and last all that were begun.
pub(super) fn ways_to_finish(done: &Done, begun: Vec<Begun>) -> Vec<Vec<Begun>> {
    let mut lacking: Vec<Begun> = begun.iter().filter(|begun| done.tells_nothing_of_some(begun)).cloned().collect();
    lacking.sort_by_key(|begun| begun.told.team_dives);
    let fewest = if done.has_shared_places() { lacking.len() } else { 1 };
    let in_order = |number: usize| {
        let mut way = lacking[..number].to_vec();
        way.sort_by_key(|begun| (begun.zone, begun.told.site));
        way
    };
    let mut ways: Vec<Vec<Begun>> = (fewest..=lacking.len()).rev().map(in_order).collect();
    if begun.len() > lacking.len() {
        ways.push(begun);
    }
    ways.retain(|way| !way.is_empty());
    ways
}

impl Prepared<'_> {
    /// Begun sites that lack units and take fewer team dives to be finished than a new site of their zone takes to be done, or
    /// are all that is left there. Each depth of a place is finished by dives of its own; whether they are worth it is asked of
    /// both together, because a place counts whole.
    pub(super) fn worth_finishing(
        &self,
        done: &Done,
        (data, visit): (&FieldData, usize),
        planned: &Found,
    ) -> Vec<Begun> {
        let mut all = Vec::new();
        for zones in self.plan.study.strata() {
            let Some(&first) = zones.first() else { continue };
            for name in done.begun_at(first) {
                let Some(site) = self.number_of(first, name) else { continue };
                let lacks: Option<Vec<Units>> = zones.iter().map(|&zone| done.lacks(zone, name, planned)).collect();
                let Some(lacks) = lacks else { continue };
                // What it has some of may stay as it is.
                let whole = |(lacks, &zone): (&Units, &usize)| -> Units {
                    let has = |task: usize| done.begun[zone].get(name).is_some_and(|units| units[task] > 0);
                    lacks.iter().enumerate().map(|(task, &lacks)| if has(task) { 0 } else { lacks }).collect()
                };
                let whole: Vec<Units> = lacks.iter().zip(&zones).map(whole).collect();
                let worth = [lacks, whole].into_iter().find(|lacks| self.is_worth_diving(&zones, lacks, planned));
                for (&zone, lacks) in zones.iter().zip(worth.unwrap_or_default()) {
                    if lacks.iter().any(|&units| units > 0) {
                        all.push(self.begun((zone, site, name), lacks, (data, visit)));
                    }
                }
            }
        }
        all.sort_by_key(|begun| (begun.zone, begun.told.site));
        all
    }

    /// Begun sites that are not finished, each with what it lacks, by what that would take and why they stay so. `with_room`: days
    /// with a team dive free.
    pub(super) fn left_begun(&self, done: &Done, planned: &Found, with_room: &[usize]) -> Vec<String> {
        let mut left: Vec<(String, String)> = Vec::new();
        let mut fits_where_room_is = false;
        for (zone, sites) in done.begun.iter().enumerate() {
            for name in sites.keys() {
                let is_it = |of: &&Begun| of.zone == zone && of.told.site.to_string() == *name;
                // What was done at one depth alone is told elsewhere.
                if self.finishing.iter().any(|of| is_it(&of)) || done.not_begun_at(zone, name).is_some() {
                    continue;
                }
                let Some(lacks) = done.lacks(zone, name, planned) else { continue };
                if lacks.iter().all(|&units| units == 0) {
                    continue;
                }
                let each = self.tasks.tasks.iter().zip(&lacks).filter(|(_, units)| **units > 0);
                let told: Vec<String> = each
                    .map(|(task, &units)| {
                        format!("{} of {}", counted(usize::from(units), "unit"), task.name.replace('_', " "))
                    })
                    .collect();
                let dives = self.dives_alone(zone, &lacks);
                fits_where_room_is |= dives == Some(1);
                let why = match dives {
                    None => "what it lacks fits into none of the dives that are looked at".to_owned(),
                    Some(dives) => {
                        format!(
                            "finishing one would take {}, and dives at new sites bring more",
                            counted(dives, "team dive")
                        )
                    }
                };
                left.push((why, format!("{} {name} lacks {}", self.plan.study.zones[zone].name, told.join(", "))));
            }
        }
        let told = |(why, sites): (String, Vec<String>)| {
            format!("Begun and left as it is, counted with what was done: {}: {why}.", sites.join("; "))
        };
        let mut all: Vec<String> = gathered(left).into_iter().map(told).collect();
        if fits_where_room_is && !with_room.is_empty() {
            let days: Vec<String> = with_room.iter().map(usize::to_string).collect();
            all.push(format!(
                "A team dive is free on {} {}: a begun site that takes one more could be finished there, if the way allows.",
                if days.len() == 1 { "day" } else { "days" },
                days.join(", ")
            ));
        }
        all
    }

    /// Team dives that so many units at one site take by themselves; `None`: more than are looked at.
    pub(super) fn dives_alone(&self, zone: usize, units: &[u8]) -> Option<usize> {
        let caps = &self.tasks.caps;
        if (0..caps.tasks()).any(|task| units[task] > caps.of(task)) {
            return None;
        }
        match self.dives_of(zone) {
            None => self.tables[zone].dives(units),
            Some(_) => self.table_alone(zone).dives(units),
        }
    }

    /// Whether so many units at each depth of a site take fewer team dives than a new site, or there is no new one.
    fn is_worth_diving(&self, zones: &[usize], lacks: &[Units], planned: &Found) -> bool {
        if lacks.iter().flatten().all(|&units| units == 0) {
            return false;
        }
        let rest: Option<usize> = zones.iter().zip(lacks).map(|(&zone, lacks)| self.dives_alone(zone, lacks)).sum();
        let new: Option<usize> = zones.iter().map(|&zone| self.tables[zone].dives(&planned.units)).sum();
        match (rest, new) {
            (None, _) => false,
            (Some(_), None) => true,
            (Some(rest), Some(new)) => {
                rest < new || zones.iter().all(|&zone| self.expedition.zones[zone].most_sites == 0)
            }
        }
    }

    /// The number of a site in its zone, where it is one that can be dived at.
    fn number_of(&self, zone: usize, name: &str) -> Option<usize> {
        let number: usize = name.parse().ok().filter(|&number| number > 0)?;
        let on_the_list = |list: &crate::design::SiteList| list.of_zone(zone).count() >= number;
        self.expedition.sites.as_ref().is_none_or(on_the_list).then_some(number)
    }

    fn begun(
        &self,
        (zone, site, name): (usize, usize, &str),
        lacks: Units,
        (data, visit): (&FieldData, usize),
    ) -> Begun {
        let of_task = |(task, &number): (usize, &u8)| {
            let is_of = |unit: &&super::done::DoneUnit| {
                (unit.visit, unit.zone, unit.task, unit.site.as_str()) == (visit, zone, task, name)
            };
            let done: BTreeSet<usize> =
                data.units.iter().filter(is_of).filter_map(|unit| unit.unit.parse().ok()).collect();
            LackingUnits {
                method: self.tasks.tasks[task].name.clone(),
                units: (1..).filter(|unit| !done.contains(unit)).take(usize::from(number)).collect(),
            }
        };
        let told = lacks.iter().enumerate().filter(|(_, number)| **number > 0).map(of_task).collect();
        let mut sites = vec![0; self.tables.len()];
        sites[zone] = 1;
        let found = Found { sites, units: lacks.clone(), ..Found::nothing() };
        let work = self.zone_sites_alone(zone, &found);
        Begun {
            zone,
            told: BegunSite {
                zone: self.plan.study.zones[zone].name.clone(),
                site,
                team_dives: work.team_dives,
                lacks: told,
            },
            lacks,
            work,
        }
    }
}
