//! Animals counted in belts.

use super::layout::{Indicator, SearchedBelt};
use super::sheet::Sheet;
use super::survey_site::{Scratch, ZoneSurvey, states_of_visit};
use crate::random::{Key, Purpose};
use crate::reef::map::MappedSite;
use crate::reef::{AnimalReef, AnimalSite, AnimalWalk, MOST_STATES, SamePlace, StripPlace, Visit, ZoneSite};
use crate::survey::Place;

/// Densities are told per so many square metres.
const PER_M2: f64 = 100.0;

/// The key of the belts of one layout, which lie independently of tapes and other belts.
pub fn searched_key(key: Key, belt: usize) -> Key {
    key.child(Purpose::Placement, 2_000_000 + belt as u64)
}

/// A kind of animal on the site in hand.
struct Kind<'a> {
    name: &'a str,
    site: Whereabouts<'a>,
    /// Marks of size above this are of commercial size.
    commercial_from: f64,
}

/// Where the animals of a kind are.
enum Whereabouts<'a> {
    Virtual(Box<AnimalSite<'a>>),
    Mapped(&'a MappedSite<'a>),
}

impl Kind<'_> {
    fn list(&self, strip: &StripPlace, visit: Visit, walk: &mut AnimalWalk) {
        match &self.site {
            Whereabouts::Virtual(site) => walk.read(site, strip, visit),
            Whereabouts::Mapped(site) => site.animals(self.name, strip, visit, &mut walk.animals),
        }
    }
}

impl<'s> ZoneSurvey<'s> {
    fn mapped_kinds<'a>(&'a self, site: &'a MappedSite<'a>) -> Vec<Kind<'a>> {
        let kind = |animal: &'a crate::design::Animal| Kind {
            name: &animal.name,
            site: Whereabouts::Mapped(site),
            commercial_from: 0.0,
        };
        self.zone.animals.iter().map(kind).collect()
    }

    /// Where another zone has sites at the same places, its animal of the same name has the same effects.
    fn kinds(&self, key: Key, place: Option<SamePlace>) -> Vec<Kind<'s>> {
        let there = |name: &str| place.zip(self.study.animal_at_place(self.zone, name).map(|kind| kind as u64));
        let kind = |(k, (animal, reef)): (usize, (&'s crate::design::Animal, &'s AnimalReef))| Kind {
            name: &animal.name,
            site: Whereabouts::Virtual(Box::new(AnimalSite::at_place(reef, (key, k as u64), there(&animal.name)))),
            commercial_from: 1.0 - animal.commercial_share().unwrap_or(1.0),
        };
        self.zone.animals.iter().zip(self.animals).enumerate().map(kind).collect()
    }

    /// Counts all animals of a site at a visit.
    pub fn count_animals(&self, key: Key, site: &ZoneSite, visit: Visit, sheet: &mut Sheet, scratch: &mut Scratch) {
        if self.layout.searched.is_empty() {
            return;
        }
        let kinds = match site {
            ZoneSite::Virtual(site) => self.kinds(key, site.place),
            ZoneSite::Mapped(site) => self.mapped_kinds(site),
        };
        let mut places = std::mem::take(&mut scratch.places);
        for (b, belt) in self.layout.searched.iter().enumerate() {
            let lengths = vec![belt.length_m; belt.number];
            self.lay(searched_key(key, b), visit, (&lengths, belt.width_m), &mut places);
            for (unit, place) in places.iter().enumerate() {
                self.search(belt, (unit, place), visit, &kinds, sheet, scratch);
            }
        }
        scratch.places = places;
    }

    fn search(
        &self,
        belt: &SearchedBelt,
        (unit, place): (usize, &Place),
        visit: Visit,
        kinds: &[Kind],
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        let strip =
            StripPlace { start: place.start, direction: place.heading, length_m: belt.length_m, width_m: belt.width_m };
        let states = states_of_visit(visit, sheet.states());
        let per_m2 = PER_M2 / (belt.length_m * belt.width_m);
        for kind in kinds {
            kind.list(&strip, visit, &mut scratch.animals);
            for &column in &belt.columns {
                let Indicator::Animal { animal, commercial, presence, .. } = &self.layout.reading(column).indicator
                else {
                    continue;
                };
                if animal != kind.name || unit >= self.layout.columns[column].units {
                    continue;
                }
                let from = if *commercial { kind.commercial_from } else { 0.0 };
                for state in states.clone() {
                    let counted = scratch
                        .animals
                        .animals
                        .iter()
                        .filter(|animal| animal.seen && animal.size >= from && animal.alive >> state & 1 == 1);
                    let count = counted.count();
                    let told = if *presence { f64::from(u8::from(count > 0)) } else { per_m2 * count as f64 };
                    sheet.set(column, state, unit, told);
                }
            }
        }
        // An animal that the zone does not have is never met.
        for &column in &belt.columns {
            let Indicator::Animal { animal, .. } = &self.layout.reading(column).indicator else { continue };
            if unit < self.layout.columns[column].units && !kinds.iter().any(|kind| kind.name == animal) {
                states.clone().for_each(|state| sheet.set(column, state, unit, 0.0));
            }
        }
    }

    /// True densities of the site in the states of a visit, hidden animals included. How many belts have one is no property of a
    /// site: its truth is known beforehand.
    pub fn animal_truths(&self, (key, place): (Key, Option<SamePlace>), visit: Visit, sheet: &mut Sheet) {
        if self.layout.searched.is_empty() {
            return;
        }
        let states = states_of_visit(visit, sheet.states());
        let mut kinds = self.kinds(key, place);
        for kind in &mut kinds {
            let mut truths = [0.0; MOST_STATES];
            let Whereabouts::Virtual(site) = &mut kind.site else { continue };
            site.truth((self.zone.length_m, self.zone.width_m), states.clone(), &mut truths);
            for (r, reading) in self.layout.readings.iter().enumerate() {
                let Indicator::Animal { animal, commercial, presence, .. } = &reading.indicator else { continue };
                if *presence {
                    let known = self.known_truths[r].as_ref();
                    states.clone().for_each(|state| {
                        sheet.set_truth(r, state, known.map_or(0.0, |truth| truth.everywhere(state)));
                    });
                } else if animal == kind.name {
                    let share = if *commercial { 1.0 - kind.commercial_from } else { 1.0 };
                    states.clone().for_each(|state| sheet.set_truth(r, state, PER_M2 * share * truths[state]));
                }
            }
        }
        for (r, reading) in self.layout.readings.iter().enumerate() {
            let Indicator::Animal { animal, presence, .. } = &reading.indicator else { continue };
            if !presence && !kinds.iter().any(|kind| kind.name == animal) {
                states.clone().for_each(|state| sheet.set_truth(r, state, 0.0));
            }
        }
    }
}
