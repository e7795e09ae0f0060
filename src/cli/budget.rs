use super::answer;
use super::arguments::Shared;
use super::failure::Failure;
use super::files::{load_file, print, refuse_unwritable};
use super::folder::write_folder;
use super::replan::{self, Done};
use crate::planner::expedition::{Confirming, NothingFits, plan_expedition};
use crate::report::{BudgetReport, budget_files};
use crate::scenario::{Loaded, ScenarioError};
use clap::Args;
use std::path::{Path, PathBuf};

/// What does an expedition buy? The least dives that meet the targets, and the best use of its days
#[derive(Debug, Args)]
pub struct Budget {
    /// A scenario with [expedition], [[diver]] and [[target]], TOML or (ending in .json) JSON
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    #[command(flatten)]
    pub done: Done,
}

pub fn run(arguments: &Budget, shared: &Shared) -> Result<(), Failure> {
    let loaded = load_file(&arguments.file)?;
    let Some(expedition) = &loaded.expedition else {
        let error = loaded.error_at_path(
            "expedition",
            "there is no expedition in this scenario",
            "needs [expedition]",
            "Add [expedition] with its days, [[diver]], [zone.dive] in each zone and [[target]]: see what `new` writes.",
        );
        return Err(Failure::from(error));
    };
    if let Some(folder) = &shared.out {
        refuse_unwritable(folder)?;
        let written = if arguments.done.sheets.is_empty() { SITES } else { replan::REST_SITES };
        keep_the_list(&loaded, &arguments.file, &folder.join(written))?;
    }
    answer::use_threads(shared);
    let plan = answer::plan(&loaded)?;
    if !arguments.done.sheets.is_empty() {
        return replan::run(&loaded, expedition, &plan, &arguments.done, shared);
    }
    let until = answer::until(shared);
    let found = answer::watched_steps(shared, |watch, step| {
        plan_expedition(&plan, expedition, &Confirming { seed: shared.seed, until, watch, step })
    });
    let mut found = found.map_err(|why| Failure::from(nothing(&loaded, &why)))?;
    found
        .warnings
        .extend(answer::doubts(&loaded, Some(&plan)).iter().map(|doubt| format!("{} {}", doubt.what(), doubt.remedy)));
    let report = BudgetReport::new(&loaded, expedition, found, shared.seed);
    let folder = shared.out.as_ref();
    if let Some(folder) = folder {
        let files = budget_files(&report).map_err(Failure::other)?;
        write_folder(folder, &files, "budget.json")?;
    }
    if shared.json {
        return print(&(report.json() + "\n"));
    }
    print(&report.terminal(folder.map(|folder| folder.display().to_string()).as_deref()))
}

/// The drawn sites, in the folder that is written.
const SITES: &str = "sites.csv";

/// Refuses to write the drawn sites over the list they are drawn from.
fn keep_the_list(loaded: &Loaded, scenario: &Path, written: &Path) -> Result<(), Failure> {
    let Some(list) = loaded.expedition.as_ref().and_then(|expedition| expedition.sites.as_ref()) else { return Ok(()) };
    let beside = scenario.parent().unwrap_or(Path::new("")).join(&list.file);
    let same = |one: &Path, other: &Path| {
        one.canonicalize().is_ok_and(|one| other.canonicalize().is_ok_and(|other| one == other))
    };
    if same(&beside, written) {
        let message = format!(
            "{} is the list of candidate sites, and the drawn sites would be written over it; choose another --out",
            beside.display()
        );
        return Err(Failure::bad_input(message));
    }
    Ok(())
}

/// A target on what is not read, at its own key.
fn not_read(loaded: &Loaded) -> ScenarioError {
    let study = &loaded.study;
    let is_read = |name: &str| {
        study.also_report.iter().any(|read| read == name) || study.changes.iter().any(|change| change.indicator == name)
    };
    let targets = loaded.expedition.iter().flat_map(|expedition| &expedition.targets);
    let missing = targets.enumerate().find(|(_, target)| !is_read(&target.indicator));
    let (path, name) = match missing {
        Some((index, target)) => (format!("target[{index}].indicator"), target.indicator.as_str()),
        None => ("target".into(), "the indicator of a target"),
    };
    loaded.error_at_path(
        &path,
        format!("{name} is not read"),
        "nothing reads it",
        format!("Write it into also_report = [\"{name}\"], add a method that reads it, or take the target out."),
    )
}

/// Why nothing can be planned, at the key to change.
pub(super) fn nothing(loaded: &Loaded, why: &NothingFits) -> ScenarioError {
    match why {
        NothingFits::NoPair { zone } => loaded.error_at(
            *zone,
            "dive.depth_m",
            format!("{}: no pair may dive so deep", loaded.study.zones[*zone].name),
            "deeper than both divers of any pair are authorised to",
            "Take the zone out, or take divers along who are authorised to this depth.",
        ),
        NothingFits::NoDive => loaded.error_at_path(
            "expedition.day_minutes",
            "no dive fits into a day",
            "too short",
            "Raise day_minutes, or lower out_and_home_minutes.",
        ),
        NothingFits::NotRead => not_read(loaded),
    }
}
