use crate::design::{Places, Question, Scope, Sites, Visits, Zone};

/// Whether the lines are the replicates of some plan: one reef by itself, or a fixed list of which all sites are
/// surveyed (its sites are strata then).
pub fn lines_are_replicates_somewhere(scope: Scope, zones: &[Zone]) -> bool {
    let whole = |zone: &Zone| zone.existing.is_some_and(|all| zone.sites.contains(&all));
    scope == Scope::EachReef || (scope == Scope::TheseReefs && zones.iter().any(whole))
}

/// The same for every plan.
pub fn lines_are_replicates_always(scope: Scope, zones: &[Zone]) -> bool {
    let whole = |zone: &Zone| zone.existing.is_some_and(|all| zone.sites.iter().all(|sites| *sites == all));
    scope == Scope::EachReef || (scope == Scope::TheseReefs && zones.iter().all(whole))
}

/// Whether the replicates of the first visit are met again at the second. Where lines are the replicates, only those
/// at the same marks are.
pub fn replicates_are_paired(scope: Scope, question: Question, visits: &Visits, zones: &[Zone]) -> bool {
    question.visits() == 2
        && visits.sites == Sites::Same
        && (visits.places == Places::SameMarks || !lines_are_replicates_always(scope, zones))
}
