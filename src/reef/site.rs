use super::coral_law::CoralLaw;
use super::deaths::{StateDeaths, StormSite};
use super::fast;
use super::lattice::{Frame, LatticeField};
use super::layers::{Layer, layers};
use super::remembered::Remembered;
use super::same_place::{Effects, SamePlace};
use super::strip_field::Drift;
use crate::random::{Key, Normals, Purpose};
use std::ops::Range;

/// The corals of a zone, ready to be read: the law and its tables. Made once a zone.
pub struct CoralReef {
    pub law: CoralLaw,
    pub(super) layers: Vec<Layer>,
    pub normals: Normals,
    pub(super) cell: f32,
    pub(super) along_cell: f32,
    pub(super) drift: Drift,
    /// Of the states in which not all colonies have the same chance to live.
    pub(super) deaths: Vec<StateDeaths>,
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
        let layers = layers(&law.spec.sizes, most_in_a_cell(&law, cell));
        Self {
            deaths: StateDeaths::all(&law, &layers),
            layers,
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

/// The largest number of colonies to be expected in a cell, in any state: that of a place whose ln density is so many standard
/// deviations above its mean; of what lies above less than a fifth of a percent of all colonies is lost where SDs are below 1.5.
fn most_in_a_cell(law: &CoralLaw, cell: f64) -> f64 {
    const ABOVE: f64 = 4.0;
    let of_state = |state: usize| {
        let variance = law.slow_variance(state) + law.spec.patch.sd.powi(2);
        law.mean_density(state) * cell * cell * libm::exp(ABOVE * variance.sqrt() - 0.5 * variance)
    };
    (0..law.states.len()).map(of_state).fold(0.0, f64::max)
}

/// The key of the patches of a site.
pub(super) fn patch_key(site: Key) -> Key {
    site.child(Purpose::FieldNode, 100)
}

/// One site in one trial: a pure function of its key. Holds the site's effects and remembers the along-reef cells that
/// were looked at.
pub struct SiteReef<'a> {
    pub reef: &'a CoralReef,
    pub frame: Frame,
    pub(super) key: Key,
    /// The site of another zone at the same place, where there is one.
    pub place: Option<SamePlace>,
    pub(super) patch: LatticeField,
    along: LatticeField,
    /// For each state: ln of the density (per m2) without patches and along-reef field.
    pub(super) level: [f32; MOST_STATES],
    /// The along-reef field in its cells, first visit and second.
    along_cells: Remembered<[f32; 2]>,
    /// For each entry of the reef's deaths: where the site was hit, if in patches.
    pub(super) storms: Vec<Option<StormSite>>,
}

/// Most steps of the truth's grid along one side of a site.
const MOST_STEPS: usize = 48;

impl<'a> SiteReef<'a> {
    pub fn new(reef: &'a CoralReef, key: Key) -> Self {
        Self::at_place(reef, key, None)
    }

    /// The same at the place of a site of another zone.
    pub fn at_place(reef: &'a CoralReef, key: Key, place: Option<SamePlace>) -> Self {
        let law = &reef.law;
        let frame = Frame::new(key);
        let effects = Effects { own: key, place };
        let normal = |purpose, index| effects.normal(purpose, index);
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
            place,
            patch: LatticeField::new(patch_key(key), law.spec.patch.scale_m),
            along: LatticeField::new(key.child(Purpose::FieldNode, 200), law.spec.along.scale_m),
            level,
            along_cells: Remembered::none(),
            storms: reef.deaths.iter().map(|of| StormSite::new(key, &of.deaths)).collect(),
        }
    }

    /// The along-reef part of ln density in a cell of that field, at the first visit and the second.
    #[inline]
    pub(super) fn along_cell(&mut self, i: i32, j: i32) -> [f32; 2] {
        let (reef, along) = (self.reef, &self.along);
        self.along_cells.get(i, j, || {
            let cell = f64::from(reef.along_cell);
            let (x, y) = ((f64::from(i) + 0.5) * cell, (f64::from(j) + 0.5) * cell);
            let (field, innovation) = along.with_innovation(&reef.normals, x, y);
            let sd = reef.law.spec.along.sd;
            let later = f64::from(reef.drift.memory) * field + f64::from(reef.drift.renewal) * innovation;
            [(sd * field) as f32, (sd * later) as f32]
        })
    }

    /// The true cover of the site in some states: the cover expected from its site effect, its year, its along-reef field
    /// and where it was hit, averaged over the site; patches and colonies are sampling. The grid has steps of 2.5 m, wider ones on large
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
        let (mut cell, mut places) = ((i32::MAX, i32::MAX), Places::default());
        for i in 0..columns {
            let (mut x, mut y) = self.frame.from_site((i as f64 + 0.5) * step_x, 0.5 * step_y);
            for _ in 0..rows {
                let at = (fast::floor(x as f32 * per_m), fast::floor(y as f32 * per_m));
                if at != cell {
                    self.add_cover(cell, &places, states.clone(), &offsets, truths);
                    (cell, places) = (at, Places::default());
                }
                places.number += 1;
                self.add_hits(&mut places, (x as f32, y as f32));
                (x, y) = (x + step.0, y + step.1);
            }
        }
        self.add_cover(cell, &places, states.clone(), &offsets, truths);
        truths[states].iter_mut().for_each(|sum| *sum /= (columns * rows) as f64);
    }

    /// Counts a place in the states in which it was hit.
    #[inline]
    fn add_hits(&mut self, places: &mut Places, (x, y): (f32, f32)) {
        let normals = &self.reef.normals;
        for (storm, of) in self.storms.iter_mut().zip(&self.reef.deaths) {
            let hit = storm.as_mut().is_none_or(|storm| storm.hit(normals, x, y));
            places.hit[of.state] += u32::from(hit);
        }
    }

    /// Adds the cover expected in each state in a cell of the along-reef field, for a number of places in it.
    fn add_cover(
        &mut self,
        cell: (i32, i32),
        places: &Places,
        states: Range<usize>,
        offsets: &[f32; MOST_STATES],
        truths: &mut [f64],
    ) {
        if places.number == 0 {
            return;
        }
        let along = self.along_cell(cell.0, cell.1);
        let reef = self.reef;
        for s in states {
            let ln_intensity = offsets[s] + along[usize::from(s > 0)];
            let mut add = |number: u32, left: f64| {
                if number > 0 && left > 0.0 {
                    truths[s] += f64::from(number) * f64::from(reef.truth_at(ln_intensity + libm::log(left) as f32));
                }
            };
            match reef.law.states[s].deaths {
                None => add(places.number, 1.0),
                Some(deaths) => {
                    add(places.hit[s], deaths.left[0]);
                    add(places.number - places.hit[s], deaths.left[1]);
                }
            }
        }
    }
}

/// Places of the truth's grid in one cell of the along-reef field.
#[derive(Default)]
struct Places {
    number: u32,
    /// How many of them were hit, in each state with deaths.
    hit: [u32; MOST_STATES],
}
