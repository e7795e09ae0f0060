//! Sites where the crew changes on the way: the fewest days, and how many sites of each zone each crew does.
//!
//! A *stretch* is the days between two changes of the crew. The units of a site are the same in all of them, its team dives are
//! those that the crew of its stretch takes. All dives of a site are within one stretch, in one day.

use super::days::{Day, DayPacking};
use super::packing::Table;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Crews one after the other.
pub struct Stretches {
    day: Day,
    boats: usize,
    /// Days of each stretch; the last has no end.
    days: Vec<usize>,
    /// By stretch and zone.
    tables: Vec<Vec<Arc<Table>>>,
    known: Mutex<Known>,
}

/// Splits by the team dives at a site (by stretch and zone), and by sites.
type Known = BTreeMap<Vec<Vec<usize>>, BTreeMap<Vec<u16>, Split>>;

/// What some sites take, and who does them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split {
    pub days: usize,
    pub team_dives: usize,
    /// By stretch and zone.
    pub sites: Vec<Vec<u16>>,
}

impl Stretches {
    /// Each stretch with its days (those of the last one do not count) and the tables of its crew.
    pub fn new(day: Day, boats: usize, stretches: Vec<(usize, Vec<Arc<Table>>)>) -> Self {
        let (days, tables) = stretches.into_iter().unzip();
        Self { day, boats: boats.max(1), days, tables, known: Mutex::default() }
    }

    /// Team dives at a site with so many units, by stretch and zone; `None` where some crew cannot do it in a day.
    pub fn dives(&self, units: &[u8]) -> Option<Vec<Vec<usize>>> {
        let most = self.day.most_dives();
        let of_zone = |table: &Arc<Table>| table.dives(units).filter(|&dives| dives <= most);
        self.tables.iter().map(|of| of.iter().map(of_zone).collect()).collect()
    }

    /// The fewest days for so many sites of each zone; of all ways without a stretch that could end early before the last, the fewest
    /// team dives in them, and with these the zones in proportion. On every day is dived. `packing`: of the day; `dives`: by stretch and zone, none more than a day holds.
    pub fn split(&self, packing: &mut DayPacking, sites: &[u16], dives: &[Vec<usize>]) -> Split {
        let held = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(split) = held().get(dives).and_then(|of| of.get(sites)) {
            return split.clone();
        }
        let split = self.split_in(&self.days, packing, sites, dives);
        held().entry(dives.to_vec()).or_default().insert(sites.to_vec(), split.clone());
        split
    }

    /// The same from the first day of some stretch on.
    pub fn split_from(&self, stretch: usize, packing: &mut DayPacking, sites: &[u16], dives: &[Vec<usize>]) -> Split {
        self.split_in(&self.days[stretch..], packing, sites, &dives[stretch..])
    }

    fn split_in(&self, days: &[usize], packing: &mut DayPacking, sites: &[u16], dives: &[Vec<usize>]) -> Split {
        let mut fewest_from = dives.to_vec();
        for stretch in (1..dives.len()).rev() {
            let (before, after) = fewest_from.split_at_mut(stretch);
            before[stretch - 1].iter_mut().zip(&after[0]).for_each(|(own, later)| *own = (*own).min(*later));
        }
        let mut splitting =
            Splitting { day: &self.day, boats: self.boats, days, dives, fewest_from, packing, known: BTreeMap::new() };
        let takes = splitting.from(0, sites);
        let mut left = sites.to_vec();
        let mut of_stretches = Vec::new();
        for stretch in 0..days.len() {
            let taken = splitting.known.get(&(stretch, left.clone())).map_or(vec![0; sites.len()], |of| of.1.clone());
            left.iter_mut().zip(&taken).for_each(|(left, taken)| *left -= taken);
            of_stretches.push(taken);
        }
        Split { days: takes.days, team_dives: takes.team_dives, sites: of_stretches }
    }
}

/// What is compared, the first first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Takes {
    days: usize,
    team_dives: usize,
    /// How far the zones are from their shares at the ends of the stretches, squared and summed.
    lag: i64,
}

struct Splitting<'a> {
    day: &'a Day,
    boats: usize,
    days: &'a [usize],
    dives: &'a [Vec<usize>],
    /// The fewest team dives at a site, by zone, in a stretch or in any after it.
    fewest_from: Vec<Vec<usize>>,
    packing: &'a mut DayPacking,
    /// By stretch and sites left at its start: the least, and what is done of it in the stretch.
    known: BTreeMap<(usize, Vec<u16>), (Takes, Vec<u16>)>,
}

/// Sites of the first zones that are done in a stretch.
struct Taken {
    sites: Vec<u16>,
    /// Sites and team dives in the stretch, and what is left of these zones for later ones at the least.
    own: (usize, usize),
    later: (usize, usize),
}

impl Splitting<'_> {
    fn days_of(&mut self, stretch: usize, sites: &[u16]) -> usize {
        let days = self.packing.days_of_zones(sites, &self.dives[stretch]).unwrap_or(usize::MAX);
        days.div_ceil(self.boats)
    }

    /// The least from a stretch on.
    fn from(&mut self, stretch: usize, left: &[u16]) -> Takes {
        if left.iter().all(|&number| number == 0) {
            return Takes::default();
        }
        if let Some((takes, _)) = self.known.get(&(stretch, left.to_vec())) {
            return *takes;
        }
        let days = self.days_of(stretch, left);
        let best = if stretch + 1 == self.days.len() || days <= self.days[stretch] {
            (Takes { days, team_dives: team_dives(left, &self.dives[stretch]), lag: 0 }, left.to_vec())
        } else {
            let mut best = None;
            let mut taken = Taken { sites: Vec::with_capacity(left.len()), own: (0, 0), later: (0, 0) };
            self.grow(stretch, left, &mut taken, &mut best);
            best.unwrap_or_else(|| (Takes { days: usize::MAX, ..Takes::default() }, vec![0; left.len()]))
        };
        self.known.insert((stretch, left.to_vec()), best.clone());
        best.0
    }

    /// Every number of sites of the zones that `taken` does not have yet, the most first.
    fn grow(&mut self, stretch: usize, left: &[u16], taken: &mut Taken, best: &mut Option<(Takes, Vec<u16>)>) {
        let zone = taken.sites.len();
        if zone == left.len() {
            return self.look_at(stretch, left, &taken.sites.clone(), best);
        }
        let boat_days = self.days[stretch] * self.boats;
        let (own, later) = (taken.own, taken.later);
        let (dives, fewest) = (self.dives[stretch][zone], self.fewest_from[stretch + 1][zone]);
        for number in (0..=left[zone]).rev() {
            let (of_zone, rest) = (usize::from(number), usize::from(left[zone] - number));
            taken.own = (own.0 + of_zone, own.1 + of_zone * dives);
            taken.later = (later.0 + rest, later.1 + rest * fewest);
            if taken.own.0 > boat_days * self.day.most_sites() || taken.own.1 > boat_days * self.day.most_dives() {
                continue;
            }
            if let Some((least, _)) = best {
                let (days, team_dives) = self.at_least(stretch, left, taken, zone + 1);
                if days > least.days {
                    break;
                }
                if (days, team_dives) > (least.days, least.team_dives) {
                    continue;
                }
            }
            taken.sites.push(number);
            self.grow(stretch, left, taken, best);
            taken.sites.pop();
        }
        (taken.own, taken.later) = (own, later);
    }

    /// Days, and team dives, that are not undercut with what is taken of the zones before the `next`.
    fn at_least(&self, stretch: usize, left: &[u16], taken: &Taken, next: usize) -> (usize, usize) {
        let by = |all: usize, a_day: usize| all.div_ceil((a_day * self.boats).max(1));
        let days = by(taken.later.0, self.day.most_sites()).max(by(taken.later.1, self.day.most_dives()));
        let others = team_dives(&left[next..], &self.fewest_from[stretch][next..]);
        (self.days[stretch] + days, taken.own.1 + taken.later.1 + others)
    }

    fn look_at(&mut self, stretch: usize, left: &[u16], taken: &[u16], best: &mut Option<(Takes, Vec<u16>)>) {
        // Where a day were free, a site of a later day could be done on it: no day more is needed so.
        if self.days_of(stretch, taken) != self.days[stretch] {
            return;
        }
        let rest: Vec<u16> = left.iter().zip(taken).map(|(left, taken)| left - taken).collect();
        let later = self.from(stretch + 1, &rest);
        let takes = Takes {
            days: self.days[stretch].saturating_add(later.days),
            team_dives: team_dives(taken, &self.dives[stretch]) + later.team_dives,
            lag: lag(left, taken) + later.lag,
        };
        if best.as_ref().is_none_or(|(least, _)| takes < *least) {
            *best = Some((takes, taken.to_vec()));
        }
    }
}

fn team_dives(sites: &[u16], dives: &[usize]) -> usize {
    sites.iter().zip(dives).map(|(&number, dives)| usize::from(number) * dives).sum()
}

/// How far the zones are from their shares when so many sites of those left are taken.
fn lag(left: &[u16], taken: &[u16]) -> i64 {
    let sum = |sites: &[u16]| sites.iter().map(|&number| i64::from(number)).sum::<i64>();
    let (all, done) = (sum(left), sum(taken));
    let lag = |(&left, &taken): (&u16, &u16)| i64::from(left) * done - i64::from(taken) * all;
    left.iter().zip(taken).map(lag).map(|lag| lag * lag).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    /// Of so many days each and a last one without an end, with no tables: splits are asked with dives.
    fn stretches(day: &Day, boats: usize, days: &[usize]) -> Stretches {
        let of = |&days: &usize| (days, Vec::new());
        Stretches::new(day.clone(), boats, days.iter().chain(&[0]).map(of).collect())
    }

    fn split(day: &Day, boats: usize, days: &[usize], sites: &[u16], dives: &[Vec<usize>]) -> Split {
        stretches(day, boats, days).split(&mut DayPacking::new(day), sites, dives)
    }

    /// Every way to put sites on boat-days, site by site: the fewest days.
    struct Slowly<'a> {
        day: &'a Day,
        boats: usize,
        /// First boat-day of each stretch, from 0.
        starts: Vec<usize>,
        dives: &'a [Vec<usize>],
        /// Sites and team dives of each boat-day.
        boat_days: Vec<(usize, usize)>,
        best: usize,
    }

    impl Slowly<'_> {
        fn place(&mut self, sites: &[usize], from: usize, used: usize) {
            let days = used.div_ceil(self.boats);
            if days >= self.best {
                return;
            }
            let Some((&zone, rest)) = sites.split_first() else {
                self.best = days;
                return;
            };
            for boat_day in from..self.boat_days.len() {
                let stretch = self.starts.iter().rposition(|start| *start <= boat_day).unwrap();
                let dives = self.dives[stretch][zone];
                let before = self.boat_days[boat_day];
                if !self.day.holds(before.0 + 1, before.1 + dives) {
                    continue;
                }
                self.boat_days[boat_day] = (before.0 + 1, before.1 + dives);
                // Sites of one zone are alike: each goes no earlier than the one before.
                let next = if rest.first() == Some(&zone) { boat_day } else { 0 };
                self.place(rest, next, used.max(boat_day + 1));
                self.boat_days[boat_day] = before;
            }
        }
    }

    fn slowly(day: &Day, boats: usize, days: &[usize], sites: &[u16], dives: &[Vec<usize>]) -> usize {
        let number: usize = sites.iter().map(|&n| usize::from(n)).sum();
        let last = days.iter().sum::<usize>() + number;
        let starts = std::iter::once(0)
            .chain(days.iter().scan(0, |all, days| {
                *all += days * boats;
                Some(*all)
            }))
            .collect();
        let items: Vec<usize> =
            sites.iter().enumerate().flat_map(|(zone, &number)| vec![zone; usize::from(number)]).collect();
        let boat_days = vec![(0, 0); last * boats];
        let mut slow = Slowly { day, boats, starts, dives, boat_days, best: usize::MAX };
        slow.place(&items, 0, 0);
        slow.best
    }

    /// All splits one by one, of those in which no stretch before the last ends early: fewest days, then team dives.
    fn of_all_splits(day: &Day, boats: usize, days: &[usize], left: &[u16], dives: &[Vec<usize>]) -> (usize, usize) {
        let of_own = |sites: &[u16]| DayPacking::new(day).days_of_zones(sites, &dives[0]).unwrap().div_ceil(boats);
        let all = (of_own(left), team_dives(left, &dives[0]));
        let Some((&own_days, later_days)) = days.split_first() else { return all };
        if all.0 <= own_days {
            return all;
        }
        let mut best = (usize::MAX, usize::MAX);
        let ways: usize = left.iter().map(|&number| usize::from(number) + 1).product();
        for mut way in 0..ways {
            let mut taken = Vec::new();
            for &number in left {
                taken.push((way % (usize::from(number) + 1)) as u16);
                way /= usize::from(number) + 1;
            }
            if of_own(&taken) == own_days {
                let rest: Vec<u16> = left.iter().zip(&taken).map(|(left, taken)| left - taken).collect();
                let later = of_all_splits(day, boats, later_days, &rest, &dives[1..]);
                best = best.min((own_days + later.0, team_dives(&taken, &dives[0]) + later.1));
            }
        }
        best
    }

    struct Instance {
        day: Day,
        boats: usize,
        days: Vec<usize>,
        sites: Vec<u16>,
        dives: Vec<Vec<usize>>,
    }

    fn instance(seed: u64, most_sites: usize) -> Instance {
        let mut place = 0;
        let mut below = |below: usize| {
            place += 1;
            (Key::seed(seed).uniform(Purpose::Test, place) * below as f64) as usize
        };
        let (zones, changes) = (1 + below(3), 1 + below(2));
        let most = 1 + below(3);
        let dives = (0..=changes).map(|_| (0..zones).map(|_| 1 + below(most)).collect()).collect();
        Instance {
            day: Day::fixed(most, 1 + below(most)),
            boats: 1 + below(2),
            days: (0..changes).map(|_| 1 + below(3)).collect(),
            sites: (0..zones).map(|_| below(most_sites / zones + 1) as u16).collect(),
            dives,
        }
    }

    #[test]
    fn the_split_is_the_slow_search() {
        let mut changed = 0;
        for seed in 0..300 {
            let Instance { day, boats, days, sites, dives } = instance(seed, 7);
            let split = split(&day, boats, &days, &sites, &dives);
            assert_eq!(split.days, slowly(&day, boats, &days, &sites, &dives), "{seed} {days:?} {sites:?} {dives:?}");
            let of_all = of_all_splits(&day, boats, &days, &sites, &dives);
            assert_eq!((split.days, split.team_dives), of_all, "{seed} {days:?} {sites:?} {dives:?}");
            changed += usize::from(split.sites.iter().filter(|of| of.iter().any(|&n| n > 0)).count() > 1);
        }
        assert!(changed > 100, "{changed}");
    }

    /// What is told is what is done: every site once, each stretch within its days, all of them but the last full of days.
    #[test]
    fn a_split_holds_what_it_tells() {
        for seed in 0..400 {
            let Instance { day, boats, days, sites, dives } = instance(seed, 30);
            let split = split(&day, boats, &days, &sites, &dives);
            let mut packing = DayPacking::new(&day);
            let mut of =
                |stretch: usize, sites: &[u16]| packing.days_of_zones(sites, &dives[stretch]).unwrap().div_ceil(boats);
            let all: Vec<u16> = (0..sites.len()).map(|zone| split.sites.iter().map(|of| of[zone]).sum()).collect();
            assert_eq!(all, sites, "{seed}");
            let taken: usize = split.sites.iter().zip(&dives).map(|(sites, dives)| team_dives(sites, dives)).sum();
            assert_eq!(taken, split.team_dives);
            let last = split.sites.iter().rposition(|of| of.iter().any(|&n| n > 0));
            let in_days: usize = last.map_or(0, |last| {
                assert!((0..last).all(|stretch| of(stretch, &split.sites[stretch]) == days[stretch]), "{seed}");
                days[..last].iter().sum::<usize>() + of(last, &split.sites[last])
            });
            assert_eq!(in_days, split.days, "{seed}");
        }
    }

    /// Never more days than with the most dives of any crew throughout; as many where one crew is aboard; more sites, or a site
    /// of a dive more, never take fewer.
    #[test]
    fn days_of_several_crews_lie_where_they_must() {
        let mut fewer = 0;
        for seed in 0..400 {
            let Instance { day, boats, days, sites, dives } = instance(seed, 24);
            let now = split(&day, boats, &days, &sites, &dives);
            let zones = 0..sites.len();
            let over = |of: fn(usize, usize) -> usize| -> Vec<usize> {
                zones.clone().map(|zone| dives.iter().map(|of| of[zone]).reduce(of).unwrap()).collect()
            };
            let throughout =
                |dives: &[usize]| DayPacking::new(&day).days_of_zones(&sites, dives).unwrap().div_ceil(boats);
            let (worst, best) = (throughout(&over(usize::max)), throughout(&over(usize::min)));
            assert!((best..=worst).contains(&now.days), "{seed} {best} {worst} {now:?}");
            fewer += usize::from(now.days < worst);
            let alone = split(&day, boats, &[], &sites, &dives[..1]);
            assert_eq!((alone.days, alone.sites), (throughout(&dives[0]), vec![sites.clone()]));
            for zone in zones.clone() {
                let mut more = sites.clone();
                more[zone] += 1;
                assert!(split(&day, boats, &days, &more, &dives).days >= now.days, "{seed}");
                for stretch in 0..dives.len() {
                    let mut longer = dives.clone();
                    if longer[stretch][zone] < day.most_dives() {
                        longer[stretch][zone] += 1;
                        assert!(split(&day, boats, &days, &sites, &longer).days >= now.days, "{seed}");
                    }
                }
            }
        }
        assert!(fewer > 50, "{fewer}");
    }

    /// By hand: three dives and two sites a day; a site takes one dive of the crew of the first two days, two of the crew after it.
    /// Four sites are done in the two days, the others one a day. Of two zones alike each has its share of the first days.
    #[test]
    fn days_by_hand() {
        let day = Day::fixed(3, 2);
        let of = |sites: &[u16], dives: [usize; 2]| {
            split(&day, 1, &[2], sites, &dives.map(|dives| vec![dives; sites.len()]))
        };
        assert_eq!(of(&[3], [1, 2]), Split { days: 2, team_dives: 3, sites: vec![vec![3], vec![0]] });
        assert_eq!(of(&[7], [1, 2]), Split { days: 5, team_dives: 10, sites: vec![vec![4], vec![3]] });
        assert_eq!(of(&[4, 4], [1, 2]), Split { days: 6, team_dives: 12, sites: vec![vec![2, 2], vec![2, 2]] });
        // Whoever comes later does more: one site a day, then two.
        assert_eq!(of(&[5], [2, 1]), Split { days: 4, team_dives: 7, sites: vec![vec![2], vec![3]] });
    }
}
