//! The hot loop: lists the colonies near a line, in phases over flat arrays with few unpredictable branches.
//!
//! 1. the patch field at the cells of the strip; 2. densities; 3. where the cells lie; for each layer: 4. keys and mean
//!    counts of its cells, 5. which have a colony; of all layers together: 6. the list of colonies, 7. their places relative to
//!    the line, 8. in which states each is alive; 9. those that are kept.

use super::cells::{Cells, expect, lay_out, occupy, share_out};
use super::colonies::{Mark, mark_uniform};
use super::colony::Colonies;
use super::fast;
use super::layers::Layer;
use super::listed::{Listed, divide, list, lose, place, room, settle};
use super::machine::for_this_processor;
use super::site::{MOST_STATES, SiteReef};
use super::strip::{FrameLine, Strip};
use super::strip_field::{FieldCells, StripField};

/// Which visit a line is read at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Visit {
    First,
    Second,
}

/// Scratch memory of a walk and its result; one per thread, reused.
#[derive(Default)]
pub struct Walk {
    field: StripField,
    /// Largest density of the visit's states (per m2) at each cell of the field.
    density: Vec<f32>,
    /// Keys of the layers.
    keys: Vec<u64>,
    cells: Cells,
    listed: Listed,
    pub colonies: Colonies,
}

impl Walk {
    /// Fills `colonies` with all colonies whose disc comes within `side` metres of the line and that live in at least
    /// one state of the visit.
    pub fn read(&mut self, site: &mut SiteReef, line: &FrameLine, side: f32, visit: Visit) {
        let reef = site.reef;
        let strip = Strip::new(line);
        let top = reef.layers.iter().fold(0.0f32, |top, layer| top.max(layer.reach)) + side;
        let field_columns = strip.columns(reef.cell, top);
        let drift = (visit == Visit::Second && reef.law.field_memory < 1.0).then_some(reef.drift);
        self.field.read(&site.patch, &reef.normals, &strip, &field_columns, reef.cell, drift);
        let shares = self.densities(site, &strip, visit);
        lay_out(&mut self.cells, &strip, &self.field.cells(), reef.cell, reef.layers.len());
        self.keys.clear();
        self.keys.extend(reef.layers.iter().map(|layer| site.layer_key(layer)));
        let densities = &self.density[..self.field.values.len()];
        expect(&mut self.cells, &reef.layers, &self.keys, densities, reef.cell * reef.cell);
        occupy(&mut self.cells, &reef.layers, side, 1.0, 0);
        list(&mut self.listed, &self.cells, visit == Visit::Second);
        let (number, same) = (self.listed.end, reef.law.same_colonies as f32);
        let is_renewed = visit == Visit::Second && reef.law.same_colonies < 1.0;
        if is_renewed {
            occupy(&mut self.cells, &reef.layers, side, 1.0 - same, 2);
            settle(&mut self.listed, &self.cells, 1.0 - same);
        }
        place(&mut self.listed, &strip, reef.cell, &reef.layers, side);
        if is_renewed {
            lose(&mut self.listed, number, same);
        }
        match visit {
            Visit::First => self.listed.alive[..number].iter_mut().for_each(|alive| *alive &= 1),
            Visit::Second => self.divide(site, &strip, &shares[..reef.law.states.len()]),
        }
        keep(&self.listed, &mut self.colonies);
    }

    /// Largest density at each cell over the states of the visit. Returns the density of each state as a share of it.
    fn densities(&mut self, site: &mut SiteReef, strip: &Strip, visit: Visit) -> [f32; MOST_STATES] {
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
        // Cells of the along-reef field are much larger than those of the patches: many columns lie in one column of them,
        // and mostly in one row.
        let per_m = 1.0 / reef.along_cell;
        let of = |cell: i32| fast::floor((cell as f32 + 0.5) * reef.cell * per_m);
        let FieldCells { first, rows, first_rows } = self.field.cells();
        let mut start = 0;
        while start < first_rows.len() {
            let column = of(first + start as i32);
            let columns = (start..first_rows.len()).take_while(|&c| of(first + c as i32) == column).count();
            let range = start..start + columns;
            let (a, z) = (first_rows[start], first_rows[start + columns - 1]);
            let (lowest, highest) = (of(a.min(z)), of(a.max(z) + rows as i32 - 1));
            let mut look_up = |row: i32| {
                level + if strip.swapped { site.along_cell(row, column) } else { site.along_cell(column, row) }[later]
            };
            if lowest == highest {
                self.density[start * rows..(start + columns) * rows].fill(look_up(lowest));
            } else {
                let mut known = (lowest, look_up(lowest));
                for c in range {
                    for (t, density) in self.density[c * rows..(c + 1) * rows].iter_mut().enumerate() {
                        let row = of(first_rows[c] + t as i32);
                        if row != known.0 {
                            known = (row, look_up(row));
                        }
                        *density = known.1;
                    }
                }
            }
            start += columns;
        }
        raise(&mut self.density[..number], &self.field.values, sd);
        shares
    }

    /// Which of the listed colonies live in which states of the second visit.
    fn divide(&mut self, site: &mut SiteReef, strip: &Strip, shares: &[f32]) {
        share_out(&mut self.cells, shares);
        divide(&mut self.listed, &self.cells, shares.len());
        if site.reef.deaths.is_empty() {
            return;
        }
        let Listed { alive, along, across, ids, cells, end, .. } = &mut self.listed;
        for (at, alive) in alive[..*end].iter_mut().enumerate().filter(|(_, alive)| **alive != 0) {
            let place = strip.in_frame(along[at], across[at]);
            *alive = site.survivor((ids[at], *alive), self.cells.layer(cells[at]), place);
        }
    }
}

for_this_processor! {
    /// Takes over the colonies that are there in some state.
    fn keep(listed: &Listed, colonies: &mut Colonies) {
        let end = listed.end;
        // Longer than they will be by one: nothing is written under a condition, an entry is kept by moving the end.
        let Colonies { along, across, radii, ids, alive } = colonies;
        for column in [&mut *along, &mut *across, &mut *radii] {
            column.resize(end + 1, 0.0);
        }
        ids.resize(end + 1, 0);
        alive.resize(end + 1, 0);
        let (x, y, radius) = (&mut along[..end + 1], &mut across[..end + 1], &mut radii[..end + 1]);
        let (id, states) = (&mut ids[..end + 1], &mut alive[..end + 1]);
        let mut kept = 0;
        for at in 0..end {
            x[kept] = listed.along[at];
            y[kept] = listed.across[at];
            radius[kept] = listed.radii[at];
            id[kept] = listed.ids[at];
            states[kept] = listed.alive[at];
            kept += usize::from(listed.alive[at] != 0);
        }
        for column in [along, across, radii] {
            column.truncate(kept);
        }
        ids.truncate(kept);
        alive.truncate(kept);
    }
}

for_this_processor! {
    /// Densities from what they are without patches, as logarithms, and the patch field.
    fn raise(density: &mut [f32], field: &[f32], sd: f32) {
        for (density, value) in density.iter_mut().zip(field) {
            *density = fast::exp((*density + sd * value).min(60.0));
        }
    }
}

impl SiteReef<'_> {
    /// The states in which a colony of a layer that lives in some lives on; `place` in the frame, m.
    #[inline]
    fn survivor(&mut self, (id, mut alive): (u64, u16), layer: usize, place: (f32, f32)) -> u16 {
        let reef = self.reef;
        let luck = mark_uniform(id, Mark::Survival) as f32;
        let radius = (id >> 52) as usize;
        for (of, storm) in reef.deaths.iter().zip(&mut self.storms) {
            if alive >> of.state & 1 == 1 {
                let hit = storm.as_mut().is_none_or(|storm| storm.hit(&reef.normals, place.0, place.1));
                alive &= !(u16::from(luck >= of.chance(layer, radius, hit)) << of.state);
            }
        }
        alive
    }

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
