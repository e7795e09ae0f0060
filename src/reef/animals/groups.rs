//! The groups with their centre near a strip, in phases over flat arrays.
//!
//! First the patches at the cells of the strip, then the keys of the cells of groups, how many groups each has, their
//! places, and which of them are near.
//!
//! The groups of a cell are ranked: with U1, U2 ... the cell's uniforms, the n-th group is there in every state whose mean
//! number of groups m has `U1 U2 ... Un > exp(-m)`. So numbers are Poisson, and a state with fewer groups has some of those
//! of a state with more. Uniforms of 53 bits, as a rare animal has cells with a mean far below a millionth.

use super::patches::{PatchDensity, lognormal};
use super::site::AnimalSite;
use super::target::Target;
use crate::random::{KEY_Y, mix, uniform};
use crate::reef::listed::room;
use crate::reef::strip::Strip;
use crate::reef::strip_field::{FieldCells, StripField};
use crate::reef::{MOST_STATES, Visit};
use std::ops::Range;

/// A group (or a lone animal) near a strip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub id: u64,
    /// It is there in a state with a mean of m groups in its cell where this is above `exp(-share m)`.
    rank: f64,
    share: f64,
    /// Density of the patch over the mean.
    patch: f64,
    /// Place of the centre along the tape and across it, m.
    pub centre: (f64, f64),
}

/// Scratch memory and its result: one per thread, reused.
#[derive(Default)]
pub(super) struct GroupList {
    field: StripField,
    /// Density over its mean in each cell of the patches, one for all where there are none; what a cell's rank must exceed.
    patches: Vec<f64>,
    limits: Vec<f64>,
    cells: Cells,
    listed: Listed,
    pub near: Vec<Group>,
    /// Mean number of groups in a cell of each state of the visit, for patches of density 1, and the largest of them.
    means: [f64; MOST_STATES],
    most: f64,
}

/// The cells of groups: keys, the cell of patches of each, lower corners from the start of the tape (m).
#[derive(Default)]
struct Cells {
    hashes: Vec<u64>,
    patches: Vec<u32>,
    corners: Vec<(f64, f64)>,
}

/// Groups before it is known which of them are near.
#[derive(Default)]
struct Listed {
    cells: Vec<u32>,
    words: Vec<u64>,
    ranks: Vec<f64>,
}

/// Tags of the words hashed from a name, so that no two of them share bits.
const NEW: u64 = 0x9B05_688C_2B3E_6C1F;
pub(super) const PLACE: u64 = 0x1F83_D9AB_FB41_BD6B;
const STAYS: u64 = 0x629A_292A_367C_D507;

/// Which groups of a cell: those of the first visit (at the second those that stay), or those that came since.
#[derive(Clone, Copy)]
pub(super) enum From {
    Before { stay: f64 },
    Since { share: f64 },
}

impl From {
    /// What a visit meets.
    pub(super) fn of(visit: Visit, stays: f64) -> impl Iterator<Item = Self> {
        let (before, since) = match visit {
            Visit::First => (1.0, 0.0),
            Visit::Second => (stays, 1.0 - stays),
        };
        let before = (before > 0.0).then_some(From::Before { stay: before });
        before.into_iter().chain((since > 0.0).then_some(From::Since { share: since }))
    }

    /// Their number over that of all groups, before some of them leave.
    pub(super) fn share(self) -> f64 {
        if let From::Since { share } = self { share } else { 1.0 }
    }

    /// The n-th word of a cell (n = 1, 2 ...).
    #[inline(always)]
    pub(super) fn word(self, cell: u64, n: u64) -> u64 {
        let tag = if let From::Since { .. } = self { NEW } else { 0 };
        mix((cell ^ tag).wrapping_add(n.wrapping_mul(KEY_Y)))
    }

    /// Whether the group is still there.
    #[inline(always)]
    pub(super) fn stays(self, id: u64) -> bool {
        match self {
            From::Before { stay } => stay >= 1.0 || uniform(mix(id ^ STAYS)) < stay,
            From::Since { .. } => true,
        }
    }
}

impl GroupList {
    /// Fills `near` with the groups whose centre is within reach of the target and that are there in at least one state of
    /// the visit.
    pub(super) fn read(&mut self, site: &AnimalSite, target: &Target, visit: Visit) {
        let spec = &site.reef.law.spec;
        let reach = spec.reach_m();
        let (strip, side) = (target.tape(), target.side(reach));
        let states = states_of(visit, site.reef.law.states.len());
        self.means = [0.0; MOST_STATES];
        states.clone().for_each(|s| self.means[s] = site.groups_per_cell(s));
        self.most = self.means.iter().fold(0.0, |most: f64, &mean| most.max(mean));
        self.read_patches(site, &strip, side, visit);
        self.lay_cells(site, &strip, side, target);
        self.near.clear();
        for from in From::of(visit, spec.stays) {
            let most = from.share() * self.most;
            self.limits.clear();
            self.limits.extend(self.patches.iter().map(|patch| libm::exp(-most * patch)));
            let listed = self.listed.list(&self.cells, &self.limits, from);
            self.keep_near(listed, target, (reach, site.reef.cell), from);
        }
    }

    /// The states in which a group is there.
    pub(super) fn there(&self, group: &Group, states: Range<usize>) -> u16 {
        let is_there = |s: &usize| {
            let mean = self.means[*s];
            mean == self.most || group.rank > libm::exp(-group.share * mean * group.patch)
        };
        states.filter(is_there).fold(0, |bits, s| bits | 1 << s)
    }

    fn read_patches(&mut self, site: &AnimalSite, strip: &Strip, side: f32, visit: Visit) {
        self.patches.clear();
        let Some(patches) = &site.patches else {
            self.patches.push(1.0);
            return;
        };
        patches.read(&mut self.field, &site.reef.normals, strip, side, visit);
        let values = self.field.values.iter();
        match patches.density {
            PatchDensity::LogNormal { ln_sd } => {
                let density = lognormal(*ln_sd);
                self.patches.extend(values.map(|&z| f64::from(density(z))));
            }
            PatchDensity::Gamma { .. } => self.patches.extend(values.map(|&z| patches.density.at(f64::from(z)))),
        }
    }

    fn lay_cells(&mut self, site: &AnimalSite, strip: &Strip, side: f32, target: &Target) {
        let (cell, split) = (site.reef.cell, site.reef.split);
        let columns = strip.columns(cell as f32, side);
        let (key_column, key_row) = strip.keys();
        let Cells { hashes, patches, corners } = &mut self.cells;
        hashes.clear();
        patches.clear();
        corners.clear();
        let FieldCells { first, rows, first_rows } = self.field.cells();
        for column in columns.first..=columns.last {
            let first_row = strip.first_row(&columns, column);
            let key = site
                .key
                .wrapping_add((column as i64 as u64).wrapping_mul(key_column))
                .wrapping_add((first_row as i64 as u64).wrapping_mul(key_row));
            hashes.extend((0..columns.rows).map(|row| mix(key.wrapping_add((row as u64).wrapping_mul(key_row)))));
            let last_row = first_row + columns.rows as i32;
            if site.patches.is_some() {
                let parent = ((column >> split) - first) as usize;
                let (below, at) = (first_rows[parent], (parent * rows) as u32);
                // A row just outside the strip of the field is too far to matter; it reads the nearest one.
                let of = |row: i32| at + ((row >> split) - below).clamp(0, rows as i32 - 1) as u32;
                patches.extend((first_row..last_row).map(of));
            } else {
                patches.resize(hashes.len(), 0);
            }
            let corner = |row: i32| {
                let (i, j) = if strip.swapped { (row, column) } else { (column, row) };
                (f64::from(i) * cell - target.x, f64::from(j) * cell - target.y)
            };
            corners.extend((first_row..last_row).map(corner));
        }
    }

    /// Adds those of the listed groups that are near and still there.
    fn keep_near(&mut self, listed: usize, target: &Target, (reach, cell): (f64, f64), from: From) {
        let Listed { cells, words, ranks } = &self.listed;
        let share = from.share();
        for ((&at, &word), &rank) in cells.iter().zip(words).zip(ranks).take(listed) {
            let id = mix(word ^ PLACE);
            let (x, y) = halves(id);
            let corner = self.cells.corners[at as usize];
            let centre = target.along_across((corner.0 + x * cell, corner.1 + y * cell));
            if target.within(centre, reach) && from.stays(id) {
                let patch = self.patches[self.cells.patches[at as usize] as usize];
                self.near.push(Group { id, rank, share, patch, centre });
            }
        }
    }
}

impl Listed {
    /// Lists the groups of all cells, all first ones, then all second ones ... and returns how many they are. Nothing is
    /// written under a condition: an entry is kept by moving the end.
    fn list(&mut self, cells: &Cells, limits: &[f64], from: From) -> usize {
        let limit = |cell: usize| limits[cells.patches[cell] as usize];
        self.make_room(cells.hashes.len() + 1);
        let mut end = 0;
        for (cell, &hash) in cells.hashes.iter().enumerate() {
            let word = from.word(hash, 1);
            let rank = uniform(word);
            (self.cells[end], self.words[end], self.ranks[end]) = (cell as u32, word, rank);
            end += usize::from(rank > limit(cell));
        }
        let mut level = 0..end;
        for n in 2.. {
            if level.is_empty() {
                break;
            }
            self.make_room(end + level.len() + 1);
            for at in level.clone() {
                let cell = self.cells[at] as usize;
                let word = from.word(cells.hashes[cell], n);
                let rank = self.ranks[at] * uniform(word);
                (self.cells[end], self.words[end], self.ranks[end]) = (cell as u32, word, rank);
                end += usize::from(rank > limit(cell));
            }
            level = level.end..end;
        }
        end
    }

    fn make_room(&mut self, number: usize) {
        room(&mut self.cells, number);
        room(&mut self.words, number);
        room(&mut self.ranks, number);
    }
}

pub(super) fn states_of(visit: Visit, states: usize) -> Range<usize> {
    if visit == Visit::First { 0..1 } else { 1..states }
}

/// Two uniforms in (0, 1), of 32 bits each, of a hash.
pub(super) fn halves(hash: u64) -> (f64, f64) {
    let unit = |bits: u32| (f64::from(bits) + 0.5) * (1.0 / 4_294_967_296.0);
    (unit((hash >> 32) as u32), unit(hash as u32))
}
