use super::arguments::Shared;
use super::failure::Failure;
use super::files::{load_file, print};
use crate::scenario::{Assumption, Loaded, Origin, wrapped};
use clap::Args;
use std::fmt::Write;
use std::path::PathBuf;

/// Is a scenario right, and which of its numbers are only assumed?
#[derive(Debug, Args)]
pub struct Check {
    /// The scenario, TOML or (ending in .json) JSON
    pub file: PathBuf,
}

/// `check`: valid or not, and the numbers by origin, worst first.
pub fn run(arguments: &Check, shared: &Shared) -> Result<(), Failure> {
    let loaded = load_file(&arguments.file)?;
    if shared.json {
        let object = serde_json::json!({ "valid": true, "scenario": loaded.study, "assumptions": loaded.assumptions });
        return print(&format!("{object:#}\n"));
    }
    print(&told(&loaded))
}

/// For the terminal, 80 columns where the words allow.
fn told(loaded: &Loaded) -> String {
    let mut out = format!("{} is valid: {}\n", loaded.name, loaded.study.title);
    for (rank, title) in TITLES.iter().enumerate() {
        let mut group = loaded.assumptions.iter().filter(|assumption| usize::from(assumption.origin.rank()) == rank);
        let Some(first) = group.next() else { continue };
        let _ = writeln!(out, "\n{title}");
        for assumption in std::iter::once(first).chain(group) {
            let _ = writeln!(out, "{}", line(assumption));
        }
    }
    out
}

/// In the order of `Origin::rank`.
const TITLES: [&str; 4] = ["Assumed (measure these first)", "In your own words", "Published", "From a pilot"];

fn line(assumption: &Assumption) -> String {
    let line = format!("  {:<50} {}", assumption.about, assumption.value);
    match &assumption.origin {
        Origin::MyWords(text) | Origin::Published(text) | Origin::Pilot(text) if !text.is_empty() => {
            format!("{line}\n      {}", wrapped(text, 74).replace('\n', "\n      "))
        }
        _ => line,
    }
}
