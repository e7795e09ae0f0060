use super::arguments::Shared;
use super::failure::Failure;
use clap::Args;
use std::path::PathBuf;

/// Draw the virtual site from above, with the lines on it
#[derive(Debug, Args)]
pub struct View {
    /// The scenario, TOML or (ending in .json) JSON
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

pub fn run(_arguments: &View, _shared: &Shared) -> Result<(), Failure> {
    Err(Failure::other("view: not yet wired"))
}
