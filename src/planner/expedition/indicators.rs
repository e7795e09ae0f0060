//! What theory knows of each target, as the search over designs asks for it.

use super::known::Known;
use super::tasks::{Tasks, reading_of};
use crate::analysis::transforms::Scale;
use crate::analysis::{Part, Tail};
use crate::budget::{DoneSites, Indicator, Need, NeedTable, PlacesTell, SiteTells};
use crate::design::{Asks, Comparison, Sides, Target};
use crate::engine::{DesignIndex, Plan, Where};
use crate::planner::rows::{back_to_there, least_change, means, unit_of_scale, written_mean, written_over_there};
use crate::survey::Dimensions;
use crate::theory::{DesignTheory, PlaceCovariance, UnitMoments, ZoneShare};
use std::borrow::Cow;

/// Numbers of sites at which theory is asked: two, and so many that only what all sites share is left.
const FEW: usize = 2;
const MANY: usize = 100_000_000;

/// The state of the study in which a target is judged: its change, the one visit, or no change.
pub fn state_of(plan: &Plan, target: &Target) -> usize {
    match target.asks {
        Asks::SeeChange(change) => change + 2,
        Asks::Cv(_) => 0,
        Asks::HalfWidth(_) => usize::from(plan.states > 1),
    }
}

/// The design of a reading with the most units, over all zones.
pub fn main_design(plan: &Plan, reading: usize) -> DesignIndex {
    let place = if plan.has_all() { Where::All } else { Where::Zone(0) };
    DesignIndex { reading, units: plan.layout.readings[reading].units.len() - 1, sites: 0, place }
}

/// Of fish: what is written of a reading over what is there at the first visit, by formula.
pub fn fish_written_over_there(plan: &Plan, reading: usize) -> Option<f64> {
    plan.layout.readings[reading].indicator.is_of_fish().then(|| written_over_there(plan, &main_design(plan, reading)))
}

/// The tail of a test whose change goes the way it looks.
pub fn tail_of_test(sides: Sides) -> Tail {
    if sides == Sides::Two { Tail::Two } else { Tail::Upper }
}

/// What a target asks for and what is achieved with such a margin, by formula: a change and the smallest that is seen as
/// often, a half-width, both in the unit of the indicator, or an error over the mean.
pub fn amounts(plan: &Plan, target: &Target, reading: usize, margin: f64) -> (f64, f64) {
    match target.asks {
        Asks::SeeChange(_) => {
            let (design, state) = (main_design(plan, reading), state_of(plan, target));
            let (from, to) = means(plan, &design, state);
            ((to - from).abs(), least_change(plan, &design, state, margin))
        }
        Asks::HalfWidth(asked) | Asks::Cv(asked) => (asked, asked / margin),
    }
}

/// For each target of the expedition, what one site tells with 0, 1 ... units in each zone.
pub fn indicators(plan: &Plan, targets: &[Target], tasks: &Tasks, known: &Known) -> Vec<Indicator> {
    let each = targets.iter().zip(&tasks.told_by);
    each.map(|(target, &(task, reading))| indicator(plan, target, (task, reading), tasks.caps.of(task), known))
        .collect()
}

/// The reading of the method that tells a target, in some dimensions.
pub fn told_by(plan: &Plan, target: &Target, dimensions: &Dimensions) -> Option<usize> {
    let readings = &plan.layout.readings;
    let method = readings[reading_of(plan, target)?].method;
    readings.iter().position(|reading| {
        reading.method == method && reading.indicator.name() == target.indicator && reading.dimensions == *dimensions
    })
}

/// What theory knows of a target, worked out once for each number of units.
pub fn indicator(plan: &Plan, target: &Target, (task, reading): (usize, usize), most: u8, known: &Known) -> Indicator {
    let power = target.power_asked(&plan.study.test);
    let key =
        format!("{:?} {reading} {} {:?} {power:?} {most}", plan.study.visits.places, target.indicator, target.asks);
    let told = known.indicator(key, || worked_out(plan, target, reading, most, &Occasion::of_one_visit(plan, reading)));
    Indicator { task, is_must: target.must, weight: target.weight, ..told }
}

/// What is known of a reading zone by zone: of one visit in each period, or of the mean over several.
pub struct Occasion<'a> {
    pub moments: Vec<Cow<'a, UnitMoments>>,
    /// Of zones that share the places of another.
    pub places: Vec<Option<Cow<'a, PlaceCovariance>>>,
    /// Visits in each period, a year apart.
    pub visits: usize,
}

impl<'a> Occasion<'a> {
    fn of_one_visit(plan: &'a Plan, reading: usize) -> Self {
        let zones = 0..plan.study.zones.len();
        Self {
            moments: zones.clone().map(|zone| Cow::Borrowed(plan.moments(zone, reading))).collect(),
            places: zones.map(|zone| plan.place_covariance(zone, reading).map(Cow::Borrowed)).collect(),
            visits: 1,
        }
    }
}

/// What theory knows of a target by the moments of an occasion.
pub fn worked_out(plan: &Plan, target: &Target, reading: usize, most: u8, occasion: &Occasion) -> Indicator {
    let state = state_of(plan, target);
    let zones = plan.study.zones.len();
    let mut floor = vec![0.0; usize::from(most) + 1];
    let mut sites = vec![vec![SiteTells::one(f64::INFINITY)]; zones];
    let mut expected = 0.0;
    let mut places: Vec<PlacesTell> = plan
        .shared_strata()
        .filter_map(|stratum| <[usize; 2]>::try_from(stratum).ok())
        .map(|zones| PlacesTell { zones, tells: vec![SiteTells::one(f64::INFINITY)], done: DoneSites::default() })
        .collect();
    for units in 1..=usize::from(most) {
        expected = 0.0;
        let mut shared = Shared::default();
        for zone in 0..zones {
            let weight = plan.study.zones[zone].weight;
            let told = zone_tells(plan, (reading, zone), (&occasion.moments[zone], occasion.visits), units, state);
            sites[zone].push(told.site);
            shared.add(weight, told.shared);
            expected += weight * told.expected;
        }
        floor[units] = shared.variance(occasion.visits);
        for places in &mut places {
            places.tells.push(place_tells(plan, reading, (places.zones, occasion), units, state));
        }
    }
    let test = &plan.study.test;
    let tail = tail_of_test(test.sides);
    let design = main_design(plan, reading);
    let (unit, there) = (unit_of_scale(plan, &design), back_to_there(plan, &design, state));
    let (amount, need) = match target.asks {
        Asks::SeeChange(_) => {
            let power = target.power_asked(test).unwrap_or(test.seen);
            (expected.abs(), Need::Table(NeedTable::of_power(test.alpha, tail, power)))
        }
        Asks::HalfWidth(half_width) => (half_width / there, Need::Table(NeedTable::of_half_width(1.0 - test.alpha))),
        Asks::Cv(cv) => (cv * (written_mean(plan, &design) / unit).abs(), Need::Constant(1.0)),
    };
    Indicator {
        name: target.indicator.clone(),
        task: 0,
        is_must: target.must,
        weight: target.weight,
        sites,
        floor,
        target: amount,
        need,
        done: Vec::new(),
        places,
    }
}

/// What so many units at one site of a zone tell, what all its sites share, and what is expected there.
pub struct ZoneTells {
    pub site: SiteTells,
    pub shared: Shared,
    expected: f64,
}

/// SDs of what all sites share: of their years, each by itself, and of the people who read. Zones have the same years and people,
/// so that SDs add up over zones, not variances.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shared {
    years: f64,
    people: f64,
}

impl Shared {
    /// With what the sites of one more zone share.
    pub fn add(&mut self, weight: f64, zone: Shared) {
        self.years += weight * zone.years;
        self.people += weight * zone.people;
    }

    /// In the mean over so many visits by the same people.
    pub fn variance(self, visits: usize) -> f64 {
        self.years * self.years / visits as f64 + self.people * self.people
    }
}

/// From the moments of a unit in a zone, of the mean over so many visits.
pub fn zone_tells(
    plan: &Plan,
    (reading, zone): (usize, usize),
    (moments, visits): (&UnitMoments, usize),
    units: usize,
    state: usize,
) -> ZoneTells {
    let with = |sites: usize| {
        let share = share(plan, (reading, zone), moments, (1.0, sites, units));
        theory(plan, &[ZoneShare { comparison: share.comparison.over(visits), ..share }], state)
    };
    let (few, many) = (with(FEW), with(MANY));
    ZoneTells {
        site: site_tells(&few, &many),
        shared: Shared { years: many.se, people: few.shared_sd },
        expected: few.expected,
    }
}

/// What so many units at each depth of one place tell of the mean over all zones, weights included; the named zone first.
fn place_tells(
    plan: &Plan,
    reading: usize,
    (zones, occasion): ([usize; 2], &Occasion),
    units: usize,
    state: usize,
) -> SiteTells {
    let with = |sites: usize| {
        let of = |zone: usize| {
            let weight = plan.study.zones[zone].weight;
            let share = share(plan, (reading, zone), &occasion.moments[zone], (weight, sites, units));
            let comparison = share.comparison.over(occasion.visits);
            ZoneShare { place: occasion.places[zone].as_deref(), comparison, ..share }
        };
        theory(plan, &zones.map(of), state)
    };
    site_tells(&with(FEW), &with(MANY))
}

/// What one of the sites tells, from theory with few and with very many of them.
fn site_tells(few: &DesignTheory, many: &DesignTheory) -> SiteTells {
    // What all sites share is the same however many there are.
    let one = (few.se * few.se - many.se * many.se).max(0.0) * FEW as f64;
    let tested = few.test_se.powi(2);
    let part = one / FEW as f64;
    let concentration = if part > 0.0 { tested * tested * (FEW as f64 - 1.0) / (few.df * part * part) } else { 1.0 };
    SiteTells { variance: one, concentration: concentration.min(1.0) }
}

/// Variance of the mean of one visit over all zones as it is read, with its degrees of freedom: so many sites in each zone, and
/// so many units at each.
pub fn one_visit(plan: &Plan, reading: usize, sites: &[u16], units: usize) -> Part {
    let of = |(zone, &sites): (usize, &u16)| {
        let weight = plan.study.zones[zone].weight;
        let moments = plan.moments(zone, reading);
        let share = share(plan, (reading, zone), moments, (weight, usize::from(sites), units));
        let place = plan.place_covariance(zone, reading);
        ZoneShare { place, comparison: Comparison::Means(Scale::Plain), ..share }
    };
    let shares: Vec<ZoneShare> = sites.iter().enumerate().map(of).collect();
    let told = theory(plan, &shares, 0);
    Part { variance: told.test_se * told.test_se, df: told.df }
}

/// Sites of a zone, apart from those of others.
fn share<'a>(
    plan: &'a Plan,
    (reading, zone): (usize, usize),
    moments: &'a UnitMoments,
    (weight, sites, units): (f64, usize, usize),
) -> ZoneShare<'a> {
    let of = &plan.layout.readings[reading];
    ZoneShare {
        zone: &plan.study.zones[zone],
        moments,
        place: None,
        weight,
        sites,
        units,
        comparison: plan.study.comparison(of.indicator.name(), of.dimensions, units),
    }
}

fn theory(plan: &Plan, shares: &[ZoneShare], state: usize) -> DesignTheory {
    DesignTheory::new(&plan.study, shares, state)
}
