//! The hot loop: lists the colonies near a line, in phases over flat arrays with few unpredictable branches.
//!
//! 1. the patch field at the cells of the strip; 2. densities; for each layer: 3. keys and mean counts of its cells,
//! 4. counts, 5. the list of colonies, 6. their places relative to the line, 7. in which states each is alive.
//!
//! The colonies of a cell are ranked: with U1, U2 ... the cell's uniforms, the n-th colony is there in every state whose
//! mean count m has `U1 U2 ... Un > exp(-m)`. The ranks `-ln(U1 ... Un)` are the arrivals of a Poisson process, so that
//! counts of one state are Poisson, a denser state keeps the colonies of a less dense one, and what it has more is
//! independent of them; and a visit needs to know its own densities only.

use super::fast;
use super::layers::Layer;
use super::site::{MOST_STATES, SiteReef};
use super::strip::{FrameLine, Strip};
use super::strip_field::StripField;
use crate::random::{KEY_X, KEY_Y, mix};

/// Which visit a line is read at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Visit {
    First,
    Second,
}

/// A colony near a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Colony {
    /// Place along the line from its start and across it, m; the sign of `across` tells the side.
    pub along: f32,
    pub across: f32,
    pub radius: f32,
    /// Names the colony; further marks (rank, condition) are hashed from it. The same at both visits.
    pub id: u64,
    /// Bit s: alive in state s. At the first visit only bit 0 can be set, at the second only the others.
    pub alive: u16,
}

/// Scratch memory of a walk and its result; one per thread, reused.
#[derive(Default)]
pub struct Walk {
    field: StripField,
    /// Largest density of the visit's states (per m2) at each cell of the field.
    density: Vec<f32>,
    columns: Vec<LayerColumn>,
    cells: Cells,
    listed: Listed,
    pub colonies: Vec<Colony>,
}

/// One column of a layer's cells.
#[derive(Clone, Copy, Default)]
struct LayerColumn {
    key: u64,
    first_row: i32,
    /// Place of the column in the field's arrays, so that row `j` of the layer lies at `field + (j >> split)`.
    field: i32,
    /// Lower corner of its first cell, from the start of the line, m.
    corner: [f32; 2],
}

/// The cells of a layer, row by row.
#[derive(Default)]
struct Cells {
    hashes: Vec<u64>,
    means: Vec<f32>,
    counts: Vec<u32>,
    /// Ranks of the first two colonies, as products of uniforms.
    ranks: Vec<[f32; 2]>,
    /// Lower corners, from the start of the line, m.
    corners: Vec<[f32; 2]>,
}

/// The colonies of a layer's cells, before it is known which of them meet the line.
#[derive(Default)]
struct Listed {
    ids: Vec<u64>,
    cells: Vec<u32>,
    ranks: Vec<f32>,
    along: Vec<f32>,
    across: Vec<f32>,
    radii: Vec<f32>,
    /// How many are listed, and which of them are near.
    end: usize,
    near: Vec<u32>,
}

/// Lengthens a scratch vector where it is too short; what it holds does not matter.
fn room<T: Clone + Default>(scratch: &mut Vec<T>, number: usize) {
    if scratch.len() < number {
        scratch.resize(number, T::default());
    }
}

/// The largest mean count of a cell: its exponential must not vanish. No reef comes near.
const LARGEST_MEAN: f32 = 80.0;

impl Walk {
    /// Fills `colonies` with all colonies whose disc comes within `side` metres of the line and that live in at least
    /// one state of the visit.
    pub fn read(&mut self, site: &mut SiteReef, line: &FrameLine, side: f32, visit: Visit) {
        let reef = site.reef;
        let strip = Strip::new(line);
        self.colonies.clear();
        let top = reef.layers.iter().fold(0.0f32, |top, layer| top.max(layer.reach)) + side;
        let field_columns = strip.columns(reef.cell, top);
        let drift = (visit == Visit::Second && reef.law.field_memory < 1.0).then_some(reef.drift);
        self.field.read(&site.patch, &reef.normals, &strip, &field_columns, reef.cell, drift);
        let shares = self.densities(site, &strip, field_columns.first, field_columns.rows, visit);
        for layer in &reef.layers {
            self.layer(site, &strip, layer, side, field_columns.first, field_columns.rows, visit, &shares);
        }
    }

    /// Largest density at each cell over the states of the visit. Returns the density of each state as a share of it.
    fn densities(
        &mut self,
        site: &mut SiteReef,
        strip: &Strip,
        first: i32,
        rows: usize,
        visit: Visit,
    ) -> [f32; MOST_STATES] {
        let reef = site.reef;
        let range = match visit {
            Visit::First => 0..1,
            Visit::Second => 1..reef.law.states.len(),
        };
        let level = site.level[range.clone()].iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let mut shares = [0.0f32; MOST_STATES];
        for s in range {
            shares[s] = fast::exp((site.level[s] - level).max(-80.0));
        }
        let later = usize::from(visit == Visit::Second);
        let sd = reef.law.spec.patch.sd as f32;
        let number = self.field.values.len();
        room(&mut self.density, number);
        // Cells of the along-reef field are much larger than those of the patches: a column is mostly in one of them, the
        // same as that of the column before.
        let per_m = 1.0 / reef.along_cell;
        let (mut last, mut value) = ((i32::MAX, i32::MAX), 0.0f32);
        for (c, &first_row) in self.field.first_rows().iter().enumerate() {
            let column = fast::floor(((first + c as i32) as f32 + 0.5) * reef.cell * per_m);
            let row_of = |t: usize| fast::floor(((first_row + t as i32) as f32 + 0.5) * reef.cell * per_m);
            let mut look_up = |row: i32| {
                if (column, row) != last {
                    last = (column, row);
                    value = level
                        + if strip.swapped { site.along_cell(row, column) } else { site.along_cell(column, row) }
                            [later];
                }
                value
            };
            let (lowest, highest) = (row_of(0), row_of(rows - 1));
            let density = &mut self.density[c * rows..(c + 1) * rows];
            if lowest == highest {
                density.fill(look_up(lowest));
                continue;
            }
            for (t, density) in density.iter_mut().enumerate() {
                *density = look_up(row_of(t));
            }
        }
        for (density, field) in self.density[..number].iter_mut().zip(&self.field.values) {
            *density = fast::exp((*density + sd * field).min(60.0));
        }
        shares
    }

    #[allow(clippy::too_many_arguments)]
    fn layer(
        &mut self,
        site: &SiteReef,
        strip: &Strip,
        layer: &Layer,
        side: f32,
        field_first: i32,
        field_rows: usize,
        visit: Visit,
        shares: &[f32; MOST_STATES],
    ) {
        let cells = strip.columns(layer.cell, layer.reach + side);
        let (key_column, key_row) = if strip.swapped { (KEY_Y, KEY_X) } else { (KEY_X, KEY_Y) };
        let layer_key = site.layer_key(layer);
        let first_rows = self.field.first_rows();
        self.columns.clear();
        for i in cells.first..=cells.last {
            let first_row = strip.first_row(&cells, i);
            let parent = ((i >> layer.split) - field_first) as usize;
            self.columns.push(LayerColumn {
                key: layer_key
                    .wrapping_add((i as i64 as u64).wrapping_mul(key_column))
                    .wrapping_add((first_row as i64 as u64).wrapping_mul(key_row)),
                first_row,
                field: (parent * field_rows) as i32 - first_rows[parent],
                corner: [i as f32 * layer.cell - strip.line.x, first_row as f32 * layer.cell - strip.line.y],
            });
        }
        let last = self.field.values.len() as i32 - 1;
        let scale = (layer.share * f64::from(layer.cell) * f64::from(layer.cell)) as f32;
        let number = self.columns.len() * cells.rows;
        self.cells.fill(&self.columns, cells.rows, key_row, |column, row| {
            // A row just outside the field's strip is too far to matter; it reads the nearest one.
            let at = (column.field + ((column.first_row + row) >> layer.split)).clamp(0, last);
            ((scale * self.density[at as usize]).min(LARGEST_MEAN), row as f32 * layer.cell)
        });
        self.cells.count(number);
        self.listed.list(&self.cells, number);
        if visit == Visit::Second && site.reef.law.same_colonies < 1.0 {
            self.listed.renew(&self.cells, number, site.reef.law.same_colonies as f32);
        }
        self.listed.place(&self.cells, strip, layer, side);
        self.keep_alive(visit, &shares[..site.reef.law.states.len()]);
    }

    /// Adds the near colonies with the states they live in.
    fn keep_alive(&mut self, visit: Visit, shares: &[f32]) {
        let listed = &self.listed;
        for &near in &listed.near {
            let at = near as usize;
            let alive = match visit {
                Visit::First => 1,
                Visit::Second => {
                    let (rank, mean) = (listed.ranks[at], self.cells.means[listed.cells[at] as usize]);
                    let later = shares.iter().enumerate().skip(1);
                    later.fold(0, |alive, (s, &share)| alive | u16::from(rank > fast::exp(-mean * share)) << s)
                }
            };
            if alive != 0 {
                let (along, across, radius) = (listed.along[at], listed.across[at], listed.radii[at]);
                self.colonies.push(Colony { along, across, radius, id: listed.ids[at], alive });
            }
        }
    }
}

impl Cells {
    /// Keys, means and corners; `read(column, row)` gives the mean count and how far the row lies above the first.
    #[inline(always)]
    fn fill(
        &mut self,
        columns: &[LayerColumn],
        rows: usize,
        key_row: u64,
        read: impl Fn(&LayerColumn, i32) -> (f32, f32),
    ) {
        let count = columns.len();
        let number = count * rows;
        room(&mut self.hashes, number);
        room(&mut self.means, number);
        room(&mut self.counts, number);
        room(&mut self.ranks, number);
        room(&mut self.corners, number);
        for row in 0..rows {
            let key = (row as u64).wrapping_mul(key_row);
            let range = row * count..(row + 1) * count;
            for (column, hash) in columns.iter().zip(&mut self.hashes[range.clone()]) {
                *hash = mix(column.key.wrapping_add(key));
            }
            let corners = &mut self.corners[range.clone()];
            for ((column, mean), corner) in columns.iter().zip(&mut self.means[range]).zip(corners) {
                let (expected, above) = read(column, row as i32);
                *mean = expected;
                *corner = [column.corner[0], column.corner[1] + above];
            }
        }
    }

    /// Counts and the first two ranks, without branches up to three colonies.
    fn count(&mut self, number: usize) {
        let mut many = 0;
        let (hashes, means) = (&self.hashes[..number], &self.means[..number]);
        let found = self.counts[..number].iter_mut().zip(&mut self.ranks[..number]);
        for (((count, rank), &hash), &mean) in found.zip(hashes).zip(means) {
            let none = fast::exp(-mean);
            let more = mix(hash ^ MORE);
            let one = fast::unit(hash);
            let two = one * fast::lower_unit(hash);
            let three = two * fast::unit(more);
            let four = three * fast::lower_unit(more);
            *rank = [one, two];
            *count = u32::from(one > none) + u32::from(two > none) + u32::from(three > none);
            many |= u32::from(four > none);
        }
        if many != 0 {
            for ((count, &hash), &mean) in self.counts[..number].iter_mut().zip(hashes).zip(means) {
                if *count == 3 {
                    let none = fast::exp(-mean);
                    *count = ranks(hash).take_while(|&rank| rank > none).count() as u32;
                }
            }
        }
    }
}

/// The ranks of a cell's colonies, as products of uniforms: falling.
pub(super) fn ranks(hash: u64) -> impl Iterator<Item = f32> {
    let uniforms = std::iter::once(hash)
        .chain((0..).map(move |block: u64| mix((hash ^ MORE).wrapping_add(block.wrapping_mul(KEY_Y)))))
        .flat_map(|word| [fast::unit(word), fast::lower_unit(word)]);
    uniforms.scan(1.0, |rank, uniform| {
        *rank *= uniform;
        Some(*rank)
    })
}

/// Tag of the words that a cell's further uniforms come from.
const MORE: u64 = 0x510E_527F_ADE6_82D1;

impl Listed {
    /// The colonies of all cells. Two are written whatever the count and the end moves by the count: no branch depends
    /// on the usual counts.
    fn list(&mut self, cells: &Cells, number: usize) {
        let mut end = 0;
        room(&mut self.ids, number + 16);
        room(&mut self.cells, number + 16);
        room(&mut self.ranks, number + 16);
        for cell in 0..number {
            let (count, hash) = (cells.counts[cell], cells.hashes[cell]);
            let count = count as usize;
            if end + count + 3 > self.ids.len() {
                let longer = 2 * self.ids.len() + count;
                room(&mut self.ids, longer);
                room(&mut self.cells, longer);
                room(&mut self.ranks, longer);
            }
            if count <= 2 {
                self.ids[end..end + 2].copy_from_slice(&[hash.wrapping_add(KEY_X), hash.wrapping_add(TWICE_KEY_X)]);
                self.cells[end..end + 2].copy_from_slice(&[cell as u32; 2]);
                self.ranks[end..end + 2].copy_from_slice(&cells.ranks[cell]);
            } else {
                for (n, rank) in ranks(hash).take(count).enumerate() {
                    self.ids[end + n] = hash.wrapping_add(KEY_X.wrapping_mul(n as u64 + 1));
                    self.cells[end + n] = cell as u32;
                    self.ranks[end + n] = rank;
                }
            }
            end += count;
        }
        for id in &mut self.ids[..end] {
            *id = mix(*id);
        }
        self.end = end;
    }

    /// Takes away the colonies that were lost since the first visit and adds those that settled: as many in the mean, but
    /// in number and place independent of the lost ones. (A lost colony that came back elsewhere in its own cell would
    /// tie the count of a cell to that of the first visit.)
    fn renew(&mut self, cells: &Cells, number: usize, same: f32) {
        let mut kept = 0;
        for at in 0..self.end {
            let id = self.ids[at];
            self.ids[kept] = id;
            self.cells[kept] = self.cells[at];
            self.ranks[kept] = self.ranks[at];
            kept += usize::from(fast::unit(mix(id ^ RENEWAL)) < same);
        }
        let settled = 1.0 - same;
        for (cell, (&hash, &mean)) in cells.hashes[..number].iter().zip(&cells.means).enumerate() {
            let key = mix(hash ^ RENEWAL);
            // exp(-m) >= 1 - m: most cells have none, and need no exponential to know it.
            if fast::unit(key) < 1.0 - settled * mean {
                continue;
            }
            let none = fast::exp(-settled * mean);
            for (n, rank) in ranks(key).take_while(|&rank| rank > none).enumerate() {
                if kept == self.ids.len() {
                    let longer = 2 * kept + 16;
                    room(&mut self.ids, longer);
                    room(&mut self.cells, longer);
                    room(&mut self.ranks, longer);
                }
                self.ids[kept] = mix(key.wrapping_add(KEY_X.wrapping_mul(n as u64 + 1)));
                self.cells[kept] = cell as u32;
                self.ranks[kept] = settled_rank(rank, settled);
                kept += 1;
            }
        }
        self.end = kept;
    }

    /// Places relative to the line, radii, and which of the colonies meet the strip.
    fn place(&mut self, cells: &Cells, strip: &Strip, layer: &Layer, side: f32) {
        let end = self.end;
        room(&mut self.along, end);
        room(&mut self.across, end);
        room(&mut self.radii, end);
        room(&mut self.near, end + 1);
        let line = &strip.line;
        let (x_bits, y_bits) = if strip.swapped { (21, 0) } else { (0, 21) };
        let sign = if strip.swapped { -1.0 } else { 1.0 };
        let unit_length = layer.cell * (1.0 / 2_097_152.0);
        let part = |id: u64, shift: u32| ((id >> shift) as i32 & 0x1F_FFFF) as f32 * unit_length;
        let (ids, corners) = (&self.ids[..end], &cells.corners[..]);
        let places = self.along[..end].iter_mut().zip(&mut self.across[..end]);
        for ((&id, &cell), (along, across)) in ids.iter().zip(&self.cells).zip(places) {
            let corner = corners[cell as usize];
            let (x, y) = (corner[0] + part(id, x_bits), corner[1] + part(id, y_bits));
            *along = x * line.ux + y * line.uy;
            *across = sign * (y * line.ux - x * line.uy);
        }
        for (radius, &id) in self.radii[..end].iter_mut().zip(ids) {
            *radius = layer.radius[(id >> 52) as usize];
        }
        let mut kept = 0;
        let near = &mut self.near[..end + 1];
        let places = self.along[..end].iter().zip(&self.across[..end]).zip(&self.radii[..end]);
        for (at, ((along, across), radius)) in places.enumerate() {
            near[kept] = at as u32;
            let meets = (across.abs() < radius + side) & (along + radius > 0.0) & (along - radius < line.length);
            kept += usize::from(meets);
        }
        self.near.truncate(kept);
    }
}

const TWICE_KEY_X: u64 = KEY_X.wrapping_mul(2);

/// The rank of a colony that settled, as if its cell had settled whole: it is there where `rank > exp(-share m)`, that is
/// where `rank^(1 / share) > exp(-m)`.
pub(super) fn settled_rank(rank: f32, share: f32) -> f32 {
    fast::exp(libm::logf(rank) / share)
}

/// Tag that separates the colonies that settled between the visits from those that were there.
pub(super) const RENEWAL: u64 = 0x3C6E_F372_FE94_F82B;

impl SiteReef<'_> {
    fn layer_key(&self, layer: &Layer) -> u64 {
        self.key.child(crate::random::Purpose::Colony, layer.tag).0
    }

    /// The line from a place of the site in a direction (m, unit vector), in the turned frame.
    pub fn frame_line(&self, from: (f64, f64), direction: (f64, f64), length: f64) -> FrameLine {
        let (x, y) = self.frame.from_site(from.0, from.1);
        let (cos, sin) = (self.frame.cos, self.frame.sin);
        FrameLine {
            x: x as f32,
            y: y as f32,
            ux: (cos * direction.0 - sin * direction.1) as f32,
            uy: (sin * direction.0 + cos * direction.1) as f32,
            length: length as f32,
        }
    }
}
