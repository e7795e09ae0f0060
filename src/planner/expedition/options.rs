//! All that may be chosen besides units and sites: dimensions of the methods, and the same marks or new places. Each option
//! is searched by itself and what is best of all is kept; of equals the first. Where the crew changes, plans that end before are
//! options too (those who leave later are aboard on all their days), and so are plans by stretches of the crew.

use super::known::Known;
use super::lost_in_stretch::LeftOver;
use super::prepared::{NothingFits, Prepared};
use super::variants::variants;
use crate::budget::{Beside, Found, Hold, Indicator, Search, ZoneDives};
use crate::design::Expedition;
use crate::engine::Plan;
use rayon::prelude::*;

/// The zones of some plans as their searches see them, which [`searches`] borrows.
pub fn zones_of<'b>(all: &'b [Prepared]) -> Vec<Vec<ZoneDives<'b>>> {
    all.iter().map(Prepared::zones).collect()
}

/// A search for each of some plans, in their order.
pub fn searches<'b>(all: &'b [Prepared], zones: &'b [Vec<ZoneDives<'b>>]) -> Vec<Search<'b>> {
    all.iter().zip(zones).map(|(of, zones)| of.search(zones)).collect()
}

/// Every option, ready for the search.
pub struct Options<'a> {
    pub all: Vec<Prepared<'a>>,
    pub left_out: Option<String>,
}

/// A design of one option.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    pub option: usize,
    pub found: Found,
}

impl<'a> Options<'a> {
    /// `plans`: the study, and with it those that differ in what may be chosen.
    ///
    /// # Errors
    /// Where nothing can be planned at all.
    pub fn new(plans: &[&'a Plan], expedition: &'a Expedition, known: &'a Known) -> Result<Self, NothingFits> {
        let mut left_out = None;
        let mut asked = Vec::new();
        for plan in plans {
            let variants = variants(plan, expedition, known);
            left_out = left_out.or(variants.left_out);
            asked.extend(variants.all.into_iter().map(|dimensions| (*plan, dimensions)));
        }
        let made: Vec<Result<Prepared, NothingFits>> = asked
            .into_par_iter()
            .map(|(plan, dimensions)| Prepared::new(plan, expedition, dimensions, known))
            .collect();
        let made: Vec<Prepared> = made.into_iter().collect::<Result<_, _>>()?;
        Ok(Self { all: made.into_par_iter().flat_map_iter(Prepared::by_crew).collect(), left_out })
    }

    /// All that a design costs, by the crew and the dimensions that it was found with; `None` where no rates are told.
    pub fn money(&self, chosen: &Chosen) -> Option<f64> {
        self.all[chosen.option].money(&chosen.found)
    }

    /// What is left of a design when days are lost; `None`: it is not by stretches of the crew.
    pub(super) fn left_over<'b>(&'b self, chosen: Option<&'b Chosen>) -> Option<LeftOver<'b>> {
        let chosen = chosen?;
        LeftOver::of(&self.all[chosen.option], &chosen.found)
    }

    /// The option of a design, for plans of any number of days and whichever crew.
    pub fn of_all_days(&self, option: usize) -> &Prepared<'a> {
        let before = self.all[..=option].iter().rev();
        before.into_iter().find(|of| of.is_of_all_days()).unwrap_or(&self.all[option])
    }
}

/// The least effort over all options.
pub fn least(searches: &[Search], hold: Hold) -> Option<Chosen> {
    let mut best: Option<Chosen> = None;
    for (option, search) in searches.iter().enumerate() {
        let known = best.as_ref().map(|best| (&best.found, &searches[best.option]));
        let found = search.least_below(hold, known.map(|(found, _)| found));
        let is_less = |found: &Found| known.is_none_or(|(known, of)| search.is_less(found, known, of));
        if let Some(found) = found.filter(is_less) {
            best = Some(Chosen { option, found });
        }
    }
    best
}

/// The least effort over all options where so many times as much is asked of each target.
pub fn least_with_targets(searches: &[Search], times: &[f64], hold: Hold) -> Option<Chosen> {
    let asked: Vec<Vec<Indicator>> = searches
        .iter()
        .map(|search| {
            let each = search.indicators.iter().zip(times);
            each.map(|(of, times)| Indicator { target: of.target * times, ..of.clone() }).collect()
        })
        .collect();
    let asking: Vec<Search> =
        searches.iter().zip(&asked).map(|(search, indicators)| search.asking(indicators)).collect();
    least(&asking, hold)
}

/// The best use of 1, 2 ... days over all options.
pub fn frontier(searches: &[Search], most: usize) -> Vec<Option<Chosen>> {
    let mut best: Vec<Option<Chosen>> = vec![None; most];
    for (option, search) in searches.iter().enumerate() {
        for (best, found) in best.iter_mut().zip(search.frontier(most)) {
            let Some(found) = found else { continue };
            if best.as_ref().is_none_or(|best| found.beats(&best.found)) {
                *best = Some(Chosen { option, found });
            }
        }
    }
    best
}

/// The best use of so much money in so many days, over all options.
pub fn best_for_money(searches: &[Search], money: f64, most_days: usize) -> Option<Chosen> {
    let found = searches
        .iter()
        .enumerate()
        .filter_map(|(option, search)| Some(Chosen { option, found: search.best_for_money(money, most_days)? }));
    found.reduce(|one, other| if other.found.beats(&one.found) { other } else { one })
}

/// The plan for whichever crew is aboard: the least for all targets, or the best use of the money or of so many days.
pub fn for_whichever<'b>(
    options: &'b Options,
    zones: &'b [Vec<ZoneDives<'b>>],
    (is_least, money, days): (bool, Option<f64>, usize),
) -> Option<Found> {
    let for_all = options.all.iter().zip(zones).filter(|(of, _)| of.by_stretch.is_none());
    let searches: Vec<Search> = for_all.map(|(of, zones)| of.search(zones)).collect();
    let found = match money {
        _ if is_least => least(&searches, Hold::All),
        Some(money) => best_for_money(&searches, money, days),
        None => frontier(&searches, days).pop().flatten(),
    };
    found.map(|chosen| chosen.found)
}

/// What is hardly dearer than the least, or hardly worse than the best, over all options.
pub fn near_ties(searches: &[Search], (to, beside): (&Chosen, Beside), most: usize) -> Vec<Chosen> {
    let of = |(option, search): (usize, &Search)| {
        let found = search.near_ties((&to.found, beside), most, option == to.option);
        found.into_iter().map(move |found| Chosen { option, found }).collect::<Vec<_>>()
    };
    let mut all: Vec<Chosen> = searches.iter().enumerate().flat_map(of).collect();
    all.sort_by(|one, other| beside.order(&one.found, &other.found).then(one.option.cmp(&other.option)));
    // What ends before the crew changes is found with either crew.
    all.retain(|tie| tie.found != to.found);
    all.dedup_by(|later, earlier| later.found == earlier.found);
    all.truncate(most);
    all
}
