//! The colonies of the cells near a line: their ranks, what became of them by the second visit, their places.
//!
//! The colonies of a cell are ranked: with U1, U2 ... the cell's uniforms, the n-th colony is there in every state whose
//! mean count m has `U1 U2 ... Un > exp(-m)`. The ranks `-ln(U1 ... Un)` are the arrivals of a Poisson process, so that
//! counts of one state are Poisson, a denser state keeps the colonies of a less dense one, and what it has more is
//! independent of them; and a visit needs to know its own densities only.

use super::cells::Cells;
use super::fast;
use super::layers::Layer;
use super::machine::for_this_processor;
use super::strip::Strip;
use crate::random::{KEY_X, KEY_Y, mix};

/// The colonies of a layer's cells, before it is known which of them meet the line.
#[derive(Default)]
pub(super) struct Listed {
    pub(super) cells: Vec<u32>,
    pub(super) ids: Vec<u64>,
    pub(super) ranks: Vec<f32>,
    pub(super) along: Vec<f32>,
    pub(super) across: Vec<f32>,
    pub(super) radii: Vec<f32>,
    /// Whether a colony stays until the second visit: 1 or 0.
    stays: Vec<u32>,
    /// How many are listed, and which of them are near.
    pub(super) end: usize,
    pub(super) near: Vec<u32>,
}

/// Lengthens a scratch vector where it is too short; what it holds does not matter.
pub(super) fn room<T: Clone + Default>(scratch: &mut Vec<T>, number: usize) {
    if scratch.len() < number {
        scratch.resize(number, T::default());
    }
}

/// The n-th uniform of a cell (n = 0, 1 ...): three to a word of 64 bits, of which the cell's own hash is the first. The
/// third of it is kept for the colonies that settle.
#[inline(always)]
pub(super) fn uniform(hash: u64, n: usize) -> f32 {
    if n < 2 {
        return fast::third(hash, n);
    }
    let (word, part) = ((n - 2) / 3, (n - 2) % 3);
    fast::third(mix((hash ^ MORE).wrapping_add((word as u64).wrapping_mul(KEY_Y))), part)
}

/// The n-th uniform of the colonies that settled in a cell since the first visit.
#[inline(always)]
fn settling_uniform(hash: u64, n: usize) -> f32 {
    if n == 0 { fast::third(hash, 2) } else { uniform(hash ^ RENEWAL, n + 1) }
}

/// The ranks of a cell's colonies, as products of uniforms: falling.
#[cfg(test)]
pub(super) fn ranks(hash: u64) -> impl Iterator<Item = f32> {
    products(move |n| uniform(hash, n))
}

/// The same of the colonies that settled, before [`settled_rank`].
#[cfg(test)]
pub(super) fn settling_ranks(hash: u64) -> impl Iterator<Item = f32> {
    products(move |n| settling_uniform(hash, n))
}

#[cfg(test)]
fn products(uniform: impl Fn(usize) -> f32) -> impl Iterator<Item = f32> {
    (0..).scan(1.0, move |rank, n| {
        *rank *= uniform(n);
        Some(*rank)
    })
}

/// Tag of the words that a cell's further uniforms come from.
const MORE: u64 = 0x510E_527F_ADE6_82D1;

for_this_processor! {
    /// Lists the colonies of all cells.
    pub(super) fn list(listed: &mut Listed, cells: &Cells) {
        listed.end = 0;
        listed.rise(cells, uniform);
        for id in &mut listed.ids[..listed.end] {
            *id = mix(*id);
        }
    }
}

for_this_processor! {
    /// Takes away the colonies that were lost since the first visit.
    pub(super) fn lose(listed: &mut Listed, same: f32) {
        let end = listed.end;
        room(&mut listed.stays, end);
        let (ids, stays) = (&mut listed.ids[..end], &mut listed.stays[..end]);
        for (stays, &id) in stays.iter_mut().zip(&*ids) {
            *stays = u32::from(fast::unit(mix(id ^ RENEWAL)) < same);
        }
        let (cells, ranks) = (&mut listed.cells[..end], &mut listed.ranks[..end]);
        let mut kept = 0;
        for (at, &stays) in stays.iter().enumerate() {
            ids[kept] = ids[at];
            cells[kept] = cells[at];
            ranks[kept] = ranks[at];
            kept += stays as usize;
        }
        listed.end = kept;
    }
}

for_this_processor! {
    /// Adds the colonies that settled since the first visit, a share of all: as many in the mean as were lost, but in number
    /// and place independent of them. (A lost colony that came back elsewhere in its own cell would tie the count of a cell
    /// to that of the first visit.) The cells are those occupied by that share.
    pub(super) fn settle(listed: &mut Listed, cells: &Cells, share: f32) {
        let from = listed.end;
        listed.rise(cells, settling_uniform);
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
    /// Adds the colonies of all cells in rising order of their rank in the cell: all first ones, then all second ones of
    /// the cells that have a first ... Nothing is written under a condition: an entry is kept by moving the end.
    #[inline(always)]
    fn rise(&mut self, cells: &Cells, uniform: impl Fn(u64, usize) -> f32) {
        let from = self.end;
        let number = cells.number();
        self.make_room(from + number + 1);
        let mut end = from;
        let of = &mut self.cells[..from + number + 1];
        for (cell, &occupied) in cells.occupied[..number].iter().enumerate() {
            of[end] = cell as u32;
            end += occupied as usize;
        }
        for at in from..end {
            let hash = cells.hashes[self.cells[at] as usize];
            self.ids[at] = hash.wrapping_add(KEY_X);
            self.ranks[at] = uniform(hash, 0);
        }
        let mut level = from..end;
        for n in 1.. {
            if level.is_empty() {
                break;
            }
            self.make_room(end + level.len() + 1);
            for at in level.clone() {
                let cell = self.cells[at];
                let rank = self.ranks[at] * uniform(cells.hashes[cell as usize], n);
                self.cells[end] = cell;
                self.ids[end] = self.ids[at].wrapping_add(KEY_X);
                self.ranks[end] = rank;
                end += usize::from(rank > cells.empty[cell as usize]);
            }
            level = level.end..end;
        }
        self.end = end;
    }

    #[inline(always)]
    fn make_room(&mut self, number: usize) {
        room(&mut self.cells, number);
        room(&mut self.ids, number);
        room(&mut self.ranks, number);
    }
}

for_this_processor! {
    /// Places relative to the line, radii, and which of the colonies meet the strip.
    pub(super) fn place(listed: &mut Listed, cells: &Cells, strip: &Strip, cell_m: f32, layers: &[Layer], side: f32) {
        let end = listed.end;
        room(&mut listed.along, end);
        room(&mut listed.across, end);
        room(&mut listed.radii, end);
        room(&mut listed.near, end + 1);
        let line = &strip.line;
        let (x_bits, y_bits) = if strip.swapped { (21, 0) } else { (0, 21) };
        let sign = if strip.swapped { -1.0 } else { 1.0 };
        let unit_length = cell_m * (1.0 / 2_097_152.0);
        let ids = &listed.ids[..end];
        let (x, y) = (&cells.x[..], &cells.y[..]);
        let places = listed.along[..end].iter_mut().zip(&mut listed.across[..end]).zip(&mut listed.radii[..end]);
        for ((&id, &cell), ((along, across), radius)) in ids.iter().zip(&listed.cells).zip(places) {
            *along = x[cell as usize];
            *across = y[cell as usize];
            *radius = layers[cells.layers[cell as usize] as usize].radius[(id >> 52) as usize];
        }
        let places = listed.along[..end].iter_mut().zip(&mut listed.across[..end]);
        for (&id, (along, across)) in ids.iter().zip(places) {
            let x = *along + ((id >> x_bits) as i32 & 0x1F_FFFF) as f32 * unit_length;
            let y = *across + ((id >> y_bits) as i32 & 0x1F_FFFF) as f32 * unit_length;
            *along = x * line.ux + y * line.uy;
            *across = sign * (y * line.ux - x * line.uy);
        }
        let mut kept = 0;
        let near = &mut listed.near[..end + 1];
        let places = listed.along[..end].iter().zip(&listed.across[..end]).zip(&listed.radii[..end]);
        for (at, ((along, across), radius)) in places.enumerate() {
            near[kept] = at as u32;
            let meets = (across.abs() < radius + side) & (along + radius > 0.0) & (along - radius < line.length);
            kept += usize::from(meets);
        }
        listed.near.truncate(kept);
    }
}

/// The rank of a colony that settled, as if its cell had settled whole: it is there where `rank > exp(-share m)`, that is
/// where `rank^(1 / share) > exp(-m)`.
#[inline(always)]
pub(super) fn settled_rank(rank: f32, share: f32) -> f32 {
    fast::exp((fast::ln(rank) / share).max(-80.0))
}

/// Tag that separates the colonies that settled between the visits from those that were there.
pub(super) const RENEWAL: u64 = 0x3C6E_F372_FE94_F82B;
