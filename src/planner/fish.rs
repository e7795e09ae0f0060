//! What is counted of the fish that are there: bias, split into its parts.

use super::rows::place_name;
use crate::design::{FishGroup, FishMeasure, FishWho};
use crate::engine::{DesignIndex, Indicator, Outcome, Plan, Where};
use crate::reef::fish::Movement;
use crate::survey::fish_sheet::WidthReader;
use crate::survey::swim::Watch;
use crate::survey::{Dimensions, MethodKind};
use crate::theory::fish::{BiasAsked, BiasCause, BiasPart, BiasParts, LookedAt, Swimmers, counted_of, entries_m2};
use rayon::prelude::*;
use serde::Serialize;

/// One group of fish in one zone, counted in units of one kind: what is written over what is there, at the first visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FishBias {
    pub group: String,
    pub zone: String,
    pub method: String,
    pub dimensions: Dimensions,
    /// Factors by cause; their product is the whole. By formula.
    pub parts: Vec<BiasPart>,
    pub density: f64,
    pub biomass: f64,
    /// The factor of the density as it was simulated, and its standard error: the ratio of means over trials, of what was
    /// written to what was there on the same sites. None where nothing was simulated: of fish that such units never count, and
    /// where sites are compared by logarithms or roots.
    pub density_simulated: Option<f64>,
    pub density_simulated_error: Option<f64>,
    /// Formula and simulation part by more than three of its errors.
    pub theory_parts: bool,
}

/// Errors of the simulation by which the formula may be off before it is said.
const APART_BY_ERRORS: f64 = 3.0;
/// What the formula of fish that turn may be off by itself, of its value: they are drawn once (see `theory::fish`).
const OF_THE_FORMULA: f64 = 0.005;

/// Whether a factor by formula and a simulated one (with its error) part.
fn parts_apart(formula: f64, (simulated, error): (f64, f64)) -> bool {
    (simulated - formula).abs() > APART_BY_ERRORS * error + OF_THE_FORMULA * formula
}

impl FishBias {
    /// Of the causes on the side to which the number (or the weight) is off, the one that does most.
    pub fn largest_on_its_side(&self, by_weight: bool) -> Option<&BiasPart> {
        let side = libm::log(if by_weight { self.biomass } else { self.density });
        let along = |part: &&BiasPart| libm::log(if by_weight { part.biomass } else { part.density }) * side;
        let parts = self.parts.iter().filter(|part| along(part) > 0.0);
        parts.max_by(|one, other| along(one).total_cmp(&along(other)))
    }
}

/// For every group that is counted by itself.
pub fn fish_bias(plan: &Plan, outcome: &Outcome) -> Vec<FishBias> {
    let readings = 0..plan.layout.readings.len();
    let zones = 0..plan.study.zones.len();
    let pairs: Vec<(usize, usize)> = readings.flat_map(|r| zones.clone().map(move |zone| (r, zone))).collect();
    let mut all: Vec<FishBias> =
        pairs.par_iter().filter_map(|&(reading, zone)| of_reading(plan, outcome, reading, zone)).collect();
    all.extend(never_counted(plan));
    all
}

/// Groups that hide, in units that never look into holes: of all that are there none is written, and they are missing in what
/// is told of all fish.
fn never_counted(plan: &Plan) -> Vec<FishBias> {
    let mut all: Vec<FishBias> = Vec::new();
    for method in &plan.study.methods {
        for dimensions in method.kind.dimensions() {
            let is_blind = |group: &&FishGroup| {
                method.kind.fish_count().is_some() && method.kind.watch(dimensions, group.hides).is_none()
            };
            for zone in &plan.study.zones {
                all.extend(zone.fish.iter().filter(is_blind).map(|group| FishBias {
                    group: group.name.clone(),
                    zone: zone.name.clone(),
                    method: method.kind.name().into(),
                    dimensions,
                    parts: vec![BiasPart { cause: BiasCause::Hidden, density: 0.0, biomass: 0.0 }],
                    density: 0.0,
                    biomass: 0.0,
                    density_simulated: None,
                    density_simulated_error: None,
                    theory_parts: false,
                }));
            }
        }
    }
    all
}

fn of_reading(plan: &Plan, outcome: &Outcome, r: usize, z: usize) -> Option<FishBias> {
    let reading = &plan.layout.readings[r];
    let Indicator::Fish { told, .. } = &reading.indicator else { return None };
    let (FishWho::Group(name), FishMeasure::Density) = (&told.who, told.measure) else { return None };
    let zone = &plan.study.zones[z];
    let group = zone.fish.iter().find(|group| group.name == *name)?;
    let method = &plan.study.methods[reading.method];
    let parts = parts((&method.kind, reading.dimensions), group)?;
    // The largest design tells most.
    let (units, sites) = (reading.units.len() - 1, plan.site_choices() - 1);
    let density = parts.density();
    let design = DesignIndex { reading: r, units, sites, place: Where::Zone(z) };
    let simulated = outcome.tally(plan.index(&design), 0).written.ratio();
    Some(FishBias {
        group: name.clone(),
        zone: place_name(plan, Where::Zone(z)),
        method: method.kind.name().into(),
        dimensions: reading.dimensions,
        density,
        biomass: parts.biomass(),
        parts: parts.parts,
        density_simulated: simulated.map(|(ratio, _)| ratio),
        density_simulated_error: simulated.map(|(_, error)| error),
        theory_parts: simulated.is_some_and(|simulated| parts_apart(density, simulated)),
    })
}

/// The parts of one group. What movement adds is the area from which fish are counted over that of fish that stay, in the
/// mean width that is looked at.
pub fn parts(of: (&MethodKind, Dimensions), group: &FishGroup) -> Option<BiasParts> {
    let (spread_m, sighting) = (group.spec.spread_m, group.spec.sighting);
    let left = of.0.fish_count()?.left_by_others;
    parts_by(of, group, |watch, movement| counted_of(&Swimmers { watch, movement, spread_m, sighting, left }).area_m2)
}

/// The same by what crosses the edge, for a quick comparison: too high where fish turn and come again.
pub fn quick_parts(of: (&MethodKind, Dimensions), group: &FishGroup) -> Option<BiasParts> {
    parts_by(of, group, entries_m2)
}

fn parts_by(
    (kind, dimensions): (&MethodKind, Dimensions),
    group: &FishGroup,
    area_m2: impl Fn(Watch, Movement) -> f64,
) -> Option<BiasParts> {
    let (watch, count) = (kind.watch(dimensions, group.hides)?, kind.fish_count()?);
    let spec = &group.spec;
    let area = |movement| area_m2(watch, movement);
    let looked_at = match dimensions {
        Dimensions::FishPointCount { radius_m, .. } => LookedAt::Disc { radius_m },
        _ => LookedAt::Belt { width_m: kind.told_area_m2(dimensions, group.hides)? / dimensions.length_m()? },
    };
    // Units are looked at as wide as in the mean.
    let mean = match looked_at {
        LookedAt::Belt { .. } => count.width.mean_factor(),
        LookedAt::Disc { .. } => libm::sqrt(count.width.mean_square_factor()),
    };
    Some(BiasParts::of(&BiasAsked {
        looked_at,
        clear_m: count.visibility_m.unwrap_or(f64::INFINITY),
        movement: area(spec.movement) / area(Movement::Still),
        after_divers: count.left_by_others,
        width: WidthReader { error: 1.0 / mean - 1.0, sd: 0.0 },
        sighting: &spec.sighting,
        lengths: spec.lengths,
        weight: spec.weight,
        reader: &count.lengths,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formula_and_simulation_part_by_more_than_three_errors() {
        assert!(parts_apart(0.56, (0.48, 0.016)));
        assert!(!parts_apart(0.56, (0.53, 0.012)) && !parts_apart(0.56, (0.561, 0.0)));
    }
}
