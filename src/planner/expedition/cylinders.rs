//! Cylinders of an expedition, as a count.

use super::prepared::Prepared;
use super::schedule::ScheduleRow;
use crate::budget::gas::{GAS_CAUTION, flag_gas, gas_minutes};
use crate::design::ZoneDiving;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// One cylinder for each diver and dive of the schedule. An average, never a plan of gas.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cylinders {
    pub caution: &'static str,
    /// Fills of the whole expedition: dives of single divers.
    pub fills: usize,
    /// The most on one day: full cylinders to have in the morning where none is filled during the day.
    pub most_a_day: usize,
    /// Zones where one cylinder does not carry a dive as it is planned.
    pub not_enough: Vec<String>,
    /// Minutes at the deepest point after which a cylinder holds what is to be left in it, by zone.
    pub minutes: Vec<(String, f64)>,
}

pub fn cylinders(prepared: &Prepared, rows: &[ScheduleRow]) -> Option<Cylinders> {
    let gas = prepared.expedition.gas.as_ref()?;
    let mut by_day: BTreeMap<usize, BTreeSet<(usize, usize, &str)>> = BTreeMap::new();
    for row in rows {
        by_day.entry(row.day).or_default().insert((row.boat, row.team_dive, &row.diver));
    }
    let zones = prepared.plan.study.zones.iter().zip(&prepared.expedition.zones);
    let is_flagged = |diving: &ZoneDiving| flag_gas(gas, diving.depth_m, diving.bottom_minutes).is_some();
    let flagged = zones.clone().filter(|(_, diving)| is_flagged(diving));
    Some(Cylinders {
        not_enough: flagged.map(|(zone, _)| zone.name.clone()).collect(),
        caution: GAS_CAUTION,
        fills: by_day.values().map(BTreeSet::len).sum(),
        most_a_day: by_day.values().map(BTreeSet::len).max().unwrap_or(0),
        minutes: zones.map(|(zone, diving)| (zone.name.clone(), gas_minutes(gas, diving.depth_m))).collect(),
    })
}
