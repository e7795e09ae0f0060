//! What several tests say in the same trial: how often all of them reject, and how often any.

use super::plan::Plan;
use super::tally::Tally;
use crate::measures::Rate;

/// Designs, each in a state of its own, whose rejections are counted trial by trial. All of a trial are read on the same
/// reefs, so that what they share is in the count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Places of their tallies.
    cells: Vec<usize>,
}

impl Group {
    /// Of tests by the places of their designs (`Plan::index`) and their states, each of them once.
    pub fn new(plan: &Plan, tests: &[(usize, usize)]) -> Self {
        Self { cells: tests.iter().map(|&(design, state)| design * plan.states + state).collect() }
    }

    /// Rejections so far, of all its tests.
    pub(super) fn hits(&self, tallies: &[Tally]) -> u64 {
        self.cells.iter().map(|&cell| tallies[cell].hits).sum()
    }

    pub fn tests(&self) -> usize {
        self.cells.len()
    }
}

/// Trials by how many tests of a group rejected in them; integers, so that counts add up in any order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Together {
    /// Trials in which 0, 1 ... all tests rejected. A test that gave no answer did not reject.
    trials: Vec<u64>,
}

impl Together {
    pub fn none(group: &Group) -> Self {
        Self { trials: vec![0; group.tests() + 1] }
    }

    /// Counts one trial in which so many rejected.
    pub(super) fn count(&mut self, rejections: u64) {
        self.trials[rejections as usize] += 1;
    }

    pub(super) fn add(&mut self, other: &Together) {
        self.trials.iter_mut().zip(&other.trials).for_each(|(sum, trials)| *sum += trials);
    }

    fn rate(&self, hits: u64) -> Rate {
        Rate::new(hits, self.trials.iter().sum())
    }

    /// How often all tests rejected in the same trial.
    pub fn all(&self) -> Rate {
        self.rate(self.trials.last().copied().unwrap_or(0))
    }

    /// How often at least one did.
    pub fn any(&self) -> Rate {
        self.rate(self.trials[1..].iter().sum())
    }
}
