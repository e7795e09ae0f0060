//! Designs hardly dearer than the least one.

use super::site_set::SiteSet;
use super::{Found, Hold, Search};
use std::cmp::Ordering::{Greater, Less};

impl Search<'_> {
    /// Designs that meet all targets for hardly more than the least one: in its days and at most a twentieth more team
    /// dives. Of those that differ in the sites or in the team dives of their zones only the best. `is_own`: the least is a
    /// design of this search and no tie of itself.
    pub fn near_ties(&self, least: &Found, most: usize, is_own: bool) -> Vec<Found> {
        let most_dives = least.team_dives + least.team_dives / 20;
        let (_, most_sites) = self.held(least.days);
        let is_near = |set: &&SiteSet| {
            let (dives, sites) = set.fewest(self.indicators, self.zones, Hold::All);
            dives <= most_dives as f64 + 1e-6 && sites <= most_sites as f64 + 1e-6
        };
        let sets: Vec<&SiteSet> = self.site_sets().iter().filter(is_near).collect();
        let mut ties: Vec<Found> = Vec::new();
        let add = |ties: &mut Vec<Found>, found: Found| {
            let alike = |tie: &Found| tie.sites == found.sites && tie.team_dives == found.team_dives;
            match ties.iter_mut().find(|tie| alike(tie)) {
                Some(tie) if found.beats(tie) => *tie = found,
                Some(_) => {}
                None => ties.push(found),
            }
        };
        self.rounds(
            &sets,
            &mut ties,
            |packing, _, index| {
                let (set, mut own) = (sets[index], Vec::new());
                self.for_each_sites(set, most_dives, most_sites, |sites, dives| {
                    let is_known = is_own && sites == least.sites && set.units == least.units;
                    if is_known || !set.meets(self.indicators.iter(), &self.weights, sites) {
                        return;
                    }
                    if let Some(days) = self.days(packing, set, sites).filter(|&days| days <= least.days) {
                        let margins = set.margins(self.indicators, &self.weights, sites);
                        add(&mut own, self.found(set, sites, (days, dives), margins));
                    }
                });
                own
            },
            |ties, own| own.into_iter().for_each(|found| add(ties, found)),
            |_, _| false,
        );
        ties.sort_by(|one, other| {
            one.takes().cmp(&other.takes()).then_with(|| if one.beats(other) { Less } else { Greater })
        });
        ties.truncate(most);
        ties
    }
}
