//! What is counted of the fish that are there: bias, split into its parts.

use super::rows::place_name;
use crate::design::{FishGroup, FishMeasure, FishWho};
use crate::engine::{DesignIndex, Indicator, Outcome, Plan, Where};
use crate::reef::fish::Movement;
use crate::survey::fish_sheet::WidthReader;
use crate::survey::swim::Watch;
use crate::survey::{Dimensions, MethodKind};
use crate::theory::fish::{BiasAsked, BiasPart, BiasParts, LookedAt, Swimmers, counted_of, entries_m2};
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
    /// The factor of the density as it was simulated, and its standard error.
    pub density_simulated: f64,
    pub density_simulated_error: f64,
}

impl FishBias {
    /// The part that is farthest from none.
    pub fn largest(&self) -> Option<&BiasPart> {
        let off = |part: &BiasPart| libm::fabs(libm::log(part.density)).max(libm::fabs(libm::log(part.biomass)));
        self.parts.iter().max_by(|one, other| off(one).total_cmp(&off(other)))
    }
}

/// For every group that is counted by itself.
pub fn fish_bias(plan: &Plan, outcome: &Outcome) -> Vec<FishBias> {
    let readings = 0..plan.layout.readings.len();
    let zones = 0..plan.study.zones.len();
    let pairs: Vec<(usize, usize)> = readings.flat_map(|r| zones.clone().map(move |zone| (r, zone))).collect();
    pairs.par_iter().filter_map(|&(reading, zone)| of_reading(plan, outcome, reading, zone)).collect()
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
    let design = DesignIndex { reading: r, units, sites, place: Where::Zone(z) };
    let there = plan.mean(z, r, 0);
    let (bias, error) = outcome.tally(plan.index(&design), 0).bias();
    Some(FishBias {
        group: name.clone(),
        zone: place_name(plan, Where::Zone(z)),
        method: method.kind.name().into(),
        dimensions: reading.dimensions,
        density: parts.density(),
        biomass: parts.biomass(),
        parts: parts.parts,
        density_simulated: 1.0 + bias / there,
        density_simulated_error: error / there,
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
