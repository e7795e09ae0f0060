//! The same study with the other choice of places at the second visit.

use crate::design::{Places, Question, Study};
use crate::engine::Plan;
use crate::theory::{ReefTheory, ZoneTheory};
use rayon::prelude::*;

/// New places instead of the same marks, or the marks instead of new places; `None` where there is no second visit to the same
/// sites, or where no reef is like that. Cost: the law of each zone.
pub fn with_other_places(plan: &Plan) -> Option<Plan> {
    if plan.study.question.visits() != 2 || !plan.same_sites || plan.study.question == Question::BetweenGroups {
        return None;
    }
    let mut study = plan.study.clone();
    study.visits.places = match study.visits.places {
        Places::SameMarks => Places::NewPlaces,
        Places::NewPlaces => Places::SameMarks,
    };
    let theories = theories_of(plan, &study)?;
    Some(Plan::new(study, theories))
}

/// The laws of a study whose zones have the sizes of colonies and the fields of those of a plan; `None`: no reef is like that.
pub fn theories_of(plan: &Plan, study: &Study) -> Option<Vec<ReefTheory>> {
    let zones = study.zones.par_iter().zip(&plan.theories);
    zones
        .map(|(zone, theory)| match theory.law() {
            Some(theory) => Some(ZoneTheory::with_shape(study, zone, theory.shape.clone()).ok()?.into()),
            None => ReefTheory::new(study, zone).ok(),
        })
        .collect()
}

/// "the same marks", "new places"
pub fn words(places: Places) -> &'static str {
    match places {
        Places::SameMarks => "the same marks",
        Places::NewPlaces => "new places",
    }
}
