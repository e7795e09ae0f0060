use super::answer;
use super::arguments::Shared;
use super::failure::Failure;
use super::files::{load_file, print, refuse_unwritable, say};
use super::folder::write_folder;
use crate::report::{files, json, terminal};
use crate::scenario::Loaded;
use clap::Args;
use std::path::PathBuf;

/// How many lines (units) does it take? Prints the answer and writes the report
#[derive(Debug, Args)]
pub struct Curves {
    /// The scenario, TOML or (ending in .json) JSON
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

/// Where the report goes when no folder is named.
const FOLDER: &str = "reefwright-report";

pub fn run(arguments: &Curves, shared: &Shared) -> Result<(), Failure> {
    let loaded = load_file(&arguments.file)?;
    answer_and_write(&loaded, shared)
}

/// Answers a scenario: one screen (or one JSON object) on standard output, the report in its folder. With `--json` the
/// folder is written only when it is named.
pub fn answer_and_write(loaded: &Loaded, shared: &Shared) -> Result<(), Failure> {
    let folder = match (&shared.out, shared.json) {
        (Some(folder), _) => Some(folder.clone()),
        (None, true) => None,
        (None, false) => Some(PathBuf::from(FOLDER)),
    };
    if let Some(folder) = &folder {
        refuse_unwritable(folder)?;
    }
    let report = answer::report(loaded, shared)?;
    if let Some(folder) = &folder {
        write_folder(folder, &files(&report).map_err(Failure::other)?, "report.json")?;
    }
    if shared.json {
        if let Some(folder) = &folder {
            say(shared.quiet, &format!("report: {}", folder.display()));
        }
        return print(&(json(&report) + "\n"));
    }
    print(&terminal(&report, folder.as_deref().map(|folder| folder.display().to_string()).as_deref()))
}
