//! What of an expedition cannot be together with the rest of a scenario.

mod crew;
mod dives;
mod money;
mod remarks;
mod targets;
mod work;

pub use remarks::remarks;

use crate::design::{Expedition, Scope, Sites, Study};
use crate::scenario::file::ScenarioFile;
use crate::scenario::problems::Problems;

pub fn check(file: &ScenarioFile, study: &Study, expedition: &Expedition, problems: &mut Problems) {
    if study.scope != Scope::AllSuchReefs {
        let message = "an expedition is shared out between sites, which must be the replicates";
        let remedy = "Write statement_about = \"all_such_reefs\", or take [expedition] out.";
        problems.add("statement_about", message, "must be all_such_reefs here", remedy);
    }
    let is_again = study.question.visits() == 2 && study.visits.sites == Sites::Same;
    if expedition.chooses_places && !is_again {
        let message = "places at the second visit shall be chosen, but no site is visited twice";
        let remedy = "Take choose_places out, or write sites = \"same\" in [visits] with a question of two visits.";
        problems.add("expedition.choose_places", message, "needs two visits to the same sites", remedy);
    }
    crew::check(file, study, expedition, problems);
    dives::check(file, study, expedition, problems);
    targets::check(file, study, expedition, problems);
    work::check(file, expedition, problems);
    money::check(file, study, expedition, problems);
}
