use super::layout::Layout;

/// What the divers bring home from one site: the value of every unit in every column of the layout, in every state.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    states: usize,
    units: usize,
    values: Vec<f64>,
    /// For each reading and state: the true value of the site.
    truths: Vec<f64>,
}

impl Sheet {
    pub fn new(layout: &Layout, states: usize) -> Self {
        let (columns, readings, units) = (layout.columns.len(), layout.readings.len(), layout.most_units);
        Self {
            states,
            units,
            values: vec![f64::NAN; columns * states * units],
            truths: vec![f64::NAN; readings * states],
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
