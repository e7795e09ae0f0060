use super::coral_law::CoralLaw;
use super::fast;
use super::lattice::{Frame, LatticeField};
use super::layers::{Layer, layers};
use super::strip_field::Drift;
use crate::random::{Key, Normals, Purpose, normal_from_uniform};
use std::ops::Range;

/// The corals of a zone, ready to be read: the law and its tables. Made once a zone.
pub struct CoralReef {
    pub law: CoralLaw,
    pub(super) layers: Vec<Layer>,
    pub normals: Normals,
    pub(super) cell: f32,
    pub(super) along_cell: f32,
    pub(super) drift: Drift,
    /// Mean of 1 - exp(-u) over patches, as a function of ln intensity without patches: the truth of a place.
    truth: Vec<f32>,
}

/// The largest number of states (visit 1, visit 2 under each world) that one reef is read in.
pub const MOST_STATES: usize = 16;

/// Step and range of the table of the truth in ln intensity.
const TRUTH_FROM: f64 = -16.0;
const TRUTH_STEP: f64 = 1.0 / 32.0;
const TRUTH_KNOTS: usize = 32 * 24 + 1;

impl CoralReef {
    /// `truth(ln u)` = mean cover of a place whose mean intensity (over patches) is u.
    pub fn new(law: CoralLaw, truth: impl Fn(f64) -> f64) -> Self {
        assert!(law.states.len() <= MOST_STATES);
        let cell = law.spec.patch_cell_m();
        let density = (0..law.states.len()).map(|state| law.mean_density(state)).fold(0.0, f64::max);
        Self {
            layers: layers(&law.spec.sizes, cell, density),
            normals: Normals::new(),
            cell: cell as f32,
            along_cell: law.spec.along_cell_m() as f32,
            drift: Drift::new(law.field_memory),
            truth: (0..TRUTH_KNOTS).map(|i| truth(TRUTH_FROM + TRUTH_STEP * i as f64) as f32).collect(),
            law,
        }
    }

    fn truth_at(&self, ln_intensity: f32) -> f32 {
        let t = ((f64::from(ln_intensity) - TRUTH_FROM) / TRUTH_STEP).clamp(0.0, (TRUTH_KNOTS - 1) as f64 - 1e-6);
        let i = t as usize;
        let x = (t - i as f64) as f32;
        self.truth[i] + x * (self.truth[i + 1] - self.truth[i])
    }
}

/// One site in one trial: a pure function of its key. Holds the site's effects and remembers the along-reef cells that
/// were looked at.
pub struct SiteReef<'a> {
    pub reef: &'a CoralReef,
    pub frame: Frame,
    pub(super) key: Key,
    pub(super) patch: LatticeField,
    along: LatticeField,
    /// For each state: ln of the density (per m2) without patches and along-reef field.
    pub(super) level: [f32; MOST_STATES],
    along_cells: AlongCells,
}

/// The along-reef field at the cells looked at last, first visit and second. Each cell has one place, which it shares with
/// those a block away: a site of 100 m fits in, and of a larger one only what is looked at is kept.
struct AlongCells(Vec<AlongCell>);

#[derive(Clone, Copy)]
struct AlongCell {
    column: i32,
    row: i32,
    values: [f32; 2],
}

/// Cells on a side of the block that is remembered, a power of two.
const REMEMBERED: i32 = 32;

/// Most steps of the truth's grid along one side of a site.
const MOST_STEPS: usize = 48;

impl<'a> SiteReef<'a> {
    pub fn new(reef: &'a CoralReef, key: Key) -> Self {
        let law = &reef.law;
        let frame = Frame::new(key);
        let normal = |purpose, index| normal_from_uniform(key.uniform(purpose, index));
        let site = law.site_sd * normal(Purpose::SiteEffect, 0);
        let site_year = [0, 1].map(|visit| law.site_year_sd * normal(Purpose::SiteYearEffect, visit));
        let change = normal(Purpose::SiteChange, 0);
        let patch_variance = law.spec.patch.sd * law.spec.patch.sd;
        let mut level = [f32::NEG_INFINITY; MOST_STATES];
        for (s, state) in law.states.iter().enumerate() {
            let mean = libm::log(law.mean_density(s)) - 0.5 * (patch_variance + law.slow_variance(s));
            level[s] = (mean + site + site_year[usize::from(s > 0)] + state.change_sd * change) as f32;
        }
        Self {
            reef,
            frame,
            key,
            patch: LatticeField::new(key.child(Purpose::FieldNode, 100), law.spec.patch.scale_m),
            along: LatticeField::new(key.child(Purpose::FieldNode, 200), law.spec.along.scale_m),
            level,
            along_cells: AlongCells::none(),
        }
    }

    /// The along-reef part of ln density in a cell of that field, at the first visit and the second.
    #[inline]
    pub(super) fn along_cell(&mut self, i: i32, j: i32) -> [f32; 2] {
        let at = AlongCells::place(i, j);
        let known = &self.along_cells.0[at];
        if known.column == i && known.row == j {
            return known.values;
        }
        let cell = f64::from(self.reef.along_cell);
        let (x, y) = ((f64::from(i) + 0.5) * cell, (f64::from(j) + 0.5) * cell);
        let (field, innovation) = self.along.with_innovation(&self.reef.normals, x, y);
        let sd = self.reef.law.spec.along.sd;
        let drift = self.reef.drift;
        let later = f64::from(drift.memory) * field + f64::from(drift.renewal) * innovation;
        let value = [(sd * field) as f32, (sd * later) as f32];
        self.along_cells.0[at] = AlongCell { column: i, row: j, values: value };
        value
    }

    /// The true cover of the site in some states: the cover expected from its site effect, its year and its along-reef
    /// field, averaged over the site; patches and colonies are sampling. The grid has steps of 2.5 m, wider ones on large
    /// sites, where places are so many that the mean is as good.
    pub fn truth(&mut self, size: (f64, f64), states: Range<usize>, truths: &mut [f64]) {
        let steps = |side: f64| ((side / 2.5).ceil() as usize).clamp(1, MOST_STEPS);
        let (columns, rows) = (steps(size.0), steps(size.1));
        let (step_x, step_y) = (size.0 / columns as f64, size.1 / rows as f64);
        let ln_area = libm::log(self.reef.law.mean_area_m2) as f32;
        let half_patch = (0.5 * self.reef.law.spec.patch.sd.powi(2)) as f32;
        let mut offsets = [0.0f32; MOST_STATES];
        for (offset, level) in offsets.iter_mut().zip(&self.level) {
            *offset = level + ln_area + half_patch;
        }
        truths[states.clone()].fill(0.0);
        // Places one after the other mostly lie in one cell of the along-reef field: its cover is added once for all.
        let per_m = 1.0 / self.reef.along_cell;
        let step = self.frame.step(0.0, step_y);
        let (mut cell, mut places) = ((i32::MAX, i32::MAX), 0u32);
        for i in 0..columns {
            let (mut x, mut y) = self.frame.from_site((i as f64 + 0.5) * step_x, 0.5 * step_y);
            for _ in 0..rows {
                let at = (fast::floor(x as f32 * per_m), fast::floor(y as f32 * per_m));
                if at != cell {
                    self.add_cover(cell, places, states.clone(), &offsets, truths);
                    (cell, places) = (at, 0);
                }
                places += 1;
                (x, y) = (x + step.0, y + step.1);
            }
        }
        self.add_cover(cell, places, states.clone(), &offsets, truths);
        truths[states].iter_mut().for_each(|sum| *sum /= (columns * rows) as f64);
    }

    /// Adds the cover expected in each state in a cell of the along-reef field, for a number of places in it.
    fn add_cover(
        &mut self,
        cell: (i32, i32),
        places: u32,
        states: Range<usize>,
        offsets: &[f32; MOST_STATES],
        truths: &mut [f64],
    ) {
        if places > 0 {
            let along = self.along_cell(cell.0, cell.1);
            for s in states {
                let cover = self.reef.truth_at(offsets[s] + along[usize::from(s > 0)]);
                truths[s] += f64::from(places) * f64::from(cover);
            }
        }
    }
}

impl AlongCells {
    fn none() -> Self {
        let nowhere = AlongCell { column: i32::MAX, row: i32::MAX, values: [0.0; 2] };
        Self(vec![nowhere; (REMEMBERED * REMEMBERED) as usize])
    }

    #[inline]
    fn place(column: i32, row: i32) -> usize {
        ((column & (REMEMBERED - 1)) * REMEMBERED + (row & (REMEMBERED - 1))) as usize
    }
}
