//! From the tables of a file to a `Study`: fills in defaults, turns percent into shares, keeps the account of origins.
//! What a single table gets wrong is reported here; what tables get wrong together, in `check`.

mod animals;
mod changes;
mod deaths;
mod methods;
mod observers;
mod placement;
mod recruits;
mod visits;
mod zones;

use super::file::ScenarioFile;
use super::ledger::Ledger;
use super::problems::Problems;
use crate::design::{Question, Scope, Study};

/// The parts that every table needs to know of the others.
#[derive(Clone, Copy)]
struct Frame {
    scope: Scope,
    question: Question,
}

/// The study a file means. Where something is wrong it is reported and replaced by a harmless value.
pub fn study(file: &ScenarioFile, problems: &mut Problems, ledger: &mut Ledger) -> Study {
    let question = match (&file.question, file.change.is_empty()) {
        (Some(word), _) => word.0,
        (None, false) => Question::BetweenTheseVisits,
        (None, true) => Question::Status,
    };
    let scope = file.statement_about.0;
    let frame = Frame { scope, question };
    let zones = zones::build(file, frame, problems, ledger);
    let visits = visits::build(file, frame, problems, ledger);
    let observers = observers::build(file, &zones, problems, ledger);
    let methods = methods::build(file, &zones, frame, problems, ledger);
    let changes = changes::build(file, &methods, &zones, problems, ledger);
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

/// Percent or points to a share.
fn share(percent: f64) -> f64 {
    percent / 100.0
}
