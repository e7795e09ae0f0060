use super::arguments::Shared;
use super::ask::ask;
use super::failure::Failure;
use super::files::{refuse_existing, say, write_new, write_whole};
use crate::scenario::{STARTER, starter_with_all, write};
use clap::Args;
use std::io;
use std::path::PathBuf;

/// Write a scenario to start from, with every key explained
#[derive(Debug, Args)]
pub struct New {
    /// Where to write it
    pub file: PathBuf,
    /// Ask nine questions in field words and write the scenario they make
    #[arg(long)]
    pub ask: bool,
    /// Show every method there is, with all its keys
    #[arg(long, conflicts_with = "ask")]
    pub all: bool,
    /// Replace a file that is already there
    #[arg(long)]
    pub force: bool,
}

/// `new`: the starter scenario, or one made from answers, in a file.
pub fn run(arguments: &New, shared: &Shared) -> Result<(), Failure> {
    let path = &arguments.file;
    if !arguments.force {
        // Nobody answers nine questions for a file that will be refused.
        refuse_existing(path)?;
    }
    let text = match (arguments.ask, arguments.all) {
        (true, _) => asked()?,
        (false, true) => starter_with_all(),
        (false, false) => STARTER.to_owned(),
    };
    if arguments.force {
        write_whole(path, text.as_bytes())?
    } else {
        write_new(path, text.as_bytes())?
    }
    let path = path.display();
    say(shared.quiet, &format!("{path} is written. Change its numbers to yours, then: reefwright check {path}"));
    Ok(())
}

/// The text of a scenario from questions on the terminal; they are talk, so they go to standard error.
fn asked() -> Result<String, Failure> {
    let made = ask(io::stdin().lock(), io::stderr().lock())
        .map_err(|error| Failure::other(format!("the questions could not be asked: {error}")))?;
    Ok(write(&made.study, &made.beside))
}
