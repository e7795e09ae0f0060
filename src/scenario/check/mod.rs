//! What tables get wrong together: each check reports at the key to change, with what is allowed and what to write.

mod changes;
mod lines;
mod size;
mod sources;
mod zones;

use super::file::ScenarioFile;
use super::problems::Problems;
use crate::design::{Scope, Study, Zone};

/// Everything that is wrong with a study whose tables are right one by one.
pub fn all(file: &ScenarioFile, study: &Study, problems: &mut Problems) {
    zones::check(study, problems);
    lines::check(study, file, problems);
    changes::check(study, problems);
    size::check(study, problems);
    sources::check(file, problems);
}

/// A fixed list of sites of which all are surveyed: its sites are strata, and the lines are the replicates.
pub fn some_list_is_surveyed_whole(scope: Scope, zones: &[Zone]) -> bool {
    scope == Scope::TheseReefs && zones.iter().any(|zone| zone.existing.is_some_and(|all| zone.sites.contains(&all)))
}

/// The same for every number of sites of every zone.
pub fn all_lists_are_surveyed_whole(scope: Scope, zones: &[Zone]) -> bool {
    scope == Scope::TheseReefs
        && zones.iter().all(|zone| zone.existing.is_some_and(|all| zone.sites.iter().all(|sites| *sites == all)))
}
