//! Who does what on which dive: the work at one site with the fewest pair-dives.

use super::down_set::{Caps, DownSet, Units};
use super::first::Opening;
use super::lines::Line;
use super::one_dive::{Pair, PairWork};
use super::packing::{Packing, Works};

/// One pair on one team dive of a site.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PairDive {
    /// From 0.
    pub team_dive: usize,
    pub pair: Pair,
    pub work: PairWork,
}

/// A team dive and the place of a pair.
pub(super) type Slot = (usize, usize);

/// Distributes `units` over so many team dives; `None` where they do not fit. Of all ways that need no more team dives one
/// with the fewest pair-dives; cost: sets of pairs x ways to begin the dives x rows below `units`.
pub fn assign(packing: &Packing, units: &[u8], team_dives: usize) -> Option<Vec<PairDive>> {
    let caps = Caps::new(units.to_vec());
    let openings = packing.openings(&caps);
    let early: Vec<Works> = openings.iter().map(|&opening| packing.works_of_all(&caps, opening)).collect();
    let late = packing.works_of_all(&caps, Opening::NOT_FIRST);
    let not_first = (false, &late);
    let all: Vec<(bool, &Works)> = openings.iter().map(|opening| opening.with_first).zip(&early).collect();
    // How each team dive may begin, with what the pairs then do.
    let mut ways: Vec<Vec<(bool, &Works)>> = vec![Vec::new()];
    for dive in 0..team_dives {
        let kinds = if dive < packing.dives_with_first { &all[..] } else { std::slice::from_ref(&not_first) };
        ways = ways.iter().flat_map(|way| kinds.iter().map(|&kind| [&way[..], &[kind]].concat())).collect();
    }
    // What comes first is begun on one of them, if there is any.
    let comes_first = openings.iter().any(|opening| opening.with_first);
    ways.retain(|way| !comes_first || way.iter().any(|(with_first, _)| *with_first));
    pair_sets((packing.crew.pairs.len(), packing.one_stays_up), team_dives).find_map(|slots| {
        ways.iter().find_map(|way| {
            let works = |(dive, pair): Slot| way[dive].1[pair].as_slice();
            match packing.staying_line() {
                None => into_slots(packing, units, &caps, &slots, works),
                Some(line) => onto_lines(packing, line, units, &slots, works),
            }
        })
    })
}

/// All ways to send pairs down on so many team dives, those with the fewest pair-dives first.
pub(super) fn pair_sets((pairs, one_stays_up): (usize, bool), team_dives: usize) -> impl Iterator<Item = Vec<Slot>> {
    let mut sets: Vec<u32> = (0..1u32 << (pairs * team_dives)).collect();
    // Every team dive has a pair in it, and not all where one stays up.
    let mask = (1u32 << pairs) - 1;
    let allowed = move |down: u32| down != 0 && !(one_stays_up && down == mask);
    sets.retain(|set| (0..team_dives).all(|dive| allowed(set >> (dive * pairs) & mask)));
    sets.sort_by_key(|set| set.count_ones());
    sets.into_iter().map(move |set| {
        (0..team_dives)
            .flat_map(|dive| (0..pairs).map(move |pair| (dive, pair)))
            .filter(|(dive, pair)| set >> (dive * pairs + pair) & 1 == 1)
            .collect()
    })
}

fn into_slots<'a>(
    packing: &Packing,
    units: &[u8],
    caps: &Caps,
    slots: &[Slot],
    works: impl Fn(Slot) -> &'a [PairWork],
) -> Option<Vec<PairDive>> {
    let mut dives = fill(&packing.crew.pairs, units, caps, slots, works)?;
    if let Some(line) = packing.line {
        dives.iter_mut().for_each(|dive| dive.work = line.cut(dive.work.clone()));
    }
    Some(dives)
}

/// Fills the slots one after the other with what leaves a rest that the later ones can do: no step back is ever needed.
pub(super) fn fill<'a>(
    pairs: &[Pair],
    units: &[u8],
    caps: &Caps,
    slots: &[Slot],
    works: impl Fn(Slot) -> &'a [PairWork],
) -> Option<Vec<PairDive>> {
    // What the slots from each on can do together.
    let mut later = vec![DownSet::nothing(caps)];
    for &slot in slots.iter().rev() {
        let tops = tops(works(slot), caps);
        later.push(later[later.len() - 1].plus(caps, &tops));
    }
    later.reverse();
    if !later[0].has(caps, units) {
        return None;
    }
    let mut left = units.to_vec();
    let mut dives = Vec::new();
    for (number, &slot) in slots.iter().enumerate() {
        let chosen = works(slot).iter().find(|work| later[number + 1].has(caps, &rest(&left, work)))?;
        let work = cut(chosen, &left);
        left = rest(&left, chosen);
        dives.push(PairDive { team_dive: slot.0, pair: pairs[slot.1], work });
    }
    Some(dives)
}

/// The same on lines that stay, from the last slot back: what is left must be what the earlier ones can do, each unit on a
/// line that lies by the end of its dive.
fn onto_lines<'a>(
    packing: &Packing,
    line: &Line,
    units: &[u8],
    slots: &[Slot],
    works: impl Fn(Slot) -> &'a [PairWork],
) -> Option<Vec<PairDive>> {
    let caps = line.with_laying(&Caps::new(units.to_vec()));
    let ends_a_dive = |number: usize| slots.get(number + 1).is_none_or(|next| next.0 != slots[number].0);
    // What the slots before each can do together.
    let mut before = vec![DownSet::nothing(&caps)];
    for (number, &slot) in slots.iter().enumerate() {
        let mut set = before[number].plus(&caps, &tops(works(slot), &caps));
        if ends_a_dive(number) {
            line.drop_without(&mut set, &caps);
        }
        before.push(set);
    }
    let laying = units.len();
    let lines = line.needs(units);
    let mut left = [units, &[lines][..]].concat();
    if !before[slots.len()].has(&caps, &left) {
        return None;
    }
    let mut dives = Vec::new();
    for (number, &slot) in slots.iter().enumerate().rev() {
        if ends_a_dive(number) {
            left[laying] = left[laying].max(line.needs(&left));
        }
        let chosen = works(slot).iter().find(|work| before[number].has(&caps, &rest(&left, work)))?;
        let work = cut(chosen, &left);
        left = rest(&left, chosen);
        dives.push(PairDive { team_dive: slot.0, pair: packing.crew.pairs[slot.1], work });
    }
    dives.reverse();
    // No line more than are needed in all.
    let mut still = lines;
    for dive in &mut dives {
        for laid in [&mut dive.work.one[laying], &mut dive.work.other[laying]] {
            *laid = still.min(*laid);
            still -= *laid;
        }
    }
    Some(dives)
}

/// The units of some works, as far as there are caps for them.
fn tops(works: &[PairWork], caps: &Caps) -> Vec<Units> {
    works.iter().map(|work| work.units()[..caps.tasks()].to_vec()).collect()
}

/// What is left to do after a work.
fn rest(left: &[u8], work: &PairWork) -> Units {
    left.iter().zip(work.units()).map(|(n, done)| n.saturating_sub(done)).collect()
}

/// No more of a work than is left to do; of what `left` does not tell all.
fn cut(work: &PairWork, left: &[u8]) -> PairWork {
    let mut left = left.to_vec();
    left.resize(work.one.len(), u8::MAX);
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
