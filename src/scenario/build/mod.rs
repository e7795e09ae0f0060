//! From the tables of a file to a `Study`: fills in defaults, turns percent into shares, keeps the account of origins.
//! What a single table gets wrong is reported here; what tables get wrong together, in `check`.

mod animals;
mod changes;
mod colony_variation;
mod condition;
mod deaths;
mod expedition;
mod fish;
mod fish_lists;
mod fish_methods;
mod list;
mod map;
mod methods;
mod observers;
mod partial_mortality;
mod placement;
mod recruits;
mod visits;
mod zones;

pub use expedition::{PAIRS_AS_LISTED, build as expedition, changes_of};

use super::file::{ScenarioFile, ZoneTable};
use super::ledger::Ledger;
use super::load::ReadFile;
use super::problems::Problems;
use crate::design::{Question, Scope, Study};

/// The parts that every table needs to know of the others.
#[derive(Clone, Copy)]
struct Frame<'a> {
    scope: Scope,
    question: Question,
    files: &'a ReadFile<'a>,
}

/// The study a file means. Where something is wrong it is reported and replaced by a harmless value.
pub fn study(file: &ScenarioFile, files: &ReadFile, problems: &mut Problems, ledger: &mut Ledger) -> Study {
    let question = match (&file.question, file.change.is_empty()) {
        (Some(word), _) => word.0,
        (None, false) => Question::BetweenTheseVisits,
        (None, true) if file.zone.iter().any(is_mapped_twice) => Question::BetweenTheseVisits,
        (None, true) => Question::Status,
    };
    let scope = file.statement_about.0;
    let frame = Frame { scope, question, files };
    let zones = zones::build(file, frame, problems, ledger);
    let visits = visits::build(file, frame, problems, ledger);
    let observers = observers::build(file, &zones, problems, ledger);
    let methods = methods::build(file, &zones, frame, problems, ledger);
    partial_mortality::note(file, &methods, &zones, ledger);
    condition::note(file, &methods, &zones, ledger);
    colony_variation::note(file, &methods, &zones, ledger);
    let written = changes::build(file, &methods, &zones, problems, ledger);
    let between_maps = || changes::between_maps(&zones, &methods, &file.also_report);
    let changes = if question.tests() { between_maps().unwrap_or(written) } else { written };
    let test = changes::test(file, frame, &visits, &zones, &changes, (problems, ledger));
    Study {
        title: file.title.clone().unwrap_or_else(|| "Reef survey".to_owned()),
        scope,
        question,
        test,
        visits,
        observers,
        zones,
        changes,
        methods,
        placement: placement::build(file, problems, ledger),
        also_report: file.also_report.clone(),
    }
}

/// Whether a zone has a map of each visit.
fn is_mapped_twice(zone: &ZoneTable) -> bool {
    zone.map.as_ref().is_some_and(|map| map.file_after.is_some())
}

/// Whether every zone is a mapped reef, on which nothing happens between the visits but the changes.
fn all_are_mapped(file: &ScenarioFile) -> bool {
    file.zone.iter().all(|zone| zone.map.is_some())
}

/// Percent or points to a share.
fn share(percent: f64) -> f64 {
    percent / 100.0
}
