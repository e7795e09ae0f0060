//! What tables get wrong together: each check reports at the key to change, with what is allowed and what to write.

mod changes;
mod colony_variation;
mod condition;
mod expedition;
mod fish;
mod fish_doubts;
mod lines;
mod maps;
mod placement;
mod recruits;
mod remarks;
mod same_places;
mod size;
mod sources;
mod test;
mod told;
mod zones;

use super::file::ScenarioFile;
use super::problems::Problems;
use crate::design::{Expedition, Study};

/// Everything that is wrong with a study whose tables are right one by one.
pub fn all(file: &ScenarioFile, study: &Study, expedition: Option<&Expedition>, problems: &mut Problems) {
    zones::check(study, problems);
    same_places::check(file, study, problems);
    maps::check(study, file, problems);
    recruits::check(study, problems);
    fish::check(study, problems);
    fish::check_visits(file, study, problems);
    fish_doubts::check(study, problems);
    lines::check(study, file, problems);
    placement::check(study, problems);
    changes::check(study, problems);
    size::check(study, problems);
    test::check(study, problems);
    sources::check(file, problems);
    if let Some(expedition) = expedition {
        expedition::check(file, study, expedition, problems);
    }
}

/// What is right but not as it may seem.
pub fn remarks(file: &ScenarioFile, study: &Study, expedition: Option<&Expedition>) -> Vec<String> {
    let of_study = remarks::remarks(study).into_iter();
    of_study.chain(expedition::remarks(file, study, expedition)).collect()
}
