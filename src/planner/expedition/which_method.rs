//! Which method tells an indicator that several of them read: the best plan of each way is searched by formula, and the best way
//! is planned.

use super::indicators::main_design;
use super::known::Known;
use super::options::{Options, best_for_money, frontier, least, searches, zones_of};
use super::pairings::{Pairing, paired};
use super::prepared::Prepared;
use super::warn::{Misfit, misfits};
use crate::budget::{Found, Hold, Search, ZoneDives};
use crate::design::{Asks, Expedition, Scheduled};
use crate::engine::Plan;
use crate::planner::rows::{how_far_off, is_much_farther, written_over_there};
use serde::Serialize;
use std::borrow::Cow;

/// One way to tell what several methods read, and what comes of it by formula.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ToldBy {
    /// Indicator and method, of each indicator that several methods read.
    pub methods: Vec<[String; 2]>,
    /// Days and team dives of the least plan for all targets, and for the musts; `None`: out of reach.
    pub all: Option<(usize, usize)>,
    pub musts: Option<(usize, usize)>,
    /// Money of the least plan for all targets; `None`: there is none, or no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<f64>,
    /// Weakest margin of the best use of the days or of the money, where the ways were compared by that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weakest: Option<f64>,
    /// The level that is written so much farther from what is there than as planned that the way is not planned, with what is
    /// written over what is there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub writes: Option<(String, f64)>,
    /// Why nothing that it would take can be told, where some of its work fits into no dive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub does_not_fit: Option<String>,
    pub is_planned: bool,
}

/// An expedition in which is settled who dives with whom and which method tells what.
pub struct Settled<'a> {
    pub expedition: Cow<'a, Expedition>,
    pub pairing: Option<Pairing>,
    /// The ways that were compared; empty where no indicator of a target is read by more than one method.
    pub told_by: Vec<ToldBy>,
    /// Ways that were not looked at.
    pub not_compared: usize,
}

/// The most ways that are compared.
const MOST_WAYS: usize = 9;

/// The expedition with the best method for each target and, where that is not told, the best pairs. Of ways alike the first: each
/// indicator by the first method that reads it. `plans`: the study, and with it those that differ in what may be chosen.
pub fn settled<'a>(plans: &[&Plan], expedition: &'a Expedition, known: &Known) -> Settled<'a> {
    let plan = plans[0];
    let read = read_by_several(plan, expedition);
    let (ways, not_compared) = ways(&read);
    if ways.len() < 2 {
        let (expedition, pairing) = paired(plan, expedition, known);
        return Settled { expedition, pairing, told_by: Vec::new(), not_compared };
    }
    let with = |way: &Vec<usize>| {
        let other = told_so(expedition, &read, way);
        let (best, pairing) = paired(plan, &other, known);
        (best.into_owned(), pairing)
    };
    let mut all: Vec<(Expedition, Option<Pairing>)> = ways.iter().map(with).collect();
    let farthest: Vec<Option<Farthest>> = ways.iter().map(|way| farthest(plan, expedition, &read, way)).collect();
    let offs: Vec<f64> = farthest.iter().map(|of| of.as_ref().map_or(0.0, |of| of.off)).collect();
    let (mut told_by, best) = compared(plans, &all, &offs, known);
    for ((told, way), farthest) in told_by.iter_mut().zip(&ways).zip(farthest) {
        let name = |method: usize| plan.study.methods[method].kind.own_name().to_owned();
        told.methods = read.iter().zip(way).map(|((of, _), &method)| [of.clone(), name(method)]).collect();
        let farthest = farthest.filter(|of| is_much_farther(of.off, offs[best]));
        told.writes = farthest.map(|of| (of.indicator, of.writes));
    }
    let (best, pairing) = all.swap_remove(best);
    Settled { expedition: Cow::Owned(best), pairing, told_by, not_compared }
}

/// Of the levels that a way tells, the one that is written farthest from what is there.
struct Farthest {
    indicator: String,
    off: f64,
    /// What is written over what is there.
    writes: f64,
}

/// `None` where the way tells no level, but changes alone: what is off alike at both visits is no part of them.
fn farthest(plan: &Plan, expedition: &Expedition, read: &[(String, Vec<usize>)], way: &[usize]) -> Option<Farthest> {
    let is_level = |indicator: &str| {
        let mut asked = expedition.targets.iter().filter(|of| of.indicator == indicator);
        asked.any(|target| !matches!(target.asks, Asks::SeeChange(_)))
    };
    let levels = read.iter().zip(way).filter(|((indicator, _), _)| is_level(indicator));
    let of_level = |((indicator, _), &method): (&(String, Vec<usize>), &usize)| {
        let is_own = |of: &crate::engine::Reading| of.method == method && of.indicator.name() == indicator;
        let design = main_design(plan, plan.layout.readings.iter().position(is_own)?);
        let (off, writes) = (how_far_off(plan, &design), written_over_there(plan, &design));
        Some(Farthest { indicator: indicator.clone(), off, writes })
    };
    levels.filter_map(of_level).max_by(|one, other| one.off.total_cmp(&other.off))
}

/// The expedition with each way to tell what several methods read.
pub fn each_way(plan: &Plan, expedition: &Expedition) -> Vec<Expedition> {
    let read = read_by_several(plan, expedition);
    ways(&read).0.iter().map(|way| told_so(expedition, &read, way)).collect()
}

/// The expedition with these methods, one for each indicator that several read.
fn told_so(expedition: &Expedition, read: &[(String, Vec<usize>)], way: &[usize]) -> Expedition {
    let mut other = expedition.clone();
    for ((indicator, _), &method) in read.iter().zip(way) {
        other.targets.iter_mut().filter(|of| of.indicator == *indicator).for_each(|of| of.method = Some(method));
    }
    other
}

/// Indicators of targets that several methods read, with those methods.
fn read_by_several(plan: &Plan, expedition: &Expedition) -> Vec<(String, Vec<usize>)> {
    let mut all: Vec<(String, Vec<usize>)> = Vec::new();
    for target in &expedition.targets {
        if all.iter().any(|(known, _)| *known == target.indicator) {
            continue;
        }
        let readings = plan.layout.readings.iter().filter(|of| of.indicator.name() == target.indicator);
        let mut methods: Vec<usize> = readings.map(|of| of.method).collect();
        methods.sort_unstable();
        methods.dedup();
        all.push((target.indicator.clone(), methods));
    }
    all.retain(|(_, methods)| methods.len() > 1);
    all
}

/// Every way, the first methods first; where these are too many, those that differ from the first in one indicator. With how many
/// are left out.
fn ways(read: &[(String, Vec<usize>)]) -> (Vec<Vec<usize>>, usize) {
    let number = read.iter().map(|(_, methods)| methods.len()).fold(1, usize::saturating_mul);
    let mut all = if number <= MOST_WAYS {
        read.iter().fold(vec![Vec::new()], |before: Vec<Vec<usize>>, (_, methods)| {
            let with = |way: &Vec<usize>| methods.iter().map(|&one| [&way[..], &[one]].concat()).collect::<Vec<_>>();
            before.iter().flat_map(with).collect()
        })
    } else {
        let first: Vec<usize> = read.iter().map(|(_, methods)| methods[0]).collect();
        let others = read.iter().enumerate().flat_map(|(place, (_, methods))| {
            let first = &first;
            methods.iter().skip(1).map(move |&method| {
                let mut way = first.clone();
                way[place] = method;
                way
            })
        });
        let others: Vec<Vec<usize>> = others.collect();
        std::iter::once(first.clone()).chain(others).collect()
    };
    all.truncate(MOST_WAYS);
    let looked_at = all.len();
    (all, number - looked_at)
}

/// What comes of each way, and which is best of those that write levels not much farther off than the others (`offs`): by the least effort (or money) for all targets where the days hold that and it shall
/// be scheduled, else by the best use of the money or of the days.
fn compared(
    plans: &[&Plan],
    ways: &[(Expedition, Option<Pairing>)],
    offs: &[f64],
    known: &Known,
) -> (Vec<ToldBy>, usize) {
    let options: Vec<Vec<Prepared>> =
        ways.iter().map(|(of, _)| Options::new(plans, of, known).map_or(Vec::new(), |options| options.all)).collect();
    let zones: Vec<Vec<Vec<ZoneDives>>> = options.iter().map(|of| zones_of(of)).collect();
    let searches: Vec<Vec<Search>> = options.iter().zip(&zones).map(|(of, zones)| searches(of, zones)).collect();
    let (expedition, _) = &ways[0];
    let bookable = expedition.days.for_diving();
    let least_of = |hold: Hold| -> Vec<Option<(Found, &Search)>> {
        let of_way = |of: &Vec<Search>| least(of, hold).map(|least| (least.found, least.option));
        let found = searches.iter().map(|of| (of_way(of), of));
        found.map(|(found, of)| found.map(|(found, option)| (found, &of[option]))).collect()
    };
    let (all, musts) = (least_of(Hold::All), least_of(Hold::Musts));
    let is_less = |one: &(Found, &Search), other: &(Found, &Search)| one.1.is_less(&one.0, &other.0, other.1);
    let least_way = |of: &[Option<(Found, &Search)>]| best_way(of, offs, is_less);
    let of_days = || -> Vec<Option<Found>> {
        let best = |of: &Vec<Search>| frontier(of, bookable).pop().flatten().map(|best| best.found);
        searches.iter().map(best).collect()
    };
    let of_money = |money: f64| -> Vec<Option<Found>> {
        searches.iter().map(|of| best_for_money(of, money, bookable).map(|best| best.found)).collect()
    };
    let fits = |way: usize| all[way].as_ref().is_some_and(|(found, _)| found.days <= bookable);
    let by_money = expedition.money.filter(|_| expedition.schedule == Scheduled::BestOfMoney).map(of_money);
    let by_money = by_money.filter(|of| of.iter().any(Option::is_some));
    let by_least = least_way(&all).filter(|&way| expedition.schedule != Scheduled::BestOfDays && fits(way));
    let best_use = by_money.or_else(|| by_least.is_none().then(of_days));
    let best = match &best_use {
        Some(of) => best_way(of, offs, Found::beats),
        None => by_least,
    };
    let best = best.or_else(|| least_way(&all)).or_else(|| least_way(&musts)).unwrap_or(0);
    let takes = |of: &Option<(Found, &Search)>| of.as_ref().map(|(found, _)| (found.days, found.team_dives));
    let told = |way: usize| ToldBy {
        methods: Vec::new(),
        all: takes(&all[way]),
        musts: takes(&musts[way]),
        money: all[way].as_ref().and_then(|(found, of)| of.money(found)),
        weakest: best_use.as_ref().and_then(|of| of[way].as_ref().map(Found::weakest)),
        writes: None,
        does_not_fit: (all[way].is_none() && musts[way].is_none()).then(|| does_not_fit(&options[way])).flatten(),
        is_planned: way == best,
    };
    ((0..ways.len()).map(told).collect(), best)
}

/// Work that fits into no dive, whatever the dimensions of the methods.
fn does_not_fit(options: &[Prepared]) -> Option<String> {
    let misfits = options.iter().map(misfits).min_by_key(Vec::len)?;
    misfits.first().map(Misfit::short)
}

/// The best of those that are not much farther off than another that is there; of those alike the first.
fn best_way<T>(ways: &[Option<T>], offs: &[f64], is_better: impl Fn(&T, &T) -> bool) -> Option<usize> {
    let found = || ways.iter().zip(offs).enumerate().filter_map(|(way, (of, off))| Some((way, of.as_ref()?, *off)));
    let least_off = found().map(|(.., off)| off).fold(f64::INFINITY, f64::min);
    let near = found().filter(|(.., off)| !is_much_farther(*off, least_off));
    let best = near.reduce(|one, other| if is_better(other.1, one.1) { other } else { one });
    best.map(|(way, ..)| way)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two indicators of two and three methods: six ways, the first methods first. With four of three, one differs at a time.
    #[test]
    fn ways_are_all_or_differ_in_one() {
        let of = |methods: &[usize]| ("cover".to_owned(), methods.to_vec());
        let (all, left_out) = ways(&[of(&[0, 1]), of(&[0, 2, 3])]);
        assert_eq!((all.len(), left_out), (6, 0));
        assert_eq!([&all[0][..], &all[5][..]], [&[0, 0][..], &[1, 3]]);
        let (some, left_out) = ways(&[of(&[0, 1, 2]), of(&[0, 1, 2]), of(&[0, 1, 2])]);
        assert_eq!((some.len(), left_out), (7, 20));
        assert!(some[1..].iter().all(|way| way.iter().filter(|&&method| method != 0).count() == 1));
        assert_eq!(ways(&[]), (vec![vec![]], 0));
    }

    #[test]
    fn of_ways_alike_the_first_is_best() {
        let smaller = |one: &i32, other: &i32| one < other;
        assert_eq!(best_way(&[None, Some(3), Some(2), Some(2)], &[0.0; 4], smaller), Some(2));
        assert_eq!(best_way(&[None, None], &[0.0; 2], smaller), None);
    }

    /// A way that writes twice what is there is not chosen for taking less; one that nothing else is there for is.
    #[test]
    fn what_is_much_farther_off_is_not_best() {
        let smaller = |one: &i32, other: &i32| one < other;
        let offs = [0.05, libm::log(2.0), 0.1];
        assert_eq!(best_way(&[Some(9), Some(1), Some(8)], &offs, smaller), Some(2));
        assert_eq!(best_way(&[None, Some(1), None], &offs, smaller), Some(1));
    }
}
