//! The hot loop: lists the colonies near a line, in phases over flat arrays with few unpredictable branches.
//!
//! 1. the patch field at the cells of the strip; 2. densities; for each layer: 3. keys and mean counts of its cells,
//! 4. counts, 5. the list of colonies, 6. their places relative to the line, 7. in which states each is alive.

use super::coral_law::CoralLaw;
use super::fast;
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
    hashes: Vec<u64>,
    means: Vec<f32>,
    parents: Vec<u32>,
    counts: Vec<u32>,
    /// Names and cells of the colonies; from `fresh` on, those that came between the visits.
    slots: Vec<(u64, u32)>,
    fresh: usize,
    pub colonies: Vec<Colony>,
}

/// One column of a layer's cells.
#[derive(Clone, Copy, Default)]
struct LayerColumn {
    key: u64,
    first_row: i32,
    /// Place of the column in the field's arrays, so that row `j` of the layer lies at `field + (j >> split)`.
    field: i32,
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
        for (c, &first_row) in self.field.first_rows().iter().enumerate() {
            let x = ((first + c as i32) as f32 + 0.5) * reef.cell;
            for t in 0..rows {
                let y = ((first_row + t as i32) as f32 + 0.5) * reef.cell;
                let along = if strip.swapped { site.along(y, x) } else { site.along(x, y) };
                let at = c * rows + t;
                self.density[at] = along[0];
                self.keep[at] = along[1];
            }
        }
        let level = [site.level[0], if states > 1 { site.level[1] } else { 0.0 }];
        let later = if drifted { 1 } else { 0 };
        for at in 0..number {
            let first = fast::exp((level[0] + self.density[at] + sd * self.field.values[0][at]).min(60.0));
            if states == 1 {
                self.density[at] = first;
                self.keep[at] = 1.0;
                continue;
            }
            let second = fast::exp((level[1] + self.keep[at] + sd * self.field.values[later][at]).min(60.0));
            let largest = first.max(second * largest_growth);
            self.density[at] = largest;
            self.keep[at] = if visit == Visit::First { first } else { second } / largest;
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
            });
        }
        let count = self.columns.len();
        let number = count * cells.rows;
        self.hashes.resize(number, 0);
        self.means.resize(number, 0.0);
        self.parents.resize(number, 0);
        self.counts.resize(number, 0);
        let last = self.density.len() as i32 - 1;
        let scale = (layer.share * f64::from(layer.cell) * f64::from(layer.cell)) as f32;
        for row in 0..cells.rows {
            let key = (row as u64).wrapping_mul(key_row);
            let range = row * count..(row + 1) * count;
            let hashes = &mut self.hashes[range.clone()];
            let means = &mut self.means[range.clone()];
            let parents = &mut self.parents[range];
            for (((column, hash), mean), parent) in self.columns.iter().zip(hashes).zip(means).zip(parents) {
                *hash = mix(column.key.wrapping_add(key));
                // A row just outside the field's strip is too far to matter; it reads the nearest one.
                let at = (column.field + ((column.first_row + row as i32) >> layer.split)).clamp(0, last);
                *parent = at as u32;
                *mean = scale * self.density[at as usize];
            }
        }
        self.count_colonies(number);
        self.list_colonies(number);
        self.list_fresh_colonies(number, &site.reef.law, visit);
        self.place_colonies(site, strip, layer, side, count, cells.first, visit, growth);
    }

    /// Poisson counts by inversion, without branches up to four colonies.
    fn count_colonies(&mut self, number: usize) {
        let mut many = 0;
        for ((count, &hash), &m) in self.counts[..number].iter_mut().zip(&self.hashes).zip(&self.means) {
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
            for ((count, &hash), &m) in self.counts[..number].iter_mut().zip(&self.hashes).zip(&self.means) {
                if *count == 4 || m > LARGEST_MEAN {
                    *count = large_count(hash, m);
                }
            }
        }
    }

    fn list_colonies(&mut self, number: usize) {
        self.slots.clear();
        for (cell, (&count, &hash)) in self.counts[..number].iter().zip(&self.hashes).enumerate() {
            let mut key = hash;
            for _ in 0..count {
                key = key.wrapping_add(KEY_X);
                self.slots.push((key, cell as u32));
            }
        }
        self.fresh = self.slots.len();
    }

    /// Colonies that settled between the visits: as many as were lost in the mean, but in number and place independent of
    /// them. (A lost colony that came back elsewhere in its own cell would tie the count of a cell to that of the first
    /// visit.)
    fn list_fresh_colonies(&mut self, number: usize, law: &CoralLaw, visit: Visit) {
        let renewed = 1.0 - law.same_colonies as f32;
        if visit == Visit::First || !(renewed > 0.0) {
            return;
        }
        for (cell, (&hash, &mean)) in self.hashes[..number].iter().zip(&self.means).enumerate() {
            let mut key = mix(hash ^ RENEWAL);
            let mean = renewed * mean;
            // exp(-m) >= 1 - m: most cells have none, and need no exponential to know it.
            if unit(key) < 1.0 - mean {
                continue;
            }
            for _ in 0..large_count(key, mean) {
                key = key.wrapping_add(KEY_X);
                self.slots.push((key, cell as u32));
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn place_colonies(
        &mut self,
        site: &SiteReef,
        strip: &Strip,
        layer: &Layer,
        side: f32,
        columns: usize,
        first: i32,
        visit: Visit,
        growth: &[f32; super::site::MOST_STATES],
    ) {
        let law = &site.reef.law;
        let line = &strip.line;
        let (x_bits, y_bits) = if strip.swapped { (21, 0) } else { (0, 21) };
        let sign = if strip.swapped { -1.0 } else { 1.0 };
        let unit_length = layer.cell * (1.0 / 2_097_152.0);
        let renews = visit == Visit::Second && law.same_colonies < 1.0;
        let same = law.same_colonies as f32;
        let states = law.states.len();
        for (n, &(slot, cell)) in self.slots.iter().enumerate() {
            let id = mix(slot);
            if renews && n < self.fresh && unit(mix(id ^ RENEWAL)) >= same {
                continue;
            }
            let column = cell as usize % columns;
            let row = cell as usize / columns;
            let LayerColumn { first_row, .. } = self.columns[column];
            let x = (first + column as i32) as f32 * layer.cell + ((id >> x_bits) & 0x1F_FFFF) as f32 * unit_length
                - line.x;
            let y = (first_row + row as i32) as f32 * layer.cell + ((id >> y_bits) & 0x1F_FFFF) as f32 * unit_length
                - line.y;
            let across = sign * (y * line.ux - x * line.uy);
            let radius = layer.radius[(id >> 52) as usize];
            if across.abs() >= radius + side {
                continue;
            }
            let along = x * line.ux + y * line.uy;
            if along + radius <= 0.0 || along - radius >= line.length {
                continue;
            }
            let mark = unit(mix(id ^ MARK));
            let keep = self.keep[self.parents[cell as usize] as usize];
            let alive = match visit {
                Visit::First => u16::from(mark < keep),
                Visit::Second => {
                    let mut alive = 0;
                    for (s, &ratio) in growth.iter().enumerate().take(states).skip(1) {
                        alive |= u16::from(mark < keep * ratio) << s;
                    }
                    alive
                }
            };
            if alive != 0 {
                self.colonies.push(Colony { along, across, radius, id, alive });
            }
        }
    }
}

/// Tags that separate the marks of a colony from its place and from each other.
pub(super) const RENEWAL: u64 = 0x3C6E_F372_FE94_F82B;
pub(super) const MARK: u64 = 0xA54F_F53A_5F1D_36F1;

/// A uniform in [0, 1) of 24 bits.
#[inline(always)]
fn unit(hash: u64) -> f32 {
    (hash >> 40) as f32 * (1.0 / 16_777_216.0)
}

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
