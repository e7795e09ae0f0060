//! Who does what at a place of two depths: with the fewest pair-dives, and the fewest dives to the deep part.

use super::super::assign::{PairDive, Slot, fill, pair_sets};
use super::super::down_set::{Caps, Units};
use super::super::first::Opening;
use super::super::one_dive::{Pair, PairWork, Takes};
use super::super::packing::Works;
use super::TwoDepths;
use super::going::{Above, Going};

/// One pair on one team dive of a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceDive {
    /// From 0.
    pub team_dive: usize,
    pub pair: Pair,
    /// At the deep part, then at the shallow one.
    pub parts: [PairWork; 2],
}

/// Up to so many tasks, those of both depths, every set of them is looked at for a bound.
const MOST_TASKS_IN_ALL_SETS: usize = 12;

impl TwoDepths<'_> {
    /// Whether some pair-dives may hold so many units: minutes and skills do not forbid it. Of pairs that can do the same, the
    /// first ones dive.
    fn may_hold(&self, units: &[u8]) -> impl Fn(&[Slot]) -> bool {
        let (tasks, units, pairs) = (self.tasks_of_both(), self.units_of_both(units), self.pairs());
        let divers = &self.depths[1].crew.divers;
        // For each set of tasks the minutes of divers that it takes at least, and the divers of each pair who have a part in it.
        let of_set = |set: u32| {
            let inside = || (0..tasks.len()).filter(move |task| set >> task & 1 == 1);
            let minutes = |task: usize| {
                let both = if tasks[task].takes == Takes::Both { 2.0 } else { 1.0 };
                both * f64::from(units[task]) * tasks[task].unit.mean
            };
            let has_part =
                |diver: usize| inside().any(|task| tasks[task].takes == Takes::Both || divers[diver].can(&tasks[task]));
            let of_pair = |pair: &Pair| [pair.0, pair.1].into_iter().filter(|&diver| has_part(diver)).count();
            (inside().map(minutes).sum::<f64>(), pairs.iter().map(of_pair).collect::<Vec<usize>>())
        };
        // All sets, or where they are too many each task and all of them.
        let all = (1u32 << tasks.len()) - 1;
        let sets: Vec<(f64, Vec<usize>)> = if tasks.len() <= MOST_TASKS_IN_ALL_SETS {
            (1..=all).map(of_set).collect()
        } else {
            (0..tasks.len()).map(|task| 1 << task).chain([all]).map(of_set).collect()
        };
        let likes = |pair: usize| (0..pair).filter(|&other| self.are_alike(pairs[other], pairs[pair])).collect();
        let likes: Vec<Vec<usize>> =
            (0..pairs.len()).map(|pair| if self.depths[0].one_stays_up { Vec::new() } else { likes(pair) }).collect();
        let longer = self.longer();
        move |slots| {
            let first =
                slots.iter().all(|&(dive, pair)| likes[pair].iter().all(|&other| slots.contains(&(dive, other))));
            first
                && sets.iter().all(|(minutes, of_pair)| {
                    let divers: usize = slots.iter().map(|&(_, pair)| of_pair[pair]).sum();
                    *minutes <= longer * divers as f64 + 1e-9
                })
        }
    }

    /// All that so many team dives of a place may be, in their order; first those of which fewest go to the deep part. What comes
    /// first at a depth is begun on one of them, if there is any.
    fn orders(&self, caps: &Caps, team_dives: usize) -> Vec<Vec<Going>> {
        let plain = |below: usize| {
            let of = |dive: usize| if dive < below { Going::NOTHING_FIRST } else { Going::up(Above::NotFirst) };
            (0..team_dives).map(of).collect::<Vec<Going>>()
        };
        let comes_first = self.comes_first(caps);
        if !comes_first.contains(&true) {
            return (1..=team_dives).map(plain).collect();
        }
        let openings = self.depths[0].openings(caps);
        let first_above = |below: &Opening| -> Vec<Going> {
            self.first_above(caps, *below).into_iter().map(|(going, _)| going).collect()
        };
        let kinds: Vec<Vec<Going>> = openings.iter().map(first_above).collect();
        let not_first = openings.iter().position(|opening| *opening == Opening::NOT_FIRST);
        let later = not_first.map_or_else(|| first_above(&Opening::NOT_FIRST), |at| kinds[at].clone());
        let above = self.depths[1].openings(caps).into_iter().map(|opening| match opening.with_first {
            true => Above::First { from: 0.0, wait: opening.wait },
            false => Above::NotFirst,
        });
        let up: Vec<Going> = above.map(Going::up).collect();
        let mut all = Vec::new();
        for below in 1..=team_dives {
            for (first, opening) in openings.iter().enumerate() {
                // On which dive the shallow part is dived at first.
                for opens in 0..=below.min(team_dives - 1) {
                    let with = if opens == 0 { &kinds[first] } else { &later };
                    for &with in if opens < below { with } else { &up } {
                        let mut order = plain(below);
                        let down = |dive: usize| Going::down(if dive == 0 { *opening } else { Opening::NOT_FIRST });
                        (0..opens).for_each(|dive| order[dive] = down(dive));
                        order[opens] = with;
                        all.push(order);
                    }
                }
            }
        }
        all.retain(|order| {
            let begun = |depth: usize| order.iter().any(|going| going.with_first()[depth]);
            [0, 1].into_iter().all(|depth| begun(depth) || !comes_first[depth])
        });
        all
    }

    /// Who does the same units at both depths on so many team dives, with as few pair-dives as there can be, and of those ways
    /// one with the fewest dives to the deep part; `None` where they do not fit.
    pub fn assign(&self, units: &[u8], team_dives: usize) -> Option<Vec<PlaceDive>> {
        let caps = Caps::new(units.to_vec());
        let (both, pairs) = (Self::both(&caps), self.pairs());
        let one_stays_up = self.depths[0].one_stays_up;
        let asked = [units, units].concat();
        let mut orders = self.orders(&caps, team_dives);
        let mut goings: Vec<Going> = Vec::new();
        for &going in orders.iter().flatten() {
            if !goings.contains(&going) {
                goings.push(going);
            }
        }
        let works: Vec<Works> = goings.iter().map(|&going| self.works_of_all(&caps, going)).collect();
        let filled = |order: &[Going], slots: &[Slot]| {
            let of = |(dive, pair): Slot| {
                let going = goings.iter().position(|going| *going == order[dive]).unwrap_or(0);
                works[going][pair].as_slice()
            };
            let found = fill(&pairs, &asked, &both, slots, of)?;
            Some(found.into_iter().map(|dive| self.parted(dive)).collect::<Vec<_>>())
        };
        if !one_stays_up {
            let everybody: Vec<Slot> =
                (0..team_dives).flat_map(|dive| (0..pairs.len()).map(move |pair| (dive, pair))).collect();
            orders.retain(|order| filled(order, &everybody).is_some());
        }
        let may_hold = self.may_hold(units);
        let mut down_again: Option<(usize, Vec<PlaceDive>)> = None;
        for slots in pair_sets((pairs.len(), one_stays_up), team_dives).filter(|slots| may_hold(slots)) {
            if down_again.as_ref().is_some_and(|(pair_dives, _)| slots.len() > *pair_dives) {
                break;
            }
            for dives in orders.iter().filter_map(|order| filled(order, &slots)) {
                if !goes_down_again(&dives) {
                    return Some(dives);
                }
                down_again = down_again.or(Some((slots.len(), dives)));
            }
        }
        down_again.map(|(_, dives)| dives)
    }

    fn parted(&self, PairDive { team_dive, pair, work }: PairDive) -> PlaceDive {
        let line = self.depths[0].line;
        let own = self.tasks() - usize::from(line.is_some());
        let cut = |units: &Units, part: usize| {
            let laying = units.get(2 * own + part).filter(|_| line.is_some());
            units[part * own..(part + 1) * own].iter().chain(laying).copied().collect::<Units>()
        };
        let part = |part: usize| {
            let work =
                PairWork { one: cut(&work.one, part), other: cut(&work.other, part), both: cut(&work.both, part) };
            // No line for nothing.
            line.map_or_else(|| work.clone(), |line| line.cut(work.clone()))
        };
        PlaceDive { team_dive, pair, parts: [part(0), part(1)] }
    }
}

/// Whether some pair works at the deep part on a team dive.
fn is_deep(dives: &[PlaceDive], number: usize) -> bool {
    let of_dive = dives.iter().filter(|dive| dive.team_dive == number);
    of_dive.flat_map(|dive| dive.parts[0].units()).any(|n| n > 0)
}

/// Whether a team dive to the deep part follows one at the shallow part alone.
fn goes_down_again(dives: &[PlaceDive]) -> bool {
    let last_deep = dives.iter().map(|dive| dive.team_dive).filter(|&number| is_deep(dives, number)).max();
    (0..last_deep.unwrap_or(0)).any(|number| !is_deep(dives, number))
}
