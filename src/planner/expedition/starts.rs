//! Where the units of a plan begin: random starts by the placement of the study, with spares.

use super::draw::Draw;
use super::prepared::Prepared;
use super::schedule::place;
use crate::budget::Found;
use crate::geometry::{Point, Rectangle};
use crate::measures::counted;
use crate::random::{Key, Purpose};
use crate::survey::{Ground, LineLayout, Place};
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
                let Some(laid) = laid_as(prepared, found, task) else { continue };
                let units = usize::from(found.units[task]);
                // Equal distances leave no room for more.
                let spares = if ground.placement.layout == LineLayout::Systematic { 0 } else { SPARES };
                let key = of_site.child(Purpose::Placement, laid.method as u64);
                lay_apart(&ground, key, laid.size_m, (laid.units, spares), &mut places);
                let end = laid.units.min(places.len());
                if laid.is_shared && ground.placement.layout != LineLayout::RandomStarts {
                    // Those that come first are no end of the site.
                    shuffle(&mut places[..end], key);
                }
                // Of lines that others are read on too, the first ones, and their spares.
                places.drain(units.min(end)..end);
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

/// What is laid for the units of a method.
struct Laid {
    method: usize,
    /// Length and width, m.
    size_m: (f64, f64),
    units: usize,
    is_shared: bool,
}

/// Methods that are done on the same lines are laid as one: the longest and widest of them, and as many as the most of them.
/// `None` of what has no length on the reef.
fn laid_as(prepared: &Prepared, found: &Found, task: usize) -> Option<Laid> {
    let tasks = &prepared.tasks;
    let size = |task: usize| {
        let dimensions = prepared.dimensions[tasks.methods[task]];
        dimensions.length_m().map(|length| (length, dimensions.width_m()))
    };
    let own = size(task)?;
    let shared = tasks.line.as_ref().filter(|line| line.tasks.contains(&task));
    let Some(line) = shared.filter(|line| line.tasks.iter().all(|&of| size(of).is_some())) else {
        return Some(Laid {
            method: tasks.methods[task],
            size_m: own,
            units: usize::from(found.units[task]),
            is_shared: false,
        });
    };
    let widest = line.tasks.iter().filter_map(|&of| size(of));
    Some(Laid {
        method: tasks.methods[line.tasks[0]],
        size_m: widest.fold(own, |most, of| (most.0.max(of.0), most.1.max(of.1))),
        units: usize::from(line.needs(&found.units)),
        is_shared: true,
    })
}

/// In random order, by a key.
fn shuffle(places: &mut [Place], key: Key) {
    for last in (1..places.len()).rev() {
        let other = (key.uniform(Purpose::Starts, last as u64) * (last + 1) as f64) as usize;
        places.swap(last, other.min(last));
    }
}

/// Attempts at laying the belts of a method at a site so that none overlap, and draws of each: a belt that finds no place free
/// of those before it is drawn anew, and where the first ones leave no room for the others all are.
const ATTEMPTS: u64 = 16;
const DRAWS: u64 = 64;

/// Lays units and their spares; where belts would overlap they are drawn anew, one after the other. The first draw stays where
/// it does; of places found in no attempt the most that were. Units come first, so that spares overlap before they do.
fn lay_apart(
    ground: &Ground,
    key: Key,
    (length, width): (f64, f64),
    (units, spares): (usize, usize),
    places: &mut Vec<Place>,
) {
    let lengths = vec![length; units + spares];
    let belt = |place: &Place| Rectangle { start: place.start, heading: place.heading, length, width };
    ground.lay(key, 0, &lengths, width, places);
    let is_free = overlaps(places.iter().map(|place| (place.start, place.heading)), length, width) == 0;
    // What keeps its own distances is not taken apart.
    if is_free || ground.placement.layout != LineLayout::RandomStarts {
        return;
    }
    let first = places.clone();
    let mut most: Vec<Place> = Vec::new();
    for attempt in 0..ATTEMPTS {
        let mut free: Vec<Place> = Vec::new();
        for draw in 0..DRAWS {
            let number = attempt * DRAWS + draw;
            let of_draw = if number == 0 { key } else { key.child(Purpose::Starts, number) };
            ground.lay(of_draw, 0, &lengths, width, places);
            for place in places.iter() {
                if free.len() < lengths.len() && free.iter().all(|other| !belt(other).overlaps(&belt(place), TOUCH_M)) {
                    free.push(*place);
                }
            }
        }
        if free.len() > most.len() {
            most = free;
        }
        if most.len() == lengths.len() {
            break;
        }
    }
    let others = first.into_iter().filter(|place| most.iter().all(|of| of.start != place.start));
    let missing = lengths.len() - most.len();
    let others: Vec<Place> = others.take(missing).collect();
    most.extend(others);
    *places = most;
}

/// Pairs of belts that overlap; lines have no width and share no animals.
fn overlaps(places: impl Iterator<Item = (Point, Point)>, length: f64, width: f64) -> usize {
    if width <= 0.0 {
        return 0;
    }
    let belts: Vec<Rectangle> = places.map(|(start, heading)| Rectangle { start, heading, length, width }).collect();
    let pairs = belts.iter().enumerate().flat_map(|(at, one)| belts[at + 1..].iter().map(move |other| (one, other)));
    pairs.filter(|(one, other)| one.overlaps(other, TOUCH_M)).count()
}

/// Belts that share no more than this touch: starts are told to 10 cm.
const TOUCH_M: f64 = 0.1;

/// Where belts of one method overlap at a site all the same: how many sites, and what to do.
pub fn crowded(prepared: &Prepared, starts: &[Start]) -> Option<String> {
    let same =
        |one: &Start, other: &Start| (&one.zone, one.site, &one.method) == (&other.zone, other.site, &other.method);
    let is_crowded = |of: &&[Start]| {
        let task = prepared.tasks.tasks.iter().position(|task| task.name == of[0].method);
        let Some(method) = task.and_then(|task| prepared.tasks.methods.get(task)) else { return false };
        let dimensions = prepared.dimensions[*method];
        let Some(length) = dimensions.length_m() else { return false };
        let place = |start: &Start| {
            let angle = start.heading_degrees.to_radians();
            ((start.along_m, start.across_m), (libm::cos(angle), libm::sin(angle)))
        };
        let laid = of.iter().filter(|start| !start.is_spare).map(place);
        overlaps(laid, length, dimensions.width_m()) > 0
    };
    let crowded: Vec<&[Start]> = starts.chunk_by(same).filter(is_crowded).collect();
    let first = crowded.first()?;
    Some(format!(
        "Belts of one method overlap at {} (the first: {} at {}): no starts were drawn that keep them apart, and what lies in \
         both is counted twice. Make the sites larger (length_m and width_m of the zone), the belts shorter, or lay fewer.",
        counted(crowded.len(), "site"),
        first[0].method.replace('_', " "),
        first[0].place()
    ))
}

/// To 10 cm: nobody finds a start more nearly.
fn tenths(metres: f64) -> f64 {
    (10.0 * metres).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Placement;

    /// Four belts of 30 x 5 m and two spares on 100 x 20 m, which as they fall are hardly ever apart: units are, whatever the
    /// seed, and the same seed gives the same; fourteen do not fit, and as many as can be are apart.
    #[test]
    fn units_are_laid_apart_where_there_is_room() {
        let ground = Ground { site: (100.0, 20.0), placement: Placement::default() };
        let apart =
            |places: &[Place]| overlaps(places.iter().map(|place| (place.start, place.heading)), 30.0, 5.0) == 0;
        let mut places = Vec::new();
        for seed in 0..50 {
            let key = Key::seed(seed);
            lay_apart(&ground, key, (30.0, 5.0), (4, 2), &mut places);
            assert!(places.len() == 6 && apart(&places[..4]), "{seed}");
            let once = places.clone();
            lay_apart(&ground, key, (30.0, 5.0), (4, 2), &mut places);
            assert!(once.iter().zip(&places).all(|(a, b)| a.start == b.start));
            lay_apart(&ground, key, (30.0, 5.0), (14, 0), &mut places);
            assert!(places.len() == 14 && !apart(&places) && apart(&places[..4]), "{seed}");
        }
    }
}
