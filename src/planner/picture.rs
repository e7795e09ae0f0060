//! A virtual site seen from above, with the units of a survey laid on it.

use super::pictured::{
    Fate, PictureAnimal, PictureAnimals, PictureColony, PictureFish, PictureSet, PictureUnit, ReefPicture, SecondVisit,
};
use super::words::plain;
use crate::design::{HARD_CORAL, MapScale, Unit, Zone};
use crate::engine::{LaidUnit, Plan, ZoneSurvey, frame_start, when_of};
use crate::measures::counted;
use crate::random::{Key, Normals, Purpose};
use crate::reef::colonies::{Mark, Visible, mark};
use crate::reef::map::MappedSite;
use crate::reef::{
    AnimalSite, AnimalWalk, Colonies, Colony, MOST_STATES, NamedReef, SamePlace, SiteReef, StripPlace, Visit, Walk,
    ZoneSite,
};
use crate::survey::{Dimensions, MethodKind};
use std::collections::BTreeSet;

/// Cells of the background along the longer side, about.
const CELLS: f64 = 400.0;

/// How many units of each method are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitsDrawn {
    /// So many of each.
    OfEach(usize),
    /// About so many in all, and at least two of each method.
    InAll(usize),
}

impl UnitsDrawn {
    fn of_each(self, sets: usize) -> usize {
        match self {
            UnitsDrawn::OfEach(number) => number,
            UnitsDrawn::InAll(number) => (number / sets.max(1)).max(2),
        }
    }
}

/// Which visit a site is seen at, and in which state of the study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Seen {
    visit: Visit,
    state: usize,
}

const FIRST: Seen = Seen { visit: Visit::First, state: 0 };

/// The first site of the first trial of a zone, as the simulation sees it at the first visit, with units of every method
/// that lies on a reef.
pub fn picture(plan: &Plan, zone: usize, seed: u64, units: UnitsDrawn) -> ReefPicture {
    seen(plan, zone, seed, units, FIRST)
}

/// The same site at the second visit, under the first change (or without one, where none is imposed): which colonies are gone
/// and which are new, and where the units lie then. Fish are not drawn: they are elsewhere at any later moment. `None` for a
/// study of one visit. `first`: the [`picture`] of the same.
pub fn second_picture(
    plan: &Plan,
    zone: usize,
    seed: u64,
    units: UnitsDrawn,
    first: &ReefPicture,
) -> Option<ReefPicture> {
    if plan.study.question.visits() < 2 || plan.states < 2 {
        return None;
    }
    let state = if plan.states > 2 { 2 } else { 1 };
    let mut second = seen(plan, zone, seed, units, Seen { visit: Visit::Second, state });
    let named = |colonies: &[PictureColony]| colonies.iter().map(|colony| colony.id).collect::<BTreeSet<u64>>();
    let (before, after) = (named(&first.colonies), named(&second.colonies));
    for colony in second.colonies.iter_mut().filter(|colony| !before.contains(&colony.id)) {
        colony.fate = Fate::New;
    }
    let new = second.colonies.iter().filter(|colony| colony.fate == Fate::New).count();
    let gone = first.colonies.iter().filter(|colony| !after.contains(&colony.id));
    let gone: Vec<PictureColony> =
        gone.map(|colony| PictureColony { fate: Fate::Gone, is_covered: false, ..*colony }).collect();
    let change = plan.study.changes.first().filter(|_| state == 2).map_or(String::new(), |change| {
        let (scale, unit) = match plan.study.unit_of(&change.indicator) {
            Unit::Share => (100.0, "%".to_owned()),
            Unit::Own(unit) => (1.0, unit),
        };
        let (from, to) = (plain(scale * change.from), plain(scale * change.to));
        let alone = if plan.study.changes.len() > 1 { " (no other change is drawn)" } else { "" };
        let told = format!("{} from {from} to {to} {unit}", change.indicator.replace('_', " "));
        told.trim_end().to_owned() + alone
    });
    let earlier = first.units.iter().map(|unit| (unit.from, unit.to)).collect();
    second.second = Some(SecondVisit { change, gone: gone.len(), new, earlier });
    // Those that are gone lie below those that are there.
    second.colonies = gone.into_iter().chain(second.colonies).collect();
    second.fish.clear();
    Some(second)
}

fn seen(plan: &Plan, zone: usize, seed: u64, units: UnitsDrawn, seen: Seen) -> ReefPicture {
    let asked = &plan.study.zones[zone];
    let size = (asked.length_m, asked.width_m);
    let trial = Key::seed(seed).child(Purpose::Confirmation, 0).child(Purpose::Trial, 0);
    let first_of = |zone: usize| trial.child(Purpose::Zone, zone as u64).child(Purpose::Site, 0);
    let key = first_of(zone);
    // The site of another zone at the same place.
    let place = plan.study.places_of(zone).map(|(named, correlation)| SamePlace { key: first_of(named), correlation });
    let mut site = plan.reefs[zone].site_at(key, place);
    let own_cover = match &mut site {
        ZoneSite::Virtual(site) => {
            let mut covers = [0.0; MOST_STATES];
            site.truth(size, seen.state..seen.state + 1, &mut covers);
            covers[seen.state]
        }
        ZoneSite::Mapped(_) => asked.cover,
    };
    let colonies = match &mut site {
        ZoneSite::Virtual(site) => colonies_of(site, size, seen),
        ZoneSite::Mapped(site) => mapped_colonies(site, size, seen),
    };
    let grid_m = (size.0.max(size.1) / CELLS).max(0.05);
    let grid_columns = (size.0 / grid_m).ceil() as usize;
    let grid = match &site {
        ZoneSite::Virtual(site) => background(plan, zone, (key, site), (size, grid_m), seen),
        ZoneSite::Mapped(site) => pixels(site, size, grid_m, seen),
    };
    let recruits = match &mut site {
        ZoneSite::Virtual(site) => plan.survey(zone).recruits_there(key, site, seen.visit, seen.state),
        ZoneSite::Mapped(_) => Vec::new(),
    };
    let recruits = recruits.into_iter().map(|(x, y)| (x as f32, y as f32)).collect();
    let animals = match &site {
        ZoneSite::Virtual(_) => animals_of(plan, zone, (key, place), size, seen),
        ZoneSite::Mapped(site) => mapped_animals(asked, site, size, seen),
    };
    let categories = asked.categories.iter().map(|category| category.name.clone());
    // Hard coral is a kind of pixel on a mosaic.
    let of_pixels = plan.reefs[zone].mapped().and_then(|reef| reef.mosaic(0)).map(|_| HARD_CORAL.to_owned());
    let (sets, laid) = units_of(plan, zone, (key, seen.visit), units);
    let fish = if seen == FIRST { fish_of(&plan.survey(zone), (key, place)) } else { Vec::new() };
    ReefPicture {
        zone: asked.name.clone(),
        length_m: size.0,
        width_m: size.1,
        caption: caption(asked, (&colonies, own_cover), laid.len(), &plan.study.placement.label()),
        assumed: assumed(asked),
        second: None,
        colonies,
        grid_m,
        grid_columns,
        grid,
        legend: legend_of(asked, of_pixels.is_some()),
        categories: of_pixels.into_iter().chain(categories).collect(),
        is_a_map: asked.map.is_some(),
        sets,
        units: laid,
        animals,
        recruits,
        fish,
    }
}

/// A group of more fish than this on the site is not drawn.
const MOST_FISH: f64 = 20_000.0;

fn fish_of(survey: &ZoneSurvey, at: (Key, Option<SamePlace>)) -> Vec<PictureFish> {
    let groups = 0..survey.zone.fish.len();
    groups
        .map(|group| {
            let there = survey.fish_there(at, group);
            let expected = there.expected();
            let too_many = expected > MOST_FISH;
            let drawn = if too_many { Vec::new() } else { there.draw() };
            PictureFish {
                name: survey.zone.fish[group].name.clone(),
                places: drawn.iter().flatten().map(|&(x, y)| (x as f32, y as f32)).collect(),
                too_many,
                expected,
                schools: drawn.iter().filter(|school| school.len() > 1).count(),
            }
        })
        .collect()
}

/// What the legend of a classified picture colours hard coral and each category with; nothing for other reefs.
fn legend_of(zone: &Zone, is_picture: bool) -> Vec<Option<[u8; 3]>> {
    let Some(MapScale::Picture { legend, .. }) = zone.map.as_ref().filter(|_| is_picture).map(|map| &map.scale) else {
        return Vec::new();
    };
    let colour_of = |name: &str| {
        let (colour, _) = legend.iter().find(|(_, named)| named.as_str() == name)?;
        let value = u32::from_str_radix(colour.trim_start_matches('#'), 16).ok()?;
        let [_, red, green, blue] = value.to_be_bytes();
        Some([red, green, blue])
    };
    let names = zone.categories.iter().map(|category| category.name.as_str());
    std::iter::once(HARD_CORAL).chain(names).map(colour_of).collect()
}

/// The discs that reach into the site, by rising rank. Those beyond its edges are walked too, because they may lie over
/// centres inside.
fn colonies_of(site: &mut SiteReef, (length, width): (f64, f64), seen: Seen) -> Vec<PictureColony> {
    let margin = 0.5 * site.reef.law.spec.sizes.max_m;
    let line = site.frame_line((-margin, 0.5 * width), (1.0, 0.0), length + 2.0 * margin);
    let mut walk = Walk::default();
    walk.read(site, &line, (0.5 * width + margin) as f32, seen.visit);
    let mut alive: Vec<Colony> = walk.colonies.iter().filter(|colony| colony.alive >> seen.state & 1 == 1).collect();
    alive.sort_by_key(|colony| mark(colony.id, Mark::Rank));
    let alive: Colonies = alive.into_iter().collect();
    let mut visible = Visible::default();
    let states = visible.states(&alive);
    let placed = alive.iter().zip(states).map(|(colony, &states)| PictureColony {
        x: colony.along - margin as f32,
        y: 0.5 * width as f32 + colony.across,
        radius: colony.radius,
        is_covered: states >> seen.state & 1 == 0,
        fate: Fate::There,
        id: colony.id,
    });
    let reaches = |at: f32, radius: f32, size: f64| at > -radius && at < size as f32 + radius;
    placed.filter(|disc| reaches(disc.x, disc.radius, length) && reaches(disc.y, disc.radius, width)).collect()
}

/// The discs of a map; all of them are counted.
fn mapped_colonies(site: &MappedSite, (length, width): (f64, f64), seen: Seen) -> Vec<PictureColony> {
    let mut listed = Colonies::default();
    site.list(((0.0, 0.5 * width), (1.0, 0.0)), length, 0.5 * width as f32, seen.visit, &mut listed);
    let alive = listed.iter().filter(|colony| colony.alive >> seen.state & 1 == 1);
    let placed = alive.map(|colony| PictureColony {
        x: colony.along,
        y: 0.5 * width as f32 + colony.across,
        radius: colony.radius,
        is_covered: false,
        fate: Fate::There,
        id: colony.id,
    });
    placed.collect()
}

fn mapped_animals(zone: &Zone, site: &MappedSite, (length, width): (f64, f64), seen: Seen) -> Vec<PictureAnimals> {
    let strip = StripPlace { start: (0.0, 0.5 * width), direction: (1.0, 0.0), length_m: length, width_m: width };
    let mut found = Vec::new();
    let kinds = zone.animals.iter().map(|animal| {
        site.animals(&animal.name, &strip, seen.visit, &mut found);
        found.retain(|animal| animal.alive >> seen.state & 1 == 1);
        let place = |animal: &crate::reef::Animal| PictureAnimal {
            x: animal.along as f32,
            y: (0.5 * width + animal.across) as f32,
            is_hidden: false,
        };
        PictureAnimals { name: animal.name.clone(), places: found.iter().map(place).collect() }
    });
    kinds.collect()
}

/// The pixels in the middles of the picture's cells.
fn pixels(site: &MappedSite, size: (f64, f64), grid_m: f64, seen: Seen) -> Vec<u8> {
    let Some(mosaic) = site.reef.mosaic(seen.state) else { return Vec::new() };
    let (columns, rows) = ((size.0 / grid_m).ceil() as usize, (size.1 / grid_m).ceil() as usize);
    let place = |cell: usize| (cell as f64 + 0.5) * grid_m;
    (0..rows)
        .flat_map(|row| (0..columns).map(move |column| (row, column)))
        .map(|(row, column)| mosaic.kind_at(place(column), place(row)))
        .collect()
}

fn animals_of(
    plan: &Plan,
    zone: usize,
    (key, place): (Key, Option<SamePlace>),
    (length, width): (f64, f64),
    seen: Seen,
) -> Vec<PictureAnimals> {
    let strip = StripPlace { start: (0.0, 0.5 * width), direction: (1.0, 0.0), length_m: length, width_m: width };
    let mut walk = AnimalWalk::default();
    let asked = &plan.study.zones[zone];
    let there = |name: &str| place.zip(plan.study.animal_at_place(asked, name).map(|kind| kind as u64));
    let kinds = asked.animals.iter().zip(&plan.animals[zone]).enumerate();
    kinds
        .map(|(kind, (animal, reef))| {
            let site = AnimalSite::at_place(reef, (key, kind as u64), there(&animal.name));
            walk.read(&site, &strip, seen.visit);
            let there = walk.animals.iter().filter(|animal| animal.alive >> seen.state & 1 == 1);
            let places = there.map(|animal| PictureAnimal {
                x: animal.along as f32,
                y: (0.5 * width + animal.across) as f32,
                is_hidden: !animal.seen,
            });
            PictureAnimals { name: animal.name.clone(), places: places.collect() }
        })
        .collect()
}

fn background(
    plan: &Plan,
    zone: usize,
    (key, site): (Key, &SiteReef),
    (size, grid_m): ((f64, f64), f64),
    seen: Seen,
) -> Vec<u8> {
    let Some(bottom) = plan.theories[zone].law().and_then(|theory| theory.bottom.as_ref()) else { return Vec::new() };
    if plan.study.zones[zone].categories.is_empty() {
        return Vec::new();
    }
    let normals = Normals::new();
    let bottom = bottom.site_at(key, site.frame, site.place);
    let (columns, rows) = ((size.0 / grid_m).ceil() as usize, (size.1 / grid_m).ceil() as usize);
    let place = |cell: usize| (cell as f64 + 0.5) * grid_m;
    (0..rows)
        .flat_map(|row| (0..columns).map(move |column| (row, column)))
        .map(|(row, column)| bottom.category_at(&normals, place(column), place(row), when_of(seen.state)) as u8)
        .collect()
}

/// One set of units for each method with its first dimensions; methods whose tapes are the same share a set.
fn units_of(plan: &Plan, zone: usize, at: (Key, Visit), drawn: UnitsDrawn) -> (Vec<PictureSet>, Vec<PictureUnit>) {
    let survey = plan.survey(zone);
    let readings = &plan.layout.readings;
    let methods = 0..plan.study.methods.len();
    let on_a_reef = methods.filter(|&m| !matches!(plan.study.methods[m].kind, MethodKind::Components(_)));
    let firsts: Vec<usize> =
        on_a_reef.filter_map(|m| readings.iter().position(|reading| reading.method == m)).collect();
    // Some methods may share a set, which is known once they are laid.
    let apart = sets_of(&survey, at, &firsts, 1).len();
    let sets = sets_of(&survey, at, &firsts, drawn.of_each(apart));
    let mut units = Vec::new();
    for (set, laid) in sets.iter().enumerate() {
        let letter = char::from(b'A' + (set % 26) as u8);
        units.extend(laid.places.iter().enumerate().map(|(number, place)| PictureUnit {
            set,
            from: place.from,
            to: place.to,
            width_m: place.width_m,
            frames: laid.frames_of(plan, place),
            on: None,
            label: if sets.len() > 1 { format!("{letter}{}", number + 1) } else { format!("{}", number + 1) },
        }));
    }
    let named = |laid: &LaidSet| PictureSet {
        on: None,
        methods: laid
            .readings
            .iter()
            .map(|&r| (plan.study.method_name(readings[r].method), readings[r].dimensions))
            .collect(),
    };
    (sets.iter().map(named).collect(), units)
}

/// Readings that are laid on the same places.
struct LaidSet {
    readings: Vec<usize>,
    places: Vec<LaidUnit>,
}

impl LaidSet {
    fn frames_of(&self, plan: &Plan, place: &LaidUnit) -> Vec<(f64, f64)> {
        let of_reading = |&reading: &usize| match plan.layout.readings[reading].dimensions {
            Dimensions::PhotoQuadrats { length_m, frames, frame, .. } => {
                let start = move |number| frame_start(place.key, number, frames, frame, length_m);
                (0..frames).map(move |number| (start(number), start(number) + frame.frame_length_m)).collect()
            }
            Dimensions::RecruitQuadrats { quadrat_m, every_m, .. } => {
                let start = move |number| number as f64 * every_m;
                let number = plan.layout.readings[reading].dimensions.quadrats().unwrap_or(0);
                (0..number).map(move |number| (start(number), start(number) + quadrat_m)).collect()
            }
            _ => Vec::new(),
        };
        self.readings.iter().flat_map(of_reading).collect()
    }
}

fn sets_of(survey: &ZoneSurvey, at: (Key, Visit), readings: &[usize], most: usize) -> Vec<LaidSet> {
    let mut sets: Vec<LaidSet> = Vec::new();
    for &reading in readings {
        let places = survey.tapes(at, reading, most);
        match sets.iter_mut().find(|set| set.places == places) {
            Some(set) => set.readings.push(reading),
            None => sets.push(LaidSet { readings: vec![reading], places }),
        }
    }
    sets
}

/// A reef of unknown kind is drawn like one of the named reefs; that must stand beside it.
fn assumed(zone: &Zone) -> String {
    if !zone.reef_is_a_range {
        return String::new();
    }
    format!(
        "What the reef of {} is like is not known (reef = \"unknown\"): it is drawn {}, one of seven it may be.",
        zone.name,
        NamedReef::from_name(&zone.reef_name).map_or("like a named reef", NamedReef::phrase)
    )
}

fn caption(zone: &Zone, (colonies, own_cover): (&[PictureColony], f64), units: usize, laid: &str) -> String {
    if let Some(map) = &zone.map {
        return format!(
            "{}, {} x {} m, {} ({}), hard coral {:.1} %; {} laid {laid}, each whole on the map. Cover is seen from above; \
             relief is not modelled.",
            zone.name,
            zone.length_m,
            zone.width_m,
            map.label(),
            map.file,
            100.0 * zone.cover,
            counted(units, "unit")
        );
    }
    let covered = colonies.iter().filter(|colony| colony.is_covered).count();
    format!(
        "{}, {} x {} m, cover of this site {:.0} % (mean of the zone at the first visit {:.0} %): {} discs of hard coral, of which {covered} have their centre under \
         another; {} laid {laid}. Cover is seen from above; relief is not modelled.",
        zone.name,
        zone.length_m,
        zone.width_m,
        100.0 * own_cover,
        100.0 * zone.cover,
        colonies.len(),
        counted(units, "unit")
    )
}
