//! How to read what recruit quadrats tell.

use super::notes::three;
use super::words::plain;
use crate::design::{RECRUIT_DENSITY, RecruitMeasure};
use crate::engine::{Indicator, Plan};
use crate::survey::coral_belt::EdgeRule;
use crate::theory::colonies::counting_area;

/// What another edge rule would do to recruits: their quadrats are so small that it is never little.
pub fn edge_of_quadrat(side: f64) -> String {
    let too_many = |diameter: f64| {
        let area = counting_area(EdgeRule::AnyPartIn, (side, side), 0.5 * diameter);
        format!("{:.1} %", 100.0 * (area / (side * side) - 1.0))
    };
    format!(
        "Recruits count whose centre lies in the quadrat. Whoever counts all that touch its frame writes {} too many of 2 cm \
         and {} of 4 cm (by formula); agree on the rule before the first dive.",
        too_many(0.02),
        too_many(0.04)
    )
}

/// How recruits and the colonies of the same place are laid, and what a change of the bottom does to recruits at once; `None`
/// where none are counted.
pub fn recruits_beside_colonies(plan: &Plan, zone: usize) -> Option<String> {
    let of_all =
        |indicator: &Indicator| matches!(indicator, Indicator::Recruits { measure: RecruitMeasure::Density, .. });
    let reading = plan.layout.readings.iter().position(|reading| of_all(&reading.indicator))?;
    plan.study.zones[zone].recruits.as_ref()?;
    let mut text = "Recruits are points of their own on the free bottom of the same reef, not the smallest of its colonies: a coral \
                    belt over a quadrat writes colonies under 4 cm that the quadrat does not have, and the quadrat recruits that the belt \
                    does not. Do not add the two, nor check one by the other."
        .to_owned();
    let density = |state: usize| plan.mean(zone, reading, state);
    for (index, change) in plan.study.changes.iter().enumerate().filter(|(index, _)| index + 2 < plan.states) {
        let (before, after) = (density(1), density(index + 2));
        if change.indicator != RECRUIT_DENSITY && (after / before - 1.0).abs() > LEAST_SHARE {
            text += &format!(
                " Where {} goes from {} to {} % recruits go from {} to {} per m2 of bottom at once (by formula): those laid on bottom that {} \
                 are {} with it, and none settles or dies.{}",
                change.indicator.replace('_', " "),
                plain(100.0 * change.from),
                plain(100.0 * change.to),
                three(before),
                three(after),
                if after > before { "is laid free" } else { "is overgrown" },
                if after > before { "seen" } else { "hidden" },
                if after > before { LAID_BARE } else { "" },
            );
        }
    }
    Some(text)
}

const LAID_BARE: &str = " On a real reef bottom that was just laid bare has none yet: a change of recruits that is told under this one is \
    how the reef is made, and no finding.";

/// Recruits that move by less than this are not told.
const LEAST_SHARE: f64 = 0.01;
