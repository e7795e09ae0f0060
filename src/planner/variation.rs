//! How the number needed depends on what is not known: the kind of reef, and each component of variation.

use super::answer::{MapCell, ReefRange, Sensitivity};
use super::needed::{HowMany, stays_above};
use super::rows::place_name;
use crate::design::{Places, Study, Zone};
use crate::engine::{Indicator, Plan, Reading, Where};
use crate::reef::{AnimalSpec, BetweenSites, NamedReef};
use crate::survey::MethodKind;
use crate::theory::{CoralError, Kernels, ReefTheory, Shape, UnitMoments, ZoneError, ZoneTheory};
use rayon::prelude::*;
use std::cell::OnceCell;

/// The factor by which a component is raised, and lowered.
const FACTOR: f64 = 1.5;

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

/// Moments of a unit on another reef, with the spread between sites raised to what that reef cannot do without.
fn moments_on(study: &Study, zone: &Zone, reading: &Reading, shape: Shape) -> Result<UnitMoments, ZoneError> {
    let theory = match ZoneTheory::with_shape(study, zone, shape.clone()) {
        Err(ZoneError::Coral(CoralError::SpreadBelowFloor(floor))) => {
            // Room for the site's own year on top of the along-reef field.
            let raised = Zone { between_sites_sd: 1.001 * floor.hypot(zone.site_year_sd), ..zone.clone() };
            ZoneTheory::with_shape(study, &raised, shape)?
        }
        other => other?,
    };
    Ok(reading.moments(study, zone, &theory.into()))
}

/// How the number needed moves with each component of variation, one zone at a time.
pub fn sensitivities(plan: &Plan, ask: &HowMany) -> Vec<Sensitivity> {
    let Where::Zone(zone) = ask.place else { return Vec::new() };
    let reading = &plan.layout.readings[ask.reading];
    if matches!(plan.study.methods[reading.method].kind, MethodKind::Components(_)) {
        return Vec::new();
    }
    let base = plan.moments(zone, ask.reading);
    let as_given = by_theory(plan, ask, base);
    let lines = |factor: f64| by_theory(plan, ask, &within_scaled(base, factor));
    let mut all = vec![Sensitivity {
        zone: place_name(plan, ask.place),
        component: format!("how {} differ within one reef", plan.study.methods[reading.method].kind.units()),
        smaller: lines(1.0 / FACTOR),
        as_given,
        larger: lines(FACTOR),
    }];
    let study = &plan.study;
    let Some(shape) = plan.theories[zone].law().map(|theory| &theory.shape) else { return all };
    let with = |change: &dyn Fn(&mut Study, &mut Zone)| -> Option<usize> {
        let (mut study, mut zone) = (study.clone(), study.zones[zone].clone());
        change(&mut study, &mut zone);
        let theory = ZoneTheory::with_shape(&study, &zone, shape.clone()).ok()?;
        by_theory(plan, ask, &reading.moments(&study, &zone, &theory.into()))
    };
    let mut add = |component: &str, scale: &dyn Fn(&mut Study, &mut Zone, f64)| {
        all.push(Sensitivity {
            zone: place_name(plan, ask.place),
            component: component.into(),
            smaller: with(&|study, zone| scale(study, zone, 1.0 / FACTOR)),
            as_given,
            larger: with(&|study, zone| scale(study, zone, FACTOR)),
        });
    };
    let two_visits = study.question.visits() == 2;
    if matches!(reading.indicator, Indicator::Animal { .. } | Indicator::Recruits { .. }) {
        let scaled = |spread: &mut BetweenSites, factor: f64| match spread {
            BetweenSites::LnSd(sd) | BetweenSites::Share(sd) => *sd *= factor,
        };
        let of = |zone: &mut Zone, scale: &dyn Fn(&mut AnimalSpec)| match &reading.indicator {
            Indicator::Animal { animal: name, .. } => {
                zone.animals
                    .iter_mut()
                    .filter(|animal| &animal.name == name)
                    .for_each(|animal| scale(&mut animal.spec));
            }
            _ => zone.recruits.iter_mut().for_each(|recruits| scale(&mut recruits.spec)),
        };
        if two_visits {
            add("how far reefs move between years", &|_, zone, factor| {
                of(zone, &|spec| scaled(&mut spec.site_year, factor));
            });
        }
        add("how large the groups are", &|_, zone, factor| {
            of(zone, &|spec| spec.groups.iter_mut().for_each(|groups| groups.mean_size *= factor));
        });
        if !plan.same_sites {
            add("how reefs differ from each other", &|_, zone, factor| {
                of(zone, &|spec| scaled(&mut spec.between_sites, factor));
            });
        }
        return all;
    }
    if two_visits && study.zones[zone].site_year_sd > 0.0 {
        add("how far reefs move between years", &|_, zone, factor| {
            zone.site_year_sd *= factor;
            // The spread between sites includes the site's year: it must stay possible.
            zone.between_sites_sd = zone.between_sites_sd.max(1.05 * zone.site_year_sd);
        });
    }
    if study.changes[ask.state - 2].differs_between_sites_sd.is_some() {
        add("how the change differs between reefs", &|study, _, factor| {
            let sd = &mut study.changes[ask.state - 2].differs_between_sites_sd;
            *sd = sd.map(|sd| sd * factor);
        });
    }
    if !plan.same_sites {
        add("how reefs differ from each other", &|_, zone, factor| zone.between_sites_sd *= factor);
    }
    all
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
