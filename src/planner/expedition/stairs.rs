//! What one unit more or less of a method costs and gives, all else as planned: units are free until they cost a dive.

use super::indicators::amounts;
use super::prepared::Prepared;
use crate::budget::{DayPacking, Found};
use serde::Serialize;

/// One method, from one unit at a site to the most that are looked at.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stair {
    pub method: String,
    pub planned: usize,
    /// Whether it comes before other work, and so on the first team dive of a site alone.
    pub comes_first: bool,
    pub steps: Vec<StairStep>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StairStep {
    pub units: usize,
    /// Team dives at a site of each zone; `None`: more than are looked at, or what comes first does not fit the first of them.
    pub team_dives: Vec<Option<usize>>,
    /// Days for the sites of the plan; `None` where a zone has none.
    pub days: Option<usize>,
    /// Of the targets that this method tells.
    pub margins: Vec<StairMargin>,
}

/// As in [`Margin`](super::Margin), by formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StairMargin {
    pub indicator: String,
    pub margin: f64,
    pub achieved: f64,
}

pub fn stairs(prepared: &Prepared, found: &Found) -> Vec<Stair> {
    let mut packing = DayPacking::new(&prepared.day);
    let weights = prepared.weights();
    (0..found.units.len())
        .map(|task| {
            let mut step = |number: u8| {
                let mut units = found.units.clone();
                units[task] = number;
                let team_dives: Vec<Option<usize>> = prepared.tables.iter().map(|table| table.dives(&units)).collect();
                let days = prepared.takes(&mut packing, &found.sites, &units).map(|(days, _)| days);
                let targets = prepared.expedition.targets.iter().zip(&prepared.indicators);
                let told = targets.zip(&prepared.tasks.told_by).filter(|((_, indicator), _)| indicator.task == task);
                StairStep {
                    units: usize::from(number),
                    team_dives,
                    days,
                    margins: told
                        .map(|((target, indicator), &(_, reading))| {
                            let margin = indicator.margin(&weights, &found.sites, usize::from(number));
                            StairMargin {
                                indicator: target.indicator.clone(),
                                margin,
                                achieved: amounts(prepared.plan, target, reading, margin).1,
                            }
                        })
                        .collect(),
                }
            };
            Stair {
                method: prepared.tasks.tasks[task].name.clone(),
                planned: usize::from(found.units[task]),
                comes_first: prepared.tasks.tasks[task].first.is_some(),
                steps: (1..=prepared.tasks.caps.of(task)).map(&mut step).collect(),
            }
        })
        .collect()
}
