use super::arguments::Shared;
use super::curves::answer_and_write;
use super::failure::Failure;
use super::files::say;
use crate::scenario::{DEMO, DEMO_NAME, load_text};

/// Simulation error of the demo where none is asked for.
const DEMO_ERROR: f64 = 0.016;

/// No command: the built-in demo expedition (invented places, people and numbers).
pub fn run(shared: &Shared) -> Result<(), Failure> {
    say(
        shared.quiet,
        "The built-in demo, an invented expedition. For your own reefs: reefwright new FILE, then curves FILE.",
    );
    // Quicker than the usual 0.01, and still an honest error on every number.
    let mut shared = shared.clone();
    if shared.trials.is_none() && shared.error.is_none() {
        shared.error = Some(DEMO_ERROR);
    }
    let loaded = load_text(DEMO_NAME, DEMO)?;
    answer_and_write(&loaded, &shared)
}
