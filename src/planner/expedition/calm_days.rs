//! Days on which calm weather is needed: as few as can be and early, so that what needs calm in one zone is done on the days on
//! which it is needed in another, with time left to wait, and the days that are left for bad weather are whole ones. No zone is
//! further behind its share for it than by one site.

use super::exchanges::improve;
use crate::budget::Day;
use crate::budget::schedule::SiteVisit;

/// The plan that is put in order, and what must stay as it is.
#[derive(Clone, Copy)]
pub(super) struct Ordered<'a> {
    pub day: &'a Day,
    /// Team dives at a site of each zone, and of each begun site.
    pub dives: &'a [usize],
    /// New sites of each zone that are visited; the visits of begun sites, which follow them, stay on their days.
    pub sites: &'a [usize],
    pub boats: usize,
}

impl Ordered<'_> {
    /// Exchanges visits and days as long as that makes fewer days need calm weather, or the same days need it earlier. `needs_calm`:
    /// of each day, whether it does. No more sites are `unreached` than before.
    pub fn gather(
        &self,
        plan: &mut [Vec<SiteVisit>],
        needs_calm: impl Fn(&[Vec<SiteVisit>]) -> Vec<bool>,
        unreached: impl Fn(&[Vec<SiteVisit>]) -> usize,
    ) {
        let most_behind = self.behind(plan).max(self.all());
        let begun = self.days_of_begun(plan);
        let is_free = |plan: &[Vec<SiteVisit>]| plan.iter().map(Vec::is_empty).collect::<Vec<bool>>();
        let free = is_free(plan);
        let cost = |plan: &[Vec<SiteVisit>]| {
            let stays = is_free(plan) == free && self.days_of_begun(plan) == begun;
            if !stays || self.behind(plan) > most_behind {
                return (usize::MAX, usize::MAX, usize::MAX);
            }
            let calm: Vec<usize> =
                needs_calm(plan).into_iter().enumerate().filter(|(_, needs)| *needs).map(|(day, _)| day).collect();
            (unreached(plan), calm.len(), calm.into_iter().sum())
        };
        improve(self.day, plan, self.dives, cost);
    }

    fn all(&self) -> usize {
        self.sites.iter().sum()
    }

    /// How far a zone is from its share at the end of any day, in sites times all sites.
    fn behind(&self, plan: &[Vec<SiteVisit>]) -> usize {
        let mut done = vec![0; self.sites.len()];
        let mut most = 0;
        for day in plan.chunks(self.boats) {
            for visit in day.iter().flatten().filter(|visit| visit.zone < self.sites.len()) {
                done[visit.zone] += usize::from(visit.first_dive + visit.dives >= self.dives[visit.zone]);
            }
            let all_done: usize = done.iter().sum();
            let lag = |(&sites, &done): (&usize, &usize)| (sites * all_done).abs_diff(done * self.all());
            most = self.sites.iter().zip(&done).map(lag).fold(most, usize::max);
        }
        most
    }

    fn days_of_begun(&self, plan: &[Vec<SiteVisit>]) -> Vec<(usize, usize)> {
        let visits =
            plan.iter().enumerate().flat_map(|(day, visits)| visits.iter().map(move |visit| (day, visit.zone)));
        visits.filter(|(_, zone)| *zone >= self.sites.len()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::schedule::days;
    use crate::random::{Key, Purpose};
    use std::collections::BTreeSet;

    const BOAT: usize = 1;

    /// Whether each day needs calm: in each zone the first so many sites are exposed.
    fn calm(plan: &[Vec<SiteVisit>], exposed: &[usize]) -> Vec<bool> {
        let mut met = vec![0; exposed.len()];
        plan.iter()
            .map(|day| {
                let mut needs = false;
                for visit in day {
                    met[visit.zone] += 1;
                    needs |= met[visit.zone] <= exposed[visit.zone];
                }
                needs
            })
            .collect()
    }

    fn number(calm: &[bool]) -> usize {
        calm.iter().filter(|needs| **needs).count()
    }

    /// Every order of the days of a plan: which zones on which day, all days as full as before.
    fn every(
        day: &Day,
        lengths: &[usize],
        left: &mut [usize],
        plan: &mut Vec<Vec<SiteVisit>>,
        all: &mut Vec<Vec<Vec<SiteVisit>>>,
    ) {
        let Some((&length, rest)) = lengths.split_first() else {
            all.push(plan.clone());
            return;
        };
        let mut sets: BTreeSet<Vec<usize>> = BTreeSet::from([Vec::new()]);
        for _ in 0..length {
            let longer =
                |set: &Vec<usize>| (0..left.len()).map(|zone| [set.as_slice(), &[zone]].concat()).collect::<Vec<_>>();
            sets = sets.iter().flat_map(longer).filter(|set| set.is_sorted()).collect();
        }
        for set in sets {
            let takes = |zone: usize| set.iter().filter(|of| **of == zone).count();
            if (0..left.len()).any(|zone| takes(zone) > left[zone]) || !day.holds(set.len(), set.len()) {
                continue;
            }
            (0..left.len()).for_each(|zone| left[zone] -= takes(zone));
            plan.push(set.iter().map(|&zone| SiteVisit { zone, site: 0, first_dive: 0, dives: 1 }).collect());
            every(day, rest, left, plan, all);
            plan.pop();
            (0..left.len()).for_each(|zone| left[zone] += takes(zone));
        }
    }

    /// Two zones that need calm, with exposed sites of six: 2 and 5. As the zones are ordered five of six days need it; 7 sites at
    /// two a day need four.
    #[test]
    fn calm_is_needed_on_the_same_days_in_all_zones() {
        let day = Day::fixed(2, 2);
        let mut plan = days(&day, &[6, 6], &[1, 1]);
        assert_eq!(number(&calm(&plan, &[2, 5])), 5);
        let ordered = Ordered { day: &day, dives: &[1, 1], sites: &[6, 6], boats: BOAT };
        ordered.gather(&mut plan, |plan| calm(plan, &[2, 5]), |_| 0);
        assert_eq!(calm(&plan, &[2, 5]), [true, true, true, true, false, false], "{plan:?}");
        // Where no site needs it nothing moves.
        let before = days(&day, &[6, 6], &[1, 1]);
        let mut plan = before.clone();
        ordered.gather(&mut plan, |plan| calm(plan, &[0, 0]), |_| 0);
        assert_eq!(plan, before);
    }

    /// Against every order there is: no zone is further behind than by one site, or than before; nothing is lost; and hardly ever
    /// would another order that keeps to that need calm on fewer days.
    #[test]
    fn hardly_any_order_needs_fewer_calm_days() {
        let (mut fewer, mut better, mut missed) = (0, 0, 0);
        for seed in 0..60 {
            let below = |index: u64, below: f64| (Key::seed(seed).uniform(Purpose::Test, index) * below) as usize;
            let day = Day::fixed(2, 2);
            let sites: Vec<usize> = (0..2 + seed % 2).map(|zone| 1 + below(zone, 4.0)).collect();
            let exposed: Vec<usize> =
                sites.iter().enumerate().map(|(zone, &of)| below(10 + zone as u64, of as f64 + 1.0)).collect();
            let dives = vec![1; sites.len()];
            let ordered = Ordered { day: &day, dives: &dives, sites: &sites, boats: BOAT };
            let numbers: Vec<u16> = sites.iter().map(|&of| of as u16).collect();
            let before = days(&day, &numbers, &dives);
            let mut plan = before.clone();
            ordered.gather(&mut plan, |plan| calm(plan, &exposed), |_| 0);
            let of_zone =
                |plan: &[Vec<SiteVisit>], zone: usize| plan.iter().flatten().filter(|of| of.zone == zone).count();
            assert!((0..sites.len()).all(|zone| of_zone(&plan, zone) == sites[zone]));
            let bound = ordered.behind(&before).max(ordered.all());
            assert!(ordered.behind(&plan) <= bound, "{plan:?}");
            let mut all = Vec::new();
            let lengths: BTreeSet<Vec<usize>> = permutations(&plan.iter().map(Vec::len).collect::<Vec<_>>());
            for lengths in lengths {
                every(&day, &lengths, &mut sites.clone(), &mut Vec::new(), &mut all);
            }
            let least =
                all.iter().filter(|plan| ordered.behind(plan) <= bound).map(|plan| number(&calm(plan, &exposed)));
            let (was, now, least) =
                (number(&calm(&before, &exposed)), number(&calm(&plan, &exposed)), least.min().unwrap());
            assert!(now <= was && now >= least && now <= least + 1, "{sites:?} {exposed:?} {was} {now} {least}");
            fewer += usize::from(now < was);
            better += usize::from(least < was);
            missed += usize::from(now > least);
        }
        assert!(fewer > 5 && missed <= 3, "{fewer} of {better}, missed {missed}");
    }

    fn permutations(lengths: &[usize]) -> BTreeSet<Vec<usize>> {
        if lengths.is_empty() {
            return BTreeSet::from([Vec::new()]);
        }
        let with = |at: usize| {
            let mut rest = lengths.to_vec();
            let first = rest.remove(at);
            permutations(&rest).into_iter().map(move |rest| [vec![first], rest].concat())
        };
        (0..lengths.len()).flat_map(with).collect()
    }
}
