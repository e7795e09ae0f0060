//! Who dives with whom, where that is not told: all pairings are tried where it matters.

use super::known::Known;
use super::options::{least, searches, zones_of};
use super::prepared::Prepared;
use super::tasks::Tasks;
use super::variants::variants;
use crate::budget::{Hold, Merit, Search, Takes};
use crate::design::{Expedition, First, Standby, WhoWaits};
use crate::engine::Plan;
use crate::survey::Dimensions;
use rayon::prelude::*;
use serde::Serialize;
use std::borrow::Cow;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// The pairs of a plan that was not told them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pairing {
    pub pairs: Vec<[String; 2]>,
    pub matters: PairingMatters,
    /// Pairings that differ in skills, depths or days, and were tried.
    pub tried: usize,
    /// Fewest and most days of those that reach all targets (the musts, where none does).
    pub days: Option<(usize, usize)>,
}

/// Whether it matters who dives with whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PairingMatters {
    /// Nothing of the work depends on it, or every pairing gives the same plan.
    No,
    /// The best one is planned.
    Yes,
    /// There are too many to try; the divers are paired as they are listed.
    NotTried,
}

/// The most divers whose pairings are listed (945 pairings of ten), and the most of different kinds that are tried.
const MOST_DIVERS: usize = 10;
const MOST_TRIED: usize = 40;

/// The expedition with the best pairs, and what is said of them; as it is where pairs are told.
pub fn paired<'a>(plan: &Plan, expedition: &'a Expedition, known: &Known) -> (Cow<'a, Expedition>, Option<Pairing>) {
    let as_listed = Cow::Borrowed(expedition);
    // Pairs are tried with one of the dimensions of each method.
    let dimensions = variants(plan, expedition, known).all.into_iter().next().unwrap_or_default();
    let Some(tasks) = Tasks::new(plan, expedition, &dimensions).filter(|_| !expedition.pairs_told) else {
        return (as_listed, None);
    };
    let told = |expedition: &Expedition, matters, tried, days| {
        let name = |diver: usize| expedition.divers[diver].name.clone();
        let pairs = expedition.pairs.iter().map(|&(one, other)| [name(one), name(other)]).collect();
        Some(Pairing { pairs, matters, tried, days })
    };
    let tried = match ways(expedition, &tasks) {
        Ways::Alike => return (as_listed, told(expedition, PairingMatters::No, 1, None)),
        Ways::TooMany => return (as_listed, told(expedition, PairingMatters::NotTried, 1, None)),
        Ways::These(different) => tried(plan, expedition, (&dimensions, known), different),
    };
    let number = tried.len();
    let same = tried.iter().all(|(_, effort)| effort.is_like(&tried[0].1));
    let days = |of: fn(&Effort) -> Option<usize>| {
        let days = tried.iter().filter_map(|(_, effort)| of(effort));
        Some((days.clone().min()?, days.max()?))
    };
    let days = days(|effort| effort.all.as_ref().map(|all| all.0))
        .or(days(|effort| effort.musts.as_ref().map(|musts| musts.0)));
    let Some(best) = best(tried) else { return (as_listed, None) };
    let matters = if same { PairingMatters::No } else { PairingMatters::Yes };
    let told = told(&best, matters, number, days);
    (Cow::Owned(best), told)
}

/// The expedition with the best pairs of its divers, whoever dived with whom before, on as many boats as they do most from:
/// skills that are too few for every boat may do for fewer. `None`: the ways are too many to try.
pub fn paired_anew(
    plan: &Plan,
    expedition: &Expedition,
    dimensions: &[Dimensions],
    known: &Known,
) -> Option<Expedition> {
    let pairs = as_listed(expedition.divers.len());
    let most = expedition.boats.number.min(pairs.len());
    let on_boats = |number: usize| {
        let mut listed = Expedition { pairs: pairs.clone(), ..expedition.clone() };
        listed.boats.number = number;
        let tasks = Tasks::new(plan, &listed, dimensions)?;
        let different = match ways(&listed, &tasks) {
            Ways::Alike => vec![listed.pairs.clone()],
            Ways::TooMany => return None,
            Ways::These(different) => different,
        };
        Some(tried(plan, &listed, (dimensions, known), different))
    };
    let all: Option<Vec<_>> = (1..=most).rev().map(on_boats).collect();
    best(all?.into_iter().flatten().collect())
}

/// The ways to pair the divers of an expedition.
enum Ways {
    /// Nothing of the work depends on it.
    Alike,
    TooMany,
    /// Those that differ.
    These(Vec<Vec<Two>>),
}

fn ways(expedition: &Expedition, tasks: &Tasks) -> Ways {
    let kinds: Vec<Kind> = (0..expedition.divers.len()).map(|diver| Kind::of(expedition, tasks, diver)).collect();
    if kinds.is_empty() || !may_matter(expedition, tasks, &kinds) {
        return Ways::Alike;
    }
    let different = if kinds.len() > MOST_DIVERS { Vec::new() } else { pairings(&kinds) };
    if different.is_empty() || different.len() > MOST_TRIED { Ways::TooMany } else { Ways::These(different) }
}

fn tried(
    plan: &Plan,
    expedition: &Expedition,
    (dimensions, known): (&[Dimensions], &Known),
    different: Vec<Vec<Two>>,
) -> Vec<(Expedition, Effort)> {
    let with = |pairs: Vec<Two>| {
        let other = Expedition { pairs, ..expedition.clone() };
        let effort = Effort::of(plan, &other, dimensions, known);
        (other, effort)
    };
    different.into_par_iter().map(with).collect()
}

/// Of equals the first, which is nearest to the list.
fn best(tried: Vec<(Expedition, Effort)>) -> Option<Expedition> {
    tried.into_iter().min_by_key(|(_, effort)| effort.key()).map(|(best, _)| best)
}

fn as_listed(divers: usize) -> Vec<Two> {
    (0..divers / 2).map(|pair| (2 * pair, 2 * pair + 1)).collect()
}

/// What of a diver the work asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Kind {
    skills: u32,
    zones: u32,
    from_day: usize,
    to_day: Option<usize>,
}

impl Kind {
    fn of(expedition: &Expedition, tasks: &Tasks, diver: usize) -> Self {
        let of = &expedition.divers[diver];
        let bits = |is_in: &dyn Fn(usize) -> bool, number: usize| {
            (0..number.min(32)).filter(|&bit| is_in(bit)).fold(0, |all, bit| all | 1 << bit)
        };
        let may = |zone: usize| of.may_dive_to(expedition.zones[zone].depth_m);
        Self {
            skills: bits(&|skill| of.skills.contains(&tasks.skills[skill]), tasks.skills.len()),
            zones: bits(&may, expedition.zones.len()),
            from_day: of.from_day,
            to_day: of.to_day,
        }
    }
}

/// Whether anything of the work depends on who dives with whom: with work that takes one diver, no buddies who wait for each
/// other alone, and all divers in all zones on all days, only the divers count.
fn may_matter(expedition: &Expedition, tasks: &Tasks, kinds: &[Kind]) -> bool {
    let alike = kinds.iter().all(|kind| *kind == kinds[0]);
    let same_dives = kinds.iter().all(|kind| Kind { skills: 0, ..*kind } == Kind { skills: 0, ..kinds[0] });
    let of_buddies = |first: First| first.who_waits == WhoWaits::Buddy && first.minutes > 0.0;
    let waits = tasks.tasks.iter().any(|task| task.first.is_some_and(of_buddies));
    let both = tasks.tasks.iter().any(|task| task.takes == Takes::Both);
    let own_line = tasks.line.as_ref().is_some_and(|line| !line.stays);
    // One pair of each boat stays up in turn, and boats share the pairs among them.
    let not_all = expedition.standby == Standby::APairStaysUp || expedition.boats.number > 1;
    !alike && kinds.len() > 2 && (!same_dives || waits || both || own_line || not_all || !kinds.len().is_multiple_of(2))
}

/// All pairings that differ in the kinds of their pairs, the divers as they are listed first; of an odd number each may be
/// spare.
fn pairings(kinds: &[Kind]) -> Vec<Vec<(usize, usize)>> {
    let mut all = Vec::new();
    let mut seen = BTreeSet::new();
    let mut keep = |pairs: &[(usize, usize)]| {
        let kind = |&(one, other): &(usize, usize)| (kinds[one].min(kinds[other]), kinds[one].max(kinds[other]));
        let mut of: Vec<(Kind, Kind)> = pairs.iter().map(kind).collect();
        of.sort_unstable();
        if seen.insert(of) {
            all.push(pairs.to_vec());
        }
    };
    keep(&as_listed(kinds.len()));
    let everybody: Vec<usize> = (0..kinds.len()).collect();
    if kinds.len().is_multiple_of(2) {
        extend(&everybody, &mut Vec::new(), &mut keep);
    } else {
        for spare in everybody.iter().rev() {
            let others: Vec<usize> = everybody.iter().copied().filter(|diver| diver != spare).collect();
            extend(&others, &mut Vec::new(), &mut keep);
        }
    }
    all
}

/// Places of two divers in the list.
type Two = (usize, usize);

fn extend(left: &[usize], pairs: &mut Vec<Two>, keep: &mut dyn FnMut(&[Two])) {
    let Some((&first, others)) = left.split_first() else { return keep(pairs) };
    for &buddy in others {
        let rest: Vec<usize> = others.iter().copied().filter(|&other| other != buddy).collect();
        pairs.push((first, buddy));
        extend(&rest, pairs, keep);
        pairs.pop();
    }
}

/// Days, team dives and merit.
type Takes3 = (usize, usize, Reverse<Merit>);

/// The least effort for all targets and for the musts.
struct Effort {
    all: Option<Takes3>,
    musts: Option<Takes3>,
}

impl Effort {
    fn of(plan: &Plan, expedition: &Expedition, dimensions: &[Dimensions], known: &Known) -> Self {
        let Ok(prepared) = Prepared::new(plan, expedition, dimensions.to_vec(), known) else {
            return Self { all: None, musts: None };
        };
        let by_crew = prepared.by_crew();
        let zones = zones_of(&by_crew);
        // Who dives with whom does not go by money.
        let searches: Vec<Search> = searches(&by_crew, &zones).into_iter().map(|search| search.priced(None)).collect();
        let takes = |hold: Hold| {
            let found = least(&searches, hold)?.found;
            Some((found.days, found.team_dives, Reverse(found.merit)))
        };
        Self { all: takes(Hold::All), musts: takes(Hold::Musts) }
    }

    /// Less is better; out of reach is worst.
    fn key(&self) -> [(bool, Option<Takes3>); 2] {
        [self.all, self.musts].map(|takes| (takes.is_none(), takes))
    }

    fn is_like(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(skills: u32) -> Kind {
        Kind { skills, zones: 1, from_day: 1, to_day: None }
    }

    /// 15, 105 and 945 pairings of divers who are all different; three of two fish counters, one coral diver and three like
    /// them; one of divers alike.
    #[test]
    fn pairings_are_listed_once_by_what_they_can() {
        for (divers, number) in [(4, 3), (6, 15), (8, 105), (10, 945), (5, 15)] {
            let kinds: Vec<Kind> = (0..divers).map(kind).collect();
            let all = pairings(&kinds);
            assert_eq!(all.len(), number, "{divers}");
            assert_eq!(all[0], (0..divers as usize / 2).map(|pair| (2 * pair, 2 * pair + 1)).collect::<Vec<_>>());
        }
        let counters = [1, 0, 1, 0, 0, 0].map(kind);
        // Together, or each with somebody else.
        assert_eq!(pairings(&counters).len(), 2);
        assert_eq!(pairings(&[kind(0); 8]).len(), 1);
    }
}
