use super::arguments::Shared;
use super::failure::Failure;
use clap::Args;
use std::path::PathBuf;

/// Estimate the components of variation from pilot data and write them as a scenario
#[derive(Debug, Args)]
pub struct Pilot {
    /// Table of the pilot survey, one line a row (CSV)
    #[arg(value_name = "DATA")]
    pub file: PathBuf,
}

pub fn run(_arguments: &Pilot, _shared: &Shared) -> Result<(), Failure> {
    Err(Failure::other("pilot: not yet wired"))
}
