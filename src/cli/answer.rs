//! From a loaded scenario to a report: calibrates, simulates with progress and a way to stop, gathers.

use super::arguments::Shared;
use super::failure::Failure;
use crate::design::Study;
use crate::engine::{Plan, Until, Watch};
use crate::measures::gathered;
use crate::planner::{
    Effort, ReefPicture, UnitsDrawn, Warning, colony_sizes, methods_text, on_their_lines, picture, solve,
};
use crate::report::{Report, SCHEMA_VERSION};
use crate::scenario::{Assumption, Doubt, Loaded, Origin, bias_doubts, colony_doubts, law_error};
use crate::theory::{ReefTheory, ZoneError};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// Largest simulation error of a power where the user names none, and of the trials that confirm the number quoted.
const ERROR: f64 = 0.01;
const CONFIRM_ERROR: f64 = 0.005;
/// The step whose progress is counted in surveys.
const SIMULATING: &str = "simulating";
/// Units drawn on a picture of a site, all methods together.
const UNITS_ON_PICTURE: usize = 12;

/// A picture with the units of methods that share lines on these lines.
pub fn with_shared_lines(loaded: &Loaded, plan: &Plan, mut picture: ReefPicture) -> ReefPicture {
    loaded.expedition.iter().for_each(|expedition| on_their_lines(&mut picture, &plan.study, expedition));
    picture
}

/// Calibrates the reefs of a scenario.
pub fn plan(loaded: &Loaded) -> Result<Plan, Failure> {
    let study = loaded.study.clone();
    let theories: Vec<Result<ReefTheory, ZoneError>> =
        study.zones.par_iter().map(|zone| ReefTheory::new(&study, zone)).collect();
    let mut good = Vec::with_capacity(theories.len());
    for (zone, theory) in theories.into_iter().enumerate() {
        good.push(theory.map_err(|error| law_error(loaded, zone, &error))?);
    }
    Ok(Plan::new(study, good))
}

/// Sets the number of threads once for the whole program.
pub fn use_threads(shared: &Shared) {
    if let Some(threads) = shared.threads {
        // A second call cannot happen in one run; were it to, the first setting stays and results are the same anyway.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(usize::from(threads)).build_global();
    }
}

/// When a simulation has done enough.
pub(super) fn until(shared: &Shared) -> Until {
    match (shared.trials, shared.error) {
        (Some(trials), _) => Until::Trials(trials),
        (None, error) => Until::Error(error.unwrap_or(ERROR)),
    }
}

/// The whole answer of a scenario.
pub fn report(loaded: &Loaded, shared: &Shared) -> Result<Report, Failure> {
    use_threads(shared);
    let plan = plan(loaded)?;
    let until = until(shared);
    // With a fixed number of trials the user wants just those.
    let confirm_error = match until {
        Until::Trials(_) => None,
        Until::Error(error) => Some((0.5 * error).max(CONFIRM_ERROR).min(error)),
    };
    let with_range = range_matters(loaded);
    let effort = Effort { seed: shared.seed, until, confirm_error, with_range };
    let mut answer = watched(shared, |watch| solve(&plan, &effort, watch));
    if answer.interrupted && answer.rows.is_empty() {
        return Err(Failure::other("interrupted before any survey was simulated; nothing was written"));
    }
    // What the scenario hardly means comes first: all the rest follows from it.
    let doubts =
        doubts(loaded, Some(&plan)).into_iter().map(|doubt| Warning { what: doubt.what(), remedy: doubt.remedy });
    answer.warnings.splice(0..0, doubts);
    let trials = answer.rows.first().map_or(0, |row| row.trials);
    let version = env!("CARGO_PKG_VERSION").to_owned();
    let mut methods_text = methods_text(&plan, &answer, trials, shared.seed, &version);
    methods_text.extend(sources_text(&loaded.assumptions));
    let pictures = (0..plan.study.zones.len())
        .map(|zone| picture(&plan, zone, shared.seed, UnitsDrawn::InAll(UNITS_ON_PICTURE)))
        .map(|picture| with_shared_lines(loaded, &plan, picture))
        .collect();
    let sizes = (0..plan.study.zones.len()).filter_map(|zone| colony_sizes(&plan, zone)).collect();
    Ok(Report {
        title: plan.study.title.clone(),
        version,
        schema_version: SCHEMA_VERSION,
        seed: shared.seed,
        scenario_text: loaded.text.clone(),
        scenario: scenario_value(&plan.study)?,
        seen: plan.study.test.seen,
        alpha: plan.study.test.alpha,
        answer,
        assumptions: loaded.assumptions.clone(),
        methods_text,
        pictures,
        sizes,
    })
}

/// All that a scenario hardly means, with what comes of it; of colonies on belts only with a plan.
pub(super) fn doubts(loaded: &Loaded, plan: Option<&Plan>) -> Vec<Doubt> {
    let of_colonies = plan.map_or(Vec::new(), |plan| colony_doubts(loaded, plan));
    let mut all = [loaded.doubts.clone(), bias_doubts(loaded), of_colonies].concat();
    all.sort_by_key(|doubt| doubt.line);
    all
}

/// Where the numbers of the scenario come from: each source once, with what it told. `None` where all is assumed.
fn sources_text(assumptions: &[Assumption]) -> Option<String> {
    let source = |assumption: &Assumption| match &assumption.origin {
        Origin::MyWords(words) => Some(format!("in our own words, {words}")),
        Origin::Published(source) => Some(source.clone()),
        Origin::Pilot(source) => Some(format!("pilot data, {source}")),
        Origin::Assumed => None,
    };
    let sources = gathered(assumptions.iter().filter_map(|of| Some((source(of)?, of.about.as_str()))));
    let told = sources.iter().map(|(source, told)| format!("{} ({source})", told.join(", ").replace('_', " ")));
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Sources: {}. All other numbers of the scenario are assumed.", told.join("; ")))
}

fn scenario_value(study: &Study) -> Result<serde_json::Value, Failure> {
    serde_json::to_value(study)
        .map_err(|error| Failure::other(format!("the scenario cannot be written as JSON: {error}")))
}

/// The range over reefs leads the answer unless the reef's patchiness comes from pilot data.
fn range_matters(loaded: &Loaded) -> bool {
    let from_pilot = |key: &String, origin: &Origin| key.contains("reef") && matches!(origin, Origin::Pilot(_));
    !loaded.origins.iter().any(|(key, origin)| from_pilot(key, origin))
}

/// What the bar shows: how much of how many, once that is known.
fn template(target: u64) -> &'static str {
    if target == 0 { "{msg} ..." } else { "{msg} {wide_bar} {pos} of {len}{prefix}, {eta} left" }
}

/// Runs work with a progress bar on standard error (which hides itself where that is no terminal); Ctrl-C ends it with
/// what is finished.
pub(super) fn watched<T>(shared: &Shared, work: impl FnOnce(&Watch) -> T) -> T {
    watched_steps(shared, |watch, _| work(watch))
}

/// The same for work in steps, each with its words on the bar.
pub(super) fn watched_steps<T>(shared: &Shared, work: impl FnOnce(&Watch, &(dyn Fn(&str) + Sync)) -> T) -> T {
    let interrupted = Arc::new(AtomicBool::new(false));
    let seen_by_handler = Arc::clone(&interrupted);
    // Where the handler cannot be set (a second run in one process) Ctrl-C ends the program as usual.
    let _ = ctrlc::set_handler(move || seen_by_handler.store(true, Ordering::Relaxed));
    let bar = if shared.quiet { ProgressBar::hidden() } else { ProgressBar::new(0) };
    let style = |target: u64| {
        bar.set_style(ProgressStyle::with_template(template(target)).unwrap_or_else(|_| ProgressStyle::default_bar()));
    };
    style(0);
    let step = |words: &str| {
        bar.set_message(words.to_owned());
        bar.set_prefix(if words == SIMULATING { " surveys" } else { "" });
        bar.tick();
    };
    step(SIMULATING);
    let last = Mutex::new((0u64, 0u64));
    let progress = |done: u64, target: u64| {
        // A new target means a new run of trials: the confirmation.
        if let Ok(mut before) = last.lock()
            && (before.1 != target || done < before.0)
        {
            *before = (done, target);
            bar.reset();
            style(target);
            bar.set_length(target);
        }
        bar.set_position(done);
    };
    let result = work(&Watch { progress: &progress, interrupted: &interrupted }, &step);
    bar.finish_and_clear();
    result
}

#[cfg(test)]
mod tests {
    use super::template;

    /// "0 of 0" is nothing done, and no full bar.
    #[test]
    fn no_bar_is_shown_before_there_is_a_number() {
        assert!(!template(0).contains("bar") && !template(0).contains("{pos}"));
        assert!(template(1).contains("{wide_bar} {pos} of {len}"));
    }
}
