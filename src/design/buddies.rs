//! Who dives with whom on which day. The pairs of the expedition dive together while both are aboard; who is aboard without the
//! buddy is paired anew with others who are, or with a spare. Nobody dives alone: who is left over stays on board.

use super::expedition::{DiverSpec, Expedition, MethodWork, ZoneDiving};
use std::cmp::Reverse;

/// Places of two divers in the list.
type Two = (usize, usize);

/// The pairs of a boat from some day for diving on, both from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Team {
    pub from_day: usize,
    pub boat: usize,
    pub pairs: Vec<(usize, usize)>,
}

/// So many who need a buddy are looked at together, in every way; more on one day one lot after the other, spares last and those
/// who may dive deepest first.
const MOST_TOGETHER: usize = 12;

impl DiverSpec {
    /// Whether the diver is authorised so deep, m; where nothing is told, he is (and a warning says so).
    pub fn may_dive_to(&self, depth_m: f64) -> bool {
        self.depth_m.is_none_or(|deepest| deepest >= depth_m)
    }
}

impl Expedition {
    /// The days for diving cut where divers come or leave: from which day on which pairs dive, of whom both are aboard.
    pub fn crew_changes(&self) -> Vec<(usize, Vec<(usize, usize)>)> {
        let last = self.days.for_diving().max(1);
        let mut cuts = vec![1];
        cuts.extend(self.divers.iter().flat_map(|diver| [diver.from_day, diver.to_day.map_or(1, |day| day + 1)]));
        cuts.retain(|cut| (1..=last).contains(cut));
        cuts.sort_unstable();
        cuts.dedup();
        let mut crews: Vec<(usize, Vec<Two>)> = Vec::new();
        for day in cuts {
            let before = crews.last().map_or(&[][..], |(_, pairs)| pairs);
            let pairs = self.pairs_on(day, before);
            if crews.is_empty() || before != pairs {
                crews.push((day, pairs));
            }
        }
        crews
    }

    /// The pairs of a day for diving, from 1.
    pub fn pairs_on_day(&self, day: usize) -> Vec<(usize, usize)> {
        let crew = self.crew_changes().into_iter().rev().find(|(from_day, _)| *from_day <= day);
        crew.map_or(Vec::new(), |(_, pairs)| pairs)
    }

    /// The pairs of each boat, from some day for diving on: those aboard are dealt to the boats in turn.
    pub fn teams(&self) -> Vec<Team> {
        let boats = self.boats.number.max(1);
        let deal = |(from_day, pairs): (usize, Vec<Two>)| {
            (0..boats).map(move |boat| {
                let pairs = pairs.iter().copied().skip(boat).step_by(boats).collect();
                Team { from_day, boat: boat + 1, pairs }
            })
        };
        self.crew_changes().into_iter().flat_map(deal).collect()
    }

    /// All pairs there ever are: those of the expedition, then those that are made anew, by their first days. The place of a pair
    /// among them is its number.
    pub fn pairs_ever(&self) -> Vec<(usize, usize)> {
        let mut all = self.pairs.clone();
        for pair in self.crew_changes().into_iter().flat_map(|(_, pairs)| pairs) {
            if !all.contains(&pair) {
                all.push(pair);
            }
        }
        all
    }

    /// Whether both of a pair are authorised to the depth of a zone, as far as it is told.
    pub fn may_dive(&self, zone: &ZoneDiving, (one, other): (usize, usize)) -> bool {
        [one, other].iter().all(|&diver| self.divers[diver].may_dive_to(zone.depth_m))
    }

    /// Whether the divers of a pair have what a method needs: one of them, or both where its work takes both.
    pub fn can_work(&self, work: &MethodWork, (one, other): (usize, usize)) -> bool {
        let Some(skill) = &work.skill else { return true };
        let has = |diver: usize| self.divers[diver].skills.contains(skill);
        if work.takes_both { has(one) && has(other) } else { has(one) || has(other) }
    }

    /// The pairs of a day, those of the expedition first; `before`: those of the days before.
    fn pairs_on(&self, day: usize, before: &[Two]) -> Vec<Two> {
        let aboard = |diver: usize| self.divers[diver].is_aboard(day);
        let mut pairs: Vec<Two> =
            self.pairs.iter().copied().filter(|&(one, other)| aboard(one) && aboard(other)).collect();
        let zones =
            |diver: usize| self.zones.iter().filter(|zone| self.divers[diver].may_dive_to(zone.depth_m)).count();
        let mut free: Vec<usize> = (0..self.divers.len())
            .filter(|&diver| aboard(diver) && !is_in(&pairs, diver) && zones(diver) > 0)
            .collect();
        free.sort_by_key(|&diver| (!is_in(&self.pairs, diver), Reverse(zones(diver))));
        let mut left: Vec<usize> = Vec::new();
        let mut anew: Vec<Two> = Vec::new();
        while !free.is_empty() && left.len() < MOST_TOGETHER {
            let next = free.len().min(MOST_TOGETHER - left.len());
            left.extend(free.drain(..next));
            left.sort_unstable();
            anew.extend(self.paired_anew(&left, before));
            left.retain(|&diver| !is_in(&anew, diver));
        }
        anew.sort_unstable();
        pairs.append(&mut anew);
        pairs
    }

    /// The best pairs of some divers, who are in no pair of the day. First counts in how many zones they can dive, the deepest
    /// first; then how many methods the pairs can do; then how many of them dived together before; then the list.
    fn paired_anew(&self, divers: &[usize], before: &[Two]) -> Vec<Two> {
        let worths: Vec<Vec<Option<Vec<usize>>>> = divers
            .iter()
            .map(|&first| divers.iter().map(|&other| self.worth((first, other), before)).collect())
            .collect();
        // Of each set of them (by bits): what its best pairs are worth, and with whom its first one dives.
        let nothing = vec![0; self.zones.len() + 2];
        let mut best: Vec<(Vec<usize>, Option<usize>)> = vec![(nothing, None)];
        for set in 1usize..1 << divers.len() {
            let first = set.trailing_zeros() as usize;
            let others = set & (set - 1);
            let mut of_set = (best[others].0.clone(), None);
            for other in (first + 1..divers.len()).filter(|other| others >> other & 1 == 1) {
                let Some(worth) = &worths[first][other] else { continue };
                let rest = &best[others & !(1 << other)].0;
                let all: Vec<usize> = worth.iter().zip(rest).map(|(one, rest)| one + rest).collect();
                if of_set.1.is_none() && all >= of_set.0 || all > of_set.0 {
                    of_set = (all, Some(other));
                }
            }
            best.push(of_set);
        }
        let mut set = (1usize << divers.len()) - 1;
        let mut pairs = Vec::new();
        while set > 0 {
            let first = set.trailing_zeros() as usize;
            set &= set - 1;
            if let Some(other) = best[set | 1 << first].1 {
                pairs.push((divers[first], divers[other]));
                set &= !(1 << other);
            }
        }
        pairs
    }

    /// What a new pair is worth, in the order in which that counts; `None`: they do not dive together. Two spares do not, because
    /// the expedition has no pair of them.
    fn worth(&self, pair: Two, before: &[Two]) -> Option<Vec<usize>> {
        let has_a_buddy = |diver: usize| is_in(&self.pairs, diver);
        let mut zones: Vec<&ZoneDiving> = self.zones.iter().collect();
        zones.sort_by(|one, other| other.depth_m.total_cmp(&one.depth_m));
        let mut worth: Vec<usize> = zones.iter().map(|zone| usize::from(self.may_dive(zone, pair))).collect();
        if !worth.contains(&1) || !(has_a_buddy(pair.0) || has_a_buddy(pair.1)) {
            return None;
        }
        worth.push(self.methods.iter().filter(|work| self.can_work(work, pair)).count());
        worth.push(usize::from(before.contains(&pair)));
        Some(worth)
    }
}

fn is_in(pairs: &[Two], diver: usize) -> bool {
    pairs.iter().any(|&(one, other)| one == diver || other == diver)
}
