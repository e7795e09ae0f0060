//! Why no plan meets the targets, and the nearest that can be.

use super::options::{Chosen, Options, least_with_targets};
use super::prepared::Prepared;
use super::warn::what_does_not_fit;
use crate::budget::{Hold, Indicator, MET, Search};
use serde::Serialize;

/// Why some targets cannot be met whatever the number of days.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Blocked {
    /// "all targets", "the musts"
    pub what: String,
    /// One sentence for each target that cannot be met, or one for all that cannot be met together.
    pub why: Vec<String>,
    /// What the nearest plan gives up, and that plan; `None`: a plan that gives up every target is none.
    pub without: Vec<String>,
    pub nearest: Option<Nearest>,
}

/// The least effort for the targets that are left, by formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Nearest {
    pub days: usize,
    pub team_dives: usize,
    /// Sites of each zone.
    pub sites: Vec<(String, u16)>,
    /// Units of each method at each of them.
    pub site_set: Vec<(String, u8)>,
}

impl Nearest {
    fn new(options: &Options, chosen: &Chosen) -> Self {
        let (of, found) = (&options.all[chosen.option], &chosen.found);
        let zones = of.plan.study.zones.iter().map(|zone| zone.name.clone());
        let methods = of.tasks.tasks.iter().map(|task| task.name.clone());
        Self {
            days: found.days,
            team_dives: found.team_dives,
            sites: zones.zip(found.sites.iter().copied()).collect(),
            site_set: methods.zip(found.units.iter().copied()).collect(),
        }
    }
}

/// Where the least effort for some targets was not found.
pub fn blocked(options: &Options, searches: &[Search], hold: Hold) -> Blocked {
    let prepared = &options.all[0];
    let what = if hold == Hold::All { "all targets" } else { "the musts" }.to_owned();
    let asked = |indicator: &&Indicator| hold.asks(indicator);
    let all = prepared.indicators.iter().enumerate().filter(|(_, indicator)| asked(indicator));
    let all: Vec<usize> = all.map(|(index, _)| index).collect();
    let of_one: Vec<(usize, Option<String>)> =
        all.iter().map(|&index| (index, out_of_reach(options, searches, index, (&all, hold)))).collect();
    let mut why: Vec<String> = of_one.iter().filter_map(|(_, why)| why.clone()).collect();
    let mut dropped: Vec<usize> = of_one.iter().filter(|(_, why)| why.is_some()).map(|(index, _)| *index).collect();
    if searches.iter().all(|search| search.designs() == 0) {
        // Nothing at all can be planned: what does not fit into a dive is the reason, whatever the targets.
        why = what_does_not_fit(prepared);
    }
    if why.is_empty() {
        why.push(
            "Each of them can be met by itself, but not together: their work does not fit into the team dives at a site."
                .into(),
        );
    }
    // Of those that could be met alone the least important is given up first.
    let mut order: Vec<usize> = of_one.iter().filter(|(_, why)| why.is_none()).map(|(index, _)| *index).collect();
    let rank = |index: &usize| (prepared.indicators[*index].is_must, (1e6 * prepared.indicators[*index].weight) as i64);
    order.sort_by_key(|index| (rank(index), std::cmp::Reverse(*index)));
    let mut nearest = least_without(searches, &dropped, hold);
    for index in order {
        if nearest.is_some() {
            break;
        }
        dropped.push(index);
        nearest = least_without(searches, &dropped, hold);
    }
    if dropped.len() == all.len() {
        (dropped, nearest) = (Vec::new(), None);
    }
    let name = |index: &usize| prepared.expedition.targets[*index].indicator.replace('_', " ");
    Blocked {
        what,
        why,
        without: dropped.iter().map(name).collect(),
        nearest: nearest.map(|chosen| Nearest::new(options, &chosen)),
    }
}

/// So many times as much may change, or so wide may it be told: no target any more.
const ANYTHING: f64 = 1e6;

/// The least effort without some targets; their work is done all the same, as much of it as is free.
fn least_without(searches: &[Search], dropped: &[usize], hold: Hold) -> Option<Chosen> {
    let targets = searches.first().map_or(0, |search| search.indicators.len());
    let times: Vec<f64> = (0..targets).map(|index| if dropped.contains(&index) { ANYTHING } else { 1.0 }).collect();
    least_with_targets(searches, &times, hold)
}

/// Why a target cannot be met even by itself, whatever is given up of the others; `None`: it can.
fn out_of_reach(options: &Options, searches: &[Search], index: usize, (all, hold): (&[usize], Hold)) -> Option<String> {
    let others: Vec<usize> = all.iter().copied().filter(|other| *other != index).collect();
    if least_without(searches, &others, hold).is_some() {
        return None;
    }
    let mut best: Option<(f64, &Prepared, usize, Vec<u16>)> = None;
    for (prepared, search) in options.all.iter().zip(searches) {
        let indicator = &prepared.indicators[index];
        let sites: Vec<u16> = search.zones.iter().map(|zone| zone.most_sites).collect();
        for units in (1..=prepared.tasks.caps.of(indicator.task)).filter(|&units| fits(prepared, indicator.task, units))
        {
            // As the plan with these sites and units has it.
            let margin = indicator.margin(&prepared.weights(), &sites, usize::from(units));
            if best.as_ref().is_none_or(|(most, ..)| margin > *most) {
                best = Some((margin, prepared, usize::from(units), sites.clone()));
            }
        }
    }
    let name = options.all[0].indicators[index].name.replace('_', " ");
    let Some((margin, prepared, units, sites)) = best else {
        return Some(format!(
            "{name}: one of its units and one of each other method do not fit into the team dives at a site."
        ));
    };
    let indicator = &prepared.indicators[index];
    let by_floor = indicator.target / (indicator.floor[units].sqrt() * indicator.need.least());
    if by_floor < MET {
        return Some(format!(
            "{name}: what all sites share (years, people) alone leaves a margin of {by_floor:.2} at most; no number of sites or \
             units reduces it."
        ));
    }
    if margin >= MET {
        return Some(format!("{name}: the team dives that its work takes at a site fit into no day."));
    }
    let weights = prepared.weights();
    let share =
        |zone: &usize| weights[*zone].powi(2) * indicator.sites[*zone][units].variance / f64::from(sites[*zone]);
    let worst = (0..weights.len()).max_by(|a, b| share(a).total_cmp(&share(b)))?;
    Some(format!(
        "{name}: with all sites there are and {units} of its units at each the margin is {margin:.2}; most of what is left comes \
         from {}, which has {} sites at most.",
        prepared.plan.study.zones[worst].name, sites[worst]
    ))
}

/// Whether so many units of a method and one of each other fit into the team dives at a site of every zone.
fn fits(prepared: &Prepared, task: usize, units: u8) -> bool {
    let mut set = vec![1; prepared.tasks.methods.len()];
    set[task] = units;
    prepared.tables.iter().all(|table| table.dives(&set).is_some())
}
