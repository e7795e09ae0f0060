//! What the first days tell of minutes and of variation, weighed against what was planned. Never of a change: means of sites
//! and of visits are taken out before anything is squared.
//!
//! Looking at variances alone while a survey runs leaves its false alarms nearly where they were (internal pilots: Shih 1992;
//! Gould & Shih 1992; as quoted in a secondary copy); looking at the change does not.

use super::done::{DoneUnit, FieldData, ReadingColumn};
use super::tasks::Tasks;
use crate::analysis::{mean, transforms, variance};
use crate::budget::{Indicator, SiteTells};
use crate::engine::Plan;
use crate::survey::{Components, MethodKind};
use crate::theory::to_scale;
use serde::Serialize;
use std::collections::BTreeMap;

/// What was planned counts like so many units, and a planned variance like one of so many degrees of freedom: a judgement.
pub const WEIGHT_OF_PLAN: f64 = 10.0;

/// Minutes of one unit of a task.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeenMinutes {
    pub task: String,
    /// Of one diver with at least ten units; `None`: of all.
    pub diver: Option<String>,
    pub planned: f64,
    /// Mean over the units that were done.
    pub seen: f64,
    pub units: usize,
    pub new: f64,
}

/// A level of variation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Units about the mean of their site and visit.
    Units,
    /// Sites about the mean of their zone and visit, what units add taken out.
    Sites,
}

/// A variance of an indicator, on the scale on which it is analysed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeenVariance {
    pub indicator: String,
    pub level: Level,
    /// What the plan expects of the same sites, seen, and both weighed.
    pub planned: f64,
    pub seen: f64,
    pub degrees_of_freedom: f64,
    pub new: f64,
}

impl SeenVariance {
    /// New over planned.
    pub fn factor(&self) -> f64 {
        if self.planned > 0.0 { self.new / self.planned } else { 1.0 }
    }
}

/// Everything that is learned.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Seen {
    pub minutes: Vec<SeenMinutes>,
    pub variances: Vec<SeenVariance>,
}

/// What was planned and what was seen, weighed.
fn weighed(planned: f64, seen_sum: f64, number: f64) -> f64 {
    (WEIGHT_OF_PLAN * planned + seen_sum) / (WEIGHT_OF_PLAN + number)
}

/// Minutes of each task, of all divers and of those with enough units.
pub fn seen_minutes(tasks: &Tasks, data: &FieldData) -> Vec<SeenMinutes> {
    let mut all = Vec::new();
    for (index, task) in tasks.tasks.iter().enumerate() {
        let of_task: Vec<&DoneUnit> = data.units.iter().filter(|unit| unit.task == index).collect();
        let told = |diver: Option<&str>| {
            let minutes = of_task.iter().filter(|unit| diver.is_none_or(|diver| unit.diver == diver));
            let (sum, units) = minutes.fold((0.0, 0), |(sum, number), unit| (sum + unit.minutes, number + 1));
            let planned = task.unit.mean;
            let new = weighed(planned, sum, f64::from(units));
            let seen = sum / f64::from(units);
            let diver = diver.map(str::to_owned);
            SeenMinutes { task: task.name.clone(), diver, planned, seen, units: units as usize, new }
        };
        if of_task.is_empty() {
            continue;
        }
        all.push(told(None));
        let mut divers: Vec<&str> =
            of_task.iter().map(|unit| unit.diver.as_str()).filter(|name| !name.is_empty()).collect();
        divers.sort_unstable();
        divers.dedup();
        let of_divers = divers.into_iter().map(|diver| told(Some(diver)));
        all.extend(of_divers.filter(|told| told.units as f64 >= WEIGHT_OF_PLAN));
    }
    all
}

/// Sums of squares with their degrees of freedom and what the plan expects of them.
#[derive(Clone, Copy, Debug, Default)]
struct Pool {
    seen: f64,
    planned: f64,
    df: f64,
}

impl Pool {
    /// A variance with its degrees of freedom.
    fn push(&mut self, seen: f64, planned: f64, df: f64) {
        self.seen += df * seen;
        self.planned += df * planned;
        self.df += df;
    }

    fn told(self, indicator: &str, level: Level) -> Option<SeenVariance> {
        let (planned, seen) = (self.planned / self.df, (self.seen / self.df).max(0.0));
        let new = weighed(planned, self.df * seen, self.df);
        let indicator = indicator.to_owned();
        (self.df > 0.0 && new.is_finite()).then_some(SeenVariance {
            indicator,
            level,
            planned,
            seen,
            degrees_of_freedom: self.df,
            new,
        })
    }
}

/// Variances of every indicator of which readings were written down.
pub fn seen_variances(plan: &Plan, tasks: &Tasks, columns: &[ReadingColumn], data: &FieldData) -> Vec<SeenVariance> {
    let readings = &plan.layout.readings;
    let mut all = Vec::new();
    for (column, of) in columns.iter().enumerate() {
        let told_by = tasks.told_by.iter().map(|&(_, reading)| reading);
        let Some(reading) = told_by.into_iter().find(|&reading| readings[reading].indicator.name() == of.indicator)
        else {
            continue;
        };
        let groups = Readings::of(plan, reading, column, data);
        let units = groups.within();
        let factor = units.told("", Level::Units).map_or(1.0, |units| units.factor());
        all.extend(units.told(&of.indicator, Level::Units));
        all.extend(groups.between(factor).told(&of.indicator, Level::Sites));
    }
    all
}

/// Readings of one indicator, on its scale, by visit, zone and site.
struct Readings<'a> {
    plan: &'a Plan,
    reading: usize,
    of: BTreeMap<(usize, usize), BTreeMap<String, Vec<f64>>>,
}

impl<'a> Readings<'a> {
    fn of(plan: &'a Plan, reading: usize, column: usize, data: &FieldData) -> Self {
        let mut of: BTreeMap<(usize, usize), BTreeMap<String, Vec<f64>>> = BTreeMap::new();
        for unit in &data.units {
            if let Some(value) = unit.readings[column] {
                let value = on_scale(plan, reading, value);
                of.entry((unit.visit, unit.zone)).or_default().entry(unit.site.clone()).or_default().push(value);
            }
        }
        Self { plan, reading, of }
    }

    /// By how much squares are multiplied, of what was seen in a zone and visit and of what is planned: where sites are compared
    /// on a scale (counts on ln), squares go with the square of its slope at the mean of that visit.
    fn slopes(&self, visit: usize, zone: usize, sites: &BTreeMap<String, Vec<f64>>) -> (f64, f64) {
        let most = self.plan.layout.readings[self.reading].units.len() - 1;
        let scale = self.plan.scale(self.reading, most);
        if scale == transforms::Scale::Plain {
            return (1.0, 1.0);
        }
        let mean = sites.values().map(|values| mean(values)).sum::<f64>() / sites.len() as f64;
        let planned = self.plan.moments(zone, self.reading).mean[self.state(visit)];
        (scale.slope(mean).powi(2), scale.slope(planned).powi(2))
    }

    /// The state whose law is compared with a visit: of the second the one without a change.
    fn state(&self, visit: usize) -> usize {
        (visit - 1).min(self.plan.states - 1)
    }

    fn within(&self) -> Pool {
        let mut pool = Pool::default();
        for (&(visit, zone), sites) in &self.of {
            let moments = self.plan.moments(zone, self.reading);
            let (seen, planned) = self.slopes(visit, zone, sites);
            for values in sites.values().filter(|values| values.len() > 1 && seen.is_finite()) {
                let number = values.len() as f64;
                let expected = moments.within_site(self.state(visit), number);
                pool.push(seen * variance(values), planned * expected, number - 1.0);
            }
        }
        pool
    }

    /// Between sites, with the variance of units that many times the planned one taken out.
    fn between(&self, factor_of_units: f64) -> Pool {
        let mut pool = Pool::default();
        for (&(visit, zone), sites) in self.of.iter().filter(|(_, sites)| sites.len() > 1) {
            let moments = self.plan.moments(zone, self.reading);
            let (seen, planned) = self.slopes(visit, zone, sites);
            let means: Vec<f64> = sites.values().map(|values| mean(values)).collect();
            let state = self.state(visit);
            let over_sites = |of: &dyn Fn(f64) -> f64| {
                sites.values().map(|values| of(values.len() as f64)).sum::<f64>() / sites.len() as f64
            };
            let of_units =
                over_sites(&|number| planned * factor_of_units * moments.within_site(state, number) / number);
            let expected = over_sites(&|number| planned * moments.pair_of(state, number));
            if seen.is_finite() {
                pool.push(seen * variance(&means) - of_units, expected, sites.len() as f64 - 1.0);
            }
        }
        pool
    }
}

/// A reading on the scale of a by-components method; as it is of all others.
pub fn on_scale(plan: &Plan, reading: usize, value: f64) -> f64 {
    match components_of(plan, reading) {
        Some(parts) => to_scale(parts.scale, parts.floor.map_or(value, |floor| value.max(floor))),
        None => value,
    }
}

/// The components of a reading that has no virtual reef.
pub fn components_of(plan: &Plan, reading: usize) -> Option<&Components> {
    match &plan.study.methods[plan.layout.readings[reading].method].kind {
        MethodKind::Components(parts) => Some(parts),
        _ => None,
    }
}

impl Seen {
    /// What a variance of an indicator is to be multiplied by; 1 where nothing was seen.
    pub fn factor(&self, indicator: &str, level: Level) -> f64 {
        let of = self.variances.iter().find(|seen| seen.indicator == indicator && seen.level == level);
        of.map_or(1.0, SeenVariance::factor)
    }

    /// The components with the new variances; what moves in the years of a site stays as it was planned, for one visit does
    /// not tell it.
    pub fn components(&self, parts: &Components) -> Components {
        let years = parts.site_year_sd.powi(2);
        let sites = self.factor(&parts.indicator, Level::Sites) * (parts.between_sites_sd.powi(2) + years);
        Components {
            between_units_sd: parts.between_units_sd * self.factor(&parts.indicator, Level::Units).sqrt(),
            between_sites_sd: (sites - years).max(0.0).sqrt(),
            ..parts.clone()
        }
    }

    /// Puts the new variances into what one site tells, where the law of the reef gave it: what goes with units, and, where it
    /// holds that sites differ in one visit, the rest.
    pub fn scale(&self, indicator: &mut Indicator, sites_differ: bool) {
        let units = self.factor(&indicator.name, Level::Units);
        let sites = if sites_differ { self.factor(&indicator.name, Level::Sites) } else { 1.0 };
        let places = indicator.places.iter_mut().map(|places| &mut places.tells);
        for zone in indicator.sites.iter_mut().chain(places) {
            let one = zone.get(1).map_or(f64::NAN, |site| site.variance);
            let few = zone.get(2).copied();
            for (number, site) in zone.iter_mut().enumerate().skip(1) {
                // What units share is what is left of a unit's variance when that of n units is known; of one unit by itself
                // that of two is taken.
                let (number, whole) = match (number, few) {
                    (1, Some(two)) => (2.0, two.variance),
                    (1, None) => continue,
                    _ => (number as f64, site.variance),
                };
                let shared = (whole - one / number) / (1.0 - 1.0 / number);
                let of_units = site.variance - shared;
                *site = SiteTells { variance: (sites * shared + units * of_units).max(0.0), ..*site };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::Need;

    fn seen(units: f64, sites: f64) -> Seen {
        let of = |level, new| SeenVariance {
            indicator: "cover".into(),
            level,
            planned: 2.0,
            seen: new,
            degrees_of_freedom: 10.0,
            new,
        };
        Seen { minutes: Vec::new(), variances: vec![of(Level::Units, 2.0 * units), of(Level::Sites, 2.0 * sites)] }
    }

    /// Of `shared + units / n` each part goes with its own factor; other indicators stay.
    #[test]
    fn parts_of_a_variance_are_scaled_each_by_its_own() {
        let one =
            |n: usize, shared: f64, units: f64| SiteTells { variance: shared + units / n as f64, concentration: 0.5 };
        let all = |shared: f64, units: f64| (0..=6).map(|n| one(n, shared, units)).collect::<Vec<_>>();
        let indicator = Indicator {
            name: "cover".into(),
            task: 0,
            is_must: true,
            weight: 1.0,
            sites: vec![all(0.3, 0.8), all(0.0, 0.5)],
            floor: vec![0.0; 7],
            target: 1.0,
            need: Need::Constant(1.0),
            done: Vec::new(),
            places: Vec::new(),
        };
        for (sites_differ, shared) in [(true, 0.6), (false, 0.3)] {
            let mut scaled = indicator.clone();
            seen(1.5, 2.0).scale(&mut scaled, sites_differ);
            for (zone, expected) in [all(shared, 1.2), all(0.0, 0.75)].iter().enumerate() {
                for n in 1..=6 {
                    let apart = scaled.sites[zone][n].variance / expected[n].variance - 1.0;
                    assert!(apart.abs() < 1e-12, "{zone} {n} {apart}");
                }
            }
        }
        let mut other = Indicator { name: "rubble".into(), ..indicator.clone() };
        seen(1.5, 2.0).scale(&mut other, true);
        let apart = other.sites[0].iter().zip(&indicator.sites[0]).skip(1);
        assert!(apart.into_iter().all(|(a, b)| (a.variance / b.variance - 1.0).abs() < 1e-12));
    }

    /// 36 lines of 15 minutes where 12 were planned, and 30 degrees of freedom of .036 where .030 was: by hand.
    #[test]
    fn what_was_planned_weighs_like_ten() {
        assert!((weighed(12.0, 36.0 * 15.0, 36.0) - 660.0 / 46.0).abs() < 1e-12);
        let mut pool = Pool::default();
        (0..6).for_each(|_| pool.push(0.036, 0.030, 5.0));
        let told = pool.told("cover", Level::Units).unwrap();
        assert!(
            (told.new - 0.0345).abs() < 1e-12
                && (told.factor() - 1.15).abs() < 1e-12
                && told.degrees_of_freedom == 30.0
        );
        assert_eq!(Pool::default().told("cover", Level::Units), None);
    }
}
