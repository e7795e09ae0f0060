use super::answer::{plan, use_threads, with_shared_lines};
use super::arguments::Shared;
use super::failure::Failure;
use super::files::{load_file, print, say, write_whole};
use crate::planner::{UnitsDrawn, picture, second_picture};
use crate::report::{figures, png};
use clap::Args;
use std::fs;
use std::path::PathBuf;

/// Draw the virtual site from above, with lines, belts, frames and animals on it; of two visits both
#[derive(Debug, Args)]
pub struct View {
    /// The scenario, TOML or (ending in .json) JSON
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Units (lines, belts) of each method to lay on the picture; about six in all, at least two of each, when left out
    #[arg(long, value_name = "NUMBER")]
    pub units: Option<usize>,
}

/// Units drawn when none are asked for, all methods together.
const UNITS: usize = 6;

/// Where the pictures go when no folder is named.
const FOLDER: &str = "reefwright-view";

/// Writes SVG and PNG of one site of each zone at each visit and prints their paths.
pub fn run(arguments: &View, shared: &Shared) -> Result<(), Failure> {
    let loaded = load_file(&arguments.file)?;
    use_threads(shared);
    let plan = plan(&loaded)?;
    let units = arguments.units.map_or(UnitsDrawn::InAll(UNITS), UnitsDrawn::OfEach);
    let on_lines = |picture| with_shared_lines(&loaded, &plan, picture);
    let zones = 0..plan.study.zones.len();
    let pictures: Vec<_> = zones.map(|zone| on_lines(picture(&plan, zone, shared.seed, units))).collect();
    let again = |(zone, first)| second_picture(&plan, zone, shared.seed, units, first).map(on_lines);
    let again: Vec<_> = pictures.iter().enumerate().filter_map(again).collect();
    let folder = shared.out.clone().unwrap_or_else(|| PathBuf::from(FOLDER));
    fs::create_dir_all(&folder)
        .map_err(|error| Failure::bad_input(format!("{} cannot be made: {error}", folder.display())))?;
    for picture in pictures.iter().filter(|picture| !picture.assumed.is_empty()) {
        say(shared.quiet, &picture.assumed);
    }
    let mut paths = String::new();
    for figure in figures::reefs(&pictures, true).into_iter().chain(figures::reefs(&again, true)) {
        let svg = folder.join(format!("{}.svg", figure.name));
        write_whole(&svg, figure.svg.as_bytes())?;
        let picture = folder.join(format!("{}.png", figure.name));
        write_whole(&picture, &png(&figure.svg).map_err(Failure::other)?)?;
        paths += &format!("{}\n{}\n", svg.display(), picture.display());
    }
    print(&paths)
}
