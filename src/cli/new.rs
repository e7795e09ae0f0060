use super::arguments::Shared;
use super::failure::Failure;
use super::files::{say, write_new, write_whole};
use crate::scenario::STARTER;
use clap::Args;
use std::path::PathBuf;

/// Write a scenario to start from, with every key explained
#[derive(Debug, Args)]
pub struct New {
    /// Where to write it
    pub file: PathBuf,
    /// Replace a file that is already there
    #[arg(long)]
    pub force: bool,
}

/// `new`: the starter scenario in a file.
pub fn run(arguments: &New, shared: &Shared) -> Result<(), Failure> {
    let path = &arguments.file;
    if arguments.force {
        write_whole(path, STARTER.as_bytes())?
    } else {
        write_new(path, STARTER.as_bytes())?
    }
    let path = path.display();
    say(shared.quiet, &format!("{path} is written. Change its numbers to yours, then: reefwright check {path}"));
    Ok(())
}
