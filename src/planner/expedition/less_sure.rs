//! Work of which one unit no longer fits into a dive as surely as asked: in that zone, and for that method alone, the spread of its
//! minutes is packed for less, by just so much that the unit fits. Nothing else gets less sure, and no dive gets longer.

use super::prepared::Prepared;
use super::tasks::Visit;
use crate::analysis::{normal_cdf, normal_quantile};
use crate::budget::Task;
use serde::Serialize;

/// One method in one zone.
#[derive(Clone, Debug, PartialEq)]
pub struct LessSure {
    pub zone: usize,
    pub task: usize,
    /// SD of the minutes over their mean that is packed for.
    pub packed_for: f64,
    pub told: LessSureTold,
}

/// How sure it is that a diver ends a unit in time, and how sure that was asked to be (so that both of a pair do).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LessSureTold {
    pub zone: String,
    pub method: String,
    pub chance: f64,
    pub asked: f64,
}

/// The tasks of a zone with the spreads that are packed for, on the visit that is planned and on the other.
#[derive(Clone, Debug)]
pub struct ZoneTasks {
    zone: usize,
    tasks: Vec<Task>,
    other_visit: Option<Vec<Task>>,
}

/// Rounding never decides what fits.
const SLACK: f64 = 1e-7;

impl Prepared<'_> {
    /// Methods of which one unit does not fit as surely as asked, in each zone, with the spread for which it just does; those that
    /// take longer than a dive in the mean fit in no way.
    pub(super) fn less_sure(&self) -> Vec<LessSure> {
        let visits = std::iter::once(&self.tasks.tasks).chain(&self.tasks.other_visit);
        let visits: Vec<&Vec<Task>> = visits.collect();
        let mut all = Vec::new();
        for zone in 0..self.tables.len() {
            let has = self.expedition.zones[zone].work_minutes();
            // Two divers, each done at as many depths as a dive serves.
            let parts = if self.dives_of(zone).is_some() { 0.25 } else { 0.5 };
            let asked = self.expedition.finish_chance.powf(parts);
            let quantile = normal_quantile(asked);
            for task in 0..self.tasks.methods.len() {
                // The mean of one unit, and its SD for a spread of 1.
                let minutes = |tasks: &&Vec<Task>| {
                    let of: &Task = &tasks[task];
                    (of.set_up + of.unit.mean, of.set_up.hypot(of.unit.mean))
                };
                let fits_for = |(mean, sd): (f64, f64)| (has - mean) / (quantile * sd);
                let (mean, sd) = visits.iter().map(minutes).fold((0.0, 1.0), |worst, of| {
                    if fits_for(of) < fits_for(worst) || worst.0 == 0.0 { of } else { worst }
                });
                let (spread, packed_for) = (self.tasks.tasks[task].unit.cv, fits_for((mean, sd)) * (1.0 - SLACK));
                if packed_for <= 0.0 || packed_for >= spread {
                    continue;
                }
                let told = LessSureTold {
                    zone: self.plan.study.zones[zone].name.clone(),
                    method: self.tasks.tasks[task].name.clone(),
                    chance: normal_cdf((has - mean) / (spread * sd)),
                    asked,
                };
                all.push(LessSure { zone, task, packed_for, told });
            }
        }
        all
    }

    /// The same expedition, with those packed for less spread.
    pub(super) fn packed_less_sure(mut self, all: &[LessSure]) -> Self {
        if all.is_empty() {
            return self;
        }
        let in_zone = |zone: usize, tasks: &[Task]| {
            let mut tasks = tasks.to_vec();
            for of in all.iter().filter(|of| of.zone == zone) {
                tasks[of.task].unit.cv = of.packed_for;
            }
            tasks
        };
        let mut zones: Vec<usize> = all.iter().map(|of| of.zone).collect();
        zones.dedup();
        let zones = zones.into_iter().map(|zone| ZoneTasks {
            zone,
            tasks: in_zone(zone, &self.tasks.tasks),
            other_visit: self.tasks.other_visit.as_ref().map(|tasks| in_zone(zone, tasks)),
        });
        self.less_sure_in = zones.collect();
        self.pack();
        self
    }

    /// The tasks of a visit as they are packed in a zone.
    pub(super) fn tasks_in(&self, zone: usize, visit: Visit) -> &[Task] {
        let less_sure = self.less_sure_in.iter().find(|of| of.zone == zone);
        less_sure.map_or(self.tasks.on(visit), |of| match &of.other_visit {
            Some(other) if visit != self.tasks.visit => other,
            _ => &of.tasks,
        })
    }
}
