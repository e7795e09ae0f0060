//! Where the units of a plan begin: random starts by the placement of the study, with spares.

use super::draw::Draw;
use super::prepared::Prepared;
use super::schedule::place;
use crate::budget::Found;
use crate::random::{Key, Purpose};
use crate::survey::{LineLayout, Place};
use serde::Serialize;

/// The start of one unit at one site. A spare is used, in its order, where a start cannot be (sand, a drop, a net): why is
/// written down.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Start {
    pub zone: String,
    /// The how-manieth site of its zone, in the order of the draw.
    pub site: usize,
    /// Of the list of candidate sites.
    pub site_name: Option<String>,
    pub method: String,
    pub unit: usize,
    pub is_spare: bool,
    /// From the corner of the site, along the reef and across, m; for a belt its middle line.
    pub along_m: f64,
    pub across_m: f64,
    /// Of the line, degrees from the direction along the reef.
    pub heading_degrees: f64,
    /// What was chosen for the method: "10 m, every 0.1 m".
    pub dimensions: String,
}

impl Start {
    /// "fore reef 3", with the name of the site where it has one.
    pub fn place(&self) -> String {
        place(&self.zone, self.site, self.site_name.as_deref())
    }
}

/// Spare starts of each method at a site.
const SPARES: usize = 2;

/// All starts of a plan: a pure function of the seed (and of the name of the site, where it has one). Methods without a length
/// on the reef have none.
pub fn starts(prepared: &Prepared, found: &Found, draw: Option<&Draw>, seed: u64) -> Vec<Start> {
    let plan = prepared.plan;
    let mut all = Vec::new();
    let mut places: Vec<Place> = Vec::new();
    for (zone, &sites) in found.sites.iter().enumerate() {
        let ground = plan.study.ground(&plan.study.zones[zone]);
        let numbers = draw.map_or((0..usize::from(sites)).collect(), |draw| draw.planned(zone, usize::from(sites)));
        for site in numbers {
            let of_zone = Key::seed(seed).child(Purpose::Starts, zone as u64);
            let site_name = draw.map(|draw| draw.site(zone, site).name.clone());
            let of_site = match &site_name {
                Some(name) => of_zone.child_of_name(Purpose::Site, name),
                None => of_zone.child(Purpose::Site, site as u64),
            };
            for (task, &method) in prepared.tasks.methods.iter().enumerate() {
                let dimensions = prepared.dimensions[method];
                let Some(length) = dimensions.length_m() else { continue };
                let units = usize::from(found.units[task]);
                // Equal distances leave no room for more.
                let spares = if ground.placement.layout == LineLayout::Systematic { 0 } else { SPARES };
                let key = of_site.child(Purpose::Placement, method as u64);
                ground.lay(key, 0, &vec![length; units + spares], dimensions.width_m(), &mut places);
                let start = |(unit, place): (usize, &Place)| Start {
                    zone: plan.study.zones[zone].name.clone(),
                    site: site + 1,
                    site_name: site_name.clone(),
                    method: prepared.tasks.tasks[task].name.clone(),
                    unit: unit + 1,
                    is_spare: unit >= units,
                    along_m: tenths(place.start.0),
                    across_m: tenths(place.start.1),
                    heading_degrees: libm::atan2(place.heading.1, place.heading.0).to_degrees().round(),
                    dimensions: dimensions.label(),
                };
                all.extend(places.iter().enumerate().map(start));
            }
        }
    }
    all
}

/// To 10 cm: nobody finds a start more nearly.
fn tenths(metres: f64) -> f64 {
    (10.0 * metres).round() / 10.0
}
