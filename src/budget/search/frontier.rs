//! The best use of so many days.

use super::super::score::Merit;
use super::site_set::{Most, SiteSet};
use super::{Found, Search};

impl Search<'_> {
    /// The best use of 1, 2 ... `most` days: for each the design with the best merit, then fewest team dives. A site set is
    /// passed over where no number of sites of it could beat what is known for any of these days.
    pub fn frontier(&self, most: usize) -> Vec<Option<Found>> {
        let within = |days: usize| {
            let (dives, sites) = self.held(days);
            Most { dives: dives as f64, sites: sites as f64 }
        };
        let (most_dives, most_sites) = self.held(most);
        let mut sets: Vec<(Merit, &SiteSet)> = self
            .site_sets()
            .iter()
            .map(|set| (set.most_merit(self.indicators, self.zones, within(most)), set))
            .collect();
        sets.sort_by(|(a, _), (b, _)| b.cmp(a));
        let sets: Vec<&SiteSet> = sets.into_iter().map(|(_, set)| set).collect();
        let mut best: Vec<Option<Found>> = vec![None; most + 1];
        self.rounds(
            &sets,
            &mut best,
            |packing, best, index| {
                let set = sets[index];
                let mut own: Vec<Option<Found>> = vec![None; most + 1];
                let could = |days: usize| match &best[days] {
                    Some(known) => set.most_merit(self.indicators, self.zones, within(days)) >= known.merit,
                    None => true,
                };
                if !(1..=most).any(could) {
                    return own;
                }
                self.for_each_sites(set, most_dives, most_sites, |sites, dives| {
                    let least = self.least_days(sites, dives);
                    if least > most {
                        return;
                    }
                    let margins = set.margins(self.indicators, &self.weights, sites);
                    // What is known for more days is no worse.
                    let known = |days: usize| own[days].iter().chain(&best[days]);
                    let first = Merit::first_three(self.indicators, &margins);
                    if known(least).any(|known| first[..] < known.merit.0[..3]) {
                        return;
                    }
                    let Some(takes) = self.days(packing, set, sites).filter(|(days, _)| *days <= most) else { return };
                    let (days, found) = (takes.0, self.found(set, sites, takes, margins));
                    if known(days).all(|known| found.beats(known)) {
                        own[days] = Some(found);
                    }
                });
                own
            },
            |best, own| {
                for (days, found) in own.into_iter().enumerate() {
                    let Some(found) = found else { continue };
                    for better in best[days..].iter_mut() {
                        if better.as_ref().is_none_or(|known| found.beats(known)) {
                            *better = Some(found.clone());
                        }
                    }
                }
            },
            |_, _| false,
        );
        best.remove(0);
        for days in 0..best.len() {
            if let Some(found) = best[days].take() {
                let better = self.with_fewer_units(found, |other, best| other.days <= days + 1 && other.beats(best));
                best[days] = Some(better);
            }
            let before = days.checked_sub(1).and_then(|before| best[before].clone());
            if let Some(before) = before.filter(|before| best[days].as_ref().is_none_or(|now| before.beats(now))) {
                best[days] = Some(before);
            }
        }
        best
    }
}
