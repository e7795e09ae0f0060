//! Means over colonies on sites that differ by chance alone: what they seem to tell is an upper bound.

use crate::design::{Scope, SiteSpread, Zone};
use crate::engine::{Indicator, Plan};

/// What is told of sizes and of dead parts of colonies although no spread between sites is known; and the remedy.
pub fn colonies_that_do_not_vary(plan: &Plan) -> Option<(String, &'static str)> {
    let study = &plan.study;
    let two_visits = study.question.visits() == 2;
    if study.scope == Scope::EachReef && !two_visits {
        return None;
    }
    let lacks = |spread: SiteSpread| spread.between_sites == 0.0 || (two_visits && spread.site_year == 0.0);
    let is_even =
        |of: fn(&Zone) -> SiteSpread| study.zones.iter().filter(|zone| zone.map.is_none()).any(|zone| lacks(of(zone)));
    let told = plan.layout.readings.iter().filter_map(|reading| match &reading.indicator {
        Indicator::Colonies { measure, name } if measure.is_of_dead_parts() => {
            is_even(|zone| zone.colony_variation.dead_parts).then_some(name)
        }
        Indicator::Colonies { measure, name } if measure.is_of_kinds_of_colonies() => {
            is_even(|zone| zone.colony_variation.ln_diameter).then_some(name)
        }
        _ => None,
    });
    let mut names: Vec<String> = told.map(|name| name.replace('_', " ")).collect();
    names.dedup();
    (!names.is_empty()).then(|| {
        let what = format!(
            "{}: the colonies of all sites, or of all years of a site, are of one kind but for chance. Those of real sites are not (in \
             open records of the US Virgin Islands, Ennis et al. 2020, mean ln diameters differ between sites of one year by an SD of \
             about 0.5, of which 0.3 is the year of a site): power and precision are upper bounds.",
            names.join(", ")
        );
        (what, "Write [zone.colony_variation], from a pilot or from published surveys.")
    })
}

/// What is told of the condition of colonies, of which no spread between sites is known; and what to make of it.
pub fn conditions_that_do_not_vary(plan: &Plan) -> Option<(String, &'static str)> {
    let study = &plan.study;
    if study.scope == Scope::EachReef && study.question.visits() < 2 {
        return None;
    }
    let told = plan.layout.readings.iter().filter_map(|reading| match &reading.indicator {
        Indicator::Colonies { measure, name } => measure.is_of_condition().then(|| name.replace('_', " ")),
        _ => None,
    });
    let mut names: Vec<String> = told.collect();
    names.dedup();
    (!names.is_empty()).then(|| {
        let what = format!(
            "{}: every colony of a zone looks so with the same chance, on all sites and in all years. Bleaching and disease come to some \
             sites and years and spare others: power and precision are upper bounds.",
            names.join(", ")
        );
        (what, "Take the numbers of belts for the fewest, and survey more sites rather than more belts on each.")
    })
}
