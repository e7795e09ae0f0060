//! Sizes of colonies: the law of a zone, and what belts can see of it.

use crate::analysis::ColonyIndicator;
use crate::design::Change;
use crate::engine::Plan;
use crate::reef::SMALLEST_DIAMETER_M;
use crate::survey::{Dimensions, MethodKind};
use serde::Serialize;

/// Belts on a site: common practice.
const BELTS: usize = 6;
/// Classes where the scenario names none: limits in m.
const LIMITS: [f64; 8] = [0.02, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2];

/// The sizes of a zone's colonies in classes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColonySizes {
    pub zone: String,
    pub dimensions: Dimensions,
    /// Belts on one site.
    pub units: usize,
    /// The first change that moves sizes: cover from and to, and how colonies die of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change: Option<Change>,
    pub classes: Vec<SizeClass>,
}

/// A class of largest diameters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeClass {
    pub from_m: f64,
    pub to_m: f64,
    /// At the first visit.
    pub before: ClassShare,
    /// After the change that moves sizes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<ClassShare>,
}

/// The share of the colonies that is in a class.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ClassShare {
    /// By the law of the zone.
    pub truth: f64,
    /// The same among those that are written down, in the mean.
    pub written: f64,
    /// Standard error of the mean of one site's belts, about what is written there in the long run.
    pub error: f64,
}

/// The sizes of a zone as the belts of the first coral-belt method see them; `None` without such a
/// method, and for a map.
pub fn colony_sizes(plan: &Plan, zone: usize) -> Option<ColonySizes> {
    let found = plan.study.methods.iter().find_map(|method| match &method.kind {
        MethodKind::CoralBelt { belt, classes_m, .. } => Some((method, belt, classes_m)),
        _ => None,
    });
    let (method, belt, classes_m) = found?;
    let dimensions = method.kind.dimensions().first().copied()?;
    let (study, theory) = (&plan.study, plan.theories[zone].law()?);
    let limits = limits(classes_m, study.zones[zone].reef.sizes.max_m);
    let of =
        |from_m, to_m| theory.colony_moments(study, (belt, dimensions), ColonyIndicator::ClassShare { from_m, to_m });
    let units = of(limits[0], limits[1]).laid(BELTS).max(1);
    let moves = |change: &Change| change.deaths.is_some_and(|deaths| deaths.moves_sizes());
    let change = study.changes.iter().position(moves);
    let classes = limits.windows(2).map(|pair| {
        let moments = of(pair[0], pair[1]);
        let share = |state: usize| {
            // About what belts write all over the site, which is what two of them have in common: that sites differ is no error.
            let variance = (moments.site_mean_variance(state, units as f64) - moments.pair[state]).max(0.0);
            ClassShare { truth: moments.truth[state], written: moments.mean[state], error: variance.sqrt() }
        };
        SizeClass { from_m: pair[0], to_m: pair[1], before: share(0), after: change.map(|change| share(change + 2)) }
    });
    Some(ColonySizes {
        zone: study.zones[zone].name.clone(),
        dimensions,
        units,
        classes: classes.collect(),
        change: change.map(|change| study.changes[change].clone()),
    })
}

/// Limits from the smallest colony to beyond the largest, so that every colony has a class.
fn limits(asked: &[f64], largest: f64) -> Vec<f64> {
    let inner = if asked.is_empty() { &LIMITS[..] } else { asked };
    // A colony that is not round is longer than its disc is wide, never three times as long.
    let end = 3.0 * largest;
    let mut all = vec![SMALLEST_DIAMETER_M];
    all.extend(inner.iter().copied().filter(|limit| *limit > 1.001 * SMALLEST_DIAMETER_M && *limit < 1.2 * largest));
    all.push(end);
    all
}
