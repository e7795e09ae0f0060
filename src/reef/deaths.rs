use super::colonies::SizeSurvival;
use super::lattice::LatticeField;
use super::layers::Layer;
use super::remembered::Remembered;
use super::{CoralLaw, threshold_of};
use crate::random::{Key, Normals, Purpose};

/// How colonies die of an imposed fall that does not strike all alike: by their size, in patches, or both. Those that die
/// are taken from the colonies that the second visit would have seen had nothing been imposed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deaths {
    /// Share of the bottom that is hit; 1 where all of it is.
    pub hit: f64,
    /// Scale of the patches that are hit, m.
    pub patch_scale_m: f64,
    /// Survival where it was hit, and elsewhere.
    pub survival: [SizeSurvival; 2],
    /// What is left of the intensity over a point in the two: `E q(R) R^2 / E R^2`.
    pub left: [f64; 2],
}

impl Deaths {
    pub fn is_in_patches(&self) -> bool {
        self.hit < 1.0
    }
}

/// Cells in which a place counts as hit or not, for each patch scale: small enough for the closed forms, which know no
/// cells.
const CELLS_A_SCALE: f64 = 16.0;

/// The deaths of one state, ready for the walk.
pub(super) struct StateDeaths {
    pub(super) state: usize,
    pub(super) deaths: Deaths,
    /// For each layer: the chance of each of its radii where it was hit, and elsewhere.
    survival: Vec<Vec<[f32; 2]>>,
}

impl StateDeaths {
    pub(super) fn all(law: &CoralLaw, layers: &[Layer]) -> Vec<Self> {
        let states = law.states.iter().enumerate();
        let with = states.filter_map(|(state, of)| of.deaths.map(|deaths| (state, deaths)));
        let table = |deaths: &Deaths, layer: &Layer| {
            let chances = |&radius: &f32| deaths.survival.map(|by_size| by_size.of(f64::from(radius)) as f32);
            layer.radius.iter().map(chances).collect()
        };
        with.map(|(state, deaths)| Self {
            state,
            deaths,
            survival: layers.iter().map(|layer| table(&deaths, layer)).collect(),
        })
        .collect()
    }

    /// The chance that a colony of a layer survives, by the entry of its radius.
    #[inline]
    pub(super) fn chance(&self, layer: usize, radius: usize, hit: bool) -> f32 {
        self.survival[layer][radius][usize::from(!hit)]
    }
}

/// Where one site was hit, in one state.
pub(super) struct StormSite {
    field: LatticeField,
    threshold: f64,
    cell: f64,
    cells: Remembered<bool>,
}

impl StormSite {
    /// `None` where all of the bottom is hit.
    pub(super) fn new(key: Key, deaths: &Deaths) -> Option<Self> {
        deaths.is_in_patches().then(|| Self {
            field: LatticeField::new(key.child(Purpose::Storm, 0), deaths.patch_scale_m),
            threshold: threshold_of(deaths.hit),
            cell: deaths.patch_scale_m / CELLS_A_SCALE,
            cells: Remembered::none(),
        })
    }

    /// Whether a place (frame coordinates, m) was hit.
    pub(super) fn hit(&mut self, normals: &Normals, x: f32, y: f32) -> bool {
        let place = |v: f32| (f64::from(v) / self.cell).floor() as i32;
        let (column, row) = (place(x), place(y));
        let (field, threshold, cell) = (&self.field, self.threshold, self.cell);
        self.cells.get(column, row, || {
            field.at(normals, (f64::from(column) + 0.5) * cell, (f64::from(row) + 0.5) * cell) > threshold
        })
    }
}
