//! Which number a pilot should measure first: how the margins move when each component of variation is half as large again, or
//! two thirds.

use super::indicators::{Shared, state_of, zone_tells};
use super::prepared::Prepared;
use crate::budget::{Found, Indicator, MET};
use crate::planner::variation::{FACTOR, spread_parts};
use rayon::prelude::*;
use serde::Serialize;

/// One component of variation of what tells a target, in all zones at once.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureFirst {
    pub indicator: String,
    pub must: bool,
    /// In words: "how far reefs move between years".
    pub component: String,
    /// Margin of the plan with the component two thirds as large, as it is, and half as large again; `None`: cannot be.
    pub smaller: Option<f64>,
    pub as_it_is: f64,
    pub larger: Option<f64>,
}

impl MeasureFirst {
    /// Whether the target is met with the one and not with the other.
    pub fn decides(&self) -> bool {
        let is_met = |margin: Option<f64>| margin.unwrap_or(self.as_it_is) >= MET;
        is_met(self.smaller) != is_met(self.larger)
    }

    /// By how much the margin may move.
    pub fn moves(&self) -> f64 {
        let or_same = |margin: Option<f64>| margin.unwrap_or(self.as_it_is);
        (or_same(self.smaller) - or_same(self.larger)).abs() / self.as_it_is.max(1e-9)
    }
}

/// What decides whether a target of a design is met comes first, of musts before others, then what moves its margin most; nothing is
/// told where zones share places. Cost: the law of each zone for every component.
pub fn measure_first(prepared: &Prepared, found: &Found) -> Vec<MeasureFirst> {
    let targets: Vec<usize> = (0..prepared.indicators.len()).collect();
    // Components are scaled zone by zone, and what zones share at their places moves with both.
    if prepared.plan.shared_strata().next().is_some() {
        return Vec::new();
    }
    let mut all: Vec<MeasureFirst> =
        targets.into_par_iter().flat_map_iter(|index| of_target(prepared, found, index)).collect();
    let rank = |of: &MeasureFirst| (!of.decides(), !of.must && of.decides());
    all.sort_by(|a, b| rank(a).cmp(&rank(b)).then_with(|| b.moves().total_cmp(&a.moves())));
    all
}

fn of_target(prepared: &Prepared, found: &Found, index: usize) -> Vec<MeasureFirst> {
    let plan = prepared.plan;
    let (indicator, target) = (&prepared.indicators[index], &prepared.expedition.targets[index]);
    let reading = prepared.tasks.told_by[index].1;
    let state = state_of(plan, target);
    let zones: Vec<_> = (0..plan.study.zones.len()).map(|zone| spread_parts(plan, zone, reading, state)).collect();
    let Some(first) = zones.first() else { return Vec::new() };
    let units = usize::from(found.units[indicator.task]);
    let weights = prepared.weights();
    let margin = |name: &str, factor: f64| -> Option<f64> {
        let mut changed: Indicator = indicator.clone();
        let mut shared = Shared::default();
        for (zone, parts) in zones.iter().enumerate() {
            let part = parts.iter().find(|part| part.name == name);
            let moments = match part {
                Some(part) => part.scaled(factor)?,
                None => plan.moments(zone, reading).clone(),
            };
            let told = zone_tells(plan, (reading, zone), (&moments, 1), units, state);
            changed.sites[zone][units] = told.site;
            shared.add(weights[zone], told.shared);
        }
        changed.floor[units] = shared.variance(1);
        Some(changed.margin(&weights, &found.sites, units))
    };
    let of = |name: &String| MeasureFirst {
        indicator: target.indicator.clone(),
        must: target.must,
        component: name.clone(),
        smaller: margin(name, 1.0 / FACTOR),
        as_it_is: found.margins[index],
        larger: margin(name, FACTOR),
    };
    first.iter().map(|part| of(&part.name)).collect()
}
