//! Sites that were begun and lack some of their units: which of them are finished first when the rest is planned.

use super::done::FieldData;
use super::plan::ZoneSites;
use super::prepared::Prepared;
use super::replan::Done;
use crate::budget::{Found, Units};
use crate::measures::counted;
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

impl Prepared<'_> {
    /// Begun sites that lack units and take fewer team dives to be finished than a new site of their zone takes to be done, or
    /// are all that is left there. Places of two depths are not finished.
    pub(super) fn worth_finishing(
        &self,
        done: &Done,
        (data, visit): (&FieldData, usize),
        planned: &Found,
    ) -> Vec<Begun> {
        let mut all = Vec::new();
        let by_itself = |zone: &usize| !self.plan.shared_strata().any(|stratum| stratum.contains(zone));
        for zone in (0..self.tables.len()).filter(by_itself) {
            for (name, units) in &done.begun[zone] {
                let Some(site) = self.number_of(zone, name) else { continue };
                let Some(lacks) = done.lacks(zone, name, planned) else { continue };
                // What it has some of may stay as it is.
                let whole = |(&lacks, &units): (&u8, &usize)| if units == 0 { lacks } else { 0 };
                let whole: Units = lacks.iter().zip(units).map(whole).collect();
                let worth = [lacks, whole].into_iter().find(|lacks| self.is_worth_diving(zone, lacks, planned));
                if let Some(lacks) = worth {
                    all.push(self.begun((zone, site, name), lacks, (data, visit)));
                }
            }
        }
        all.sort_by_key(|begun| (begun.zone, begun.told.site));
        all
    }

    /// Begun sites that are not finished, each with what it lacks, what that would take, and why it stays so. `with_room`: days
    /// with a team dive free.
    pub(super) fn left_begun(&self, done: &Done, planned: &Found, with_room: &[usize]) -> Vec<String> {
        let mut all = Vec::new();
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
                let told: Vec<String> =
                    each.map(|(task, units)| format!("{} {units}", task.name.replace('_', " "))).collect();
                let dives = self.dives_alone(zone, &lacks);
                fits_where_room_is |= dives == Some(1);
                let shares = self.plan.shared_strata().any(|stratum| stratum.contains(&zone));
                let why = match dives {
                    None => "they fit into none of the dives that are looked at".to_owned(),
                    Some(dives) => {
                        let more = counted(dives, "team dive");
                        let why = if shares {
                            "which is not planned at places with two depths"
                        } else {
                            "which new sites make more of"
                        };
                        format!("finishing it would take {more} more, {why}")
                    }
                };
                all.push(format!(
                    "{} {name} was begun and lacks {}. It stays so: {why}. It counts with what there is.",
                    self.plan.study.zones[zone].name,
                    told.join(", ")
                ));
            }
        }
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
    fn dives_alone(&self, zone: usize, units: &[u8]) -> Option<usize> {
        let caps = &self.tasks.caps;
        if (0..caps.tasks()).any(|task| units[task] > caps.of(task)) {
            return None;
        }
        match self.dives_of(zone) {
            None => self.tables[zone].dives(units),
            Some(_) => self.table_alone(zone).dives(units),
        }
    }

    /// Whether so many units take fewer team dives than a new site of the zone, or there is no new one.
    fn is_worth_diving(&self, zone: usize, lacks: &[u8], planned: &Found) -> bool {
        if lacks.iter().all(|&units| units == 0) {
            return false;
        }
        match (self.dives_alone(zone, lacks), self.tables[zone].dives(&planned.units)) {
            (None, _) => false,
            (Some(_), None) => true,
            (Some(rest), Some(new)) => rest < new || self.expedition.zones[zone].most_sites == 0,
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
        let work = self.zone_sites(zone, &found);
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
