use super::arguments::Shared;
use super::failure::Failure;
use clap::Args;
use std::path::PathBuf;

/// How many lines (units) does it take?
#[derive(Debug, Args)]
pub struct Curves {
    /// The scenario, TOML or (ending in .json) JSON
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

pub fn run(_arguments: &Curves, _shared: &Shared) -> Result<(), Failure> {
    Err(Failure::other("curves: not yet wired"))
}
