/// What the divers bring home from one site: the value of every reading, in every state, of every unit.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    states: usize,
    units: usize,
    values: Vec<f64>,
    /// For each reading and state: the true value of the site.
    truths: Vec<f64>,
}

impl Sheet {
    pub fn new(readings: usize, states: usize, units: usize) -> Self {
        Self {
            states,
            units,
            values: vec![f64::NAN; readings * states * units],
            truths: vec![f64::NAN; readings * states],
        }
    }

    #[inline]
    pub fn set(&mut self, reading: usize, state: usize, unit: usize, value: f64) {
        self.values[(reading * self.states + state) * self.units + unit] = value;
    }

    /// The values of a reading in a state, unit by unit.
    #[inline]
    pub fn units(&self, reading: usize, state: usize) -> &[f64] {
        let from = (reading * self.states + state) * self.units;
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
