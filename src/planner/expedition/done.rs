//! What was done of an expedition, as data: the units of the field sheet, sites, days.

use super::tasks::Tasks;
use crate::design::{Study, Unit};
use crate::engine::Plan;
use crate::survey::{MethodKind, Scale};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A column of the field sheet in which what a unit tells of one indicator is written.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingColumn {
    /// The indicator; with `_percent` where it is a share.
    pub column: String,
    pub indicator: String,
    /// The task whose units tell it.
    pub task: String,
    /// What is written: "percent", "per 100 m2".
    pub unit: String,
    /// What is written, times this, is in the unit of the indicator (0.01 for percent).
    pub times: f64,
    /// Least and most that may be written.
    pub least: f64,
    pub most: f64,
}

/// Larger than anything that is read.
const MOST_READ: f64 = 1e12;
/// Behind the name of a share that is written in percent.
const PERCENT: &str = "_percent";

impl ReadingColumn {
    fn of(study: &Study, indicator: &str, task: &str, kind: &MethodKind) -> Self {
        let (unit, is_share) = match study.unit_of(indicator) {
            Unit::Share => ("percent".to_owned(), true),
            Unit::Own(unit) => (unit, false),
        };
        let scale = match kind {
            MethodKind::Components(parts) if parts.indicator == indicator => Some((parts.scale, parts.floor)),
            _ => None,
        };
        // On a scale its end is not there, unless readings below a floor are written as the floor.
        let (least, most) = match scale {
            Some((Scale::Logit, _)) => (f64::MIN_POSITIVE, 1.0 - f64::EPSILON),
            Some((Scale::Ln, None)) => (f64::MIN_POSITIVE, MOST_READ),
            Some((Scale::Plain, _)) => (-MOST_READ, MOST_READ),
            _ if is_share => (0.0, 100.0),
            // A mean of logarithms.
            None if unit.is_empty() => (-MOST_READ, MOST_READ),
            _ => (0.0, MOST_READ),
        };
        Self {
            column: format!("{indicator}{}", if is_share { PERCENT } else { "" }),
            indicator: indicator.to_owned(),
            task: task.to_owned(),
            unit,
            times: if is_share { 0.01 } else { 1.0 },
            least,
            most,
        }
    }

    pub fn holds(&self, written: f64) -> bool {
        (self.least..=self.most).contains(&written)
    }

    /// What may be written, in words.
    pub fn allowed(&self) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(" ({})", self.unit) };
        let range = match (self.least, self.most) {
            (least, most) if least < 0.0 && most > 1.0 => String::new(),
            (least, most) if most <= 1.0 && least > 0.0 => " above 0 and below 1".into(),
            (least, most) if most <= 100.0 => format!(" from {least} to {most}"),
            (least, _) if least > 0.0 => " above 0".into(),
            _ => " from 0 on".into(),
        };
        format!("a number{range}{unit}, or nothing where it was not read")
    }
}

/// The columns for readings of an expedition: one for each indicator with a target.
pub fn reading_columns(plan: &Plan, tasks: &Tasks) -> Vec<ReadingColumn> {
    let mut all: Vec<ReadingColumn> = Vec::new();
    for &(task, reading) in &tasks.told_by {
        let reading = &plan.layout.readings[reading];
        let indicator = reading.indicator.name();
        // A distribution of sizes is no number.
        if reading.indicator.is_size_structure() || all.iter().any(|column| column.indicator == indicator) {
            continue;
        }
        let kind = &plan.study.methods[reading.method].kind;
        all.push(ReadingColumn::of(&plan.study, indicator, &tasks.tasks[task].name, kind));
    }
    all
}

/// A unit that was done, to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct DoneUnit {
    /// File and line: "field.csv, line 12".
    pub written_in: String,
    /// 1 or 2.
    pub visit: usize,
    /// As it was written.
    pub date: String,
    /// Day on which was dived, from 1.
    pub day: usize,
    /// Boat and team dive of that day, as they were written.
    pub dive: [String; 2],
    pub zone: usize,
    pub site: String,
    /// As it was written; empty where it was not.
    pub site_name: String,
    pub task: usize,
    pub unit: String,
    pub diver: String,
    pub minutes: f64,
    /// By column, in the unit of the indicator; `None` where nothing was written.
    pub readings: Vec<Option<f64>>,
}

impl DoneUnit {
    /// Which dive of a boat it was done on; where boat and dive were not written, which site on which day. (The two depths of
    /// a place are zones of one dive.)
    fn team_dive(&self) -> (usize, &[String; 2], Option<usize>, &str) {
        let is_told = self.dive.iter().any(|told| !told.is_empty());
        (self.day, &self.dive, (!is_told).then_some(self.zone), &self.site)
    }
}

/// A team dive that stands in a sheet.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SheetDive {
    /// The how-manieth sheet.
    pub sheet: usize,
    pub visit: usize,
    pub day: usize,
    /// Boat and team dive, as they were written.
    pub dive: [String; 2],
}

/// The field sheets as they were read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FieldData {
    pub units: Vec<DoneUnit>,
    /// Rows without minutes, and units that were interrupted: neither counts as done.
    pub not_done: usize,
    pub interrupted: Vec<DoneUnit>,
    /// The team dives of the sheets where these tell them, and whether anything was done or begun on each.
    pub dives: BTreeMap<SheetDive, bool>,
    /// Columns of which nothing is read, and reading columns that no sheet has.
    pub other_columns: Vec<String>,
    pub missing_columns: Vec<String>,
}

/// Units of each task done at one site in one visit.
pub type SiteUnits = BTreeMap<String, Vec<usize>>;

impl FieldData {
    /// By zone: the sites where something was done in a visit, with the units of each task.
    pub fn sites(&self, zones: usize, tasks: usize, visit: usize) -> Vec<SiteUnits> {
        let mut all = vec![SiteUnits::new(); zones];
        for unit in self.units.iter().filter(|unit| unit.visit == visit) {
            all[unit.zone].entry(unit.site.clone()).or_insert_with(|| vec![0; tasks])[unit.task] += 1;
        }
        all
    }

    pub fn has_visit(&self, visit: usize) -> bool {
        self.units.iter().any(|unit| unit.visit == visit)
    }

    /// Days on which somebody dived in a visit, be it that all was interrupted.
    pub fn days(&self, visit: usize) -> usize {
        self.dived(visit).map(|unit| unit.day).collect::<BTreeSet<_>>().len()
    }

    /// The last day on which somebody dived in a visit, 0 where nobody did.
    pub fn last_day(&self, visit: usize) -> usize {
        self.dived(visit).map(|unit| unit.day).max().unwrap_or(0)
    }

    /// Team dives of a visit, with those on which everything was interrupted.
    pub fn team_dives(&self, visit: usize) -> usize {
        self.dived(visit).map(DoneUnit::team_dive).collect::<BTreeSet<_>>().len()
    }

    /// Dives of divers of a visit, as far as the sheets tell them. Nobody dives alone: who has a unit was there with the buddy,
    /// by the pairs of the day, or where one is in none of them, with whoever of that dive is left.
    pub fn person_dives<'p>(&self, visit: usize, pairs_on: impl Fn(usize) -> Vec<[&'p str; 2]>) -> usize {
        let mut dives: BTreeMap<_, BTreeSet<&str>> = BTreeMap::new();
        for unit in self.dived(visit) {
            dives.entry(unit.team_dive()).or_default().insert(&unit.diver);
        }
        let divers = |day: usize, seen: &BTreeSet<&str>| {
            let pairs = pairs_on(day);
            let of_pair = |pair: &[&str; 2]| pair.iter().filter(|diver| seen.contains(*diver)).count();
            let (whole, alone) = pairs.iter().map(of_pair).fold((0, 0), |(whole, alone), number| {
                (whole + usize::from(number == 2), alone + usize::from(number == 1))
            });
            let others = seen.len() - 2 * whole - alone;
            2 * (whole + alone + others.saturating_sub(alone).div_ceil(2))
        };
        dives.iter().map(|(dive, seen)| divers(dive.0, seen)).sum()
    }

    /// Units on which somebody dived in a visit, done or interrupted.
    fn dived(&self, visit: usize) -> impl Iterator<Item = &DoneUnit> {
        self.units.iter().chain(&self.interrupted).filter(move |unit| unit.visit == visit)
    }

    /// The date of the last day of a visit, as it was written; the day where none was.
    pub fn last_date(&self, visit: usize) -> String {
        let day = self.last_day(visit);
        let date = self
            .dived(visit)
            .filter(|unit| unit.day == day)
            .map(|unit| &unit.date)
            .filter(|date| !date.is_empty())
            .last();
        date.map_or_else(|| format!("day {day}"), Clone::clone)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Who was under water on which day and dive of a boat, at which zone and site.
    fn unit(day: usize, dive: &str, (zone, site): (usize, &str), diver: &str) -> DoneUnit {
        DoneUnit {
            written_in: String::new(),
            visit: 1,
            date: String::new(),
            day,
            dive: [String::new(), dive.into()],
            zone,
            site: site.into(),
            site_name: String::new(),
            task: 0,
            unit: "1".into(),
            diver: diver.into(),
            minutes: 9.0,
            readings: Vec::new(),
        }
    }

    #[test]
    fn nobody_dived_alone() {
        let pairs = [["Ana", "Eli"], ["Ben", "Cato"]];
        let dives = |divers: &[&str]| {
            let units = divers.iter().map(|diver| unit(1, "1", (0, "1"), diver)).collect();
            FieldData { units, ..FieldData::default() }.person_dives(1, |_| pairs.to_vec())
        };
        let next_day = vec![unit(2, "1", (0, "1"), "Ana"), unit(2, "1", (0, "1"), "Ben")];
        let anew = |day: usize| if day > 1 { vec![["Ana", "Ben"]] } else { pairs.to_vec() };
        assert_eq!(FieldData { units: next_day, ..FieldData::default() }.person_dives(1, anew), 2);
        // One of a pair stands for both; a spare was with who is left of a pair, else with another.
        assert_eq!([dives(&["Ana"]), dives(&["Ana", "Eli"]), dives(&["Ana", "Ben"])], [2, 2, 4]);
        assert_eq!([dives(&["Ana", "Dita"]), dives(&["Dita"]), dives(&["Dita", "Fay"])], [2, 2, 2]);
        assert_eq!([dives(&["Ana", "Eli", "Dita"]), dives(&["Ana", "Ben", "Dita"])], [4, 4]);
    }

    #[test]
    fn dives_are_those_of_a_boat_and_day() {
        let mut data = FieldData::default();
        let of = |data: &FieldData| (data.team_dives(1), data.person_dives(1, |_| vec![["Ana", "Eli"]]));
        // Both depths of a place on one dive.
        data.units = vec![unit(1, "1", (0, "1"), "Ana"), unit(1, "1", (1, "1"), "Eli")];
        assert_eq!(of(&data), (1, 2));
        // What was interrupted was dived too.
        data.interrupted = vec![unit(1, "2", (0, "1"), "Eli"), unit(2, "1", (0, "2"), "Ana")];
        assert_eq!(of(&data), (3, 6));
        // Dives that were not written are told by zone and site.
        data.units = vec![unit(1, "", (0, "1"), "Ana"), unit(1, "", (1, "1"), "Ana")];
        data.interrupted.clear();
        assert_eq!((of(&data), data.team_dives(2)), ((2, 4), 0));
    }
}
