//! The colonies of the cells near a line: what became of them by the second visit, their places.

use super::cells::Cells;
use super::fast;
use super::layers::Layer;
use super::machine::for_this_processor;
use super::occupied::{FIRST, FIRST_SETTLED, Occupied, RENEWAL, word};
use super::strip::Strip;
use crate::random::{KEY_X, mix};

/// The colonies of the cells near a line, before and after it is known which of them meet it.
#[derive(Default)]
pub(super) struct Listed {
    occupied: Occupied,
    /// Places among the occupied cells of those that may have more than their first colonies.
    more: Vec<u32>,
    pub(super) cells: Vec<u32>,
    pub(super) ids: Vec<u64>,
    /// Of the second visit; at the first nothing asks for them.
    pub(super) ranks: Vec<f32>,
    /// At first the lower corner of the cell, then the place relative to the line.
    pub(super) along: Vec<f32>,
    pub(super) across: Vec<f32>,
    pub(super) radii: Vec<f32>,
    /// The states of the visit in which a colony is there, as bits; in none where it is not near.
    pub(super) alive: Vec<u16>,
    /// Those that are near and were not lost.
    near: Vec<u32>,
    /// The layers of the colonies, which are listed in few runs, and where each run ends.
    runs: Vec<(usize, usize)>,
    /// How many are listed.
    pub(super) end: usize,
}

/// As many colonies of a cell are written at once, of which some are written over by the next.
const WRITTEN: usize = 8;

/// Lengthens a scratch vector where it is too short; what it holds does not matter.
pub(super) fn room<T: Clone + Default>(scratch: &mut Vec<T>, number: usize) {
    if scratch.len() < number {
        scratch.resize(number, T::default());
    }
}

for_this_processor! {
    /// Lists the colonies of all cells; with their ranks, where they are asked for.
    pub(super) fn list(listed: &mut Listed, cells: &Cells, ranked: bool) {
        listed.end = 0;
        listed.runs.clear();
        listed.occupied.find(cells);
        if ranked {
            listed.add::<FIRST, true>(cells, 0);
        } else {
            listed.add::<FIRST, false>(cells, 0);
        }
        for id in &mut listed.ids[..listed.end] {
            *id = mix(*id);
        }
    }
}

for_this_processor! {
    /// Adds the colonies that settled since the first visit, a share of all: as many in the mean as are lost ([`lose`]), but in number
    /// and place independent of them. (A lost colony that came back elsewhere in its own cell would tie the count of a cell
    /// to that of the first visit.) The cells are those occupied by that share.
    pub(super) fn settle(listed: &mut Listed, cells: &Cells, share: f32) {
        let from = listed.end;
        listed.occupied.find_settled(cells);
        listed.add::<FIRST_SETTLED, true>(cells, RENEWAL);
        let range = from..listed.end;
        for id in &mut listed.ids[range.clone()] {
            *id = mix(*id ^ RENEWAL);
        }
        for rank in &mut listed.ranks[range] {
            *rank = settled_rank(*rank, share);
        }
    }
}

impl Listed {
    /// Adds the colonies of the occupied cells, of whom `KNOWN` ranks are known: those first, then the further ones of the cells
    /// that have more.
    #[inline(always)]
    fn add<const KNOWN: usize, const RANKED: bool>(&mut self, cells: &Cells, tag: u64) {
        let left = self.add_first::<KNOWN, RANKED>(cells);
        for at in 0..left {
            self.add_more::<KNOWN>(self.more[at] as usize, cells, tag);
        }
    }

    /// Adds the first colonies of the occupied cells, as many at once as there may be and the next over what was too much; how
    /// many cells may have more. Nothing is written under a condition: an entry is kept by moving the end.
    #[inline(always)]
    fn add_first<const KNOWN: usize, const RANKED: bool>(&mut self, cells: &Cells) -> usize {
        let number = self.occupied.cells.len();
        let most = self.end + KNOWN * number + WRITTEN;
        self.make_room(most);
        room(&mut self.more, number + 1);
        // As slices of one length: each is known not to move and not to end before the others.
        let (ids, of) = (&mut self.ids[..most], &mut self.cells[..most]);
        let (along, across, ranks) = (&mut self.along[..most], &mut self.across[..most], &mut self.ranks[..most]);
        let (xs, ys) = (&cells.x[..cells.per_layer], &cells.y[..cells.per_layer]);
        let more = &mut self.more[..number + 1];
        let names: [u64; WRITTEN] = std::array::from_fn(name);
        let Occupied { cells: occupied, hashes, numbers, ranks: known, layer_ends, .. } = &self.occupied;
        let (mut end, mut left, mut from) = (self.end, 0, 0);
        for (layer, &to) in layer_ends.iter().enumerate() {
            let first_cell = layer * cells.per_layer;
            let some = occupied[from..to].iter().zip(&hashes[from..to]).zip(&numbers[from..to]);
            for (i, ((&cell, &hash), &here)) in (from..).zip(some) {
                let window = end..end + WRITTEN;
                let place = cell as usize - first_cell;
                of[window.clone()].fill(cell);
                along[window.clone()].fill(xs[place]);
                across[window.clone()].fill(ys[place]);
                for (id, name) in ids[window.clone()].iter_mut().zip(names) {
                    *id = hash.wrapping_add(name);
                }
                if RANKED {
                    ranks[window].iter_mut().zip(known).for_each(|(rank, known)| *rank = known[i]);
                }
                end += here as usize;
                more[left] = i as u32;
                left += usize::from(here as usize == KNOWN);
            }
            self.runs.push((layer, end));
            from = to;
        }
        self.end = end;
        left
    }

    /// Adds what the i-th of the occupied cells has beyond its first colonies.
    #[inline(always)]
    fn add_more<const KNOWN: usize>(&mut self, i: usize, cells: &Cells, tag: u64) {
        let (cell, hash, empty) = (self.occupied.cells[i], self.occupied.hashes[i], self.occupied.empty[i]);
        let layer = cells.layer(cell);
        let place = cell as usize - layer * cells.per_layer;
        let (x, y) = (cells.x[place], cells.y[place]);
        let mut id = hash.wrapping_add(name(KNOWN - 1));
        let mut rank = self.occupied.ranks[KNOWN - 1][i];
        for number in 1.. {
            let word = word(hash ^ tag, number);
            self.make_room(self.end + 4);
            let mut end = self.end;
            for part in 0..3 {
                id = id.wrapping_add(KEY_X);
                rank *= fast::third(word, part);
                (self.cells[end], self.ids[end], self.ranks[end]) = (cell, id, rank);
                (self.along[end], self.across[end]) = (x, y);
                end += usize::from(rank > empty);
            }
            self.end = end;
            if rank <= empty {
                break;
            }
        }
        match self.runs.last_mut() {
            Some(run) if run.0 == layer => run.1 = self.end,
            _ => self.runs.push((layer, self.end)),
        }
    }

    #[inline(always)]
    fn make_room(&mut self, number: usize) {
        room(&mut self.cells, number);
        room(&mut self.ids, number);
        room(&mut self.ranks, number);
        room(&mut self.along, number);
        room(&mut self.across, number);
    }
}

/// What the n-th colony of a cell (from 0) adds to the hash of the cell, before it is mixed.
#[inline(always)]
fn name(n: usize) -> u64 {
    (n as u64 + 1).wrapping_mul(KEY_X)
}

for_this_processor! {
    /// Places relative to the line, radii, and which of the colonies meet the strip: those in every state.
    pub(super) fn place(listed: &mut Listed, strip: &Strip, cell_m: f32, layers: &[Layer], side: f32) {
        let end = listed.end;
        room(&mut listed.radii, end);
        let line = &strip.line;
        let (x_bits, y_bits) = if strip.swapped { (21, 0) } else { (0, 21) };
        let sign = if strip.swapped { -1.0 } else { 1.0 };
        let unit_length = cell_m * (1.0 / 2_097_152.0);
        let ids = &listed.ids[..end];
        look_up(&mut listed.radii[..end], ids, &listed.runs, layers);
        let places = listed.along[..end].iter_mut().zip(&mut listed.across[..end]);
        for (&id, (along, across)) in ids.iter().zip(places) {
            let x = *along + ((id >> x_bits) as i32 & 0x1F_FFFF) as f32 * unit_length;
            let y = *across + ((id >> y_bits) as i32 & 0x1F_FFFF) as f32 * unit_length;
            *along = x * line.ux + y * line.uy;
            *across = sign * (y * line.ux - x * line.uy);
        }
        room(&mut listed.alive, end);
        let places = listed.along[..end].iter().zip(&listed.across[..end]).zip(&listed.radii[..end]);
        for (alive, ((along, across), radius)) in listed.alive[..end].iter_mut().zip(places) {
            let meets = (across.abs() < radius + side) & (along + radius > 0.0) & (along - radius < line.length);
            *alive = if meets { u16::MAX } else { 0 };
        }
    }
}

/// Looks up the radii: each run has one table.
#[inline(always)]
fn look_up(radii: &mut [f32], ids: &[u64], runs: &[(usize, usize)], layers: &[Layer]) {
    let mut from = 0;
    for &(layer, end) in runs {
        let table = &*layers[layer].radius;
        for (radius, id) in radii[from..end].iter_mut().zip(&ids[from..end]) {
            *radius = table[(id >> 52) as usize];
        }
        from = end;
    }
}

for_this_processor! {
    /// Takes away those of the first colonies of the list that were lost since the first visit.
    pub(super) fn lose(listed: &mut Listed, number: usize, same: f32) {
        for (alive, &id) in listed.alive[..number].iter_mut().zip(&listed.ids[..number]) {
            *alive &= if fast::unit(mix(id ^ RENEWAL)) < same { u16::MAX } else { 0 };
        }
    }
}

for_this_processor! {
    /// Leaves the colonies that are still there in the states of the second visit that they live in, by their ranks.
    pub(super) fn divide(listed: &mut Listed, cells: &Cells, states: usize) {
        let (end, number) = (listed.end, cells.number());
        let empty = &cells.empty_in_state[..states * number];
        room(&mut listed.near, end + 1);
        let near = &mut listed.near[..end + 1];
        let mut last = 0;
        for (at, &alive) in listed.alive[..end].iter().enumerate() {
            near[last] = at as u32;
            last += usize::from(alive != 0);
        }
        let (of, ranks, alive) = (&listed.cells[..end], &listed.ranks[..end], &mut listed.alive[..end]);
        for &at in &near[..last] {
            let (cell, rank) = (of[at as usize] as usize, ranks[at as usize]);
            let is_in = |s: usize| u16::from(rank > empty[s * number + cell]) << s;
            alive[at as usize] = (1..states).fold(0, |bits, s| bits | is_in(s));
        }
    }
}

/// The rank of a colony that settled, as if its cell had settled whole: it is there where `rank > exp(-share m)`, that is
/// where `rank^(1 / share) > exp(-m)`.
#[inline(always)]
pub(super) fn settled_rank(rank: f32, share: f32) -> f32 {
    fast::exp((fast::ln(rank) / share).max(-80.0))
}
