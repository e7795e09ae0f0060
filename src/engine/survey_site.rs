//! Surveys one site in one trial: lays the tapes and belts, reads them in every state, fills the sheet.

use super::animals::searched_key;
use super::classes::{CORAL, ClassReader, code_of, misread_key};
use super::colonies::{KnownTruth, measured_key};
use super::colony_site::ColonySite;
use super::fish::{FishReef, FishScratch, fish_key};
use super::layout::{Belt, Indicator, Layout, Tape, Throw};
use super::recruits::quadrats_key;
use super::sheet::Sheet;
use super::thrown::Thrown;
use crate::design::{Places, Study, Zone};
use crate::geometry::{bits, union_length};
use crate::random::{Key, Purpose, normal_from_uniform};
use crate::reef::{AnimalReef, AnimalWalk, Bottom, Colony, MOST_STATES, Visit, Walk, ZoneReef, ZoneSite};
use crate::survey::Place;
use crate::survey::coral_belt::BeltReader;

/// Scratch memory of a survey; one per thread, reused.
#[derive(Default)]
pub struct Scratch {
    pub(super) walk: Walk,
    pub(super) places: Vec<Place>,
    sets: Vec<u64>,
    /// Where the colonies meet a tape and in which states they live, and the chords of those of one state.
    met: Vec<((f32, f32), u16)>,
    chords: Vec<(f32, f32)>,
    shifted: Vec<(f32, f32)>,
    written: Vec<u8>,
    thrown: Thrown,
    pub(super) covered: Vec<u16>,
    pub(super) animals: AnimalWalk,
    pub(super) belt: BeltReader,
    pub(super) fish: FishScratch,
}

/// One zone, ready to be surveyed.
pub struct ZoneSurvey<'a> {
    pub study: &'a Study,
    pub zone: &'a Zone,
    pub layout: &'a Layout,
    pub reef: &'a ZoneReef,
    /// The rest of the bottom, where something besides coral is read.
    pub bottom: Option<&'a Bottom>,
    /// The animals of the zone, in the order of its list.
    pub animals: &'a [AnimalReef],
    /// The fish of the zone, in the order of its list.
    pub fish: &'a [FishReef],
    /// The recruits of the zone, where they are counted.
    pub recruits: Option<&'a AnimalReef>,
    /// For each reading, what is true on a site, where it does not hang on what the reef of the site is alone.
    pub known_truths: &'a [Option<KnownTruth>],
    /// Log odds of having dead parts for each share of its colonies by which a site has more of them.
    pub dead_log_odds: f64,
}

/// Where one unit lies at a visit, m on the site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LaidUnit {
    /// Ends of the tape; for a strip, of its middle line.
    pub from: (f64, f64),
    pub to: (f64, f64),
    pub width_m: f64,
    /// The unit's own: it places its frames.
    pub key: Key,
}

/// One tape or belt as it lies at a visit.
struct Laid {
    unit: usize,
    place: Place,
    length_m: f64,
}

impl ZoneSurvey<'_> {
    /// Reads a site at a visit into the sheet: state 0 at the first visit, the other states at the second.
    pub fn read(&self, key: Key, site: &mut ZoneSite, visit: Visit, sheet: &mut Sheet, scratch: &mut Scratch) {
        let classes = ClassReader::new(self, key, site);
        let classes = classes.as_ref();
        // Taken out so that the rest of the scratch is free while they are read.
        let mut places = std::mem::take(&mut scratch.places);
        for tape in &self.layout.tapes {
            self.lay(key, visit, (&tape.lengths_m, 0.0), &mut places);
            for (unit, (&place, &length_m)) in places.iter().zip(&tape.lengths_m).enumerate() {
                site.walk(&mut scratch.walk, (place.start, place.heading), length_m, 0.0, visit);
                self.read_tape(tape, &Laid { unit, place, length_m }, classes, visit, sheet, scratch);
            }
        }
        for (b, belt) in self.layout.belts.iter().enumerate() {
            let lengths = vec![belt.length_m; belt.number];
            self.lay(belt_key(key, b), visit, (&lengths, belt.width_m), &mut places);
            for (unit, &place) in places.iter().enumerate() {
                let side = 0.5 * belt.width_m as f32;
                site.walk(&mut scratch.walk, (place.start, place.heading), belt.length_m, side, visit);
                self.read_belt(belt, &Laid { unit, place, length_m: belt.length_m }, classes, visit, sheet, scratch);
            }
        }
        scratch.places = places;
        self.measure_colonies(key, site, visit, sheet, scratch);
        self.count_animals(key, site, visit, sheet, scratch);
        self.count_recruits(key, site, visit, sheet, scratch);
        // A map of fish is not told.
        if let ZoneSite::Virtual(site) = site {
            self.count_fish(key, site, visit, sheet, scratch);
        }
    }

    /// True covers of the site in the states of a visit.
    pub fn truths(&self, key: Key, site: &mut ZoneSite, visit: Visit, sheet: &mut Sheet) {
        let classes = ClassReader::new(self, key, site);
        let ZoneSite::Virtual(site) = site else { return self.mapped_truths(visit, sheet) };
        let mut truths = [0.0; MOST_STATES];
        site.truth((self.zone.length_m, self.zone.width_m), states_of_visit(visit, sheet.states()), &mut truths);
        let colonies = ColonySite::of(&self.zone.colony_variation, key, visit);
        for state in states_of_visit(visit, sheet.states()) {
            let covers = classes.as_ref().map(|classes| classes.truths(truths[state], state)).unwrap_or_default();
            for (r, reading) in self.layout.readings.iter().enumerate() {
                let truth = match code_of(self, &reading.indicator) {
                    Some(CORAL) => truths[state],
                    Some(code) => covers.get(usize::from(code) - 1).copied().unwrap_or(0.0),
                    None if matches!(reading.indicator, Indicator::Colonies { .. }) => match &self.known_truths[r] {
                        Some(truth) => truth.at((truths[state], &colonies), state),
                        None => 0.0,
                    },
                    None if !reading.indicator.is_of_the_bottom() => continue,
                    None => 0.0,
                };
                sheet.set_truth(r, state, truth);
            }
        }
        self.animal_truths((key, site.place), visit, sheet);
        self.fish_truths((key, site.place), visit, &truths, sheet);
        self.recruit_truths(key, site, visit, &truths, sheet);
    }

    /// What is true of a map is known for every reading.
    fn mapped_truths(&self, visit: Visit, sheet: &mut Sheet) {
        for (r, truth) in self.known_truths.iter().enumerate() {
            for state in states_of_visit(visit, sheet.states()) {
                if let Some(truth) = truth {
                    sheet.set_truth(r, state, truth.everywhere(state));
                }
            }
        }
    }

    /// Where the units of a reading lie at a visit: the most that it asks for, up to `most`.
    pub fn tapes(&self, (key, visit): (Key, Visit), reading: usize, most: usize) -> Vec<LaidUnit> {
        let mut columns = self.layout.columns_of(reading);
        let small = |column: &usize| self.layout.columns[*column].units <= most;
        let Some(column) = columns.clone().rfind(small).or_else(|| columns.next()) else { return Vec::new() };
        let number = self.layout.columns[column].units.min(most);
        let Some(length) = self.layout.readings[reading].dimensions.length_m() else { return Vec::new() };
        let mut places = Vec::new();
        let tape = self.layout.tapes.iter().find(|tape| tape.has(column));
        let belt = self.layout.belts.iter().position(|belt| belt.has(column));
        let mut own_key = None;
        let (width_m, lengths) = match (tape, belt) {
            (Some(tape), _) => (0.0, tape.lengths_m.clone()),
            (None, Some(belt)) => {
                let belt = &self.layout.belts[belt];
                (belt.width_m, vec![belt.length_m; belt.number])
            }
            (None, None) => {
                let searched = self.layout.searched.iter().position(|belt| belt.columns.contains(&column));
                let measured = self.layout.measured.iter().position(|belt| belt.columns.contains(&column));
                let quadrats = self.layout.quadrats.iter().position(|line| line.columns.contains(&column));
                let (width_m, length_m, number) = match (searched, measured, quadrats) {
                    (Some(b), _, _) => {
                        own_key = Some(searched_key(key, b));
                        let belt = &self.layout.searched[b];
                        (belt.width_m, belt.length_m, belt.number)
                    }
                    (None, Some(b), _) => {
                        own_key = Some(measured_key(key, b));
                        let belt = &self.layout.measured[b];
                        (belt.width_m, belt.length_m, belt.number)
                    }
                    (None, None, Some(l)) => {
                        own_key = Some(quadrats_key(key, l));
                        let line = &self.layout.quadrats[l];
                        (line.quadrat_m, line.length_m, line.number)
                    }
                    (None, None, None) => {
                        let Some(u) = self.layout.fish.iter().position(|units| units.columns.contains(&column)) else {
                            return Vec::new();
                        };
                        own_key = Some(fish_key(key, u));
                        let units = &self.layout.fish[u];
                        (units.width_m, units.length_m, units.number)
                    }
                };
                (width_m, vec![length_m; number])
            }
        };
        let key = own_key.or(belt.map(|belt| belt_key(key, belt))).unwrap_or(key);
        self.lay(key, visit, (&lengths, width_m), &mut places);
        let window = |(place, laid): (&Place, &f64)| {
            let from = place.share * (laid - length);
            LaidUnit { from: place.at(from, 0.0), to: place.at(from + length, 0.0), width_m, key: place.key }
        };
        places.iter().zip(&lengths).take(number).map(window).collect()
    }

    /// Places the units of one layout by the rule of the study; at the second visit anew, or where they were and displaced.
    pub(super) fn lay(&self, key: Key, visit: Visit, (lengths, width): (&[f64], f64), places: &mut Vec<Place>) {
        let same_marks = self.study.visits.places == Places::SameMarks;
        let occasion = if visit == Visit::Second && !same_marks { 1 } else { 0 };
        let ground = self.study.ground(self.zone);
        ground.lay(key, occasion, lengths, width, places);
        if visit == Visit::Second && same_marks {
            // Beyond the edge of a map nothing is known.
            let ends = self.reef.mapped().is_some();
            for (place, &length) in places.iter_mut().zip(lengths) {
                let displacement =
                    |axis| self.study.visits.relay_sd_m * normal_from_uniform(place.key.uniform(Purpose::Relay, axis));
                place.start.0 += displacement(0);
                place.start.1 += displacement(1);
                if ends {
                    *place = ground.kept_inside(*place, (length, width));
                }
            }
        }
    }

    /// Reads the tape that was walked in every state of the visit.
    fn read_tape(
        &self,
        tape: &Tape,
        laid: &Laid,
        classes: Option<&ClassReader>,
        visit: Visit,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        scratch.met.clear();
        scratch.met.extend(scratch.walk.colonies.iter().map(|colony| (chord(&colony), colony.alive)));
        if !tape.line_readings.is_empty() {
            // One order for all states: chords by their starts, so that the union sorts what is sorted.
            scratch.met.sort_unstable_by(|(one, _), (other, _)| one.0.total_cmp(&other.0));
        }
        for state in states_of_visit(visit, sheet.states()) {
            let alive = scratch.met.iter().filter(|(_, alive)| alive >> state & 1 == 1);
            scratch.chords.clear();
            scratch.chords.extend(alive.map(|(chord, _)| *chord));
            if !tape.point_readings.is_empty() {
                scratch.sets.clear();
                scratch.sets.resize(tape.words(), 0);
                set_points(&mut scratch.sets, &scratch.chords, tape.grid_m as f32, tape.points);
                match classes {
                    None => self.count_points(tape, laid, state, CORAL, &scratch.sets, sheet),
                    Some(classes) => self.classify_points(tape, laid, classes, (visit, state), sheet, scratch),
                }
            }
            for &(column, length) in &tape.line_readings {
                if laid.unit < self.layout.columns[column].units {
                    let from = laid.place.share * (laid.length_m - length);
                    let value = match classes {
                        None => intercept(&mut scratch.chords, &mut scratch.shifted, from, length),
                        Some(classes) => self.classified_intercept(
                            column,
                            laid,
                            classes,
                            (visit, state),
                            (from, length),
                            &scratch.chords,
                        ),
                    };
                    sheet.set(column, state, laid.unit, value);
                }
            }
        }
    }

    /// Counts the points of a set for every reading whose indicator has this code.
    fn count_points(&self, tape: &Tape, laid: &Laid, state: usize, code: u8, set: &[u64], sheet: &mut Sheet) {
        for (column, starts) in &tape.point_readings {
            let asked = self.layout.reading(*column);
            if laid.unit < self.layout.columns[*column].units && code_of(self, &asked.indicator) == Some(code) {
                let start = tape.start(starts, laid.length_m, laid.place.share);
                let value = f64::from(start.count(set)) / start.number() as f64;
                sheet.set(*column, state, laid.unit, value);
            }
        }
    }

    /// Writes down a class for every point of the grid, then counts each class that is asked for.
    fn classify_points(
        &self,
        tape: &Tape,
        laid: &Laid,
        classes: &ClassReader,
        (visit, state): (Visit, usize),
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        scratch.written.clear();
        let points = ((laid.length_m / tape.grid_m + 1e-6) as usize).min(tape.points);
        for point in 0..points {
            let place = laid.place.at((point as f64 + 1.0) * tape.grid_m, 0.0);
            let covered = bits::get(&scratch.sets, point);
            scratch.written.push(classes.written(covered, place, state, misread_key(laid.place.key, visit, point)));
        }
        for code in self.codes() {
            scratch.sets.fill(0);
            for (point, _) in scratch.written.iter().enumerate().filter(|(_, written)| **written == code) {
                bits::set(&mut scratch.sets, point);
            }
            self.count_points(tape, laid, state, code, &scratch.sets, sheet);
        }
        self.nothing_for_strangers(&tape.point_readings, laid, state, sheet);
    }

    /// Classes that some reading asks for in this zone.
    fn codes(&self) -> Vec<u8> {
        let mut codes: Vec<u8> =
            self.layout.readings.iter().filter_map(|reading| code_of(self, &reading.indicator)).collect();
        codes.sort_unstable();
        codes.dedup();
        codes
    }

    /// A category that the zone does not have is never written.
    fn nothing_for_strangers<T>(&self, columns: &[(usize, T)], laid: &Laid, state: usize, sheet: &mut Sheet) {
        for (column, _) in columns {
            let asked = self.layout.reading(*column);
            if laid.unit < self.layout.columns[*column].units && code_of(self, &asked.indicator).is_none() {
                sheet.set(*column, state, laid.unit, 0.0);
            }
        }
    }

    /// Share of the tape over what the reading asks for, read every 2 cm (exact chords serve hard coral alone).
    fn classified_intercept(
        &self,
        column: usize,
        laid: &Laid,
        classes: &ClassReader,
        (visit, state): (Visit, usize),
        (from, length): (f64, f64),
        chords: &[(f32, f32)],
    ) -> f64 {
        let Some(code) = code_of(self, &self.layout.reading(column).indicator) else { return 0.0 };
        if let Some(share) = classes.share_of_line((code, state), &laid.place, (from, length)) {
            return share;
        }
        let steps = (length / INTERCEPT_STEP_M).round().max(1.0) as usize;
        let hits = (0..steps).filter(|&step| {
            let along = from + (step as f64 + 0.5) * length / steps as f64;
            let covered = chords.iter().any(|&(a, b)| f64::from(a) <= along && along <= f64::from(b));
            let misread = misread_key(laid.place.key, visit, 1_000_000 + step);
            classes.written(covered, laid.place.at(along, 0.0), state, misread) == code
        });
        hits.count() as f64 / steps as f64
    }

    fn read_belt(
        &self,
        belt: &Belt,
        laid: &Laid,
        classes: Option<&ClassReader>,
        visit: Visit,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        for throw in &belt.throws {
            self.read_throw(belt, throw, laid, classes, visit, sheet, scratch);
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn read_throw(
        &self,
        belt: &Belt,
        throw: &Throw,
        laid: &Laid,
        classes: Option<&ClassReader>,
        visit: Visit,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        // Frames belong to the tape: at the same marks they lie where they lay. Points are thrown anew at each visit.
        let key = laid.place.key.child(Purpose::PhotoPoint, u64::from(visit == Visit::Second));
        scratch.thrown.throw(key, laid.place.key, belt, throw);
        scratch.thrown.cover(&scratch.walk.colonies);
        for state in states_of_visit(visit, sheet.states()) {
            if let Some(classes) = classes {
                scratch.written.resize(throw.points, 0);
                for (index, point, covered) in scratch.thrown.points() {
                    let place = laid.place.at(f64::from(point.along), f64::from(point.across));
                    let key = misread_key(laid.place.key, visit, index);
                    scratch.written[index] = classes.written(covered >> state & 1 == 1, place, state, key);
                }
            }
            for &(column, points) in &throw.readings {
                let asked = self.layout.reading(column);
                if laid.unit < self.layout.columns[column].units {
                    let code = code_of(self, &asked.indicator);
                    let hits = match classes {
                        Some(_) => scratch.written[..points].iter().filter(|&&written| Some(written) == code).count(),
                        None if code == Some(CORAL) => scratch.thrown.hits(state, points),
                        None => 0,
                    };
                    sheet.set(column, state, laid.unit, hits as f64 / points as f64);
                }
            }
        }
    }
}

/// The key of the belts of one layout, which lie independently of the tapes and of other belts.
fn belt_key(key: Key, belt: usize) -> Key {
    key.child(Purpose::Placement, 1_000_000 + belt as u64)
}

/// Step at which a line intercept is read where the bottom is not discs alone, m.
const INTERCEPT_STEP_M: f64 = 0.02;

/// Exact share of a part of the tape that lies over discs.
fn intercept(chords: &mut [(f32, f32)], shifted: &mut Vec<(f32, f32)>, from: f64, length: f64) -> f64 {
    if from == 0.0 {
        return union_length(chords, length) / length;
    }
    shifted.clear();
    shifted.extend(chords.iter().map(|&(a, b)| (a - from as f32, b - from as f32)));
    union_length(shifted, length) / length
}

/// The states that a visit sees.
pub fn states_of_visit(visit: Visit, states: usize) -> std::ops::Range<usize> {
    match visit {
        Visit::First => 0..1,
        Visit::Second => 1..states,
    }
}

/// Where a colony's disc meets the tape.
fn chord(colony: &Colony) -> (f32, f32) {
    let half = (colony.radius * colony.radius - colony.across * colony.across).max(0.0).sqrt();
    (colony.along - half, colony.along + half)
}

/// The next whole number; nothing above 0 needs to be told apart below it.
fn ceiling(x: f32) -> i32 {
    let cut = x as i32;
    cut + i32::from((cut as f32) < x)
}

/// Sets the points of the grid (at 1, 2, 3 ... grids from the start) that lie in a chord.
fn set_points(sets: &mut [u64], chords: &[(f32, f32)], grid: f32, points: usize) {
    let per_m = 1.0 / grid;
    for &(from, to) in chords {
        // Without SSE 4.1 `ceil` and `floor` are calls; a conversion that cuts off is one instruction.
        let first = ceiling(from * per_m) - 1;
        let (first, last) = (first.max(0), ((to * per_m) as i32 - 1).min(points as i32 - 1));
        if first <= last {
            bits::set_range(sets, first as usize, last as usize);
        }
    }
}
