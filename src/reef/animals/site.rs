use super::law::AnimalLaw;
use super::patches::PatchDensity;
use super::walk::StripPlace;
use crate::random::{Key, Normals, Purpose};
use crate::reef::same_place::{Effects, SamePlace};
use crate::reef::site::patch_key;
use crate::reef::strip::Strip;
use crate::reef::strip_field::{Drift, StripField};
use crate::reef::{Frame, LatticeField, MOST_STATES, Visit};
use std::ops::Range;

/// One kind of animal in a zone, ready to be read: the law and its tables. Made once a zone.
pub struct AnimalReef {
    pub law: AnimalLaw,
    /// Side of the cells by which groups are hashed, metres; `2^split` of them along a side of a cell of the patches.
    pub(super) cell: f64,
    pub(super) split: u32,
    pub(super) normals: Normals,
    /// Of the patches, where there are any.
    density: Option<PatchDensity>,
}

/// Groups per cell that are aimed at: fewer make many empty cells, more make many that the strip does not need.
const GROUPS_PER_CELL: f64 = 1.0;
/// Cells are never smaller than this, metres.
const SMALLEST_CELL_M: f64 = 0.2;
/// Cells without patches are never larger than this, metres.
const LARGEST_CELL_M: f64 = 5.0;

impl AnimalReef {
    pub fn new(law: AnimalLaw) -> Self {
        assert!(law.states.len() <= MOST_STATES);
        let density = (0..law.states.len()).map(|state| law.mean_group_density(state)).fold(0.0, f64::max);
        let wanted = libm::sqrt(GROUPS_PER_CELL / density.max(1e-12)).clamp(SMALLEST_CELL_M, LARGEST_CELL_M);
        let (cell, split) = match law.spec.patch_cell_m() {
            None => (wanted, 0),
            Some(patch_cell) => {
                let split = libm::round(libm::log2(patch_cell / wanted)).clamp(0.0, 8.0) as u32;
                (patch_cell / f64::from(1u32 << split), split)
            }
        };
        let density = law.spec.patches.map(|patches| PatchDensity::new(patches.law));
        Self { cell, split, normals: Normals::new(), density, law }
    }
}

/// One kind of animal on one site in one trial: a pure function of its key. Holds the site's effects and remembers the
/// patches that were looked at.
pub struct AnimalSite<'a> {
    pub reef: &'a AnimalReef,
    pub frame: Frame,
    /// Key of the groups.
    pub(super) key: u64,
    pub(super) patches: Option<Patches<'a>>,
    /// For each state: mean number of groups per m2, for patches of density 1.
    groups_per_m2: [f64; MOST_STATES],
}

/// The field of the patches and its values at the cells looked at last.
pub(super) struct Patches<'a> {
    pub field: LatticeField,
    pub density: &'a PatchDensity,
    pub cell: f64,
    /// Correlation of the field between the visits.
    pub memory: f64,
    cells: Vec<PatchCell>,
}

#[derive(Clone, Copy)]
struct PatchCell {
    column: i32,
    row: i32,
    densities: [f64; 2],
}

/// Cells on a side of the block that is remembered, a power of two.
const REMEMBERED: i32 = 16;

/// Most steps of the truth's grid along one side of a site, and the length of a step on small ones, metres.
const MOST_STEPS: usize = 48;
const STEP_M: f64 = 2.5;

impl<'a> AnimalSite<'a> {
    /// `site` is the key of the site, the same for all kinds; `kind` tells the kinds of animals apart, which are
    /// independent of one another.
    pub fn new(reef: &'a AnimalReef, site: Key, kind: u64) -> Self {
        Self::at_place(reef, (site, kind), None)
    }

    /// The same at the place of a site of another zone, of which `place` knows the site and the number of the kind there.
    pub fn at_place(reef: &'a AnimalReef, (site, kind): (Key, u64), place: Option<(SamePlace, u64)>) -> Self {
        let law = &reef.law;
        let key = site.child(Purpose::Animals, kind);
        let place = place.map(|(place, kind)| place.child(Purpose::Animals, kind));
        let effects = Effects { own: key, place };
        let normal = |purpose, index| effects.normal(purpose, index);
        let site_effect = law.site_sd * normal(Purpose::SiteEffect, 0);
        let site_year = [0, 1].map(|visit| law.site_year_sd * normal(Purpose::SiteYearEffect, visit));
        let change = normal(Purpose::SiteChange, 0);
        let mut groups_per_m2 = [0.0; MOST_STATES];
        for (s, state) in law.states.iter().enumerate() {
            let effects = site_effect + site_year[usize::from(s > 0)] + state.change_sd * change;
            groups_per_m2[s] = law.mean_group_density(s) * libm::exp(effects - 0.5 * law.site_variance(s));
        }
        let patches = law.spec.patches.zip(law.spec.patch_cell_m()).zip(reef.density.as_ref());
        let field = if law.spec.is_in_patches_of_coral() { patch_key(site) } else { key };
        let patches = patches.map(|((patches, cell), density)| Patches {
            field: LatticeField::new(field, patches.scale_m),
            density,
            cell,
            memory: law.field_memory,
            cells: Vec::new(),
        });
        Self { reef, frame: Frame::new(site), key: key.child(Purpose::AnimalGroup, 0).0, patches, groups_per_m2 }
    }

    /// Mean number of groups in a cell in a state, for patches of density 1.
    pub(super) fn groups_per_cell(&self, state: usize) -> f64 {
        self.groups_per_m2[state] * self.reef.cell * self.reef.cell
    }

    /// Mean number of groups per m2 on this site in a state, for patches of density 1.
    #[inline]
    pub fn groups_per_m2(&self, state: usize) -> f64 {
        self.groups_per_m2[state]
    }

    /// Density of the patches over its mean, averaged over a strip, at the first visit and the second: by the middles of
    /// parts no larger than half a cell of the patches.
    pub fn patches_over(&mut self, strip: &StripPlace) -> [f64; 2] {
        let Some(patches) = &mut self.patches else { return [1.0; 2] };
        let mut sums = [0.0; 2];
        let parts = cells_of_parts(strip, patches.cell, self.frame, |column, row| {
            let [first, second] = patches.at(&self.reef.normals, column, row);
            sums = [sums[0] + first, sums[1] + second];
        });
        sums.map(|sum| sum / parts)
    }

    /// The true density of the site in some states, per m2: what its site effect, its year and its patches let expect, averaged
    /// over the site; groups and animals are sampling. The grid has steps of 2.5 m, wider ones on sites over 120 m.
    pub fn truth(&mut self, size: (f64, f64), states: Range<usize>, truths: &mut [f64]) {
        let mean = self.mean_patch_density(size);
        for s in states {
            let animals = self.reef.law.spec.group_size() * self.reef.law.states[s].survival();
            truths[s] = animals * self.groups_per_m2[s] * mean[usize::from(s > 0)];
        }
    }

    /// Density of the patches over its mean, averaged over the site, at the first visit and the second; patches of the coral
    /// are sampling, as they are of its cover.
    fn mean_patch_density(&mut self, size: (f64, f64)) -> [f64; 2] {
        let own = self.patches.as_mut().filter(|_| !self.reef.law.spec.is_in_patches_of_coral());
        let Some(patches) = own else { return [1.0; 2] };
        let steps = |side: f64| ((side / STEP_M).ceil() as usize).clamp(1, MOST_STEPS);
        let (columns, rows) = (steps(size.0), steps(size.1));
        let mut sums = [0.0; 2];
        for i in 0..columns {
            for j in 0..rows {
                let (x, y) = self
                    .frame
                    .from_site(size.0 * (i as f64 + 0.5) / columns as f64, size.1 * (j as f64 + 0.5) / rows as f64);
                let cell = |v: f64| (v / patches.cell).floor() as i32;
                let (column, row) = (cell(x), cell(y));
                let [first, second] = patches.at(&self.reef.normals, column, row);
                sums = [sums[0] + first, sums[1] + second];
            }
        }
        sums.map(|sum| sum / (columns * rows) as f64)
    }
}

/// Shows the cell of the middle of every part of a strip, parts being no larger than half a cell; how many there are.
fn cells_of_parts(strip: &StripPlace, cell_m: f64, frame: Frame, mut show: impl FnMut(i32, i32)) -> f64 {
    let parts = |side: f64| (2.0 * side / cell_m).ceil().max(1.0);
    let (columns, rows) = (parts(strip.length_m), parts(strip.width_m));
    let (cos, sin) = strip.direction;
    for i in 0..columns as usize {
        for j in 0..rows as usize {
            let along = strip.length_m * (i as f64 + 0.5) / columns;
            let across = strip.width_m * ((j as f64 + 0.5) / rows - 0.5);
            let place = (strip.start.0 + along * cos - across * sin, strip.start.1 + along * sin + across * cos);
            let (x, y) = frame.from_site(place.0, place.1);
            let cell = |v: f64| (v / cell_m).floor() as i32;
            show(cell(x), cell(y));
        }
    }
    columns * rows
}

impl Patches<'_> {
    #[inline]
    pub(super) fn at(&mut self, normals: &Normals, column: i32, row: i32) -> [f64; 2] {
        if self.cells.is_empty() {
            let unknown = PatchCell { column: i32::MAX, row: i32::MAX, densities: [0.0; 2] };
            self.cells.resize((REMEMBERED * REMEMBERED) as usize, unknown);
        }
        let place = ((column & (REMEMBERED - 1)) * REMEMBERED + (row & (REMEMBERED - 1))) as usize;
        let known = &self.cells[place];
        if known.column == column && known.row == row {
            return known.densities;
        }
        let densities = self.densities(normals, column, row);
        self.cells[place] = PatchCell { column, row, densities };
        densities
    }

    /// The density over its mean in a cell at both visits.
    fn densities(&self, normals: &Normals, column: i32, row: i32) -> [f64; 2] {
        let centre = |k: i32| (f64::from(k) + 0.5) * self.cell;
        let (first, new) = self.field.with_innovation(normals, centre(column), centre(row));
        let second = self.memory * first + (1.0 - self.memory * self.memory).max(0.0).sqrt() * new;
        [self.density.at(first), self.density.at(second)]
    }

    /// Reads the field at a visit in all cells that come within `side` metres of a line.
    pub(super) fn read(&self, field: &mut StripField, normals: &Normals, strip: &Strip, side: f32, visit: Visit) {
        let columns = strip.columns(self.cell as f32, side);
        let drift = (visit == Visit::Second && self.memory < 1.0).then(|| Drift::new(self.memory));
        field.read(&self.field, normals, strip, &columns, self.cell as f32, drift);
    }
}
