//! Money in the search: what a design costs, and the cheapest of all designs or of those of the least effort.
//!
//! For given sites the fewest units that meet the targets are the cheapest: no price falls with more units, and the
//! units of one task meet its targets or not whatever the others are. So every number of sites is looked at with its
//! fewest units, but for those that a bound from below rules out. (A site that takes more units might take fewer
//! pair-dives where it takes more team dives, with unusual skills; that is not looked for.)

use super::super::days::DayPacking;
use super::super::down_set::Units;
use super::super::score::{Indicator, MET};
use super::{Found, Hold, Search};
use std::sync::Arc;

/// Stretch, zone, units of each task.
type PairDives<'a> = Arc<dyn Fn(usize, usize, &[u8]) -> usize + Send + Sync + 'a>;
/// Sites of each zone.
type Opens<'a> = Arc<dyn Fn(&[u16]) -> usize + Send + Sync + 'a>;
/// Days for diving.
type OfDays<'a> = Arc<dyn Fn(usize) -> f64 + Send + Sync + 'a>;

/// What is paid for a design, in one currency.
#[derive(Clone)]
pub struct Prices<'a> {
    /// For so many days for diving, whatever is planned on them; no less for more days.
    pub of_days: OfDays<'a>,
    /// The day for diving before which not all of so many sites can be reached, so that the days up to it are paid for; no earlier
    /// with more sites.
    pub opens: Opens<'a>,
    /// The dives of both divers of a pair.
    pub a_pair_dive: f64,
    /// Of each task.
    pub a_unit: Vec<f64>,
    /// Pair-dives at one site of a zone with so many units of each task, in a stretch of the crew (the first: there is one).
    pub pair_dives: PairDives<'a>,
    /// Whether the least design is that of least money; else money decides between those of the same effort only.
    pub come_first: bool,
}

/// What is compared first, second ...: the less, the better.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Key([f64; 4]);

/// What designs take at the least, or exactly.
#[derive(Clone, Copy, Debug, Default)]
struct Takes {
    days: usize,
    /// The same with those that are left free.
    days_paid: usize,
    team_dives: usize,
    pair_dives: usize,
    sites: usize,
    /// Money for the units of all sites.
    units: f64,
}

impl Prices<'_> {
    fn money(&self, takes: &Takes) -> f64 {
        (self.of_days)(takes.days_paid) + self.a_pair_dive * takes.pair_dives as f64 + takes.units
    }

    fn of_units(&self, units: &[u8]) -> f64 {
        self.a_unit.iter().zip(units).map(|(price, &units)| price * f64::from(units)).sum()
    }

    /// Rounding never decides.
    fn key(&self, takes: &Takes) -> Key {
        let money = (1e4 * self.money(takes)).round();
        let [days, dives, sites] = [takes.days, takes.team_dives, takes.sites].map(|number| number as f64);
        Key(if self.come_first { [money, days, dives, sites] } else { [days, dives, sites, money] })
    }
}

impl Search<'_> {
    /// What a design costs; `None` without prices.
    pub fn money(&self, found: &Found) -> Option<f64> {
        self.prices().map(|prices| prices.money(&self.takes_of(prices, found)))
    }

    /// The less the better of two designs, with money in its place; of those alike the one with more merit.
    pub fn is_less(&self, one: &Found, other: &Found, of_other: &Self) -> bool {
        let keys = self.prices().zip(of_other.prices());
        let Some((own, others)) = keys else { return one.is_less(other) };
        let (own, others) = (own.key(&self.takes_of(own, one)), others.key(&of_other.takes_of(others, other)));
        own < others || own == others && one.beats(other)
    }

    fn takes_of(&self, prices: &Prices, found: &Found) -> Takes {
        let split = self.split(&found.units, &found.sites);
        let each = split.iter().enumerate().flat_map(|(stretch, of)| {
            of.iter().enumerate().map(move |(zone, &sites)| (stretch, zone, usize::from(sites)))
        });
        let pair_dives = |(stretch, zone, sites): (usize, usize, usize)| {
            if sites == 0 { 0 } else { sites * (prices.pair_dives)(stretch, zone, &found.units) }
        };
        Takes {
            days: found.days,
            days_paid: found.days.max((prices.opens)(&found.sites)),
            team_dives: found.team_dives,
            pair_dives: each.map(pair_dives).sum(),
            sites: found.sites.iter().map(|&sites| usize::from(sites)).sum(),
            units: prices.of_units(&found.units) * found.sites.iter().map(|&sites| f64::from(sites)).sum::<f64>(),
        }
    }

    /// The cheapest of what meets the targets, from a design of the least effort that does. Cost: numbers of sites that
    /// the bound leaves x units of the tasks.
    pub(super) fn of_least_money(&self, prices: &Prices, hold: Hold, found: Found) -> Found {
        let key = prices.key(&self.takes_of(prices, &found));
        let units = found.units.clone();
        let Some(cheapest) = Cheapest::new(self, prices, (hold, found.units.len()), key, units) else { return found };
        let mut cheapest = Cheapest { best: Some(found.clone()), ..cheapest };
        cheapest.look_at(&found.sites);
        cheapest.extend(&mut Vec::with_capacity(self.zones.len()), 0);
        self.filled(prices, cheapest.best.unwrap_or(found))
    }

    /// The cheapest of what meets the targets with so much money; `None`: nothing does. Prices come first.
    pub(super) fn within_money(&self, prices: &Prices, hold: Hold, money: f64) -> Option<Found> {
        let tasks = self.zones.first()?.table.caps.tasks();
        let key = Key([(1e4 * money).round(), f64::INFINITY, f64::INFINITY, f64::INFINITY]);
        let units = match self.site_sets().first() {
            Some(set) => set.units.clone(),
            None => self.least_units(hold, tasks),
        };
        let mut cheapest = Cheapest::new(self, prices, (hold, tasks), key, units)?;
        cheapest.extend(&mut Vec::with_capacity(self.zones.len()), 0);
        cheapest.best
    }

    /// What a design costs by other prices than those of the search.
    pub(super) fn money_by(&self, prices: &Prices, found: &Found) -> f64 {
        prices.money(&self.takes_of(prices, found))
    }

    fn asked(&self, hold: Hold, task: usize) -> impl Iterator<Item = &Indicator> {
        self.indicators.iter().filter(move |indicator| indicator.task == task && hold.asks(indicator))
    }

    /// No number of sites meets the targets of the tasks with fewer units.
    fn least_units(&self, hold: Hold, tasks: usize) -> Units {
        let most: Vec<u16> = self.zones.iter().map(|zone| zone.most_sites).collect();
        let of_task = |task: usize| {
            let could = |units: u8| {
                self.asked(hold, task).all(|of| {
                    let variance = of.variance(&self.weights, &most, usize::from(units)).0;
                    of.target / (variance.sqrt() * of.need.least()) >= MET
                })
            };
            self.units_from(task).find(|&units| could(units)).unwrap_or(self.units_from(task).start().to_owned())
        };
        (0..tasks).map(of_task).collect()
    }

    fn units_from(&self, task: usize) -> std::ops::RangeInclusive<u8> {
        let most = self.zones.first().map_or(0, |zone| zone.table.caps.of(task));
        u8::from(self.needs(task))..=most
    }

    /// The fewest units of each task that meet its targets with so many sites.
    fn fewest_units(&self, hold: Hold, sites: &[u16]) -> Option<Units> {
        let of = |task: usize| {
            let meets = |units: u8| {
                let mut asked = self.asked(hold, task);
                asked.all(|of| of.margin(&self.weights, sites, usize::from(units)) >= MET)
            };
            self.units_from(task).find(|&units| meets(units))
        };
        let tasks = self.zones.first().map_or(0, |zone| zone.table.caps.tasks());
        (0..tasks).map(of).collect()
    }

    /// With units added one by one where they cost nothing.
    fn filled(&self, prices: &Prices, mut best: Found) -> Found {
        if self.is_fixed {
            return best;
        }
        let key = prices.key(&self.takes_of(prices, &best));
        loop {
            let more = (0..best.units.len()).filter_map(|task| {
                let mut units = best.units.clone();
                units[task] += 1;
                let is_cap = units[task] > *self.units_from(task).end();
                let design = (!is_cap).then(|| self.design(&units, &best.sites)).flatten()?;
                let is_free = prices.key(&self.takes_of(prices, &design)) <= key;
                (is_free && design.beats(&best)).then_some(design)
            });
            match more.reduce(|one, other| if other.beats(&one) { other } else { one }) {
                Some(better) => best = better,
                None => return best,
            }
        }
    }
}

struct Cheapest<'a, 'b> {
    search: &'a Search<'b>,
    prices: &'a Prices<'b>,
    hold: Hold,
    /// Team dives that a site of each zone takes at the least, and money for the units of a site.
    a_site: Vec<usize>,
    units_a_site: f64,
    packing: DayPacking,
    key: Key,
    /// Where only one site set is looked at, that one.
    units: Units,
    best: Option<Found>,
}

impl<'a, 'b> Cheapest<'a, 'b> {
    /// Nothing found yet; `None`: a site cannot hold what the targets take at the least.
    fn new(
        search: &'a Search<'b>,
        prices: &'a Prices<'b>,
        (hold, tasks): (Hold, usize),
        key: Key,
        units: Units,
    ) -> Option<Self> {
        let least_units = search.least_units(hold, tasks);
        let a_site = search.site_set(&least_units)?.dives;
        let (units_a_site, packing) = (prices.of_units(&least_units), DayPacking::new(&search.day));
        Some(Self { search, prices, hold, a_site, units_a_site, packing, key, units, best: None })
    }

    /// Sites of the zones that `sites` does not have yet.
    fn extend(&mut self, sites: &mut Vec<u16>, dives: usize) {
        let zone = sites.len();
        let Some(of) = self.search.zones.get(zone) else { return self.look_at(&sites.clone()) };
        for number in of.numbers(sites) {
            let dives = dives + usize::from(number) * self.a_site[zone];
            sites.push(number);
            let is_ruled_out = self.bound(sites, dives) > self.key;
            if !is_ruled_out {
                self.extend(sites, dives);
            }
            sites.pop();
            if is_ruled_out {
                return;
            }
        }
    }

    /// Nothing with these sites, and as many as there must be in the other zones, comes before this.
    fn bound(&self, sites: &[u16], dives: usize) -> Key {
        let others = self.search.zones.iter().zip(&self.a_site).skip(sites.len());
        let mut all = sites.to_vec();
        let mut team_dives = dives;
        for (zone, a_site) in others {
            all.push(zone.least_sites);
            team_dives += usize::from(zone.least_sites) * a_site;
        }
        let number: usize = all.iter().map(|&sites| usize::from(sites)).sum();
        let days = self.search.least_days(&all, team_dives);
        self.prices.key(&Takes {
            days,
            days_paid: days.max((self.prices.opens)(&all)),
            team_dives,
            // Every team dive has a pair in it.
            pair_dives: team_dives,
            sites: number,
            units: self.units_a_site * number as f64,
        })
    }

    fn look_at(&mut self, sites: &[u16]) {
        let search = self.search;
        let units = if search.is_fixed { self.as_it_is(sites) } else { search.fewest_units(self.hold, sites) };
        let Some(units) = units else { return };
        let Some(set) = search.site_set(&units) else { return };
        let team_dives: usize = sites.iter().zip(&set.dives).map(|(&sites, dives)| usize::from(sites) * dives).sum();
        let number: usize = sites.iter().map(|&sites| usize::from(sites)).sum();
        let units = self.prices.of_units(&set.units) * number as f64;
        let days = search.least_days(sites, team_dives);
        let at_least = Takes {
            days,
            days_paid: days.max((self.prices.opens)(sites)),
            team_dives,
            pair_dives: team_dives,
            sites: number,
            units,
        };
        if self.prices.key(&at_least) > self.key {
            return;
        }
        let Some(takes) = search.days(&mut self.packing, &set, sites) else { return };
        let margins = set.margins(search.indicators, &search.weights, sites);
        let found = search.found(&set, sites, takes, margins);
        let key = self.prices.key(&search.takes_of(self.prices, &found));
        if key < self.key || key == self.key && self.best.as_ref().is_none_or(|best| found.beats(best)) {
            (self.key, self.best) = (key, Some(found));
        }
    }

    /// The one site set that is looked at, where it meets the targets.
    fn as_it_is(&self, sites: &[u16]) -> Option<Units> {
        let units = &self.units;
        let asked = self.search.indicators.iter().filter(|indicator| self.hold.asks(indicator));
        let meets = |of: &Indicator| of.margin(&self.search.weights, sites, usize::from(units[of.task])) >= MET;
        asked.into_iter().all(meets).then(|| units.clone())
    }
}
