//! The search over site sets (units of each task at a site, the same in all zones) and sites of each zone.
//!
//! Only *full* site sets are looked at: those to which nothing can be added without one more team dive in some zone. More
//! units never make an indicator worse at the same sites, except through degrees of freedom (see `Search::least`).

use super::days::{Day, DayPacking};
use super::down_set::{Caps, Units};
use super::packing::Table;
use super::score::{Indicator, MET, Merit};
use std::cmp::Ordering::{Greater, Less};

/// A class of sites as the search sees it.
#[derive(Clone, Debug)]
pub struct ZoneDives<'a> {
    pub weight: f64,
    pub least_sites: u16,
    pub most_sites: u16,
    pub table: &'a Table,
}

/// What is searched.
pub struct Search<'a> {
    pub zones: &'a [ZoneDives<'a>],
    pub indicators: &'a [Indicator],
    pub day: Day,
    pub boats: usize,
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

/// A full site set with the team dives it takes at a site of each zone.
#[derive(Clone, Debug)]
pub(super) struct SiteSet {
    pub units: Units,
    pub dives: Vec<usize>,
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
    fn caps(&self) -> &Caps {
        &self.zones[0].table.caps
    }

    /// Full site sets that every zone can do, with at least one unit of each task that an indicator needs.
    pub(super) fn site_sets(&self) -> Vec<SiteSet> {
        let caps = self.caps();
        let needed = |task: usize| self.indicators.iter().any(|indicator| indicator.task == task);
        let mut sets = Vec::new();
        for units in caps.all() {
            if (0..units.len()).any(|task| needed(task) && units[task] == 0) {
                continue;
            }
            let dives: Option<Vec<usize>> = self.zones.iter().map(|zone| zone.table.dives(&units)).collect();
            let Some(dives) = dives else { continue };
            let is_full = (0..units.len()).all(|task| {
                let mut more = units.clone();
                more[task] += 1;
                more[task] > caps.of(task)
                    || self.zones.iter().zip(&dives).any(|(zone, &d)| zone.table.dives(&more) != Some(d))
            });
            if is_full {
                sets.push(SiteSet { units, dives });
            }
        }
        sets
    }

    /// Fewest team dives with which a site set can meet its targets, whatever the degrees of freedom: the cheapest division
    /// of sites among zones (Neyman 1934, Journal of the Royal Statistical Society 97:558-625; from memory), with costs.
    fn fewest_dives(&self, set: &SiteSet, hold: Hold) -> f64 {
        let least: f64 =
            self.zones.iter().zip(&set.dives).map(|(zone, &d)| f64::from(zone.least_sites) * d as f64).sum();
        self.indicators.iter().filter(|indicator| hold.asks(indicator)).fold(least, |most, indicator| {
            let units = usize::from(set.units[indicator.task]);
            let allowed = (indicator.target / indicator.need.least()).powi(2) - indicator.floor[units];
            if allowed <= 0.0 {
                return f64::INFINITY;
            }
            let roots: f64 = self
                .zones
                .iter()
                .zip(&set.dives)
                .enumerate()
                .map(|(z, (zone, &dives))| zone.weight * (indicator.sites[z][units].variance * dives as f64).sqrt())
                .sum();
            most.max(roots * roots / allowed)
        })
    }

    /// Whether a site set can meet its targets at all: with all sites there are, whatever the degrees of freedom.
    fn can_meet(&self, set: &SiteSet, hold: Hold) -> bool {
        let weights = self.weights();
        let sites: Vec<u16> = self.zones.iter().map(|zone| zone.most_sites).collect();
        self.indicators.iter().filter(|indicator| hold.asks(indicator)).all(|indicator| {
            let (variance, _) = indicator.variance(&weights, &sites, usize::from(set.units[indicator.task]));
            indicator.target >= MET * variance.sqrt() * indicator.need.least()
        })
    }

    /// Every number of sites within the zones' limits that takes at most so many team dives and sites, the last zone fastest.
    fn for_each_sites(&self, set: &SiteSet, most_dives: usize, most_sites: usize, mut each: impl FnMut(&[u16], usize)) {
        let mut sites = Vec::with_capacity(self.zones.len());
        self.extend_sites(set, (0, most_dives), most_sites, &mut sites, &mut each);
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
        for number in of.least_sites..=of.most_sites {
            let taken = taken + usize::from(number) * set.dives[zone];
            if taken > most_dives || usize::from(number) > most_sites {
                return;
            }
            sites.push(number);
            self.extend_sites(set, (taken, most_dives), most_sites - usize::from(number), sites, each);
            sites.pop();
        }
    }

    fn weights(&self) -> Vec<f64> {
        self.zones.iter().map(|zone| zone.weight).collect()
    }

    fn margins(&self, weights: &[f64], set: &SiteSet, sites: &[u16]) -> Vec<f64> {
        let of = |i: &Indicator| i.margin(weights, sites, usize::from(set.units[i.task]));
        self.indicators.iter().map(of).collect()
    }

    fn days(&self, packing: &mut DayPacking, set: &SiteSet, sites: &[u16]) -> Option<usize> {
        packing.days_of_zones(sites, &set.dives).map(|days| days.div_ceil(self.boats))
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

    /// The least effort that meets the targets: fewest days, then team dives, then sites, then the best merit. With at least
    /// three sites a zone no site set that is not full was ever better in brute-force searches; with two it can be, by a few
    /// tenths of a percent (degrees of freedom).
    pub fn least(&self, hold: Hold) -> Option<Found> {
        let possible = self.site_sets().into_iter().filter(|set| self.can_meet(set, hold));
        let mut sets: Vec<(f64, SiteSet)> = possible.map(|set| (self.fewest_dives(&set, hold), set)).collect();
        sets.sort_by(|a, b| a.0.total_cmp(&b.0));
        let weights = self.weights();
        let mut packing = DayPacking::new(&self.day);
        let a_day = (self.day.most_dives() * self.boats) as f64;
        let mut best: Option<Found> = None;
        for (bound, set) in &sets {
            let (most_dives, most_sites) = match &best {
                Some(best) => {
                    if (bound / a_day).ceil() as usize > best.days {
                        break;
                    }
                    let days = best.days * self.boats;
                    (days * self.day.most_dives(), days * self.day.most_sites())
                }
                None => (usize::MAX, usize::MAX),
            };
            self.for_each_sites(set, most_dives, most_sites, |sites, dives| {
                let met =
                    |i: &Indicator| !hold.asks(i) || i.margin(&weights, sites, usize::from(set.units[i.task])) >= MET;
                if (dives as f64) < bound - 1e-6 || !self.indicators.iter().all(met) {
                    return;
                }
                let Some(days) = self.days(&mut packing, set, sites) else { return };
                let found = self.found(set, sites, (days, dives), self.margins(&weights, set, sites));
                if best.as_ref().is_none_or(|best| {
                    found.takes() < best.takes() || found.takes() == best.takes() && found.beats(best)
                }) {
                    best = Some(found);
                }
            });
        }
        best
    }

    /// The best use of 1, 2 ... `most` days: for each the design with the best merit, then fewest team dives.
    pub fn frontier(&self, most: usize) -> Vec<Option<Found>> {
        let weights = self.weights();
        let mut packing = DayPacking::new(&self.day);
        let mut best: Vec<Option<Found>> = vec![None; most + 1];
        let boat_days = most * self.boats;
        for set in self.site_sets() {
            let (most_dives, most_sites) = (boat_days * self.day.most_dives(), boat_days * self.day.most_sites());
            self.for_each_sites(&set, most_dives, most_sites, |sites, dives| {
                let Some(days) = self.days(&mut packing, &set, sites).filter(|&days| days <= most) else { return };
                let found = self.found(&set, sites, (days, dives), self.margins(&weights, &set, sites));
                for better in best[days..].iter_mut() {
                    if better.as_ref().is_none_or(|known| found.beats(known)) {
                        *better = Some(found.clone());
                    }
                }
            });
        }
        best.remove(0);
        best
    }
}

impl Search<'_> {
    /// Designs that meet all targets for hardly more than the least one: in its days and at most a twentieth more team
    /// dives. Of those that differ in the sites or in the team dives of their zones only the best.
    pub fn near_ties(&self, least: &Found, most: usize) -> Vec<Found> {
        let weights = self.weights();
        let mut packing = DayPacking::new(&self.day);
        let most_dives = least.team_dives + least.team_dives / 20;
        let boat_days = least.days * self.boats;
        let mut ties: Vec<Found> = Vec::new();
        for set in self.site_sets() {
            self.for_each_sites(&set, most_dives, boat_days * self.day.most_sites(), |sites, dives| {
                let margins = self.margins(&weights, &set, sites);
                if margins.iter().any(|&margin| margin < MET) {
                    return;
                }
                let days = self.days(&mut packing, &set, sites).filter(|&days| days <= least.days);
                let Some(days) = days.filter(|_| sites != least.sites || set.units != least.units) else { return };
                let found = self.found(&set, sites, (days, dives), margins);
                let alike = |tie: &Found| tie.sites == found.sites && tie.team_dives == found.team_dives;
                match ties.iter_mut().find(|tie| alike(tie)) {
                    Some(tie) if found.beats(tie) => *tie = found,
                    Some(_) => {}
                    None => ties.push(found),
                }
            });
        }
        ties.sort_by(|one, other| {
            one.takes().cmp(&other.takes()).then_with(|| if one.beats(other) { Less } else { Greater })
        });
        ties.truncate(most);
        ties
    }
}

impl Found {
    fn takes(&self) -> (usize, usize, u16) {
        (self.days, self.team_dives, self.sites.iter().sum())
    }

    /// More merit, then fewer team dives, then the first in the dictionary.
    fn beats(&self, other: &Self) -> bool {
        let key = |of: &Self| (std::cmp::Reverse(of.merit), of.team_dives, of.sites.clone(), of.units.clone());
        key(self) < key(other)
    }
}
