//! The end of an expedition: what was planned and what came. Precision and effort; no power.

use super::answer::Confirming;
use super::done::{FieldData, ReadingColumn, reading_columns};
use super::indicators::{fish_written_over_there, one_visit};
use super::prepared::NothingFits;
use super::replan::Open;
use super::seen::{components_of, on_scale};
use super::visit_money::VisitMoney;
use crate::analysis::{Part, mean, satterthwaite, t_quantile, variance};
use crate::budget::Hold;
use crate::engine::Plan;
use crate::survey::Scale;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// What was planned and what came; reports only render it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finished {
    pub visit: usize,
    pub days: PlannedAndCame,
    pub team_dives: PlannedAndCame,
    pub zones: Vec<(String, PlannedAndCame)>,
    pub tasks: Vec<TaskDone>,
    pub reached: Vec<Reached>,
    /// What was planned and what was spent; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<VisitMoney>,
    /// Level of the intervals.
    pub level: f64,
    pub units_not_done: usize,
    pub units_interrupted: usize,
    /// Why no power is told.
    pub why_no_power: &'static str,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PlannedAndCame {
    /// `None` where there was no plan.
    pub planned: Option<usize>,
    pub came: usize,
}

/// Units of a task and the minutes they took, in the visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TaskDone {
    pub task: String,
    pub units: PlannedAndCame,
    pub minutes_a_unit_planned: f64,
    /// `None` where nothing was done.
    pub minutes_a_unit: Option<f64>,
    pub minutes: f64,
}

/// Precision of the mean of the visit over the zones, in the unit of the indicator.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reached {
    pub indicator: String,
    pub sites: usize,
    pub mean: Option<f64>,
    /// Of fish: what is written over what is there at the first visit, by formula. Mean and half-widths are as written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written_over_there: Option<f64>,
    /// Of its interval; `None` with fewer than two sites in a zone.
    pub half_width: Option<f64>,
    pub half_width_planned: Option<f64>,
    /// Degrees of freedom of both intervals, and by how many of its standard errors each reaches (t).
    pub degrees_of_freedom: Option<f64>,
    pub degrees_of_freedom_planned: Option<f64>,
    pub reach: Option<f64>,
    pub reach_planned: Option<f64>,
    /// The zone with the fewest sites of those that were read.
    pub fewest_sites: (String, usize),
    /// Of zones at the same places: places that were read at one depth alone, which tell nothing of the whole.
    #[serde(skip_serializing_if = "is_none")]
    pub places_at_one_depth: usize,
    /// Standard error over the mean, with its own standard error (of a variance of so many degrees of freedom).
    pub cv: Option<f64>,
    pub cv_error: Option<f64>,
    pub cv_planned: Option<f64>,
}

/// Said instead of a power.
pub const WHY_NO_POWER: &str = "No power is told after the fact: worked out from what was found it says the same once more as \
    the interval, which says it better (Hoenig & Heisey 2001, The American Statistician 55:19-24; from memory).";

/// # Errors
/// Where nothing could have been planned at all.
pub fn finished(
    open: &Open,
    (data, visit): (&FieldData, usize),
    confirming: &Confirming,
) -> Result<Finished, NothingFits> {
    let (prepared, planned) = open.design_under_way(confirming)?;
    let plan = prepared.plan;
    let planned = planned.as_ref();
    let done = data.sites(prepared.tables.len(), prepared.tasks.tasks.len(), visit);
    let sites_planned: Option<usize> = planned.map(|found| found.sites.iter().map(|&sites| usize::from(sites)).sum());
    let tasks = prepared.tasks.tasks.iter().enumerate().map(|(index, task)| {
        let minutes =
            || data.units.iter().filter(|unit| unit.visit == visit && unit.task == index).map(|unit| unit.minutes);
        let (came, sum) = (minutes().count(), minutes().sum::<f64>());
        TaskDone {
            task: task.name.clone(),
            units: PlannedAndCame {
                planned: planned
                    .zip(sites_planned)
                    .and_then(|(found, sites)| Some(sites * usize::from(*found.units.get(index)?))),
                came,
            },
            minutes_a_unit_planned: task.unit.mean,
            minutes_a_unit: (came > 0).then(|| sum / came as f64),
            minutes: sum,
        }
    });
    let level = 1.0 - plan.study.test.alpha;
    let columns = reading_columns(plan, &prepared.tasks);
    let reached = columns.iter().enumerate().filter_map(|(index, column)| {
        let told_by = prepared.tasks.told_by.iter();
        let name = |reading: usize| plan.layout.readings[reading].indicator.name();
        let &(task, reading) = told_by.clone().find(|&&(_, reading)| name(reading) == column.indicator)?;
        let units = planned.map(|found| (found.sites.as_slice(), usize::from(found.units[task])));
        Some(OneVisit { plan, reading, visit, level }.reached(column, index, data, units))
    });
    let cost = planned.and_then(|found| prepared.told(found, Hold::All).cost);
    // Where days were lost the sheets may number those that were dived on past them.
    let days_gone = data.days(visit).max(data.last_day(visit));
    Ok(Finished {
        visit,
        money: prepared.visit_money((data, visit), (days_gone, true), (cost.as_ref(), None)),
        days: PlannedAndCame { planned: planned.map(|found| found.days), came: data.days(visit) },
        team_dives: PlannedAndCame { planned: planned.map(|found| found.team_dives), came: data.team_dives(visit) },
        zones: done
            .iter()
            .enumerate()
            .map(|(zone, sites)| {
                let planned = planned.map(|found| usize::from(found.sites[zone]));
                (plan.study.zones[zone].name.clone(), PlannedAndCame { planned, came: sites.len() })
            })
            .collect(),
        tasks: tasks.collect(),
        reached: reached.collect(),
        level,
        units_not_done: data.not_done,
        units_interrupted: data.interrupted.len(),
        why_no_power: WHY_NO_POWER,
    })
}

/// The mean of a reading at one visit, over zones.
struct OneVisit<'a> {
    plan: &'a Plan,
    reading: usize,
    visit: usize,
    level: f64,
}

impl OneVisit<'_> {
    /// What is replicated of zones with the same places, or of one zone: the weighted sums of what the zones have there. A place
    /// counts once it was read at both depths.
    fn replicates(&self, by_site: &[BTreeMap<&str, Vec<f64>>], zones: &[usize]) -> Vec<f64> {
        let part = |zone: usize, site: &str| {
            let values = by_site[zone].get(site)?;
            Some(self.plan.study.zones[zone].weight * mean(values))
        };
        let whole = |site: &&str| -> Option<f64> { zones.iter().map(|&zone| part(zone, site)).sum() };
        by_site[zones[0]].keys().filter_map(whole).collect()
    }

    fn reached(
        &self,
        column: &ReadingColumn,
        index: usize,
        data: &FieldData,
        planned: Option<(&[u16], usize)>,
    ) -> Reached {
        let zones = &self.plan.study.zones;
        let mut by_site: Vec<BTreeMap<&str, Vec<f64>>> = vec![BTreeMap::new(); zones.len()];
        for unit in data.units.iter().filter(|unit| unit.visit == self.visit) {
            if let Some(value) = unit.readings[index] {
                by_site[unit.zone].entry(&unit.site).or_default().push(on_scale(self.plan, self.reading, value));
            }
        }
        let strata = self.plan.study.strata();
        let replicates: Vec<Vec<f64>> = strata.iter().map(|of| self.replicates(&by_site, of)).collect();
        let told = replicates.iter().all(|values| !values.is_empty());
        let place: f64 = replicates.iter().map(|values| mean(values)).sum();
        let has_error = replicates.iter().all(|values| values.len() > 1);
        let part = |values: &Vec<f64>| {
            let number = values.len() as f64;
            Part { variance: variance(values) / number, df: number - 1.0 }
        };
        let came = has_error.then(|| satterthwaite(&replicates.iter().map(part).collect::<Vec<_>>()));
        let expected = planned.map(|(sites, units)| one_visit(self.plan, self.reading, sites, units));
        let counted = |zone: usize| -> usize {
            let of_stratum = strata.iter().zip(&replicates).find(|(of, _)| of.contains(&zone));
            of_stratum.map_or(0, |(_, values)| values.len())
        };
        let at_one_depth = strata.iter().zip(&replicates).filter(|(of, _)| of.len() > 1).map(|(of, values)| {
            let read: BTreeSet<&str> = of.iter().flat_map(|&zone| by_site[zone].keys().copied()).collect();
            read.len() - values.len()
        });
        let truth = (0..zones.len()).map(|zone| zones[zone].weight * self.plan.moments(zone, self.reading).mean[0]);
        let planned_at: f64 = truth.sum();
        let at = if told { place } else { planned_at };
        let scale = components_of(self.plan, self.reading).map_or(Scale::Plain, |parts| parts.scale);
        let (value, slope) = (scale.value(at), scale.slope(at));
        let reach = |part: Part| t_quantile(0.5 + 0.5 * self.level, part.df);
        let half_width = |part: Part| reach(part) * part.variance.sqrt() * slope;
        let fewest = (0..zones.len()).min_by_key(|&zone| counted(zone)).unwrap_or(0);
        let cv_at = |part: Part, at: f64| part.variance.sqrt() * scale.slope(at) / scale.value(at).abs();
        let cv = |part: Part| cv_at(part, at);
        Reached {
            indicator: column.indicator.clone(),
            sites: (0..zones.len()).map(counted).sum(),
            mean: told.then_some(value),
            written_over_there: fish_written_over_there(self.plan, self.reading),
            half_width: came.map(half_width),
            half_width_planned: expected.map(half_width).filter(|half| half.is_finite()),
            degrees_of_freedom: came.map(|part| part.df).filter(|df| df.is_finite()),
            degrees_of_freedom_planned: expected.map(|part| part.df).filter(|df| df.is_finite()),
            reach: came.map(reach).filter(|reach| reach.is_finite()),
            reach_planned: expected.map(reach).filter(|reach| reach.is_finite()),
            fewest_sites: (zones[fewest].name.clone(), counted(fewest)),
            places_at_one_depth: at_one_depth.sum(),
            cv: came.map(cv).filter(|cv| cv.is_finite()),
            // An SD of so many degrees of freedom is known to 1 / sqrt(2 df) of itself.
            cv_error: came.map(|part| cv(part) / (2.0 * part.df).sqrt()).filter(|error| error.is_finite()),
            // Over the mean that was expected, as the plan told it.
            cv_planned: expected.map(|part| cv_at(part, planned_at)).filter(|cv| cv.is_finite()),
        }
    }
}

fn is_none(number: &usize) -> bool {
    *number == 0
}
