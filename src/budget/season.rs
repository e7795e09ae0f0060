//! What is in hand after each day of a plan, and on which day its targets are met: for expeditions that are cut short.

use super::down_set::Units;
use super::schedule::{SiteVisit, days};
use super::score::{Indicator, MET, Merit};
use super::search::{Search, SiteSet, ZoneDives};
use std::collections::BTreeMap;

/// Sites of each zone that are done after 1, 2 ... days; a site counts when its last dive is made. `dives`: team dives at a site on a
/// day (from 0), by zone.
pub fn done_by_day(
    boat_days: &[Vec<SiteVisit>],
    zones: usize,
    dives: impl Fn(usize, usize) -> usize,
    boats: usize,
) -> Vec<Vec<u16>> {
    let mut done = vec![0u16; zones];
    let day = |(day, visits): (usize, &[Vec<SiteVisit>])| {
        for visit in visits.iter().flatten() {
            done[visit.zone] += u16::from(visit.first_dive + visit.dives >= dives(day, visit.zone));
        }
        done.clone()
    };
    boat_days.chunks(boats.max(1)).enumerate().map(day).collect()
}

/// Margins of all indicators with so many sites done. `None`: a zone has fewer than two, from which no spread can be told.
pub fn margins_in_hand(indicators: &[Indicator], weights: &[f64], sites: &[u16], units: &[u8]) -> Option<Vec<f64>> {
    let told = sites.iter().all(|&number| number >= 2);
    let of = |indicator: &Indicator| indicator.margin(weights, sites, usize::from(units[indicator.task]));
    told.then(|| indicators.iter().map(of).collect())
}

/// On which day of an order of sites a site set has met its targets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Met {
    pub units: Units,
    /// Days to dive on until the musts are met, and until all targets are; `None`: not with all the sites there are.
    pub musts: Option<usize>,
    pub all: Option<usize>,
    /// Sites of each zone done by then.
    pub sites_for_musts: Vec<u16>,
    pub sites_for_all: Vec<u16>,
    merit: Merit,
}

impl Met {
    fn days(&self) -> (usize, usize) {
        (self.musts.unwrap_or(usize::MAX), self.all.unwrap_or(usize::MAX))
    }
}

/// Sites are looked at up to so many times those planned.
const FURTHER: f64 = 4.0;

impl Search<'_> {
    /// Site sets of which none meets both the musts and all targets in fewer days than another, when sites are visited day
    /// by day as planned and then further in the same shares, as far as there are sites. Of those alike the one with the
    /// best merit. Nothing is told where crews follow one another. Cost: full site sets x days.
    pub fn on_which_day(&self, planned: &[u16]) -> Vec<Met> {
        if self.is_in_stretches() {
            return Vec::new();
        }
        let mut calendars = Calendars { search: self, planned, known: BTreeMap::new() };
        let mut met: Vec<Met> = self.site_sets().iter().filter_map(|set| self.met(set, &mut calendars)).collect();
        // The first of those alike is the best one.
        let key = |of: &Met| (of.days(), std::cmp::Reverse(of.merit), of.units.clone());
        met.sort_by_key(key);
        // By days for the musts: each must need fewer days for all targets than those before.
        let mut least: Option<usize> = None;
        met.retain(|met| {
            let is_better = least.is_none_or(|least| met.days().1 < least);
            least = Some(least.map_or(met.days().1, |least| least.min(met.days().1)));
            is_better
        });
        met
    }

    /// On which day one site set, full or not, has met its targets.
    pub fn met_by(&self, planned: &[u16], units: &[u8]) -> Option<Met> {
        let set = self.site_set(units).filter(|_| !self.is_in_stretches())?;
        self.met(&set, &mut Calendars { search: self, planned, known: BTreeMap::new() })
    }

    fn met(&self, set: &SiteSet, calendars: &mut Calendars) -> Option<Met> {
        let weights: Vec<f64> = self.zones.iter().map(|zone| zone.weight).collect();
        let mut musts: Option<(usize, Vec<u16>)> = None;
        let mut all = None;
        for (index, sites) in calendars.of(&set.dives).iter().enumerate() {
            if sites.iter().zip(self.zones).any(|(&number, zone)| number < zone.least_sites.max(2)) {
                continue;
            }
            let is_met = |i: &Indicator| i.margin(&weights, sites, usize::from(set.units[i.task])) >= MET;
            let now = || Some((index + 1, sites.clone()));
            if musts.is_none() && self.indicators.iter().filter(|i| i.is_must).all(is_met) {
                musts = now();
            }
            if musts.is_some() && self.indicators.iter().all(is_met) {
                all = now();
                break;
            }
        }
        let (_, sites) = all.as_ref().or(musts.as_ref())?;
        let margins = margins_in_hand(self.indicators, &weights, sites, &set.units)?;
        Some(Met {
            units: set.units.clone(),
            musts: musts.as_ref().map(|(days, _)| *days),
            all: all.as_ref().map(|(days, _)| *days),
            merit: Merit::of(self.indicators, &margins),
            sites_for_musts: musts.map_or(Vec::new(), |(_, sites)| sites),
            sites_for_all: all.map_or(Vec::new(), |(_, sites)| sites),
        })
    }
}

/// Sites done after each day, by the team dives that a site of each zone takes.
struct Calendars<'a> {
    search: &'a Search<'a>,
    planned: &'a [u16],
    known: BTreeMap<Vec<usize>, Vec<Vec<u16>>>,
}

impl Calendars<'_> {
    fn of(&mut self, dives: &[usize]) -> &[Vec<u16>] {
        let (search, planned) = (self.search, self.planned);
        self.known.entry(dives.to_vec()).or_insert_with(|| {
            let mut boat_days = days(&search.day, planned, dives);
            let further = search.further(planned);
            boat_days.extend(days(&search.day, &further, dives));
            let mut done = done_by_day(&boat_days, dives.len(), |_, zone| dives[zone], search.boats);
            done.iter_mut().for_each(|done| search.with_other_depths(done));
            done
        })
    }
}

impl Search<'_> {
    /// Sites beyond the plan, in its shares.
    fn further(&self, planned: &[u16]) -> Vec<u16> {
        let both = || self.zones.iter().zip(planned).filter(|(_, planned)| **planned > 0);
        let ratio = |(zone, &planned): (&ZoneDives, &u16)| f64::from(zone.most_sites) / f64::from(planned);
        let times = both().map(ratio).fold(FURTHER, f64::min).max(1.0);
        planned.iter().map(|&planned| (f64::from(planned) * times + 1e-9) as u16 - planned).collect()
    }
}
