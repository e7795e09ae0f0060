use super::unit_moments::{LayoutMoments, UnitMoments};
use super::zone::{same_sites, states_of};
use crate::design::Study;
use crate::survey::{Components, Scale};

/// Mean in a state, on the scale of analysis.
pub fn component_mean(study: &Study, parts: &Components, state: usize) -> f64 {
    let natural = match state.checked_sub(2).map(|change| &study.changes[change]) {
        Some(change) if change.indicator == parts.indicator => parts.mean * change.ratio(),
        _ => parts.mean,
    };
    to_scale(parts.scale, natural)
}

/// A value of the indicator on the scale of analysis.
pub fn to_scale(scale: Scale, value: f64) -> f64 {
    match scale {
        Scale::Plain => value,
        Scale::Ln => libm::log(value),
        Scale::Logit => libm::log(value / (1.0 - value)),
    }
}

/// SD between sites of the change to a state, on the scale of analysis.
pub fn component_change_sd(study: &Study, parts: &Components, state: usize) -> f64 {
    match state.checked_sub(2).map(|change| &study.changes[change]) {
        Some(change) if change.indicator == parts.indicator => change.differs_between_sites_sd.unwrap_or(0.0),
        _ => 0.0,
    }
}

/// The moments of a unit from the components as given (the floor, if any, is not in the theory).
pub fn component_moments(study: &Study, parts: &Components) -> UnitMoments {
    let states = states_of(study);
    let site = parts.between_sites_sd.powi(2);
    let unit = parts.between_units_sd.powi(2);
    let across = if same_sites(study) { site } else { 0.0 };
    let pair: Vec<f64> =
        (0..states).map(|s| site + parts.site_year_sd.powi(2) + component_change_sd(study, parts, s).powi(2)).collect();
    UnitMoments {
        truth: (0..states).map(|s| component_mean(study, parts, s)).collect(),
        mean: (0..states).map(|s| component_mean(study, parts, s)).collect(),
        variance: pair.iter().map(|pair| pair + unit).collect(),
        // All that units of one site share is the truth of the site.
        site_truth: pair.clone(),
        site_truth_across: vec![across; states],
        pair,
        same_marks: vec![across + parts.same_mark_correlation * unit; states],
        across: vec![across; states],
        layout: LayoutMoments::default(),
        read_by_crew: false,
    }
}
