//! Who does the work of each visit: people of the same skills in turn, so that no zone is read by other people than another;
//! who stays on board; who is the odd one.

use super::plan::ZoneSites;
use super::prepared::Prepared;
use super::tasks::LAYING;
use super::visits::{Visit, Visits};
use crate::budget::{Pair, PairDive, Takes, Task, Units};
use serde::Serialize;

/// One pair of a day on one team dive.
#[derive(Clone, Debug, PartialEq)]
pub struct Cast {
    /// Its number among all pairs there ever are, from 0; a spare diver may stand in it for one of the two.
    pub pair: usize,
    /// Of the work: two depths of a place may be two zones.
    pub zone: usize,
    /// The work, with the people who do it.
    pub dive: PairDive,
}

/// Everybody's part in a plan.
pub struct People {
    /// For each boat-day and visit.
    pub casts: Vec<Vec<Vec<Cast>>>,
    pub crossing: Vec<Crossing>,
    pub turns: Vec<Turns>,
}

/// Who reads a method in which zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Crossing {
    pub method: String,
    /// In the order of the numbers of `divers`.
    pub zones: Vec<String>,
    pub divers: Vec<ReaderUnits>,
    /// The largest part of the units of a zone that would have to change hands for another zone to be read alike: 0 where
    /// the same people read the same parts of all zones, 1 where nobody reads in both.
    pub apart: f64,
}

/// Units that a diver who can read a method reads in each zone (those that take both divers count for both).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReaderUnits {
    pub diver: String,
    pub units: Vec<usize>,
}

/// What a diver does besides: dives, team dives on board, days as the odd one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Turns {
    pub diver: String,
    pub dives: usize,
    /// Team dives of the boat on which the diver's pair stays up or is not needed.
    pub on_board: usize,
    /// Days without a partner.
    pub days_off: usize,
}

/// Up to so many pairs are exchanged in all ways, more in a circle.
const PAIRS_IN_ALL_WAYS: usize = 5;
/// How much an uneven share of dives counts against an uneven share of readings, where a pair stays up and where not.
const WEIGHT_STAYING_UP: f64 = 4.0;
const WEIGHT_WAITING: f64 = 0.2;
/// How much a reading that is uneven within a zone counts against one that differs between zones.
const WEIGHT_WITHIN: f64 = 0.2;
/// How often every dive is looked at again.
const PASSES: usize = 4;

/// Casts every visit; `zones`: who does what at a site of each zone, as it was packed for each boat's team. Dive by dive what is
/// most even so far; then each dive again, the others as they are, until nothing gets better. Every dive keeps its work and its
/// number of pairs.
pub fn people(prepared: &Prepared, visits: &Visits, zones: &[ZoneSites]) -> People {
    let mut casting = Casting::new(prepared, visits, zones);
    for day in 0..visits.boat_days.len().div_ceil(visits.boats) {
        let dives = casting.dives_of_day(visits, day);
        if dives.is_empty() {
            continue;
        }
        let pairs = casting.pairs_of_day(day + 1, &dives);
        for dive in dives {
            casting.dives[dive].pairs.clone_from(&pairs);
            casting.cast(dive, false);
        }
    }
    for _ in 0..PASSES {
        let before = casting.dives.clone();
        (0..casting.dives.len()).for_each(|dive| casting.cast(dive, true));
        if casting.dives == before {
            break;
        }
    }
    People { crossing: casting.crossing(), turns: casting.turns(), casts: casting.casts(visits) }
}

/// All pairs of a boat under water once.
#[derive(Clone, PartialEq)]
struct TeamDive<'a> {
    boat_day: usize,
    visit: usize,
    zone: usize,
    /// With the zone of each.
    work: Vec<(usize, &'a PairDive)>,
    /// All pairs there ever are, with whoever stands in for one of them on its day.
    pairs: Vec<(usize, usize)>,
    /// Places of those that dive from its boat on its day.
    team: Vec<usize>,
    casts: Vec<Cast>,
}

struct Casting<'a> {
    prepared: &'a Prepared<'a>,
    /// All pairs there ever are.
    pairs: Vec<(usize, usize)>,
    dives: Vec<TeamDive<'a>>,
    /// Units that are planned, by zone and task.
    planned: Vec<Vec<f64>>,
    /// Part of them that each diver reads, by zone, task and diver.
    shares: Vec<Vec<Vec<f64>>>,
    /// Team dives on board, and days without a partner.
    on_board: Vec<f64>,
    days_off: Vec<usize>,
}

impl<'a> Casting<'a> {
    fn new(prepared: &'a Prepared<'a>, visits: &Visits, zones: &'a [ZoneSites]) -> Self {
        let (divers, tasks) = (prepared.expedition.divers.len(), prepared.tasks.tasks.len());
        let mut dives = Vec::new();
        let mut planned = vec![vec![0.0; tasks]; zones.len()];
        let teams = prepared.expedition.teams();
        let all_pairs = prepared.expedition.pairs_ever();
        for (boat_day, day) in visits.boat_days.iter().enumerate() {
            let when = visits.when(boat_day);
            let of_boat = teams.iter().rev().find(|team| team.boat == when.1 && team.from_day <= when.0);
            let is_in = |place: &usize| of_boat.is_some_and(|team| team.pairs.contains(&all_pairs[*place]));
            let team: Vec<usize> = (0..all_pairs.len()).filter(is_in).collect();
            for (visit, Visit { at, begun, .. }) in day.iter().enumerate() {
                for number in at.first_dive..at.first_dive + at.dives {
                    // The deep part of a place first.
                    let shallow = prepared.dives_of(at.zone).map(|of| of.shallow);
                    let at_zone = |zone: usize| match begun {
                        Some(begun) => &prepared.finishing[*begun].work,
                        None => &zones[zone],
                    };
                    let packed = std::iter::once(at.zone)
                        .chain(shallow.filter(|_| begun.is_none()))
                        .flat_map(|zone| at_zone(zone).work_of(when.0, when.1).iter().map(move |dive| (zone, dive)));
                    let work: Vec<(usize, &PairDive)> = packed.filter(|(_, of)| of.team_dive == number).collect();
                    for (zone, dive) in &work {
                        for (task, units) in dive.work.units().into_iter().enumerate() {
                            planned[*zone][task] += f64::from(units);
                        }
                    }
                    let (pairs, team, casts) = (all_pairs.clone(), team.clone(), Vec::new());
                    dives.push(TeamDive { boat_day, visit, zone: at.zone, work, pairs, team, casts });
                }
            }
        }
        Self {
            prepared,
            pairs: all_pairs,
            dives,
            shares: vec![vec![vec![0.0; divers]; tasks]; planned.len()],
            planned,
            on_board: vec![0.0; divers],
            days_off: vec![0; divers],
        }
    }

    fn dives_of_day(&self, visits: &Visits, day: usize) -> Vec<usize> {
        (0..self.dives.len()).filter(|&dive| self.dives[dive].boat_day / visits.boats == day).collect()
    }

    /// The pairs with whoever stands in for one of them on a day. A diver without a partner takes the place of one who has been
    /// without less often, where all work of the day can be done so.
    fn pairs_of_day(&mut self, day: usize, dives: &[usize]) -> Vec<(usize, usize)> {
        let crew = self.prepared.expedition.pairs_on_day(day);
        let of_day: Vec<usize> = (0..self.pairs.len()).filter(|&place| crew.contains(&self.pairs[place])).collect();
        let mut pairs = self.pairs.clone();
        let aboard = |diver: &usize| self.prepared.expedition.divers[*diver].is_aboard(day);
        let divers: Vec<usize> = (0..self.days_off.len()).filter(aboard).collect();
        let dives_in = |pairs: &[(usize, usize)], diver: usize| {
            of_day.iter().any(|&place| pairs[place].0 == diver || pairs[place].1 == diver)
        };
        let spares: Vec<usize> = divers.iter().copied().filter(|diver| !dives_in(&pairs, *diver)).collect();
        for spare in spares {
            let days_off = &self.days_off;
            let mut others: Vec<usize> = divers
                .iter()
                .copied()
                .filter(|other| dives_in(&pairs, *other) && days_off[*other] < days_off[spare])
                .collect();
            others.sort_by_key(|other| days_off[*other]);
            let with = |other: usize| {
                let put = |diver: usize| if diver == other { spare } else { diver };
                let mut changed = pairs.clone();
                of_day.iter().for_each(|&place| changed[place] = (put(pairs[place].0), put(pairs[place].1)));
                changed
            };
            let can = |pairs: &Vec<(usize, usize)>| dives.iter().all(|&dive| !self.ways(dive, pairs).is_empty());
            if let Some(changed) = others.into_iter().map(with).find(can) {
                pairs = changed;
            }
        }
        for diver in divers.into_iter().filter(|diver| !dives_in(&pairs, *diver)) {
            self.days_off[diver] += 1;
        }
        pairs
    }

    /// Casts a dive in the way that leaves everything most even, of equally even ones the first. `crossing`: whether zones
    /// are compared, which takes all dives to be cast.
    fn cast(&mut self, dive: usize, crossing: bool) {
        let now = std::mem::take(&mut self.dives[dive].casts);
        self.count(dive, &now, -1.0);
        let mut ways = self.ways(dive, &self.dives[dive].pairs.clone());
        if ways.is_empty() {
            ways.push(self.as_packed(dive));
        }
        let mut best: Option<(f64, usize)> = None;
        for (index, way) in ways.iter().enumerate() {
            self.count(dive, way, 1.0);
            let cost = self.uneven(crossing);
            self.count(dive, way, -1.0);
            if best.is_none_or(|(least, _)| cost < least - 1e-9) {
                best = Some((cost, index));
            }
        }
        let chosen = ways.swap_remove(best.map_or(0, |(_, index)| index));
        self.count(dive, &chosen, 1.0);
        self.dives[dive].casts = chosen;
    }

    fn as_packed(&self, dive: usize) -> Vec<Cast> {
        let cast = |&(zone, dive): &(usize, &PairDive)| Cast {
            pair: self.place_of(dive.pair).unwrap_or(0),
            zone,
            dive: dive.clone(),
        };
        self.dives[dive].work.iter().map(cast).collect()
    }

    /// Place of a pair among all there ever are.
    fn place_of(&self, pair: Pair) -> Option<usize> {
        self.pairs.iter().position(|&(one, two)| (one, two) == (pair.0, pair.1))
    }

    /// All ways in which the pairs of a day can do the work of a dive: which pair does what, and who of the two; first that
    /// which was packed, if it can be.
    fn ways(&self, dive: usize, pairs: &[(usize, usize)]) -> Vec<Vec<Cast>> {
        let expedition = self.prepared.expedition;
        let TeamDive { zone, work, team, .. } = &self.dives[dive];
        let diving = &expedition.zones[*zone];
        let who_may = |of: &[(usize, usize)]| -> Vec<usize> {
            team.iter().copied().filter(|&place| expedition.may_dive(diving, of[place])).collect()
        };
        let (able, packed) = (who_may(pairs), who_may(&self.pairs));
        let mut all = Vec::new();
        if able.len() < packed.len() {
            return all;
        }
        for order in orders(&able, packed.len()) {
            let place = |pair: Pair| packed.iter().position(|of| Some(*of) == self.place_of(pair)).map(|at| order[at]);
            let mut ways: Vec<Vec<Cast>> = vec![Vec::new()];
            for &(zone, dive) in work {
                let Some(pair) = place(dive.pair) else { continue };
                let (one, two) = pairs[pair];
                let both_ways = [Pair(one, two), Pair(two, one)].map(|pair| PairDive { pair, ..dive.clone() });
                let casts: Vec<Cast> =
                    both_ways.into_iter().filter(|dive| self.can(dive)).map(|dive| Cast { pair, zone, dive }).collect();
                let with = |way: Vec<Cast>| {
                    casts.iter().map(|cast| [&way[..], std::slice::from_ref(cast)].concat()).collect::<Vec<_>>()
                };
                ways = ways.into_iter().flat_map(with).collect();
            }
            all.append(&mut ways);
        }
        // Where pairs that have nothing to do change places, nothing changes.
        all.dedup();
        all
    }

    /// Whether everybody has the skills for what they do (of work for both one is enough).
    fn can(&self, dive: &PairDive) -> bool {
        let tasks = &self.prepared.tasks.tasks;
        let alone = [(dive.pair.0, &dive.work.one), (dive.pair.1, &dive.work.other)];
        let each = alone
            .into_iter()
            .all(|(diver, units)| tasks.iter().zip(units).all(|(task, &n)| n == 0 || self.has(diver, task.skill)));
        let together = tasks
            .iter()
            .zip(&dive.work.both)
            .all(|(task, &n)| n == 0 || self.has(dive.pair.0, task.skill) || self.has(dive.pair.1, task.skill));
        each && together
    }

    fn has(&self, diver: usize, skill: Option<usize>) -> bool {
        skill.is_none_or(|skill| self.prepared.crews[0].divers[diver].skills >> skill & 1 == 1)
    }

    /// Takes a cast of a dive into account (1), or out of it (-1).
    fn count(&mut self, dive: usize, casts: &[Cast], sign: f64) {
        for cast in casts {
            let zone = cast.zone;
            for (diver, units) in divers_with_units(&cast.dive) {
                for (task, units) in units.into_iter().enumerate().filter(|(_, units)| *units > 0) {
                    self.shares[zone][task][diver] += sign * f64::from(units) / self.planned[zone][task];
                }
            }
        }
        if !casts.is_empty() {
            for diver in on_board(casts, &self.dives[dive]) {
                self.on_board[diver] += sign;
            }
        }
    }

    /// How uneven everything is: squares of everybody's shares within a zone and of their differences between zones, and of
    /// their shares of the dives on board.
    fn uneven(&self, crossing: bool) -> f64 {
        let zones = self.shares.len() as f64;
        let (mut within, mut between) = (0.0, 0.0);
        for task in 0..self.prepared.tasks.tasks.len() {
            for diver in 0..self.on_board.len() {
                let shares = || self.shares.iter().map(|zone| zone[task][diver]);
                let mean = shares().sum::<f64>() / zones;
                within += shares().map(|share| share * share).sum::<f64>();
                between += shares().map(|share| (share - mean).powi(2)).sum::<f64>();
            }
        }
        let readings = if crossing { between + WEIGHT_WITHIN * within } else { within };
        let stays_up = self.prepared.packing(0, 1).one_stays_up;
        let weight = if stays_up { WEIGHT_STAYING_UP } else { WEIGHT_WAITING };
        let all = self.dives.len().max(1) as f64;
        readings + weight * self.on_board.iter().map(|dives| (dives / all).powi(2)).sum::<f64>()
    }

    fn casts(self, visits: &Visits) -> Vec<Vec<Vec<Cast>>> {
        let mut all: Vec<Vec<Vec<Cast>>> = visits.boat_days.iter().map(|day| vec![Vec::new(); day.len()]).collect();
        for dive in self.dives {
            all[dive.boat_day][dive.visit].extend(dive.casts);
        }
        all
    }

    fn crossing(&self) -> Vec<Crossing> {
        let zones = &self.prepared.plan.study.zones;
        let divers = &self.prepared.expedition.divers;
        let of_task = |(index, task): (usize, &Task)| {
            let able = |diver: &usize| task.takes == Takes::Both || self.has(*diver, task.skill);
            let shares = |zone: usize| &self.shares[zone][index];
            let units = |zone: usize, diver: usize| (shares(zone)[diver] * self.planned[zone][index]).round() as usize;
            Crossing {
                method: task.name.clone(),
                zones: zones.iter().map(|zone| zone.name.clone()).collect(),
                divers: (0..divers.len())
                    .filter(able)
                    .map(|diver| ReaderUnits {
                        diver: divers[diver].name.clone(),
                        units: (0..zones.len()).map(|zone| units(zone, diver)).collect(),
                    })
                    .collect(),
                apart: (0..zones.len())
                    .flat_map(|one| (0..one).map(move |other| apart(shares(one), shares(other))))
                    .fold(0.0, f64::max),
            }
        };
        // Who lays a line reads nothing by it.
        let tasks = self.prepared.tasks.tasks.iter().enumerate();
        tasks.filter(|(_, task)| task.name != LAYING).map(of_task).collect()
    }

    fn turns(&self) -> Vec<Turns> {
        let has = |cast: &Cast, diver: usize| cast.dive.pair.0 == diver || cast.dive.pair.1 == diver;
        let names = self.prepared.expedition.divers.iter().enumerate();
        let turns = names.map(|(diver, of)| Turns {
            diver: of.name.clone(),
            dives: self.dives.iter().filter(|dive| dive.casts.iter().any(|cast| has(cast, diver))).count(),
            on_board: self.on_board[diver] as usize,
            days_off: self.days_off[diver],
        });
        turns.collect()
    }
}

/// The two divers of a dive, each with the units he has a hand in.
fn divers_with_units(dive: &PairDive) -> [(usize, Units); 2] {
    let with_both =
        |own: &Units| -> Units { own.iter().zip(&dive.work.both).map(|(a, b)| a.saturating_add(*b)).collect() };
    [(dive.pair.0, with_both(&dive.work.one)), (dive.pair.1, with_both(&dive.work.other))]
}

/// Those of the pairs of a boat who are not under water on a team dive.
fn on_board(casts: &[Cast], TeamDive { pairs, team, .. }: &TeamDive) -> Vec<usize> {
    let is_down = |place: &usize| casts.iter().any(|cast| cast.pair == *place);
    let up = team.iter().filter(|place| !is_down(place));
    up.flat_map(|&place| [pairs[place].0, pairs[place].1]).collect()
}

/// Ways to put pairs that are able into so many places: all, or (where they are many) round in a circle; first as they are.
fn orders(able: &[usize], places: usize) -> Vec<Vec<usize>> {
    if able.len() > PAIRS_IN_ALL_WAYS {
        return (0..able.len()).map(|by| (0..places).map(|at| able[(at + by) % able.len()]).collect()).collect();
    }
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in 0..places {
        let longer = |order: Vec<usize>| {
            let free: Vec<usize> = able.iter().copied().filter(|place| !order.contains(place)).collect();
            free.into_iter().map(move |place| [order.clone(), vec![place]].concat())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all
}

/// Half of the summed differences of the shares of two zones; 0 where one has no units.
fn apart(one: &[f64], other: &[f64]) -> f64 {
    let (all, all_other) = (one.iter().sum::<f64>(), other.iter().sum::<f64>());
    if all == 0.0 || all_other == 0.0 {
        return 0.0;
    }
    0.5 * one.iter().zip(other).map(|(a, b)| (a / all - b / all_other).abs()).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_begin_with_what_was_packed() {
        assert_eq!(orders(&[0, 1, 2], 3).len(), 6);
        assert_eq!(orders(&[0, 1, 2], 3)[0], [0, 1, 2]);
        assert_eq!(orders(&[0, 2, 3], 2), [[0, 2], [0, 3], [2, 0], [2, 3], [3, 0], [3, 2]]);
        let many = orders(&[0, 1, 2, 3, 4, 5, 6], 7);
        assert_eq!((many.len(), &many[0], many[6][0]), (7, &vec![0, 1, 2, 3, 4, 5, 6], 6));
    }

    #[test]
    fn zones_are_apart_by_the_part_that_would_change_hands() {
        assert_eq!(apart(&[2.0, 2.0, 0.0], &[5.0, 5.0, 0.0]), 0.0);
        assert_eq!(apart(&[2.0, 0.0], &[0.0, 9.0]), 1.0);
        assert_eq!(apart(&[1.0, 1.0], &[3.0, 1.0]), 0.25);
    }
}
