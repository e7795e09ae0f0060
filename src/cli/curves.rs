use super::answer;
use super::arguments::Shared;
use super::failure::Failure;
use super::files::{load_file, print, refuse_unwritable, say, write_whole};
use crate::report::{Report, files, json, terminal};
use crate::scenario::Loaded;
use clap::Args;
use std::fs;
use std::path::{Path, PathBuf};

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
        write_report(&report, folder)?;
    }
    if shared.json {
        if let Some(folder) = &folder {
            say(shared.quiet, &format!("report: {}", folder.display()));
        }
        return print(&(json(&report) + "\n"));
    }
    print(&terminal(&report, folder.as_deref().map(|folder| folder.display().to_string()).as_deref()))
}

fn write_report(report: &Report, folder: &Path) -> Result<(), Failure> {
    let last = figures_of(folder);
    let files = files(report).map_err(Failure::other)?;
    for (name, bytes) in &files {
        let path = folder.join(name);
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent)
            .map_err(|error| Failure::bad_input(format!("{} cannot be made: {error}", parent.display())))?;
        write_whole(&path, bytes)?;
    }
    // Figures of the last report in this folder that the new one does not have would be taken for its own.
    for old in last.iter().filter(|old| !files.iter().any(|(name, _)| name == *old)) {
        let _ = fs::remove_file(folder.join(old));
    }
    Ok(())
}

/// The figures of the report that lies in a folder, as it lists them.
fn figures_of(folder: &Path) -> Vec<String> {
    let read = || -> Option<Vec<String>> {
        let report: serde_json::Value = serde_json::from_slice(&fs::read(folder.join("report.json")).ok()?).ok()?;
        let names = report["figures"].as_array()?.iter().filter_map(|name| name.as_str());
        let plain = |name: &&str| name.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '-');
        Some(names.filter(plain).flat_map(|name| ["png", "svg"].map(|end| format!("figures/{name}.{end}"))).collect())
    };
    read().unwrap_or_default()
}
