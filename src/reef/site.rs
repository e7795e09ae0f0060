use super::coral_law::CoralLaw;
use super::fast;
use super::lattice::{Frame, LatticeField};
use super::layers::{Layer, layers};
use super::strip_field::Drift;
use crate::random::{Key, Normals, Purpose, normal_from_uniform};

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

/// The along-reef field at its cells, first visit and second; filled when asked for.
#[derive(Default)]
struct AlongCells {
    first_column: i32,
    first_row: i32,
    rows: usize,
    values: Vec<[f32; 2]>,
}

impl<'a> SiteReef<'a> {
    /// `size`: length and width of the site, m, for which places will be asked (a margin is added).
    pub fn new(reef: &'a CoralReef, key: Key, size: (f64, f64)) -> Self {
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
            along_cells: AlongCells::around(&frame, size, f64::from(reef.along_cell)),
        }
    }

    /// The along-reef part of ln density in a cell of that field, at the first visit and the second.
    #[inline]
    pub(super) fn along_cell(&mut self, i: i32, j: i32) -> [f32; 2] {
        let remembered = self.along_cells.place(i, j);
        if let Some(at) = remembered
            && !self.along_cells.values[at][0].is_nan()
        {
            return self.along_cells.values[at];
        }
        let cell = f64::from(self.reef.along_cell);
        let (x, y) = ((f64::from(i) + 0.5) * cell, (f64::from(j) + 0.5) * cell);
        let (field, innovation) = self.along.with_innovation(&self.reef.normals, x, y);
        let sd = self.reef.law.spec.along.sd;
        let drift = self.reef.drift;
        let later = f64::from(drift.memory) * field + f64::from(drift.renewal) * innovation;
        let value = [(sd * field) as f32, (sd * later) as f32];
        if let Some(at) = remembered {
            self.along_cells.values[at] = value;
        }
        value
    }

    /// The true cover of the site in each state: the cover expected from its site effect, its year and its along-reef
    /// field, averaged over the site on a grid of at most 2.5 m; patches and colonies are sampling.
    pub fn truth(&mut self, size: (f64, f64), truths: &mut [f64]) {
        let states = self.reef.law.states.len();
        let (columns, rows) = ((size.0 / 2.5).ceil() as usize, (size.1 / 2.5).ceil() as usize);
        let (step_x, step_y) = (size.0 / columns as f64, size.1 / rows as f64);
        let ln_area = libm::log(self.reef.law.mean_area_m2) as f32;
        let half_patch = (0.5 * self.reef.law.spec.patch.sd.powi(2)) as f32;
        let mut offsets = [0.0f32; MOST_STATES];
        for (offset, level) in offsets.iter_mut().zip(&self.level) {
            *offset = level + ln_area + half_patch;
        }
        truths[..states].fill(0.0);
        let mut last = (i32::MAX, i32::MAX);
        let mut cover = [0.0f64; MOST_STATES];
        let per_m = 1.0 / self.reef.along_cell;
        for i in 0..columns {
            for j in 0..rows {
                let place = self.frame.from_site((i as f64 + 0.5) * step_x, (j as f64 + 0.5) * step_y);
                let at = (fast::floor(place.0 as f32 * per_m), fast::floor(place.1 as f32 * per_m));
                if at != last {
                    let along = self.along_cell(at.0, at.1);
                    for s in 0..states {
                        cover[s] = f64::from(self.reef.truth_at(offsets[s] + along[usize::from(s > 0)]));
                    }
                    last = at;
                }
                for s in 0..states {
                    truths[s] += cover[s];
                }
            }
        }
        truths[..states].iter_mut().for_each(|sum| *sum /= (columns * rows) as f64);
    }
}

impl AlongCells {
    /// Place of a cell in `values`; cells outside the site's surroundings are not remembered.
    #[inline]
    fn place(&self, i: i32, j: i32) -> Option<usize> {
        let (column, row) = (i.wrapping_sub(self.first_column) as u32, j.wrapping_sub(self.first_row) as u32);
        let inside = (row as usize) < self.rows && (column as usize) < self.values.len() / self.rows;
        inside.then(|| column as usize * self.rows + row as usize)
    }

    fn around(frame: &Frame, size: (f64, f64), cell: f64) -> Self {
        let margin = 3.0;
        let corners = [
            (-margin, -margin),
            (size.0 + margin, -margin),
            (-margin, size.1 + margin),
            (size.0 + margin, size.1 + margin),
        ]
        .map(|(x, y)| frame.from_site(x, y));
        let low = |values: [f64; 4]| (values.into_iter().fold(f64::MAX, f64::min) / cell).floor() as i32;
        let high = |values: [f64; 4]| (values.into_iter().fold(f64::MIN, f64::max) / cell).floor() as i32;
        let (xs, ys) = (corners.map(|c| c.0), corners.map(|c| c.1));
        let rows = (high(ys) - low(ys) + 1) as usize;
        let columns = (high(xs) - low(xs) + 1) as usize;
        Self { first_column: low(xs), first_row: low(ys), rows, values: vec![[f32::NAN; 2]; rows * columns] }
    }
}
