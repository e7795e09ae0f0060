//! How the number needed depends on what is not known: the kind of reef, and each component of variation.

use super::answer::{MapCell, ReefRange, Sensitivity};
use super::needed::{HowMany, stays_above};
use super::rows::place_name;
use crate::design::{Places, Study, Zone};
use crate::engine::{Indicator, Plan, Reading, Where};
use crate::reef::{AnimalSpec, BetweenSites, NamedReef};
use crate::survey::{Components, MethodKind};
use crate::theory::{CoralError, Kernels, ReefTheory, Shape, UnitMoments, ZoneError, ZoneTheory, component_moments};
use rayon::prelude::*;
use std::cell::OnceCell;

/// Multiplies one part of what varies in a zone.
type Scaling = Box<dyn Fn(&mut Study, &mut Zone, f64) + Sync + Send>;

/// The factor by which a component is raised, and lowered.
pub(super) const FACTOR: f64 = 1.5;

/// Units needed by theory if the zone's reef were like each of the named reefs, cover and spreads as given. Where a
/// reef's own along-reef variation gives sites more spread than was asked, it keeps that spread.
///
/// One question a zone, in order; each answer has the reefs in theirs. The shape of a reef serves all zones.
pub fn ranges(plan: &Plan, asks: &[HowMany]) -> Vec<ReefRange> {
    let by_reef: Vec<Vec<Option<ReefRange>>> = NamedReef::ALL
        .into_par_iter()
        .map(|reef| {
            let shape = OnceCell::new();
            let shape_of_reef = || {
                let spec = reef.spec();
                shape.get_or_init(|| Shape::new(&spec, &Kernels::of_cells(&spec))).clone()
            };
            asks.iter().map(|ask| range(plan, ask, reef, &shape_of_reef)).collect()
        })
        .collect();
    (0..asks.len()).flat_map(|ask| by_reef.iter().filter_map(move |ranges| ranges[ask].clone())).collect()
}

fn range(plan: &Plan, ask: &HowMany, reef: NamedReef, shape: &dyn Fn() -> Shape) -> Option<ReefRange> {
    let Where::Zone(zone) = ask.place else { return None };
    let reading = &plan.layout.readings[ask.reading];
    let asked = &plan.study.zones[zone];
    // What a mapped reef is like is no guess.
    if !reading.indicator.is_of_the_bottom() || asked.map.is_some() {
        return None;
    }
    let other = Zone { reef: reef.spec(), ..asked.clone() };
    let chosen = other.reef == asked.reef;
    let units = if chosen {
        Ok(by_theory(plan, ask, plan.moments(zone, ask.reading)))
    } else {
        moments_on(&plan.study, &other, reading, shape()).map(|moments| by_theory(plan, ask, &moments))
    };
    Some(ReefRange {
        zone: asked.name.clone(),
        reef: reef.name().into(),
        phrase: reef.phrase().into(),
        is_chosen: chosen,
        refused: units.as_ref().err().map(ToString::to_string),
        units: units.ok().flatten(),
    })
}

/// For a question about one zone.
fn by_theory(plan: &Plan, ask: &HowMany, moments: &UnitMoments) -> Option<usize> {
    let least = plan.least_units(ask.place, ask.sites);
    stays_above(plan.study.test.seen, least, ask.most_units(plan), |n| ask.power(plan, |_| moments, n))
}

/// Moments of a unit on another reef, or of other spreads, with the spread between sites raised to what these cannot do
/// without.
fn moments_on(study: &Study, zone: &Zone, reading: &Reading, shape: Shape) -> Result<UnitMoments, ZoneError> {
    let mut raised = zone.clone();
    let mut tried = ZoneTheory::with_shape(study, zone, shape.clone());
    for _ in 0..MOST_RAISED {
        // Room for the site's own year on top of the along-reef field.
        raised.between_sites_sd = match &tried {
            Err(ZoneError::Coral(CoralError::SpreadBelowFloor(floor))) => 1.001 * floor.hypot(zone.site_year_sd),
            Err(ZoneError::Coral(CoralError::SiteYearOutOfReach(most))) => {
                let square = raised.between_sites_sd * raised.between_sites_sd - most * most;
                1.02 * square.max(0.0).sqrt().hypot(zone.site_year_sd)
            }
            _ => break,
        };
        tried = ZoneTheory::with_shape(study, &raised, shape.clone());
    }
    Ok(reading.moments(study, zone, &tried?.into()))
}

/// So many times the spread between sites is raised, to find room for what stands in it.
const MOST_RAISED: usize = 4;

/// How the number needed moves with each component of variation, one zone at a time.
pub fn sensitivities(plan: &Plan, ask: &HowMany) -> Vec<Sensitivity> {
    let Where::Zone(zone) = ask.place else { return Vec::new() };
    let reading = &plan.layout.readings[ask.reading];
    if matches!(plan.study.methods[reading.method].kind, MethodKind::Components(_)) {
        return Vec::new();
    }
    let as_given = by_theory(plan, ask, plan.moments(zone, ask.reading));
    let parts = spread_parts(plan, zone, ask.reading, ask.state);
    // A part that no reef can have is left out: no number of units is out of reach for that.
    let of = |part: &SpreadPart| {
        let with = |factor: f64| part.scaled(factor).map(|moments| by_theory(plan, ask, &moments));
        Some(Sensitivity {
            zone: place_name(plan, ask.place),
            component: part.name.clone(),
            smaller: with(1.0 / FACTOR)?,
            as_given,
            larger: with(FACTOR)?,
        })
    };
    parts.iter().filter_map(of).collect()
}

/// One component of variation of a reading in a zone.
pub(super) struct SpreadPart<'a> {
    /// In words: "how far reefs move between years".
    pub name: String,
    scaled: Box<dyn Fn(f64) -> Option<UnitMoments> + Sync + Send + 'a>,
}

impl SpreadPart<'_> {
    /// Moments of a unit where the component's SD is so many times as large; `None`: no reef is like that.
    pub fn scaled(&self, factor: f64) -> Option<UnitMoments> {
        (self.scaled)(factor)
    }
}

/// What makes readings vary, one by one: units within a site first.
pub(super) fn spread_parts(plan: &Plan, zone: usize, of: usize, state: usize) -> Vec<SpreadPart<'_>> {
    let reading = &plan.layout.readings[of];
    let base = plan.moments(zone, of);
    let kind = &plan.study.methods[reading.method].kind;
    let mut all = vec![SpreadPart {
        name: format!("how {} differ within one reef", kind.units()),
        scaled: Box::new(move |factor| Some(within_scaled(base, factor))),
    }];
    let study = &plan.study;
    let two_visits = study.question.visits() == 2;
    if let MethodKind::Components(parts) = kind {
        let mut add = |name: &str, scale: fn(&mut Components, f64)| {
            let scaled = move |factor: f64| {
                let mut parts = parts.clone();
                scale(&mut parts, factor);
                Some(component_moments(study, &parts))
            };
            all.push(SpreadPart { name: name.into(), scaled: Box::new(scaled) });
        };
        if two_visits {
            add("how far reefs move between years", |parts, factor| parts.site_year_sd *= factor);
        }
        if !plan.same_sites {
            add("how reefs differ from each other", |parts, factor| parts.between_sites_sd *= factor);
        }
        return all;
    }
    let Some(shape) = plan.theories[zone].law().map(|theory| &theory.shape) else { return all };
    let mut add = |name: &str, scale: Scaling| {
        let scaled = move |factor: f64| {
            let (mut study, mut zone) = (study.clone(), study.zones[zone].clone());
            scale(&mut study, &mut zone, factor);
            moments_on(&study, &zone, reading, shape.clone()).ok()
        };
        all.push(SpreadPart { name: name.into(), scaled: Box::new(scaled) });
    };
    if matches!(reading.indicator, Indicator::Animal { .. } | Indicator::Recruits { .. } | Indicator::Fish { .. }) {
        let of = |change: fn(&mut AnimalSpec, f64)| -> Scaling {
            let indicator = reading.indicator.clone();
            Box::new(move |_, zone, factor| {
                specs_of(zone, &indicator).into_iter().for_each(|spec| change(spec, factor));
            })
        };
        if two_visits {
            add("how far reefs move between years", of(|spec, factor| scale_between(&mut spec.site_year, factor)));
        }
        if let Indicator::Fish { told, .. } = &reading.indicator {
            let told = told.clone();
            let scale = move |_: &mut Study, zone: &mut Zone, factor: f64| {
                let groups = zone.fish.iter_mut().filter(|group| told.includes(group));
                groups.for_each(|group| group.spec.schools = group.spec.schools.times(factor));
            };
            add("how large the schools are", Box::new(scale));
        } else {
            add(
                "how large the groups are",
                of(|spec, factor| spec.groups.iter_mut().for_each(|groups| groups.mean_size *= factor)),
            );
        }
        if !plan.same_sites {
            add("how reefs differ from each other", of(|spec, factor| scale_between(&mut spec.between_sites, factor)));
        }
        return all;
    }
    if two_visits && study.zones[zone].site_year_sd > 0.0 {
        add("how far reefs move between years", Box::new(|_, zone, factor| zone.site_year_sd *= factor));
    }
    let change = state.checked_sub(2);
    if change.is_some_and(|change| study.changes[change].differs_between_sites_sd.is_some()) {
        add(
            "how the change differs between reefs",
            Box::new(move |study, _, factor| {
                let sd = change.map(|change| &mut study.changes[change].differs_between_sites_sd);
                sd.into_iter().flatten().for_each(|sd| *sd *= factor);
            }),
        );
    }
    if !plan.same_sites {
        add("how reefs differ from each other", Box::new(|_, zone, factor| zone.between_sites_sd *= factor));
    }
    all
}

/// What tells how dense the animals of an indicator are in a zone.
fn specs_of<'a>(zone: &'a mut Zone, indicator: &Indicator) -> Vec<&'a mut AnimalSpec> {
    match indicator {
        Indicator::Animal { animal, .. } => {
            zone.animals.iter_mut().filter(|kind| kind.name == *animal).map(|kind| &mut kind.spec).collect()
        }
        Indicator::Fish { told, .. } => {
            let groups = zone.fish.iter_mut().filter(|group| told.includes(group));
            groups.map(|group| &mut group.spec.places).collect()
        }
        Indicator::Recruits { .. } => zone.recruits.iter_mut().map(|recruits| &mut recruits.spec).collect(),
        _ => Vec::new(),
    }
}

fn scale_between(spread: &mut BetweenSites, factor: f64) {
    match spread {
        BetweenSites::LnSd(sd) | BetweenSites::Share(sd) => *sd *= factor,
    }
}

/// Units needed by theory if the tapes of the second visit lay at the marks of the first.
pub fn units_at_same_marks(plan: &Plan, ask: &HowMany) -> Option<usize> {
    let reading = &plan.layout.readings[ask.reading];
    let mut study = plan.study.clone();
    study.visits.places = Places::SameMarks;
    let moments: Vec<UnitMoments> = study
        .zones
        .par_iter()
        .zip(&plan.theories)
        .map(|(zone, theory)| {
            let theory = match theory.law() {
                Some(theory) => ZoneTheory::with_shape(&study, zone, theory.shape.clone()).ok()?.into(),
                None => ReefTheory::new(&study, zone).ok()?,
            };
            Some(reading.moments(&study, zone, &theory))
        })
        .collect::<Option<_>>()?;
    let least = plan.least_units(ask.place, ask.sites);
    stays_above(study.test.seen, least, ask.most_units(plan), |n| ask.power_in(plan, &study, |zone| &moments[zone], n))
}

/// The same reef with the SD of a unit about its site's mean scaled.
fn within_scaled(base: &UnitMoments, factor: f64) -> UnitMoments {
    let square = factor * factor;
    let mut scaled = base.clone();
    // What a layout takes away is of the differences within the site.
    scaled.layout = base.layout.scaled(square);
    for s in 0..base.variance.len() {
        scaled.variance[s] = base.pair[s] + square * (base.variance[s] - base.pair[s]);
        scaled.same_marks[s] = base.across[s] + square * (base.same_marks[s] - base.across[s]);
    }
    scaled
}

/// Power by theory over sites x units, for the zone of a question.
pub fn map(plan: &Plan, ask: &HowMany) -> Vec<MapCell> {
    let Where::Zone(zone) = ask.place else { return Vec::new() };
    let most_sites = plan.sites[zone].iter().copied().max().unwrap_or(1);
    let most_units = plan.layout.readings[ask.reading].most_units();
    let (last_site, last_unit) =
        ((2 * most_sites).clamp(8, 40), (2 * most_units).clamp(6, 30).min(ask.most_units(plan)));
    (2..=last_site)
        .into_par_iter()
        .flat_map_iter(|sites| (1..=last_unit).map(move |units| (sites, units)))
        .map(|(sites, units)| MapCell {
            zone: plan.study.zones[zone].name.clone(),
            sites,
            units,
            power: ask.power_at_sites(plan, sites, units),
        })
        .collect()
}
