//! A full site set with what it takes and gives, ready to be tried with many numbers of sites.

use super::super::down_set::Units;
use super::super::score::{Indicator, MET, Merit};
use super::{Hold, ZoneDives};

/// Units at each site with the team dives they take at a site of each zone.
#[derive(Clone, Debug)]
pub(in crate::budget) struct SiteSet {
    pub units: Units,
    /// Where crews follow one another the fewest that any of them takes.
    pub dives: Vec<usize>,
    /// Where they do, by stretch and zone.
    pub by_stretch: Vec<Vec<usize>>,
}

/// The most that is used of something; no limit where it is infinite.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::budget) struct Most {
    pub dives: f64,
    pub sites: f64,
}

/// Sums of the roots of the weighted variances of a site of each zone, with dives and with sites as the cost; the variance with
/// all sites there are; and what sites that are done would have cost.
#[derive(Default)]
struct Cheapest {
    by_dives: f64,
    by_sites: f64,
    with_all: f64,
    paid: Most,
}

impl SiteSet {
    fn of(&self, indicator: &Indicator) -> usize {
        usize::from(self.units[indicator.task])
    }

    pub fn margins(&self, indicators: &[Indicator], weights: &[f64], sites: &[u16]) -> Vec<f64> {
        indicators.iter().map(|indicator| indicator.margin(weights, sites, self.of(indicator))).collect()
    }

    /// Whether all of some indicators meet their targets.
    pub fn meets<'a>(
        &self,
        mut indicators: impl Iterator<Item = &'a Indicator>,
        weights: &[f64],
        sites: &[u16],
    ) -> bool {
        indicators.all(|indicator| indicator.margin(weights, sites, self.of(indicator)) >= MET)
    }

    /// Least variance that an indicator can have when no more than so much is used: the cheapest division of sites among
    /// zones (Neyman 1934, Journal of the Royal Statistical Society 97:558-625; from memory), with dives and with sites as
    /// the cost, and all sites there are.
    /// Sites that are done count as if they were paid for like the others, each zone's at the least that any site of it tells.
    fn cheapest(&self, indicator: &Indicator, zones: &[ZoneDives]) -> Cheapest {
        let units = self.of(indicator);
        let mut all = Cheapest::default();
        for (index, zone) in zones.iter().enumerate().filter(|(_, zone)| zone.same_sites_as.is_none()) {
            // Zones at the same places have as many sites: a place costs what both take.
            let together = || {
                let is_one = |other: usize| other == index || zones[other].same_sites_as == Some(index);
                (0..zones.len()).filter(move |&other| is_one(other))
            };
            let dives: usize = together().map(|other| self.dives[other]).sum();
            let visited = together().filter(|&other| zones[other].is_visited()).count();
            let weighted = match indicator.places.iter().find(|places| places.zones.contains(&index)) {
                Some(places) => places.least_of_a_place(units),
                None => zone.weight * zone.weight * indicator.least_of_a_site(index, units),
            };
            let done = indicator.done_sites(index);
            all.by_dives += (weighted * dives as f64).sqrt();
            all.by_sites += (weighted * visited as f64).sqrt();
            all.with_all += weighted / f64::from(zone.most_sites + done);
            all.paid.dives += f64::from(done) * dives as f64;
            all.paid.sites += f64::from(done);
        }
        all
    }

    fn least_variance(&self, indicator: &Indicator, zones: &[ZoneDives], most: Most) -> f64 {
        let Cheapest { by_dives, by_sites, with_all, paid } = self.cheapest(indicator, zones);
        let (dives, sites) = (most.dives + paid.dives, most.sites + paid.sites);
        (by_dives * by_dives / dives).max(by_sites * by_sites / sites).max(with_all)
    }

    /// Margins that cannot be beaten when no more than so much is used, whatever the degrees of freedom.
    fn most_margin(&self, indicator: &Indicator, zones: &[ZoneDives], most: Most) -> f64 {
        let variance = self.least_variance(indicator, zones, most) + indicator.floor[self.of(indicator)];
        indicator.target / (variance.sqrt() * indicator.need.least())
    }

    pub fn most_merit(&self, indicators: &[Indicator], zones: &[ZoneDives], most: Most) -> Merit {
        let margins: Vec<f64> = indicators.iter().map(|of| (1.0 + 1e-9) * self.most_margin(of, zones, most)).collect();
        Merit::of(indicators, &margins)
    }

    /// Whether it can meet its targets at all: with all sites there are, whatever the degrees of freedom.
    pub fn can_meet(&self, indicators: &[Indicator], zones: &[ZoneDives], hold: Hold) -> bool {
        let unlimited = Most { dives: f64::INFINITY, sites: f64::INFINITY };
        let mut asked = indicators.iter().filter(|indicator| hold.asks(indicator));
        asked.all(|of| self.most_margin(of, zones, unlimited) >= MET)
    }

    /// Fewest team dives, and fewest sites, with which it can meet its targets, whatever the degrees of freedom.
    pub fn fewest(&self, indicators: &[Indicator], zones: &[ZoneDives], hold: Hold) -> (f64, f64) {
        let visited = zones.iter().filter(|zone| zone.is_visited());
        let sites: f64 = visited.map(|zone| f64::from(zone.least_sites)).sum();
        let dives: f64 = zones.iter().zip(&self.dives).map(|(zone, &d)| f64::from(zone.least_sites) * d as f64).sum();
        let asked = indicators.iter().filter(|indicator| hold.asks(indicator));
        asked.fold((dives, sites), |(dives, sites), indicator| {
            let allowed = (indicator.target / indicator.need.least()).powi(2) - indicator.floor[self.of(indicator)];
            if allowed <= 0.0 {
                return (f64::INFINITY, f64::INFINITY);
            }
            let Cheapest { by_dives, by_sites, paid, .. } = self.cheapest(indicator, zones);
            (
                dives.max(by_dives * by_dives / allowed - paid.dives),
                sites.max(by_sites * by_sites / allowed - paid.sites),
            )
        })
    }
}
