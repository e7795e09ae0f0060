use super::arguments::Shared;
use super::curves::answer_and_write;
use super::failure::Failure;
use super::files::say;
use crate::scenario::{DEMO, DEMO_NAME, load_text};

/// No command: the built-in demo expedition (invented places, people and numbers).
pub fn run(shared: &Shared) -> Result<(), Failure> {
    say(
        shared.quiet,
        "The built-in demo, an invented expedition. For your own reefs: reefwright new FILE, then curves FILE.",
    );
    let loaded = load_text(DEMO_NAME, DEMO)?;
    answer_and_write(&loaded, shared)
}
