mod answer;
mod arguments;
mod ask;
mod budget;
mod check;
mod curves;
mod demo;
mod failure;
mod files;
mod folder;
mod new;
mod pilot;
mod pilot_colonies;
mod pilot_counts;
mod replan;
mod schema;
mod view;

use arguments::{Arguments, Command};
use clap::Parser;
use std::io::Write;
use std::process::ExitCode;

/// The whole program: reads the arguments, does the work, returns the exit code (0 done, 1 failed, 2 bad input).
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let shared = &arguments.shared;
    let result = match &arguments.command {
        None => demo::run(shared),
        Some(Command::New(new)) => new::run(new, shared),
        Some(Command::Check(check)) => check::run(check, shared),
        Some(Command::Curves(curves)) => curves::run(curves, shared),
        Some(Command::Budget(budget)) => budget::run(budget, shared),
        Some(Command::View(view)) => view::run(view, shared),
        Some(Command::Pilot(pilot)) => pilot::run(pilot, shared),
        Some(Command::Schema) => schema::run(),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Where standard error is closed nobody can be told; the exit code still tells.
            let _ = writeln!(std::io::stderr(), "{}", failure.message.trim_end());
            failure.exit_code()
        }
    }
}
