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
mod tests;
