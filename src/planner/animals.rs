//! What the search for each kind of animal meets, and what may be said when it meets none.

use super::rows::place_name;
use crate::design::FishWho;
use crate::engine::{DesignIndex, Indicator, Outcome, Plan, Where};
use crate::measures::counted;
use crate::survey::Dimensions;
use rayon::prelude::*;
use serde::Serialize;

/// How surely an animal that is there shall be met, and the confidence of what is said when none was.
pub const SURELY: f64 = 0.95;

/// Of fish only what is not in so many units is searched for: the others are met anyway.
const OFTEN: f64 = 0.8;

/// One kind of animal in one zone, searched in units of one kind; by formula unless it says simulated.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnimalSearch {
    pub indicator: String,
    pub zone: String,
    pub method: String,
    pub dimensions: Dimensions,
    pub unit_area_m2: f64,
    /// Share of units that find at least one, over all sites.
    pub occupied: f64,
    pub occupied_simulated: f64,
    pub occupied_simulated_error: f64,
    /// The largest number of sites compared, and the units on each of them with which at least one animal is met 95 times in
    /// 100; `None` where the sites have no room for so many.
    pub most_sites: usize,
    pub units_to_meet: Option<usize>,
    /// For the numbers of sites and units compared.
    pub chances: Vec<SearchChance>,
}

/// What so many units on so many sites meet at one visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SearchChance {
    pub sites: usize,
    /// On each site.
    pub units: usize,
    /// Searched on all sites together.
    pub area_m2: f64,
    /// Chance of at least one animal.
    pub met: f64,
    pub met_simulated: f64,
    pub met_simulated_error: f64,
    /// The chance on any one of the sites.
    pub met_on_one_site: f64,
    /// Units on each of these sites with which at least one animal is met 95 times in 100; `None` where the sites have no room
    /// for so many.
    pub units_to_meet: Option<usize>,
    /// When none is met: the density, hidden animals and all sizes included, at which that would still happen 5 times in 100.
    /// Absence cannot be shown.
    pub upper_limit_per_ha: Option<f64>,
}

/// All searches of a plan: animal by animal as they are read, zone by zone.
pub fn searches(plan: &Plan, outcome: &Outcome) -> Vec<AnimalSearch> {
    let readings = 0..plan.layout.readings.len();
    let zones = 0..plan.study.zones.len();
    let pairs: Vec<(usize, usize)> =
        readings.flat_map(|reading| zones.clone().map(move |zone| (reading, zone))).collect();
    pairs.par_iter().filter_map(|&(reading, zone)| search(plan, outcome, reading, zone)).collect()
}

impl AnimalSearch {
    /// What so many units on each of the largest number of sites meet.
    pub fn chance(&self, units: usize) -> Option<&SearchChance> {
        self.chances.iter().find(|chance| (chance.sites, chance.units) == (self.most_sites, units))
    }
}

/// Where a visit of the design in the headline often meets none of the animals that are asked about: how often, and what meets
/// them. It stands before all else, because what is not met tells nothing.
pub fn rarity_sentence(plan: &Plan, design: &DesignIndex, searches: &[AnimalSearch]) -> Option<String> {
    let reading = &plan.layout.readings[design.reading];
    let method = &plan.study.methods[reading.method].kind;
    let units = reading.units[reading.units.iter().position(|&n| n == 6).unwrap_or(reading.units.len() - 1)];
    let name_of_method = plan.study.method_name(reading.method);
    let is_same = |search: &&AnimalSearch| {
        search.indicator == reading.indicator.name()
            && search.method == name_of_method
            && search.dimensions == reading.dimensions
    };
    let found = searches.iter().filter(is_same).filter_map(|search| Some((search, search.chance(units)?)));
    let (search, chance) = found.min_by(|one, other| one.1.met.total_cmp(&other.1.met))?;
    if chance.met >= SURELY {
        return None;
    }
    let name = search.indicator.replace('_', " ");
    let zone = if plan.study.zones.len() > 1 { format!(" in zone {}", search.zone) } else { String::new() };
    let to_meet = match search.units_to_meet {
        Some(enough) => format!("it takes {} a site", counted(enough, method.unit())),
        None => format!("no number of {} is enough", method.units()),
    };
    Some(format!(
        "Is it met at all? A visit with {} on {}{zone} meets no {name} {} times in 100 (by formula), and then tells no mean, no \
         change and no interval; to meet one {:.0} times in 100 {to_meet}.",
        counted(units, method.unit()),
        if chance.sites == 1 { "1 site".into() } else { format!("each of {} sites", chance.sites) },
        super::words::exactly((1000.0 * (1.0 - chance.met)).round() / 10.0),
        100.0 * SURELY
    ))
}

fn search(plan: &Plan, outcome: &Outcome, r: usize, zone: usize) -> Option<AnimalSearch> {
    let reading = &plan.layout.readings[r];
    let indicator = reading.indicator.name();
    let kind = &plan.study.methods[reading.method].kind;
    let at = (&plan.study, &plan.study.zones[zone]);
    let meeting = plan.theories[zone].meeting(at, (kind, reading.dimensions), indicator)?;
    if let Indicator::Fish { told, .. } = &reading.indicator {
        // What is one group by itself is told once.
        let groups = plan.study.zones[zone].fish.iter().filter(|group| told.includes(group)).count();
        let repeats = groups == 1 && !matches!(told.who, FishWho::Group(_));
        if repeats || meeting.presence() > OFTEN {
            return None;
        }
    }
    let unit_area_m2 = reading.dimensions.searched_m2()?;
    let tally = |units: usize, sites: usize| {
        let design = DesignIndex { reading: r, units, sites, place: Where::Zone(zone) };
        outcome.tally(plan.index(&design), 0)
    };
    let mut chances: Vec<SearchChance> = Vec::new();
    let has_room = |units: &usize| plan.moments(zone, r).laid(*units) == *units;
    let units_to_meet = |sites: usize| meeting.units_to_meet(SURELY, sites).filter(has_room);
    for (choice, &sites) in plan.sites[zone].iter().enumerate() {
        let enough = units_to_meet(sites);
        for (u, &units) in reading.units.iter().enumerate() {
            let met = tally(u, choice).met_share();
            let chance = SearchChance {
                sites,
                units,
                area_m2: (sites * units) as f64 * unit_area_m2,
                met: meeting.at_least_one(units, sites),
                met_simulated: met.value(),
                met_simulated_error: met.error(),
                met_on_one_site: meeting.at_least_one(units, 1),
                units_to_meet: enough,
                upper_limit_per_ha: meeting.upper_limit_per_ha(units, sites, SURELY),
            };
            // A zone may have fewer numbers of sites than another.
            if !chances.iter().any(|known| (known.sites, known.units) == (sites, units)) {
                chances.push(chance);
            }
        }
    }
    let most_sites = plan.sites[zone].iter().copied().max()?;
    let (choice, u) = (plan.sites[zone].iter().position(|sites| *sites == most_sites)?, reading.units.len() - 1);
    let units = (most_sites * reading.units[u]) as f64;
    let (occupied_simulated, occupied_simulated_error) = tally(u, choice).occupied_share(units);
    Some(AnimalSearch {
        indicator: indicator.into(),
        zone: place_name(plan, Where::Zone(zone)),
        method: plan.study.method_name(reading.method),
        dimensions: reading.dimensions,
        unit_area_m2,
        occupied: meeting.presence(),
        occupied_simulated,
        occupied_simulated_error,
        most_sites,
        units_to_meet: units_to_meet(most_sites),
        chances,
    })
}
