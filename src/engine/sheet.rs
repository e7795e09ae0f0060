use super::layout::Layout;
use crate::analysis::sizes::SizeCounts;

/// What the divers bring home from one site: the value of every unit in every column of the layout, in every state.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    states: usize,
    units: usize,
    values: Vec<f64>,
    /// For each reading and state: the true value of the site.
    truths: Vec<f64>,
    /// For each column of size structure, state and unit.
    sizes: Vec<SizeCounts>,
}

impl Sheet {
    pub fn new(layout: &Layout, states: usize) -> Self {
        let (columns, readings, units) = (layout.columns.len(), layout.readings.len(), layout.most_units);
        Self {
            states,
            units,
            values: vec![f64::NAN; columns * states * units],
            truths: vec![f64::NAN; readings * states],
            sizes: layout
                .sized
                .iter()
                .flat_map(|sized| vec![SizeCounts::none(sized.classes.count()); states * units])
                .collect(),
        }
    }

    #[inline]
    pub fn set(&mut self, column: usize, state: usize, unit: usize, value: f64) {
        self.values[(column * self.states + state) * self.units + unit] = value;
    }

    /// The values of a column in a state, unit by unit.
    #[inline]
    pub fn units(&self, column: usize, state: usize) -> &[f64] {
        let from = (column * self.states + state) * self.units;
        &self.values[from..from + self.units]
    }

    /// Colonies in each class of sizes that a unit has, by the place of its column among those of size structure.
    pub fn sizes(&self, sized: usize, state: usize, unit: usize) -> &SizeCounts {
        &self.sizes[(sized * self.states + state) * self.units + unit]
    }

    pub fn sizes_mut(&mut self, sized: usize, state: usize, unit: usize) -> &mut SizeCounts {
        &mut self.sizes[(sized * self.states + state) * self.units + unit]
    }

    pub fn set_truth(&mut self, reading: usize, state: usize, value: f64) {
        self.truths[reading * self.states + state] = value;
    }

    #[inline]
    pub fn truth(&self, reading: usize, state: usize) -> f64 {
        self.truths[reading * self.states + state]
    }

    pub fn states(&self) -> usize {
        self.states
    }
}
