//! What is counted of the fish that are there: bias, split into its parts.

use crate::design::{ALL_FISH, FishGroup, FishIndicator, FishMeasure, FishWho};
use crate::engine::{DesignIndex, Indicator, Outcome, Plan, Reading, Where};
use crate::reef::fish::Movement;
use crate::survey::fish_sheet::WidthReader;
use crate::survey::swim::Watch;
use crate::survey::{Dimensions, MethodKind};
use crate::theory::fish::{
    BiasAsked, BiasCause, BiasOf, BiasPart, BiasParts, LookedAt, Swimmers, counted_of, entries_m2,
};
use rayon::prelude::*;
use serde::Serialize;

/// Fish of one zone, counted in units of one kind: what is written over what is there, at the first visit. Of one group, of all
/// that feed alike, or of all fish (by the names that indicators have).
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
    /// The factors as they were simulated, and their standard errors: the ratio of means over trials, of what was written to
    /// what was there on the same sites. Left out where nothing was simulated: of what nobody asked for, of fish that such
    /// units never count, and where sites are compared by logarithms or roots.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density_simulated: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density_simulated_error: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub biomass_simulated: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub biomass_simulated_error: Option<f64>,
    /// Formula and simulation part by more than three of its errors.
    pub theory_parts: bool,
}

/// Errors of the simulation by which the formula may be off before it is said.
const APART_BY_ERRORS: f64 = 3.0;
/// What the formula of fish that turn may be off by itself, of its value: they are drawn once (see `theory::fish`).
const OF_THE_FORMULA: f64 = 0.005;

/// Whether a factor by formula and a simulated one (with its error) part, where it was simulated.
fn parts_apart(formula: f64, simulated: Option<(f64, f64)>) -> bool {
    simulated.is_some_and(|(simulated, error)| {
        (simulated - formula).abs() > APART_BY_ERRORS * error + OF_THE_FORMULA * formula
    })
}

impl FishBias {
    fn by_formula((group, zone): (&str, &str), (method, dimensions): (&str, Dimensions), parts: BiasParts) -> Self {
        Self {
            group: group.to_owned(),
            zone: zone.to_owned(),
            method: method.to_owned(),
            dimensions,
            density: parts.density(),
            biomass: parts.biomass(),
            parts: parts.parts,
            density_simulated: None,
            density_simulated_error: None,
            biomass_simulated: None,
            biomass_simulated_error: None,
            theory_parts: false,
        }
    }

    /// How far a number is off, up or down, the worse of the two: the logarithm of its factor.
    pub fn off(&self) -> f64 {
        libm::fabs(libm::log(self.density)).max(libm::fabs(libm::log(self.biomass)))
    }

    /// Of the causes on the side to which the number (or the weight) is off, the one that does most.
    pub fn largest_on_its_side(&self, by_weight: bool) -> Option<&BiasPart> {
        let side = libm::log(if by_weight { self.biomass } else { self.density });
        let along = |part: &&BiasPart| libm::log(if by_weight { part.biomass } else { part.density }) * side;
        let parts = self.parts.iter().filter(|part| along(part) > 0.0);
        parts.max_by(|one, other| along(one).total_cmp(&along(other)))
    }
}

/// For each kind of units and each zone: all fish together, all that feed alike, and group by group.
pub fn fish_bias(plan: &Plan, outcome: &Outcome) -> Vec<FishBias> {
    let mut kinds: Vec<(usize, Dimensions)> = Vec::new();
    for reading in &plan.layout.readings {
        let kind = (reading.method, reading.dimensions);
        if matches!(reading.indicator, Indicator::Fish { .. }) && !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let zones = 0..plan.study.zones.len();
    let pairs: Vec<_> = kinds.iter().flat_map(|kind| zones.clone().map(move |zone| (*kind, zone))).collect();
    let mut all: Vec<FishBias> =
        pairs.par_iter().flat_map_iter(|&(kind, zone)| of_units((plan, outcome), kind, zone)).collect();
    all.extend(never_counted(plan));
    all
}

/// All fish of a zone in units of one kind.
fn of_units(of: (&Plan, &Outcome), (method, dimensions): (usize, Dimensions), z: usize) -> Vec<FishBias> {
    let (study, groups) = (&of.0.study, &of.0.study.zones[z].fish);
    let kind = &study.methods[method].kind;
    let parts: Vec<Option<BiasParts>> = groups.par_iter().map(|group| parts((kind, dimensions), group)).collect();
    let there: Vec<BiasOf> = groups
        .iter()
        .zip(&parts)
        .map(|(group, parts)| {
            let density = group.spec.places.density_per_m2;
            let biomass = density * group.spec.lengths.weights(group.spec.weight).mean;
            BiasOf { density, biomass, parts: parts.as_ref() }
        })
        .collect();
    let told = |who: FishWho| -> Option<FishBias> {
        let includes = FishIndicator { who: who.clone(), measure: FishMeasure::Density };
        let own = groups.iter().zip(&there).filter(|(group, _)| includes.includes(group)).map(|(_, there)| *there);
        let own: Vec<BiasOf> = own.collect();
        let name = match &who {
            FishWho::All => ALL_FISH,
            FishWho::Trophic(name) | FishWho::Group(name) => name.as_str(),
        };
        // What is one group by itself is told once.
        if own.len() < 2 && !matches!(who, FishWho::Group(_)) {
            return None;
        }
        let parts = BiasParts::together(&own)?;
        let measured = |measure: FishMeasure| simulated(of, (method, dimensions), (&measure.name(name), z));
        let (density, biomass) = (measured(FishMeasure::Density), measured(FishMeasure::Biomass));
        Some(FishBias {
            theory_parts: parts_apart(parts.density(), density) || parts_apart(parts.biomass(), biomass),
            density_simulated: density.map(|(factor, _)| factor),
            density_simulated_error: density.map(|(_, error)| error),
            biomass_simulated: biomass.map(|(factor, _)| factor),
            biomass_simulated_error: biomass.map(|(_, error)| error),
            ..FishBias::by_formula((name, &study.zones[z].name), (&study.method_name(method), dimensions), parts)
        })
    };
    let alike = study.trophic_groups().into_iter().map(|name| FishWho::Trophic(name.to_owned()));
    let alone = groups.iter().map(|group| FishWho::Group(group.name.clone()));
    [FishWho::All].into_iter().chain(alike).chain(alone).filter_map(told).collect()
}

/// The factor of an indicator as the largest design simulated it, which tells most, and its standard error; `None` where it is
/// not read in such units.
fn simulated(
    (plan, outcome): (&Plan, &Outcome),
    (method, dimensions): (usize, Dimensions),
    (indicator, z): (&str, usize),
) -> Option<(f64, f64)> {
    let is_it = |reading: &&Reading| {
        (reading.method, reading.dimensions) == (method, dimensions) && reading.indicator.name() == indicator
    };
    let r = plan.layout.readings.iter().position(|reading| is_it(&reading))?;
    let (units, sites) = (plan.layout.readings[r].units.len() - 1, plan.site_choices() - 1);
    let design = DesignIndex { reading: r, units, sites, place: Where::Zone(z) };
    outcome.tally(plan.index(&design), 0).written.ratio()
}

/// Groups that hide, in units that never look into holes: of all that are there none is written, and they are missing in what
/// is told of all fish.
fn never_counted(plan: &Plan) -> Vec<FishBias> {
    let mut all: Vec<FishBias> = Vec::new();
    for (index, method) in plan.study.methods.iter().enumerate() {
        let name = plan.study.method_name(index);
        for dimensions in method.kind.dimensions() {
            let is_blind = |group: &&FishGroup| {
                method.kind.fish_count().is_some() && method.kind.watch(dimensions, group.hides).is_none()
            };
            for zone in &plan.study.zones {
                all.extend(zone.fish.iter().filter(is_blind).map(|group| {
                    let none = BiasPart { cause: BiasCause::Hidden, density: 0.0, biomass: 0.0 };
                    let parts = BiasParts { parts: vec![none] };
                    FishBias::by_formula((&group.name, &zone.name), (&name, dimensions), parts)
                }));
            }
        }
    }
    all
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
        assert!(parts_apart(0.56, Some((0.48, 0.016))));
        assert!(!parts_apart(0.56, Some((0.53, 0.012))) && !parts_apart(0.56, Some((0.561, 0.0))));
    }
}
