//! The least effort that meets the targets.

use super::super::score::MET;
use super::site_set::SiteSet;
use super::{Found, Hold, Search};

impl Search<'_> {
    /// The least effort that meets the targets: fewest days, then team dives, then sites, then the best merit. With at least
    /// three sites a zone no site set that is not full was ever better in brute-force searches; with two it can be, by a few
    /// tenths of a percent (degrees of freedom).
    pub fn least(&self, hold: Hold) -> Option<Found> {
        self.least_below(hold, None)
    }

    /// The same, where only what takes less than a known design is of use: `None` where nothing does. With prices what costs
    /// least, among all designs or among those of the least effort, whatever is known.
    pub fn least_below(&self, hold: Hold, known: Option<&Found>) -> Option<Found> {
        match self.prices() {
            Some(prices) => self.of_least_effort(hold, None).map(|found| self.of_least_money(prices, hold, found)),
            None => self.of_least_effort(hold, known),
        }
    }

    fn of_least_effort(&self, hold: Hold, known: Option<&Found>) -> Option<Found> {
        let bounds = |set: &SiteSet| {
            let (dives, sites) = set.fewest(self.indicators, self.zones, hold);
            let by = |all: f64, a_day: usize| ((all - 1e-6) / (a_day * self.boats).max(1) as f64).ceil();
            (by(dives, self.day.most_dives()).max(by(sites, self.day.most_sites())), dives)
        };
        let possible = self.site_sets().iter().filter(|set| set.can_meet(self.indicators, self.zones, hold));
        let mut sets: Vec<((f64, f64), &SiteSet)> = possible.map(|set| (bounds(set), set)).collect();
        sets.sort_by(|(a, _), (b, _)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (bounds, sets): (Vec<(f64, f64)>, Vec<&SiteSet>) = sets.into_iter().unzip();
        let asked = || self.indicators.iter().filter(|indicator| hold.asks(indicator));
        let mut best: Option<Found> = None;
        let days_of = |best: &Option<Found>| best.as_ref().or(known).map(|best| best.days);
        self.rounds(
            &sets,
            &mut best,
            |packing, best, index| {
                let set = sets[index];
                let mut own: Option<Found> = None;
                let days = days_of(best).unwrap_or(usize::MAX);
                let (most_dives, most_sites) = self.held(days);
                if bounds[index].0 > days as f64 {
                    return own;
                }
                self.for_each_sites(set, most_dives, most_sites, |sites, dives| {
                    if (dives as f64) < bounds[index].1 - 1e-6 {
                        return;
                    }
                    let least = (self.least_days(sites, dives), dives);
                    let known = own.as_ref().or(best.as_ref()).or(known);
                    if known.is_some_and(|known| least > (known.days, known.team_dives))
                        || !set.meets(asked(), &self.weights, sites)
                    {
                        return;
                    }
                    let Some(takes) = self.days(packing, set, sites) else { return };
                    let found = self.found(set, sites, takes, set.margins(self.indicators, &self.weights, sites));
                    if known.is_none_or(|known| found.is_less(known)) {
                        own = Some(found);
                    }
                });
                own
            },
            |best, own| {
                if own.as_ref().is_some_and(|own| best.as_ref().is_none_or(|best| own.is_less(best))) {
                    *best = own;
                }
            },
            |best, next| days_of(best).is_some_and(|days| bounds[next].0 > days as f64),
        );
        let told =
            |found: &Found| self.indicators.iter().zip(&found.margins).all(|(of, &m)| !hold.asks(of) || m >= MET);
        best.map(|best| self.with_fewer_units(best, |other, best| told(other) && other.is_less(best)))
    }
}
