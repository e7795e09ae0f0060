//! Trials in blocks, in parallel, added up in order: the bytes do not depend on threads.

use super::plan::Plan;
use super::tally::Tally;
use super::together::Together;
use super::trial::{TrialMemory, run_trial};
use crate::measures::Rate;
use crate::random::{Key, Purpose};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// Trials of one block, added up in sequence by one thread.
const BLOCK: u64 = 8;
/// Trials between two looks at the errors; fixed, so that the end does not depend on the threads.
const ROUND: u64 = 256;
/// No run is longer than this.
const MOST_TRIALS: u64 = 1_000_000;

/// When to stop: after a number of trials, or when every rate's simulation error is small enough (a rule on the error
/// only, never on what the rate is).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Until {
    Trials(u64),
    Error(f64),
}

/// Progress and interruption, as the caller wants them.
pub struct Watch<'a> {
    /// Called after every round with trials done and trials expected.
    pub progress: &'a (dyn Fn(u64, u64) + Sync),
    /// Set from outside to end the run after the blocks at hand; what was finished counts.
    pub interrupted: &'a AtomicBool,
}

/// What a run gave: for each design of the plan and each state a tally, and for each group of tests how often they rejected
/// together.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    pub trials: u64,
    pub tallies: Vec<Tally>,
    pub states: usize,
    pub together: Vec<Together>,
    pub interrupted: bool,
}

impl Outcome {
    pub fn tally(&self, design: usize, state: usize) -> &Tally {
        &self.tallies[design * self.states + state]
    }
}

/// What some trials gave, on the way to an outcome.
struct Counts {
    tallies: Vec<Tally>,
    together: Vec<Together>,
}

impl Counts {
    fn none(plan: &Plan) -> Self {
        Self {
            tallies: vec![Tally::default(); plan.designs * plan.states],
            together: plan.groups.iter().map(Together::none).collect(),
        }
    }

    fn run_trial(&mut self, plan: &Plan, key: Key, memory: &mut TrialMemory) {
        let hits = |tallies: &[Tally]| plan.groups.iter().map(|group| group.hits(tallies)).collect::<Vec<_>>();
        let before = hits(&self.tallies);
        run_trial(plan, key, memory, &mut self.tallies);
        let after = hits(&self.tallies);
        for (together, (before, after)) in self.together.iter_mut().zip(before.into_iter().zip(after)) {
            together.count(after - before);
        }
    }

    fn add(&mut self, other: &Counts) {
        self.tallies.iter_mut().zip(&other.tallies).for_each(|(sum, tally)| sum.add(tally));
        self.together.iter_mut().zip(&other.together).for_each(|(sum, together)| sum.add(together));
    }
}

/// Runs trials of a plan. `set` keeps independent sets of trials of one seed apart (0 for the main run).
pub fn run(plan: &Plan, seed: u64, set: u64, until: Until, watch: &Watch) -> Outcome {
    let root = Key::seed(seed).child(Purpose::Confirmation, set);
    let mut counts = Counts::none(plan);
    let (mut done, mut interrupted) = (0, false);
    let target = match until {
        Until::Trials(trials) => trials.clamp(1, MOST_TRIALS),
        Until::Error(error) => (0.25 / (error * error)).ceil().clamp(1.0, MOST_TRIALS as f64) as u64,
    };
    while done < target {
        let round = ROUND.min(target - done);
        let blocks: Vec<u64> = (done..done + round).step_by(BLOCK as usize).collect();
        let end = done + round;
        let of_blocks: Vec<Option<Counts>> = blocks
            .into_par_iter()
            .map_init(
                || TrialMemory::new(plan),
                |memory, from| {
                    if watch.interrupted.load(Ordering::Relaxed) {
                        return None;
                    }
                    let mut counts = Counts::none(plan);
                    for trial in from..(from + BLOCK).min(end) {
                        counts.run_trial(plan, root.child(Purpose::Trial, trial), memory);
                    }
                    Some(counts)
                },
            )
            .collect();
        // The finished blocks up to the first that was skipped: the same trials as in a run of just so many.
        for block in of_blocks.iter().map_while(Option::as_ref) {
            counts.add(block);
            done = (done + BLOCK).min(end);
        }
        (watch.progress)(done, target);
        if let Until::Error(error) = until
            && largest_error(&counts.tallies, plan.states) <= error
        {
            break;
        }
        if watch.interrupted.load(Ordering::Relaxed) {
            interrupted = done < target;
            break;
        }
    }
    Outcome { trials: done, tallies: counts.tallies, states: plan.states, together: counts.together, interrupted }
}

/// The largest simulation error of a rejection rate (of the interval's truth, where nothing is tested).
fn largest_error(tallies: &[Tally], states: usize) -> f64 {
    tallies
        .iter()
        .enumerate()
        .filter(|(i, _)| states == 1 || i % states > 0)
        .map(|(_, tally)| if states == 1 { tally.interval_truth() } else { tally.rejection() })
        .map(|rate: Rate| if rate.trials == 0 { f64::INFINITY } else { rate.error() })
        .fold(0.0, f64::max)
}
