//! The search over site sets (units of each task at a site, the same in all zones) and sites of each zone.
//!
//! Only *full* site sets are looked at: those to which nothing can be added without one more team dive in some zone. More
//! units never make an indicator worse at the same sites, except through degrees of freedom: what is found is therefore tried
//! with one unit less of each task as well.
//!
//! Site sets are looked at in rounds of fixed size, those of one round in parallel and all against the best of the rounds
//! before; what they give is put together in their order. Designs, and which were ruled out unseen, are the same on any number
//! of threads.

mod for_money;
mod frontier;
mod least;
mod money;
mod near_ties;
mod own_sets;
mod site_set;

pub use money::Prices;
pub use near_ties::Beside;
pub use own_sets::OwnSets;

use super::days::{Day, DayPacking};
use super::down_set::{Caps, Units};
use super::packing::Table;
use super::score::{Indicator, Merit};
use super::stretches::Stretches;
use crate::engine::Watch;
use rayon::prelude::*;
pub(super) use site_set::SiteSet;
use std::cmp::Reverse;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// A class of sites as the search sees it.
#[derive(Clone, Debug)]
pub struct ZoneDives<'a> {
    pub weight: f64,
    pub least_sites: u16,
    pub most_sites: u16,
    pub table: &'a Table,
    /// An earlier zone with the same places, and so with as many sites.
    pub same_sites_as: Option<usize>,
}

impl ZoneDives<'_> {
    /// Whether its sites are visited by themselves.
    fn is_visited(&self) -> bool {
        !self.table.is_on_other_dives()
    }

    /// Numbers of sites that are looked at, the earlier zones having so many.
    pub(super) fn numbers(&self, earlier: &[u16]) -> std::ops::RangeInclusive<u16> {
        match self.same_sites_as {
            Some(first) => earlier[first]..=earlier[first],
            None => self.least_sites..=self.most_sites,
        }
    }
}

/// What is searched.
pub struct Search<'a> {
    pub zones: &'a [ZoneDives<'a>],
    pub indicators: &'a [Indicator],
    pub day: Day,
    pub boats: usize,
    weights: Vec<f64>,
    sets: Vec<SiteSet>,
    /// Only one site set is looked at, as it is.
    is_fixed: bool,
    looked_at: AtomicU64,
    watch: Option<&'a Watch<'a>>,
    prices: Option<Prices<'a>>,
    /// Team dives at each site that is finished whatever else is planned.
    begun: Vec<usize>,
    /// Last day that a design may take: those who dive may change after it.
    last_day: usize,
    /// Where each site takes what the crew of its days needs; the tables of the zones are then for whichever crew.
    stretches: Option<Arc<Stretches>>,
}

/// A design and what it takes and gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub days: usize,
    pub team_dives: usize,
    pub sites: Vec<u16>,
    pub units: Units,
    pub margins: Vec<f64>,
    pub merit: Merit,
}

/// Which targets must hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    All,
    Musts,
}

impl Hold {
    pub fn asks(self, indicator: &Indicator) -> bool {
        self == Hold::All || indicator.is_must
    }
}

impl<'a> Search<'a> {
    /// Lists the full site sets; cost: cells of the tables x tasks x zones.
    pub fn new(zones: &'a [ZoneDives<'a>], indicators: &'a [Indicator], day: Day, boats: usize) -> Self {
        let search = Self {
            zones,
            indicators,
            day,
            boats,
            weights: zones.iter().map(|zone| zone.weight).collect(),
            sets: Vec::new(),
            is_fixed: false,
            looked_at: AtomicU64::new(0),
            watch: None,
            prices: None,
            begun: Vec::new(),
            last_day: usize::MAX,
            stretches: None,
        };
        Self { sets: search.full_sets(), ..search }
    }

    /// With crews that follow one another: a site takes what the crew of its stretch needs. No begun sites are finished then.
    #[must_use]
    pub fn in_stretches(self, stretches: Option<Arc<Stretches>>) -> Self {
        if stretches.is_none() {
            return self;
        }
        let search = Self { stretches, ..self };
        Self { sets: search.full_sets(), ..search }
    }

    /// Looks at one site set alone, full or not.
    #[must_use]
    pub fn with_only(self, units: &[u8]) -> Self {
        let sets = self.site_set(units).into_iter().collect();
        Self { sets, is_fixed: true, ..self }
    }

    /// The full site sets.
    pub(super) fn site_sets(&self) -> &[SiteSet] {
        &self.sets
    }

    /// Tells how far a search is, and ends one after the round at hand when it is asked to.
    #[must_use]
    pub fn watched(self, watch: &'a Watch<'a>) -> Self {
        Self { watch: Some(watch), ..self }
    }

    /// With what designs cost: money decides between designs of the same effort, or comes first, as the prices tell.
    #[must_use]
    pub fn priced(self, prices: Option<Prices<'a>>) -> Self {
        Self { prices, ..self }
    }

    /// With sites that were begun and are finished too, each in so many team dives: days are for them as well.
    #[must_use]
    pub fn finishing(self, begun: Vec<usize>) -> Self {
        Self { begun, ..self }
    }

    /// With no design that takes more than so many days.
    #[must_use]
    pub fn ending_by(self, last_day: usize) -> Self {
        Self { last_day, ..self }
    }

    pub(super) fn prices(&self) -> Option<&Prices<'a>> {
        self.prices.as_ref()
    }

    /// The same site sets, days and prices with other amounts asked of the same indicators.
    pub fn asking<'b>(&'b self, indicators: &'b [Indicator]) -> Search<'b> {
        Search {
            zones: self.zones,
            indicators,
            day: self.day.clone(),
            boats: self.boats,
            weights: self.weights.clone(),
            sets: self.sets.clone(),
            is_fixed: self.is_fixed,
            prices: self.prices.clone(),
            begun: self.begun.clone(),
            last_day: self.last_day,
            stretches: self.stretches.clone(),
            looked_at: AtomicU64::new(0),
            watch: None,
        }
    }

    /// All designs there are: full site sets times numbers of sites.
    pub fn designs(&self) -> u64 {
        let sites = |zone: &ZoneDives| u64::from((zone.most_sites + 1).saturating_sub(zone.least_sites));
        let free = self.zones.iter().filter(|zone| zone.same_sites_as.is_none());
        self.sets.len() as u64 * free.map(sites).product::<u64>()
    }

    /// Designs that were worked out one by one up to now; bounds rule out the others.
    pub fn looked_at(&self) -> u64 {
        self.looked_at.load(Ordering::Relaxed)
    }

    /// Looks at some site sets in parallel, round after round. `each` sees what the rounds before have found; what it gives
    /// goes to `keep` in the order of the sets, and after each round `keep` says whether that was enough.
    fn rounds<State: Sync, One: Send>(
        &self,
        sets: &[&SiteSet],
        state: &mut State,
        each: impl Fn(&mut DayPacking, &State, usize) -> One + Sync,
        mut keep: impl FnMut(&mut State, One),
        is_enough: impl Fn(&State, usize) -> bool,
    ) {
        let mut next = 0;
        // A few first, so that the others have something to be measured by.
        let mut size = FIRST_ROUND;
        while next < sets.len() && !is_enough(state, next) {
            let round: Range<usize> = next..(next + size).min(sets.len());
            let seen: &State = state;
            let found: Vec<One> = round
                .clone()
                .into_par_iter()
                .map_init(|| DayPacking::new(&self.day), |packing, index| each(packing, seen, index))
                .collect();
            found.into_iter().for_each(|one| keep(state, one));
            next = round.end;
            size = ROUND;
            if let Some(watch) = self.watch {
                (watch.progress)(next as u64, sets.len() as u64);
                if watch.interrupted.load(Ordering::Relaxed) {
                    return;
                }
            }
        }
    }

    /// Every number of sites within the zones' limits that takes at most so many team dives and sites, the last zone fastest.
    fn for_each_sites(&self, set: &SiteSet, most_dives: usize, most_sites: usize, mut each: impl FnMut(&[u16], usize)) {
        let mut sites = Vec::with_capacity(self.zones.len());
        let mut number = 0;
        self.extend_sites(set, (0, most_dives), most_sites, &mut sites, &mut |sites, dives| {
            number += 1;
            each(sites, dives);
        });
        self.looked_at.fetch_add(number, Ordering::Relaxed);
    }

    /// Sites of the zones that `sites` does not have yet; with it so many team dives are taken.
    fn extend_sites(
        &self,
        set: &SiteSet,
        (taken, most_dives): (usize, usize),
        most_sites: usize,
        sites: &mut Vec<u16>,
        each: &mut dyn FnMut(&[u16], usize),
    ) {
        let zone = sites.len();
        let Some(of) = self.zones.get(zone) else { return each(sites, taken) };
        for number in of.numbers(sites) {
            let taken = taken + usize::from(number) * set.dives[zone];
            let visited = if of.is_visited() { usize::from(number) } else { 0 };
            if taken > most_dives || visited > most_sites {
                return;
            }
            sites.push(number);
            self.extend_sites(set, (taken, most_dives), most_sites - visited, sites, each);
            sites.pop();
        }
    }

    /// Days and team dives of so many sites.
    fn days(&self, packing: &mut DayPacking, set: &SiteSet, sites: &[u16]) -> Option<(usize, usize)> {
        let takes = match &self.stretches {
            Some(stretches) => {
                let split = stretches.split(packing, sites, &set.by_stretch);
                (split.days, split.team_dives)
            }
            None => {
                let days = packing.days_with(&self.begun, sites, &set.dives)?.div_ceil(self.boats);
                (days, sites.iter().zip(&set.dives).map(|(&number, dives)| usize::from(number) * dives).sum())
            }
        };
        Some(takes).filter(|(days, _)| *days <= self.last_day)
    }

    pub(in crate::budget) fn is_in_stretches(&self) -> bool {
        self.stretches.is_some()
    }

    /// Sites of each zone that each crew does, of those that follow one another; all by the one there is.
    pub(super) fn split(&self, units: &[u8], sites: &[u16]) -> Vec<Vec<u16>> {
        let split = self.stretches.as_ref().and_then(|stretches| {
            let dives = stretches.dives(units)?;
            Some(stretches.split(&mut DayPacking::new(&self.day), sites, &dives).sites)
        });
        split.unwrap_or_else(|| vec![sites.to_vec()])
    }

    /// Units with what they take at a site of each zone; `None`: more than is looked at.
    pub(in crate::budget) fn site_set(&self, units: &[u8]) -> Option<SiteSet> {
        let units = units.to_vec();
        let Some(stretches) = &self.stretches else {
            let dives = self.zones.iter().map(|zone| zone.table.dives(&units)).collect::<Option<_>>()?;
            return Some(SiteSet { units, dives, by_stretch: Vec::new() });
        };
        let by_stretch = stretches.dives(&units)?;
        let fewest = |zone: usize| by_stretch.iter().map(|of| of[zone]).min().unwrap_or(0);
        Some(SiteSet { units, dives: (0..self.zones.len()).map(fewest).collect(), by_stretch })
    }

    /// Full site sets that every zone can do, with at least one unit of each task that an indicator needs.
    fn full_sets(&self) -> Vec<SiteSet> {
        let Some(first) = self.zones.first() else { return Vec::new() };
        let caps: &Caps = &first.table.caps;
        let mut sets = Vec::new();
        for mut units in caps.all() {
            if self.indicators.iter().any(|indicator| units[indicator.task] == 0) {
                continue;
            }
            let Some(now) = self.site_set(&units) else { continue };
            let is_full = (0..units.len()).all(|task| {
                if units[task] == caps.of(task) {
                    return true;
                }
                units[task] += 1;
                let more = self.site_set(&units);
                units[task] -= 1;
                more.is_none_or(|more| (&more.dives, &more.by_stretch) != (&now.dives, &now.by_stretch))
            });
            if is_full {
                sets.push(now);
            }
        }
        sets
    }

    /// What of each zone is done where so much was done on dives: work at the other depth of a place is done with it.
    pub fn with_other_depths(&self, done: &mut [u16]) {
        for (zone, of) in self.zones.iter().enumerate() {
            let Some(first) = of.same_sites_as else { continue };
            if !of.is_visited() {
                done[zone] = done[first];
            } else if !self.zones[first].is_visited() {
                done[first] = done[zone];
            }
        }
    }

    /// No fewer days hold so many team dives at so many sites.
    fn least_days(&self, sites: &[u16], dives: usize) -> usize {
        let visited = sites.iter().zip(self.zones).filter(|(_, zone)| zone.is_visited());
        let number: usize = visited.map(|(&number, _)| usize::from(number)).sum();
        let by = |all: usize, a_day: usize| all.div_ceil((a_day * self.boats).max(1));
        by(dives, self.day.most_dives()).max(by(number, self.day.most_sites()))
    }

    /// What so many days hold at most.
    fn held(&self, days: usize) -> (usize, usize) {
        let boat_days = days.saturating_mul(self.boats);
        (boat_days.saturating_mul(self.day.most_dives()), boat_days.saturating_mul(self.day.most_sites()))
    }

    /// The design, from its margins.
    fn found(&self, set: &SiteSet, sites: &[u16], (days, team_dives): (usize, usize), margins: Vec<f64>) -> Found {
        Found {
            days,
            team_dives,
            sites: sites.to_vec(),
            units: set.units.clone(),
            merit: Merit::of(self.indicators, &margins),
            margins,
        }
    }

    /// A design of any units and sites; `None` where the units do not fit, or take too many days.
    pub fn design(&self, units: &[u8], sites: &[u16]) -> Option<Found> {
        let set = self.site_set(units)?;
        let takes = self.days(&mut DayPacking::new(&self.day), &set, sites)?;
        Some(self.found(&set, sites, takes, set.margins(self.indicators, &self.weights, sites)))
    }

    /// The same sites with units taken away one by one as long as that is better (see the head of this module).
    fn with_fewer_units(&self, found: Found, is_better: impl Fn(&Found, &Found) -> bool) -> Found {
        let mut best = found;
        if self.is_fixed {
            return best;
        }
        loop {
            let fewer = (0..best.units.len()).filter_map(|task| {
                let mut units = best.units.clone();
                units[task] = units[task].checked_sub(1)?;
                (units[task] > 0 || !self.needs(task)).then(|| self.design(&units, &best.sites)).flatten()
            });
            match fewer.filter(|other| is_better(other, &best)).reduce(|a, b| if is_better(&b, &a) { b } else { a }) {
                Some(better) => best = better,
                None => return best,
            }
        }
    }

    fn needs(&self, task: usize) -> bool {
        self.indicators.iter().any(|indicator| indicator.task == task)
    }
}

/// Site sets of the first round, and of the later ones.
const FIRST_ROUND: usize = 16;
const ROUND: usize = 128;

impl Found {
    /// No design: what others are made from.
    pub fn nothing() -> Self {
        let (sites, units, margins) = (Vec::new(), Vec::new(), Vec::new());
        Self { days: 0, team_dives: 0, sites, units, margins, merit: Merit([0; 4]) }
    }

    fn takes(&self) -> (usize, usize, u16) {
        (self.days, self.team_dives, self.sites.iter().sum())
    }

    /// More merit, then fewer team dives, then the first in the dictionary.
    pub fn beats(&self, other: &Self) -> bool {
        let key = |of: &Self| (Reverse(of.merit), of.team_dives);
        key(self)
            .cmp(&key(other))
            .then_with(|| self.sites.cmp(&other.sites))
            .then_with(|| self.units.cmp(&other.units))
            .is_lt()
    }

    /// Fewer days, then team dives, then sites; of those that take the same the better.
    pub fn is_less(&self, other: &Self) -> bool {
        self.takes() < other.takes() || self.takes() == other.takes() && self.beats(other)
    }

    /// The smallest margin.
    pub fn weakest(&self) -> f64 {
        self.margins.iter().copied().fold(f64::INFINITY, f64::min)
    }
}
