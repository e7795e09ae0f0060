//! Trials in blocks, in parallel, added up in order: the bytes do not depend on threads.

use super::plan::Plan;
use super::tally::Tally;
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

/// What a run gave: for each design of the plan and each state a tally.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    pub trials: u64,
    pub tallies: Vec<Tally>,
    pub states: usize,
    pub interrupted: bool,
}

impl Outcome {
    pub fn tally(&self, design: usize, state: usize) -> &Tally {
        &self.tallies[design * self.states + state]
    }
}

/// Runs trials of a plan. `set` keeps independent sets of trials of one seed apart (0 for the main run).
pub fn run(plan: &Plan, seed: u64, set: u64, until: Until, watch: &Watch) -> Outcome {
    let root = Key::seed(seed).child(Purpose::Confirmation, set);
    let mut tallies = vec![Tally::default(); plan.designs * plan.states];
    let (mut done, mut interrupted) = (0, false);
    let target = match until {
        Until::Trials(trials) => trials.clamp(1, MOST_TRIALS),
        Until::Error(error) => (0.25 / (error * error)).ceil().clamp(1.0, MOST_TRIALS as f64) as u64,
    };
    while done < target {
        let round = ROUND.min(target - done);
        let blocks: Vec<u64> = (done..done + round).step_by(BLOCK as usize).collect();
        let end = done + round;
        let of_blocks: Vec<Option<Vec<Tally>>> = blocks
            .into_par_iter()
            .map_init(
                || TrialMemory::new(plan),
                |memory, from| {
                    if watch.interrupted.load(Ordering::Relaxed) {
                        return None;
                    }
                    let mut tallies = vec![Tally::default(); plan.designs * plan.states];
                    for trial in from..(from + BLOCK).min(end) {
                        run_trial(plan, root.child(Purpose::Trial, trial), memory, &mut tallies);
                    }
                    Some(tallies)
                },
            )
            .collect();
        // The finished blocks up to the first that was skipped: the same trials as in a run of just so many.
        for block in of_blocks.iter().map_while(Option::as_ref) {
            for (sum, tally) in tallies.iter_mut().zip(block) {
                sum.add(tally);
            }
            done = (done + BLOCK).min(end);
        }
        (watch.progress)(done, target);
        if let Until::Error(error) = until
            && largest_error(&tallies, plan.states) <= error
        {
            break;
        }
        if watch.interrupted.load(Ordering::Relaxed) {
            interrupted = done < target;
            break;
        }
    }
    Outcome { trials: done, tallies, states: plan.states, interrupted }
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
