//! Designs hardly dearer than the least one, or hardly worse than the best use of the days.

use super::super::score::Merit;
use super::site_set::{Most, SiteSet};
use super::{Found, Hold, Search};
use std::cmp::Ordering;

/// Beside what a design is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    /// The least effort for all targets.
    Least,
    /// The best use of so many days.
    Best { days: usize },
}

/// Of the weakest margins of the best use of the days, in hundredths, what another must have at least: a judgement.
const AS_GOOD: i64 = 95;
/// The merit of musts, or of others, that are met.
const ALL_MET: i64 = 1000;

/// Whether something makes hardly less of the days than the best: what that meets is met, and no weakest margin (of musts, of
/// others, of all) is more than a twentieth less.
fn is_as_good(of: &[i64], best: &Merit) -> bool {
    of.iter()
        .zip(best.0)
        .take(3)
        .zip([ALL_MET, ALL_MET, i64::MAX])
        .all(|((&of, best), met)| if best == met { of >= best } else { 100 * of >= AS_GOOD * best })
}

impl Beside {
    /// Which of two stands first.
    pub fn order(self, one: &Found, other: &Found) -> Ordering {
        let is_first = |one: &Found, other: &Found| match self {
            Beside::Least => one.is_less(other),
            Beside::Best { .. } => one.beats(other),
        };
        match (is_first(one, other), is_first(other, one)) {
            (true, _) => Ordering::Less,
            (false, true) => Ordering::Greater,
            (false, false) => Ordering::Equal,
        }
    }
}

impl Search<'_> {
    /// Designs that meet all targets for hardly more than the least one (in its days and at most a twentieth more team dives), or
    /// that make hardly less of the days than the best (`is_as_good`). Of those that differ in the sites or in the team dives of
    /// their zones only the best. `is_own`: what they are told beside is a design of this search and no tie of itself.
    pub fn near_ties(&self, (to, beside): (&Found, Beside), most: usize, is_own: bool) -> Vec<Found> {
        let most_days = match beside {
            Beside::Least => to.days,
            Beside::Best { days } => days,
        };
        let (held, most_sites) = self.held(most_days);
        let most_dives = match beside {
            Beside::Least => to.team_dives + to.team_dives / 20,
            Beside::Best { .. } => held,
        };
        let could_be = |set: &&SiteSet| match beside {
            Beside::Least => {
                let (dives, sites) = set.fewest(self.indicators, self.zones, Hold::All);
                dives <= most_dives as f64 + 1e-6 && sites <= most_sites as f64 + 1e-6
            }
            Beside::Best { .. } => {
                let within = Most { dives: held as f64, sites: most_sites as f64 };
                is_as_good(&set.most_merit(self.indicators, self.zones, within).0, &to.merit)
            }
        };
        let is_one = |set: &SiteSet, sites: &[u16]| match beside {
            Beside::Least => set.meets(self.indicators.iter(), &self.weights, sites),
            Beside::Best { .. } => {
                let margins = set.margins(self.indicators, &self.weights, sites);
                is_as_good(&Merit::first_three(self.indicators, &margins), &to.merit)
            }
        };
        let sets: Vec<&SiteSet> = self.site_sets().iter().filter(could_be).collect();
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
                    let is_known = is_own && sites == to.sites && set.units == to.units;
                    if is_known || self.least_days(sites, dives) > most_days || !is_one(set, sites) {
                        return;
                    }
                    let is_within = |takes: &(usize, usize)| takes.0 <= most_days && takes.1 <= most_dives;
                    if let Some(takes) = self.days(packing, set, sites).filter(is_within) {
                        let margins = set.margins(self.indicators, &self.weights, sites);
                        add(&mut own, self.found(set, sites, takes, margins));
                    }
                });
                own
            },
            |ties, own| own.into_iter().for_each(|found| add(ties, found)),
            |_, _| false,
        );
        ties.sort_by(|one, other| beside.order(one, other));
        ties.truncate(most);
        ties
    }
}
