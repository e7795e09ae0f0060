use crate::reef::colonies::{Condition, DeadParts};

/// What is written of the colonies of a belt, column by column: the i-th of each column is of the i-th colony. A column that
/// was not asked for, or is not known, is empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Written {
    /// Names the colonies; the same at both visits.
    pub ids: Vec<u64>,
    /// Bit s: written in state s.
    pub states: Vec<u16>,
    /// Largest diameter by the ruler, m; and without what the site adds to it, of which areas are made.
    pub longest_m: Vec<f32>,
    pub laid_m: Vec<f32>,
    /// The diameter perpendicular to it, and height, by the ruler, m.
    pub across_m: Vec<f32>,
    pub height_m: Vec<f32>,
    pub dead: Vec<DeadParts>,
    /// How they look at the visit.
    pub condition: Vec<Condition>,
}

impl Written {
    /// How many colonies there are, in whatever state.
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    pub fn clear(&mut self) {
        let Self { ids, states, longest_m, laid_m, across_m, height_m, dead, condition } = self;
        ids.clear();
        states.clear();
        [longest_m, laid_m, across_m, height_m].into_iter().for_each(Vec::clear);
        dead.clear();
        condition.clear();
    }

    /// Which of them are written in a state, by their places in the columns.
    pub fn in_state(&self, state: usize) -> impl Iterator<Item = usize> {
        let is_in = move |(at, states): (usize, &u16)| (states >> state & 1 == 1).then_some(at);
        self.states.iter().enumerate().filter_map(is_in)
    }

    /// How many are written in a state.
    pub fn number(&self, state: usize) -> usize {
        self.states.iter().map(|states| usize::from(states >> state & 1)).sum()
    }

    /// Keeps those of which that is true, by their places in the columns.
    pub fn retain(&mut self, is_kept: impl Fn(usize) -> bool) {
        fn keep<T>(column: &mut Vec<T>, is_kept: &impl Fn(usize) -> bool) {
            let mut at = 0;
            column.retain(|_| {
                at += 1;
                is_kept(at - 1)
            });
        }
        let Self { ids, states, longest_m, laid_m, across_m, height_m, dead, condition } = self;
        keep(ids, &is_kept);
        keep(states, &is_kept);
        [longest_m, laid_m, across_m, height_m].into_iter().for_each(|column| keep(column, &is_kept));
        keep(dead, &is_kept);
        keep(condition, &is_kept);
    }
}
