//! Who does what on which dive: the work at one site with the fewest pair-dives.

use super::down_set::{Caps, DownSet, Units};
use super::one_dive::{Pair, PairWork, works_of_pair};
use super::packing::Packing;

/// One pair on one team dive of a site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairDive {
    /// From 0.
    pub team_dive: usize,
    pub pair: Pair,
    pub work: PairWork,
}

/// Distributes `units` over so many team dives; `None` where they do not fit. Of all ways that need no more team dives one
/// with the fewest pair-dives; cost: sets of pairs x rows below `units`.
pub fn assign(packing: &Packing, units: &[u8], team_dives: usize) -> Option<Vec<PairDive>> {
    let caps = Caps::new(units.to_vec());
    let works = |with_first: bool| -> Vec<Vec<PairWork>> {
        let of = |&pair| {
            works_of_pair(packing.tasks, &caps, (packing.crew, pair, packing.finish), packing.minutes, with_first)
        };
        packing.crew.pairs.iter().map(of).collect()
    };
    let (early, late) = (works(true), works(false));
    let pairs = packing.crew.pairs.len();
    let of_dive = |dive: usize| if dive < packing.dives_with_first { &early } else { &late };
    let mut sets: Vec<u32> = (0..1u32 << (pairs * team_dives)).collect();
    // Every team dive has a pair in it, and not all where one stays up.
    let mask = (1u32 << pairs) - 1;
    let allowed = |down: u32| down != 0 && !(packing.one_stays_up && down == mask);
    sets.retain(|set| (0..team_dives).all(|dive| allowed(set >> (dive * pairs) & mask)));
    sets.sort_by_key(|set| set.count_ones());
    sets.into_iter().find_map(|set| {
        let slots: Vec<(usize, usize)> = (0..team_dives)
            .flat_map(|dive| (0..pairs).map(move |pair| (dive, pair)))
            .filter(|(dive, pair)| set >> (dive * pairs + pair) & 1 == 1)
            .collect();
        into_slots(packing, units, &caps, &slots, |(dive, pair)| &of_dive(dive)[pair])
    })
}

/// Fills the slots one after the other with what leaves a rest that the later ones can do: no step back is ever needed.
fn into_slots<'a>(
    packing: &Packing,
    units: &[u8],
    caps: &Caps,
    slots: &[(usize, usize)],
    works: impl Fn((usize, usize)) -> &'a [PairWork],
) -> Option<Vec<PairDive>> {
    // What the slots from each on can do together.
    let mut later = vec![DownSet::nothing(caps)];
    for &slot in slots.iter().rev() {
        let tops: Vec<Units> = works(slot).iter().map(PairWork::units).collect();
        later.push(later[later.len() - 1].plus(caps, &tops));
    }
    later.reverse();
    if !later[0].has(caps, units) {
        return None;
    }
    let mut left = units.to_vec();
    let mut dives = Vec::new();
    for (number, &slot) in slots.iter().enumerate() {
        let rest = |work: &PairWork| -> Units {
            left.iter().zip(work.units()).map(|(n, done)| n.saturating_sub(done)).collect()
        };
        let chosen = works(slot).iter().find(|work| later[number + 1].has(caps, &rest(work)))?;
        let work = cut(chosen, &left);
        left = rest(chosen);
        dives.push(PairDive { team_dive: slot.0, pair: packing.crew.pairs[slot.1], work });
    }
    Some(dives)
}

/// No more of a work than is left to do.
fn cut(work: &PairWork, left: &[u8]) -> PairWork {
    let mut left = left.to_vec();
    let mut take = |units: &Units| -> Units {
        units
            .iter()
            .zip(&mut left)
            .map(|(&n, left)| {
                let taken = n.min(*left);
                *left -= taken;
                taken
            })
            .collect()
    };
    let both = take(&work.both);
    let one = take(&work.one);
    PairWork { other: take(&work.other), one, both }
}
