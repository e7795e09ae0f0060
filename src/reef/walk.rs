//! The hot loop: lists the colonies near a line, in phases over flat arrays with few unpredictable branches.
//!
//! 1. the patch field at the cells of the strip; 2. densities; for each layer: 3. keys and mean counts of its cells,
//! 4. counts, 5. the list of colonies, 6. their places relative to the line, 7. in which states each is alive.

use super::fast::{self, unit};
use super::layers::Layer;
use super::site::SiteReef;
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
    /// Largest density of all states (per m2) at each cell of the field, and the densities that decide who is alive.
    density: Vec<f32>,
    keep: Vec<f32>,
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
    /// Place in the arrays of the field, and lower corner.
    parents: Vec<u32>,
    corners: Vec<[f32; 2]>,
}

/// The colonies of a layer's cells, before it is known which of them meet the line.
#[derive(Default)]
struct Listed {
    ids: Vec<u64>,
    cells: Vec<u32>,
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

/// The largest mean count of a cell that is drawn from one uniform.
const LARGEST_MEAN: f32 = 12.0;

impl Walk {
    /// Fills `colonies` with all colonies whose disc comes within `side` metres of the line and that live in at least
    /// one state of the visit.
    pub fn read(&mut self, site: &mut SiteReef, line: &FrameLine, side: f32, visit: Visit) {
        let reef = site.reef;
        let strip = Strip::new(line);
        self.colonies.clear();
        let top = reef.layers.iter().fold(0.0f32, |top, layer| top.max(layer.reach)) + side;
        let field_columns = strip.columns(reef.cell, top);
        let two = reef.law.states.len() > 1;
        let drift = (two && reef.law.field_memory < 1.0).then_some(reef.drift);
        self.field.read(&site.patch, &reef.normals, &strip, &field_columns, reef.cell, drift);
        let growth = self.densities(site, &strip, field_columns.first, field_columns.rows, visit, drift.is_some());
        for layer in &reef.layers {
            self.layer(site, &strip, layer, side, field_columns.first, field_columns.rows, visit, &growth);
        }
    }

    /// Largest density at each cell over all states, and the share of it that is alive in the visit's base state.
    /// Returns for each state of the visit its density over that of the base state.
    fn densities(
        &mut self,
        site: &mut SiteReef,
        strip: &Strip,
        first: i32,
        rows: usize,
        visit: Visit,
        drifted: bool,
    ) -> [f32; super::site::MOST_STATES] {
        let reef = site.reef;
        let states = reef.law.states.len();
        let mut growth = [0.0f32; super::site::MOST_STATES];
        let mut largest_growth = 0.0f32;
        for s in 1..states {
            growth[s] = fast::exp(site.level[s] - site.level[1]);
            largest_growth = largest_growth.max(growth[s]);
        }
        let sd = reef.law.spec.patch.sd as f32;
        let number = self.field.values[0].len();
        self.density.clear();
        self.density.resize(number, 0.0);
        self.keep.clear();
        self.keep.resize(number, 0.0);
        // Cells of the along-reef field are much larger than those of the patches: a column is mostly in one of them, the
        // same as that of the column before.
        let per_m = 1.0 / reef.along_cell;
        let (mut last, mut value) = ((i32::MAX, i32::MAX), [0.0f32; 2]);
        for (c, &first_row) in self.field.first_rows().iter().enumerate() {
            let column = fast::floor(((first + c as i32) as f32 + 0.5) * reef.cell * per_m);
            let row_of = |t: usize| fast::floor(((first_row + t as i32) as f32 + 0.5) * reef.cell * per_m);
            let mut look_up = |row: i32| {
                if (column, row) != last {
                    last = (column, row);
                    value = if strip.swapped { site.along_cell(row, column) } else { site.along_cell(column, row) };
                }
                value
            };
            let (lowest, highest) = (row_of(0), row_of(rows - 1));
            let range = c * rows..(c + 1) * rows;
            let (density, keep) = (&mut self.density[range.clone()], &mut self.keep[range]);
            if lowest == highest {
                let along = look_up(lowest);
                density.fill(along[0]);
                keep.fill(along[1]);
                continue;
            }
            for t in 0..rows {
                [density[t], keep[t]] = look_up(row_of(t));
            }
        }
        let level = [site.level[0], if states > 1 { site.level[1] } else { 0.0 }];
        let later = if drifted { 1 } else { 0 };
        let (densities, keeps) = (&mut self.density[..number], &mut self.keep[..number]);
        let (now, then) = (&self.field.values[0][..number], &self.field.values[later][..number]);
        if states == 1 {
            for (density, field) in densities.iter_mut().zip(now) {
                *density = fast::exp((level[0] + *density + sd * field).min(60.0));
            }
            keeps.fill(1.0);
            return growth;
        }
        for (((density, keep), now), then) in densities.iter_mut().zip(keeps).zip(now).zip(then) {
            let first = fast::exp((level[0] + *density + sd * now).min(60.0));
            let second = fast::exp((level[1] + *keep + sd * then).min(60.0));
            let largest = first.max(second * largest_growth);
            *density = largest;
            *keep = if visit == Visit::First { first } else { second } / largest;
        }
        growth
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
        growth: &[f32; super::site::MOST_STATES],
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
        let last = self.density.len() as i32 - 1;
        let scale = (layer.share * f64::from(layer.cell) * f64::from(layer.cell)) as f32;
        let number = self.columns.len() * cells.rows;
        self.cells.fill(&self.columns, cells.rows, key_row, |column, row| {
            // A row just outside the field's strip is too far to matter; it reads the nearest one.
            let at = (column.field + ((column.first_row + row) >> layer.split)).clamp(0, last);
            (at as u32, scale * self.density[at as usize], row as f32 * layer.cell)
        });
        self.cells.count(number);
        self.listed.list(&self.cells, number);
        if visit == Visit::Second && site.reef.law.same_colonies < 1.0 {
            self.listed.renew(&self.cells, number, site.reef.law.same_colonies as f32);
        }
        self.listed.place(&self.cells, strip, layer, side);
        self.keep_alive(visit, &growth[..site.reef.law.states.len()]);
    }

    /// Adds the near colonies that live in a state of the visit.
    fn keep_alive(&mut self, visit: Visit, growth: &[f32]) {
        let listed = &self.listed;
        for &near in &listed.near {
            let at = near as usize;
            let id = listed.ids[at];
            let mark = unit(mix(id ^ MARK));
            let keep = self.keep[self.cells.parents[listed.cells[at] as usize] as usize];
            let alive = match visit {
                Visit::First => u16::from(mark < keep),
                Visit::Second => {
                    let later = growth.iter().enumerate().skip(1);
                    later.fold(0, |alive, (s, &ratio)| alive | u16::from(mark < keep * ratio) << s)
                }
            };
            if alive != 0 {
                let (along, across, radius) = (listed.along[at], listed.across[at], listed.radii[at]);
                self.colonies.push(Colony { along, across, radius, id, alive });
            }
        }
    }
}

impl Cells {
    /// Keys, means, parents and corners; `read(column, row)` gives the parent, the mean count and how far the row lies
    /// above the first.
    #[inline(always)]
    fn fill(
        &mut self,
        columns: &[LayerColumn],
        rows: usize,
        key_row: u64,
        read: impl Fn(&LayerColumn, i32) -> (u32, f32, f32),
    ) {
        let count = columns.len();
        let number = count * rows;
        room(&mut self.hashes, number);
        room(&mut self.means, number);
        room(&mut self.counts, number);
        room(&mut self.parents, number);
        room(&mut self.corners, number);
        for row in 0..rows {
            let key = (row as u64).wrapping_mul(key_row);
            let range = row * count..(row + 1) * count;
            for (column, hash) in columns.iter().zip(&mut self.hashes[range.clone()]) {
                *hash = mix(column.key.wrapping_add(key));
            }
            let places = self.parents[range.clone()].iter_mut().zip(&mut self.corners[range.clone()]);
            for ((column, mean), (parent, corner)) in columns.iter().zip(&mut self.means[range]).zip(places) {
                let (at, expected, above) = read(column, row as i32);
                *parent = at;
                *mean = expected;
                *corner = [column.corner[0], column.corner[1] + above];
            }
        }
    }

    /// Poisson counts by inversion, without branches up to four colonies.
    fn count(&mut self, number: usize) {
        let mut many = 0;
        let (hashes, means) = (&self.hashes[..number], &self.means[..number]);
        for ((count, &hash), &m) in self.counts[..number].iter_mut().zip(hashes).zip(means) {
            let u = unit(hash);
            let p = fast::exp(-m.min(LARGEST_MEAN));
            let (s1, q) = (p, p * m);
            let s2 = s1 + q;
            let q = q * m * 0.5;
            let s3 = s2 + q;
            let q = q * m * (1.0 / 3.0);
            let s4 = s3 + q;
            let s5 = s4 + q * m * 0.25;
            *count = u32::from(u >= s1) + u32::from(u >= s2) + u32::from(u >= s3) + u32::from(u >= s4);
            many |= u32::from(u >= s5) | u32::from(m > LARGEST_MEAN);
        }
        if many != 0 {
            for ((count, &hash), &m) in self.counts[..number].iter_mut().zip(hashes).zip(means) {
                if *count == 4 || m > LARGEST_MEAN {
                    *count = large_count(hash, m);
                }
            }
        }
    }
}

impl Listed {
    /// The colonies of all cells. Two are written whatever the count and the end moves by the count: no branch depends
    /// on the usual counts.
    fn list(&mut self, cells: &Cells, number: usize) {
        let mut end = 0;
        room(&mut self.ids, number + 16);
        room(&mut self.cells, number + 16);
        for (cell, (&count, &hash)) in cells.counts[..number].iter().zip(&cells.hashes).enumerate() {
            let count = count as usize;
            if end + count + 3 > self.ids.len() {
                let longer = 2 * self.ids.len() + count;
                room(&mut self.ids, longer);
                room(&mut self.cells, longer);
            }
            if count <= 2 {
                self.ids[end..end + 2].copy_from_slice(&[hash.wrapping_add(KEY_X), hash.wrapping_add(TWICE_KEY_X)]);
                self.cells[end..end + 2].copy_from_slice(&[cell as u32; 2]);
            } else {
                for n in 0..count {
                    self.ids[end + n] = hash.wrapping_add(KEY_X.wrapping_mul(n as u64 + 1));
                    self.cells[end + n] = cell as u32;
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
            kept += usize::from(unit(mix(id ^ RENEWAL)) < same);
        }
        for (cell, (&hash, &mean)) in cells.hashes[..number].iter().zip(&cells.means).enumerate() {
            let key = mix(hash ^ RENEWAL);
            let mean = (1.0 - same) * mean;
            // exp(-m) >= 1 - m: most cells have none, and need no exponential to know it.
            if unit(key) < 1.0 - mean {
                continue;
            }
            let count = large_count(key, mean) as usize;
            if kept + count > self.ids.len() {
                let longer = 2 * self.ids.len() + count;
                room(&mut self.ids, longer);
                room(&mut self.cells, longer);
            }
            for n in 0..count {
                self.ids[kept + n] = mix(key.wrapping_add(KEY_X.wrapping_mul(n as u64 + 1)));
                self.cells[kept + n] = cell as u32;
            }
            kept += count;
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

/// Tags that separate the marks of a colony from its place and from each other.
pub(super) const RENEWAL: u64 = 0x3C6E_F372_FE94_F82B;
pub(super) const MARK: u64 = 0xA54F_F53A_5F1D_36F1;

/// A count of any mean: by inversion of one uniform, or as a sum of such counts where the mean is large.
fn large_count(hash: u64, mean: f32) -> u32 {
    if mean <= LARGEST_MEAN {
        return fast::poisson(unit(hash), mean);
    }
    let parts = (mean / LARGEST_MEAN) as u32 + 1;
    (0..parts).map(|part| fast::poisson(unit(mix(hash ^ COUNT ^ u64::from(part))), mean / parts as f32)).sum()
}

const COUNT: u64 = 0x510E_527F_ADE6_82D1;

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
