//! The cells that have a colony, and the ranks of the first colonies in them.
//!
//! The colonies of a cell are ranked: with U1, U2 ... the cell's uniforms, the n-th colony is there in every state whose
//! mean count m has `U1 U2 ... Un > exp(-m)`. The ranks `-ln(U1 ... Un)` are the arrivals of a Poisson process, so that
//! counts of one state are Poisson, a denser state keeps the colonies of a less dense one, and what it has more is
//! independent of them; and a visit needs to know its own densities only.
//!
//! Three uniforms come from a word of 64 bits, of which the cell's own hash is the first; the third of that is kept for the
//! colonies that settle.

use super::cells::Cells;
use super::fast;
use super::listed::room;
use crate::random::{KEY_Y, mix};

/// Ranks of a cell that are looked at together: what its own hash and the first of its further words give; one less of
/// those that settled.
pub(super) const FIRST: usize = 5;
pub(super) const FIRST_SETTLED: usize = FIRST - 1;

/// Tag of the words that a cell's further uniforms come from.
const MORE: u64 = 0x510E_527F_ADE6_82D1;
/// Tag that separates the colonies that settled between the visits from those that were there.
pub(super) const RENEWAL: u64 = 0x3C6E_F372_FE94_F82B;

/// A word of a cell's further uniforms.
#[inline(always)]
pub(super) fn word(hash: u64, number: usize) -> u64 {
    mix((hash ^ MORE).wrapping_add((number as u64).wrapping_mul(KEY_Y)))
}

#[inline(always)]
fn first(hash: u64) -> [f32; FIRST] {
    let more = word(hash, 0);
    [fast::third(hash, 0), fast::third(hash, 1), fast::third(more, 0), fast::third(more, 1), fast::third(more, 2)]
}

#[inline(always)]
fn first_settled(hash: u64) -> [f32; FIRST_SETTLED] {
    let more = word(hash ^ RENEWAL, 0);
    [fast::third(hash, 2), fast::third(more, 0), fast::third(more, 1), fast::third(more, 2)]
}

/// Cells that have a colony, column by column, layer by layer.
#[derive(Default)]
pub(super) struct Occupied {
    pub(super) cells: Vec<u32>,
    pub(super) hashes: Vec<u64>,
    /// Probability that the cell is empty.
    pub(super) empty: Vec<f32>,
    /// How many of the first ranks are those of colonies; at least one.
    pub(super) numbers: Vec<u32>,
    pub(super) ranks: [Vec<f32>; FIRST],
    /// Where the cells of each layer end.
    pub(super) layer_ends: Vec<usize>,
}

impl Occupied {
    /// The occupied cells with the ranks of those that were there at the first visit.
    #[inline(always)]
    pub(super) fn find(&mut self, cells: &Cells) {
        self.list(cells);
        self.rank(first);
    }

    /// The same with those that settled since, before [`super::listed::settled_rank`].
    #[inline(always)]
    pub(super) fn find_settled(&mut self, cells: &Cells) {
        self.list(cells);
        self.rank(first_settled);
    }

    /// Nothing is written under a condition: an entry is kept by moving the end.
    #[inline(always)]
    fn list(&mut self, cells: &Cells) {
        let number = cells.number();
        room(&mut self.cells, number + 1);
        self.layer_ends.clear();
        let list = &mut self.cells[..number + 1];
        let mut end = 0;
        for (layer, occupied) in cells.occupied[..number].chunks_exact(cells.per_layer).enumerate() {
            for (cell, &occupied) in (layer * cells.per_layer..).zip(occupied) {
                list[end] = cell as u32;
                end += occupied as usize;
            }
            self.layer_ends.push(end);
        }
        self.cells.truncate(end);
        self.hashes.clear();
        self.hashes.extend(self.cells.iter().map(|&cell| cells.hashes[cell as usize]));
        self.empty.clear();
        self.empty.extend(self.cells.iter().map(|&cell| cells.empty[cell as usize]));
        room(&mut self.numbers, end);
        self.ranks.iter_mut().for_each(|ranks| room(ranks, end));
    }

    #[inline(always)]
    fn rank<const KNOWN: usize>(&mut self, uniforms: impl Fn(u64) -> [f32; KNOWN]) {
        let number = self.cells.len();
        let (hashes, empty, numbers) = (&self.hashes[..number], &self.empty[..number], &mut self.numbers[..number]);
        let ranks = self.ranks.each_mut().map(|ranks| &mut ranks[..number]);
        for i in 0..number {
            let (mut rank, mut here) = (1.0, 0);
            let uniforms = uniforms(hashes[i]);
            for n in 0..KNOWN {
                rank *= uniforms[n];
                ranks[n][i] = rank;
                here += u32::from(rank > empty[i]);
            }
            numbers[i] = here;
        }
    }
}

/// All ranks of a cell's colonies, as products of uniforms: falling; for the slow twin.
#[cfg(test)]
pub(super) fn ranks(hash: u64) -> impl Iterator<Item = f32> {
    let more = (0..).map(move |number| word(hash, number));
    products([fast::third(hash, 0), fast::third(hash, 1)].into_iter().chain(more.flat_map(thirds)))
}

/// The same of the colonies that settled, before [`super::listed::settled_rank`].
#[cfg(test)]
pub(super) fn settling_ranks(hash: u64) -> impl Iterator<Item = f32> {
    let more = (0..).map(move |number| word(hash ^ RENEWAL, number));
    products(std::iter::once(fast::third(hash, 2)).chain(more.flat_map(thirds)))
}

#[cfg(test)]
fn thirds(word: u64) -> [f32; 3] {
    [0, 1, 2].map(|part| fast::third(word, part))
}

#[cfg(test)]
fn products(uniforms: impl Iterator<Item = f32>) -> impl Iterator<Item = f32> {
    uniforms.scan(1.0, |rank, uniform| {
        *rank *= uniform;
        Some(*rank)
    })
}
