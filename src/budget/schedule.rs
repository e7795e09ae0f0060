//! Which sites on which day: in an order such that an expedition that is cut short has been everywhere in proportion.

use super::days::{Day, DayPacking};

/// A site, or a part of one that takes more than a day, on one day of one boat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SiteVisit {
    pub zone: usize,
    /// The how-manieth site of its zone, from 0.
    pub site: usize,
    /// Its team dives on that day, as they are counted at the site.
    pub first_dive: usize,
    pub dives: usize,
}

/// Zones in the order in which their sites are visited: always the zone that lags most behind its share (of those the one
/// with more sites, then the first).
pub fn order(sites: &[u16]) -> Vec<usize> {
    let all: u32 = sites.iter().map(|&number| u32::from(number)).sum();
    let mut done = vec![0u16; sites.len()];
    (1..=all)
        .map(|step| {
            let lag = |zone: usize| i64::from(sites[zone]) * i64::from(step) - i64::from(done[zone]) * i64::from(all);
            let left = (0..sites.len()).filter(|&zone| done[zone] < sites[zone]);
            let key = |zone: &usize| (lag(*zone), sites[*zone], std::cmp::Reverse(*zone));
            let zone = left.max_by_key(key).unwrap_or(0);
            done[zone] += 1;
            zone
        })
        .collect()
}

/// The days of one boat (all boats' days one after the other), as few as there can be; `dives`: team dives at a site of each
/// zone.
pub fn days(day: &Day, sites: &[u16], dives: &[usize]) -> Vec<Vec<SiteVisit>> {
    days_after(day, &[], sites, dives)
}

/// The same with sites that were begun, each with so many team dives, which come as early as the fewest days allow. Their visits
/// have the numbers of zones that follow the last zone, in the order of `begun`.
pub fn days_after(day: &Day, begun: &[usize], sites: &[u16], dives: &[usize]) -> Vec<Vec<SiteVisit>> {
    let most = day.most_dives();
    if most == 0 {
        return Vec::new();
    }
    // Begun sites that take as many dives are alike.
    let mut kinds: Vec<usize> = begun.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    let of_kind = |kind: usize| (0..begun.len()).filter(move |&of| begun[of] == kind);
    // What is done on the dives of another zone has no visits of its own.
    let visited = sites.iter().zip(dives).map(|(&number, &dives)| if dives > 0 { number } else { 0 });
    let all_sites: Vec<u16> = visited.chain(kinds.iter().map(|&kind| of_kind(kind).count() as u16)).collect();
    let all_dives = [dives, &kinds].concat();
    let mut plan = Whole {
        day,
        packing: DayPacking::new(day),
        dives: &all_dives,
        zones: sites.len(),
        left: all_sites.clone(),
        begun: vec![0; all_sites.len()],
    };
    let mut all = Vec::new();
    while plan.left.iter().any(|&number| number > 0) {
        all.extend(plan.next_day(&all_sites));
    }
    for visit in all.iter_mut().flatten().filter(|visit| visit.zone >= sites.len()) {
        let of = of_kind(kinds[visit.zone - sites.len()]).nth(visit.site).unwrap_or(0);
        (visit.zone, visit.site) = (sites.len() + of, 0);
    }
    all
}

struct Whole<'a> {
    day: &'a Day,
    packing: DayPacking,
    dives: &'a [usize],
    /// Zones of new sites; what follows them are begun ones.
    zones: usize,
    left: Vec<u16>,
    begun: Vec<usize>,
}

impl Whole<'_> {
    fn days_for(&mut self, sites: &[u16]) -> usize {
        self.packing.days_of_zones(sites, self.dives).unwrap_or(usize::MAX)
    }

    /// The next day, or several where one site takes more than one.
    fn next_day(&mut self, sites: &[u16]) -> Vec<Vec<SiteVisit>> {
        let most = self.day.most_dives();
        let before = self.days_for(&self.left.clone());
        let mut best: Option<((u16, i64), Vec<u16>)> = None;
        for set in self.sets() {
            let left: Vec<u16> = self.left.iter().zip(&set).map(|(left, taken)| left - taken).collect();
            let is_long = set.iter().zip(self.dives).any(|(&taken, &dives)| taken > 0 && dives > most);
            // A long site takes whole days and a rest, which is a day of its own here.
            let taken = if is_long { self.days_for(&set) } else { 1 };
            if self.days_for(&left) + taken == before {
                // What was begun is finished first.
                let key = (left[self.zones..].iter().sum(), lag_after(sites, &left));
                if best.as_ref().is_none_or(|(least, _)| key < *least) {
                    best = Some((key, set));
                }
            }
        }
        let set = best.map_or_else(|| self.any_site(), |(_, set)| set);
        let mut visits = Vec::new();
        for (zone, &taken) in set.iter().enumerate() {
            for _ in 0..taken {
                visits.push((zone, self.begun[zone]));
                self.begun[zone] += 1;
                self.left[zone] -= 1;
            }
        }
        self.on_days(visits)
    }

    fn on_days(&self, visits: Vec<(usize, usize)>) -> Vec<Vec<SiteVisit>> {
        let most = self.day.most_dives();
        if let [(zone, site)] = visits[..] {
            let dives = self.dives[zone];
            let parts = (0..dives.max(1)).step_by(most);
            let part = |first_dive: usize| {
                vec![SiteVisit { zone, site, first_dive, dives: (dives - first_dive.min(dives)).min(most) }]
            };
            return parts.map(part).collect();
        }
        let visit = |(zone, site): (usize, usize)| SiteVisit { zone, site, first_dive: 0, dives: self.dives[zone] };
        vec![visits.into_iter().map(visit).collect()]
    }

    fn any_site(&self) -> Vec<u16> {
        let mut set = vec![0; self.left.len()];
        if let Some(zone) = self.left.iter().position(|&left| left > 0) {
            set[zone] = 1;
        }
        set
    }

    /// All sets of sites that one day holds; a site that takes more than a day stands alone.
    fn sets(&self) -> Vec<Vec<u16>> {
        let mut all = Vec::new();
        let mut set = vec![0; self.left.len()];
        self.grow(0, &mut set, &mut all);
        all
    }

    fn grow(&self, zone: usize, set: &mut Vec<u16>, all: &mut Vec<Vec<u16>>) {
        if zone == set.len() {
            let number: usize = set.iter().map(|&n| usize::from(n)).sum();
            let dives: usize = set.iter().zip(self.dives).map(|(&n, &dives)| usize::from(n) * dives).sum();
            if number == 1 || (number > 1 && self.day.holds(number, dives)) {
                all.push(set.clone());
            }
            return;
        }
        for number in 0..=self.left[zone].min(self.day.most_sites() as u16) {
            set[zone] = number;
            self.grow(zone + 1, set, all);
        }
        set[zone] = 0;
    }
}

/// How far the zones are from their shares when so many sites are left, squared and summed.
fn lag_after(sites: &[u16], left: &[u16]) -> i64 {
    let all: i64 = sites.iter().map(|&number| i64::from(number)).sum();
    let done: i64 = sites.iter().zip(left).map(|(&all, &left)| i64::from(all - left)).sum();
    let lag = |(&number, &left): (&u16, &u16)| i64::from(number) * done - i64::from(number - left) * all;
    sites.iter().zip(left).map(lag).map(|lag| lag * lag).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zones_come_in_proportion() {
        let letters: String = order(&[4, 8, 4]).into_iter().map(|zone| ["A", "B", "C"][zone]).collect();
        assert_eq!(letters, "BACBBACBBACBBACB");
    }

    #[test]
    fn days_hold_every_site_once_and_are_as_few_as_can_be() {
        let day = Day::fixed(3, 2);
        for (sites, dives, days_needed) in [
            ([4u16, 8, 4], [1, 1, 2], 8),
            ([3, 6, 3], [1, 1, 2], 6),
            ([5, 4, 2], [2, 1, 4], 9),
            ([2, 3, 1], [3, 3, 3], 6),
        ] {
            let plan = days(&day, &sites, &dives);
            assert_eq!(plan.len(), days_needed, "{sites:?} {plan:?}");
            for visits in &plan {
                let dives: usize = visits.iter().map(|visit| visit.dives).sum();
                assert!(day.holds(visits.len(), dives), "{visits:?}");
            }
            for zone in 0..3 {
                let visits = plan.iter().flatten().filter(|visit| visit.zone == zone);
                let all: usize = visits.clone().map(|visit| visit.dives).sum();
                assert_eq!(all, usize::from(sites[zone]) * dives[zone]);
                let first = visits.filter(|visit| visit.first_dive == 0).map(|visit| visit.site);
                assert!(first.eq(0..usize::from(sites[zone])));
            }
        }
        // Begun sites come first, as far as that takes no day more: each of two dives goes with one of one.
        let plan = days_after(&day, &[1, 2, 1], &[2, 1], &[2, 1]);
        assert_eq!(plan.len(), 3, "{plan:?}");
        let of_day = |day: usize, begun: usize| plan[day].iter().any(|visit| visit.zone == 2 + begun);
        assert!((0..3).all(|begun| of_day(0, begun) || of_day(1, begun)), "{plan:?}");
        let visits = plan.iter().flatten().filter(|visit| visit.zone < 2);
        assert_eq!(visits.map(|visit| visit.dives).sum::<usize>(), 5);
        // After half of the days about half of every zone is done.
        let plan = days(&day, &[4, 8, 4], &[1, 1, 2]);
        let half = |zone: usize| plan[..4].iter().flatten().filter(|visit| visit.zone == zone).count();
        assert!((half(0), half(1), half(2)) == (2, 4, 2), "{plan:?}");
    }
}
