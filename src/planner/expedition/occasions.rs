//! What several expeditions in each period would take, a year apart, where the mean over the visits of each site is compared.
//!
//! By formula: the law of the reef is made for every number of years that lies between two of the visits, and the moments of the
//! mean follow from those of the pairs ([`crate::theory::occasions`]). The same sites are visited each time, at the same marks or
//! at new places as the plan has it.

use super::indicators::{Occasion, worked_out};
use super::places::theories_of;
use super::prepared::Prepared;
use crate::analysis::transforms::Scale;
use crate::budget::Indicator;
use crate::design::{Comparison, Places, Question, Sites, Study};
use crate::engine::Plan;
use crate::theory::occasions::{ByYears, Occasions};
use crate::theory::{Depth, PlaceCovariance, PlaceLaw, ReefTheory, UnitMoments};
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Expeditions in each period that are looked at.
pub const MOST: usize = 3;

/// What theory knows of the targets of an expedition with so many visits in each period.
pub struct SeveralVisits {
    pub occasions: Occasions,
    pub indicators: Vec<Indicator>,
}

/// The law of the reef where so many years lie between two visits to a site.
struct Law {
    study: Study,
    theories: Vec<ReefTheory>,
}

impl Law {
    /// `None`: no reef is like that.
    fn new(plan: &Plan, study: Study) -> Option<Self> {
        Some(Self { theories: theories_of(plan, &study)?, study })
    }

    fn moments(&self, plan: &Plan, zone: usize, reading: usize) -> UnitMoments {
        plan.layout.readings[reading].moments(&self.study, &self.study.zones[zone], &self.theories[zone])
    }

    /// What a zone has in common with the one whose places it shares, by the moments of the zones.
    fn at_place(&self, plan: &Plan, zone: usize, reading: usize, moments: &[UnitMoments]) -> Option<PlaceCovariance> {
        let (named, correlation) = self.study.places_of(zone)?;
        let depth = |zone: usize| {
            let theory = self.theories[zone].law()?;
            Some(Depth { zone: &self.study.zones[zone], theory, moments: &moments[zone] })
        };
        let place = PlaceLaw { study: &self.study, depths: [depth(named)?, depth(zone)?], correlation };
        Some(plan.layout.readings[reading].at_place(&place))
    }
}

/// A study of two visits to the same sites so many years apart, whatever the question. What stays in its place until the second
/// visit of the study does so for a longer or shorter time at the same pace.
fn years_apart(study: &Study, years: f64) -> Study {
    let mut other = study.clone();
    if study.question.visits() == 1 {
        other.question = Question::BetweenTheseVisits;
        other.visits.places = Places::NewPlaces;
    }
    (other.visits.years_apart, other.visits.sites) = (years, Sites::Same);
    let times = years / study.visits.years_apart;
    for zone in &mut other.zones {
        let animals = zone.animals.iter_mut().map(|animal| &mut animal.spec);
        let recruits = zone.recruits.iter_mut().map(|recruits| &mut recruits.spec);
        animals.chain(recruits).for_each(|spec| spec.stays = libm::pow(spec.stays, times));
    }
    other
}

/// A study whose changes are the same on all sites.
fn with_even_changes(study: &Study) -> Study {
    let mut other = study.clone();
    other.changes.iter_mut().for_each(|change| (change.differs_between_sites_sd, change.deaths) = (None, None));
    other
}

/// The targets with two visits in each period and more, or why that is not worked out.
pub fn several_visits(prepared: &Prepared) -> Result<Vec<SeveralVisits>, &'static str> {
    let plan = prepared.plan;
    if plan.study.zones.iter().any(|zone| zone.map.is_some()) {
        return Err("on a map no years pass but those between its two pictures");
    }
    if compared(prepared).any(|how| how == Comparison::Sizes) {
        return Err("how often sizes are seen to differ after several visits is not known by formula");
    }
    let all: Vec<Occasions> = (2..=MOST).map(|number| Occasions::new(number, plan.study.visits.years_apart)).collect();
    let mut years: Vec<f64> = all
        .iter()
        .flat_map(|of| of.within().into_iter().chain(if plan.states > 1 { of.across() } else { Vec::new() }))
        .map(|(years, _)| years)
        .collect();
    years.sort_by(f64::total_cmp);
    years.dedup();
    let why = "no reef of this law is known over all the years between";
    let laws: Option<Vec<Law>> =
        years.par_iter().map(|&years| Law::new(plan, years_apart(&plan.study, years))).collect();
    let (laws, even) = (laws.ok_or(why)?, Law::new(plan, with_even_changes(&plan.study)).ok_or(why)?);
    let mut readings: Vec<usize> = prepared.tasks.told_by.iter().map(|&(_, reading)| reading).collect();
    readings.sort_unstable();
    readings.dedup();
    let known: BTreeMap<usize, PairsOfVisits> = readings
        .into_par_iter()
        .map(|reading| (reading, PairsOfVisits::new(plan, reading, (&years, &laws, &even))))
        .collect();
    let with = |occasions: Occasions| {
        let targets = prepared.expedition.targets.iter().zip(&prepared.tasks.told_by);
        let indicators = targets.map(|(target, &(task, reading))| {
            let occasion = known[&reading].occasion(plan, occasions);
            let told = worked_out(plan, target, reading, prepared.tasks.caps.of(task), &occasion);
            Indicator { task, ..told }
        });
        SeveralVisits { occasions, indicators: indicators.collect() }
    };
    Ok(all.into_par_iter().map(with).collect())
}

/// How the sites of each target are compared.
fn compared<'a>(prepared: &'a Prepared) -> impl Iterator<Item = Comparison> + 'a {
    let plan = prepared.plan;
    let readings = prepared.tasks.told_by.iter().map(|&(_, reading)| &plan.layout.readings[reading]);
    readings.map(|of| plan.study.comparison(of.indicator.name(), of.dimensions, 1))
}

/// What is known of a reading at pairs of visits, by the years between them.
struct PairsOfVisits<'a> {
    reading: usize,
    years: &'a [f64],
    /// By years, zone by zone.
    pairs: Vec<InZones>,
    /// Were changes the same on all sites.
    even: InZones,
}

/// What is known of a reading in each zone.
struct InZones {
    moments: Vec<UnitMoments>,
    places: Vec<Option<PlaceCovariance>>,
}

impl InZones {
    fn new(plan: &Plan, reading: usize, law: &Law) -> Self {
        let zones = 0..plan.study.zones.len();
        let moments: Vec<UnitMoments> = zones.clone().map(|zone| law.moments(plan, zone, reading)).collect();
        Self { places: zones.map(|zone| law.at_place(plan, zone, reading, &moments)).collect(), moments }
    }
}

impl<'a> PairsOfVisits<'a> {
    fn new(plan: &Plan, reading: usize, (years, laws, even): (&'a [f64], &[Law], &Law)) -> Self {
        let of = |law: &Law| InZones::new(plan, reading, law);
        Self { reading, years, pairs: laws.iter().map(of).collect(), even: of(even) }
    }

    /// Those of some occasions, each with its share in the mean.
    fn of<'b, T>(&'b self, shares: &[(f64, f64)], what: impl Fn(usize) -> Option<&'b T>) -> Vec<(f64, &'b T)> {
        let place = |years: f64| self.years.iter().position(|known| *known == years);
        shares.iter().filter_map(|&(years, share)| Some((share, what(place(years)?)?))).collect()
    }

    fn occasion<'b>(&self, plan: &'b Plan, occasions: Occasions) -> Occasion<'b> {
        let across = if plan.states > 1 { occasions.across() } else { Vec::new() };
        let within = occasions.within();
        let zones = 0..plan.study.zones.len();
        let moments = zones.clone().map(|zone| {
            let of = |shares: &[(f64, f64)]| self.of(shares, |years| Some(&self.pairs[years].moments[zone]));
            let (one, even) = (plan.moments(zone, self.reading), &self.even.moments[zone]);
            let pairs = ByYears { one, even, within: of(&within), across: of(&across) };
            Cow::Owned(pairs.mean(occasions, plan.same_marks))
        });
        let places = zones.map(|zone| {
            let of = |shares: &[(f64, f64)]| self.of(shares, |years| self.pairs[years].places[zone].as_ref());
            let (one, even) = (plan.place_covariance(zone, self.reading)?, self.even.places[zone].as_ref()?);
            let pairs = ByYears { one, even, within: of(&within), across: of(&across) };
            Some(Cow::Owned(pairs.mean(occasions)))
        });
        Occasion { moments: moments.collect(), places: places.collect(), visits: occasions.number }
    }
}

/// What several expeditions take for granted, or why they are not told; nothing where there is one.
pub fn about(prepared: &Prepared, several: &Result<Vec<SeveralVisits>, &'static str>) -> String {
    let plan = prepared.plan;
    let all = match several {
        Ok(all) => all,
        Err(why) => return format!("Several expeditions in each period are not told: {why}."),
    };
    let two = plan.study.question.visits() == 2;
    let mut years: Vec<String> = all
        .iter()
        .map(|of| format!("{} years ({} expeditions)", of.occasions.years_between, of.occasions.number))
        .collect();
    if all.iter().all(|of| of.occasions.years_between == all[0].occasions.years_between) {
        years = all.iter().take(1).map(|of| format!("{} years", of.occasions.years_between)).collect();
    }
    let periods = if two {
        format!(
            " The first expedition of the second period is {} after the first of the first; the change is there on all of the \
             second period.",
            years.join(" and ")
        )
    } else {
        String::new()
    };
    let of_totals = |how: Comparison| matches!(how, Comparison::Totals { .. });
    let totals = if compared(prepared).any(of_totals) {
        " Where totals of sites are compared they are those of all visits of a period."
    } else {
        ""
    };
    let scales = if compared(prepared).any(|how| how != Comparison::Means(Scale::Plain) && !of_totals(how)) {
        " Where sites are compared on a scale it is told to first order."
    } else {
        ""
    };
    format!(
        "Several expeditions: a year apart, the same sites, site set and people on each, the mean over the visits of each site \
         compared. Each has days of its own under way.{periods} What years do to a site is by the law of the reef; by components \
         each year is by itself.{totals}{scales}"
    )
}
