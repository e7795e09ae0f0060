//! Surveys one site in one trial: lays the tapes and belts, reads them in every state, fills the sheet.

use super::classes::{CORAL, ClassReader, code_of, misread_key};
use super::layout::{Belt, Indicator, Layout, Reading, Tape};
use super::sheet::Sheet;
use super::thrown::Thrown;
use crate::design::{Places, Study, Zone};
use crate::geometry::{bits, union_length};
use crate::random::{Key, Purpose, normal_from_uniform};
use crate::reef::{Bottom, Colony, CoralReef, MOST_STATES, SiteReef, Visit, Walk};
use crate::survey::Dimensions;

/// Scratch memory of a survey; one per thread, reused.
#[derive(Default)]
pub struct Scratch {
    walk: Walk,
    sets: Vec<u64>,
    chords: Vec<(f32, f32)>,
    shifted: Vec<(f32, f32)>,
    written: Vec<u8>,
    thrown: Thrown,
    covered: Vec<u16>,
}

/// One zone, ready to be surveyed.
pub struct ZoneSurvey<'a> {
    pub study: &'a Study,
    pub zone: &'a Zone,
    pub layout: &'a Layout,
    pub coral: &'a CoralReef,
    /// The rest of the bottom, where something besides coral is read.
    pub bottom: Option<&'a Bottom>,
}

/// Where one unit lies at the first visit, m on the site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LaidUnit {
    /// Start of the tape; for a strip, of its middle line.
    pub x: f64,
    pub y: f64,
    pub length_m: f64,
    pub width_m: f64,
}

/// One tape or belt as it lies at a visit.
struct Laid {
    unit: usize,
    /// Start, m on the site; for a strip, of its middle line.
    x: f64,
    y: f64,
    length_m: f64,
    /// Share of the room along the site that lies before it; a shorter tape starts at the same share of its own room.
    share: f64,
    /// Names the unit, for its random points and its errors of reading.
    key: Key,
}

impl ZoneSurvey<'_> {
    /// Reads a site at a visit into the sheet: state 0 at the first visit, the other states at the second.
    pub fn read(&self, key: Key, site: &mut SiteReef, visit: Visit, sheet: &mut Sheet, scratch: &mut Scratch) {
        let normals = &self.coral.normals;
        let classes = ClassReader::new(self, key, site.frame, normals);
        let classes = classes.as_ref();
        if let Some(tape) = &self.layout.tape {
            for (unit, &length) in tape.lengths_m.iter().enumerate() {
                let laid = self.lay(key, visit, unit, length, 0.0);
                let line = site.frame_line((laid.x, laid.y), (1.0, 0.0), length);
                scratch.walk.read(site, &line, 0.0, visit);
                self.read_tape(tape, &laid, classes, visit, sheet, scratch);
            }
        }
        for (b, belt) in self.layout.belts.iter().enumerate() {
            let belt_key = key.child(Purpose::Placement, 1_000_000 + b as u64);
            for unit in 0..belt.number {
                let laid = self.lay(belt_key, visit, unit, belt.length_m, belt.width_m);
                let line = site.frame_line((laid.x, laid.y), (1.0, 0.0), belt.length_m);
                scratch.walk.read(site, &line, 0.5 * belt.width_m as f32, visit);
                self.read_belt(belt, &laid, classes, visit, sheet, scratch);
            }
        }
    }

    /// True covers of the site in the states of a visit.
    pub fn truths(&self, key: Key, site: &mut SiteReef, visit: Visit, sheet: &mut Sheet) {
        let mut truths = [0.0; MOST_STATES];
        site.truth((self.zone.length_m, self.zone.width_m), states_of_visit(visit, sheet.states()), &mut truths);
        let classes = ClassReader::new(self, key, site.frame, &self.coral.normals);
        for state in states_of_visit(visit, sheet.states()) {
            let covers = classes.as_ref().map(|classes| classes.truths(truths[state], state)).unwrap_or_default();
            for (r, reading) in self.layout.readings.iter().enumerate() {
                let truth = match code_of(self, &reading.indicator) {
                    Some(CORAL) => truths[state],
                    Some(code) => covers.get(usize::from(code) - 1).copied().unwrap_or(0.0),
                    None if matches!(reading.indicator, Indicator::Own(_)) => continue,
                    None => 0.0,
                };
                sheet.set_truth(r, state, truth);
            }
        }
    }

    /// Where the units of a reading lie at the first visit.
    pub fn tapes(&self, key: Key, reading: &Reading) -> Vec<LaidUnit> {
        let Some(length) = reading.dimensions.length_m() else { return Vec::new() };
        let width = match reading.dimensions {
            Dimensions::PhotoBelt { width_m, .. } => width_m,
            _ => 0.0,
        };
        let key = if width > 0.0 {
            let belt = self.layout.belts.iter().position(|belt| belt.length_m == length && belt.width_m == width);
            key.child(Purpose::Placement, 1_000_000 + belt.unwrap_or(0) as u64)
        } else {
            key
        };
        let tapes = self.layout.tape.as_ref().filter(|_| width == 0.0);
        (0..reading.most_units())
            .map(|unit| {
                let laid_length = tapes.and_then(|tape| tape.lengths_m.get(unit).copied()).unwrap_or(length);
                let place = self.lay(key, Visit::First, unit, laid_length, width);
                LaidUnit {
                    x: place.x + place.share * (laid_length - length),
                    y: place.y,
                    length_m: length,
                    width_m: width,
                }
            })
            .collect()
    }

    /// Independent random starts, uniform in the rectangle of possible starts; at the second visit new ones, or the old
    /// ones displaced.
    fn lay(&self, key: Key, visit: Visit, unit: usize, length: f64, width: f64) -> Laid {
        let room_along = (self.zone.length_m - length).max(0.0);
        let room_across = (self.zone.width_m - width).max(0.0);
        let same_marks = self.study.visits.places == Places::SameMarks;
        let occasion = if visit == Visit::Second && !same_marks { 1 } else { 0 };
        let own = key.child(Purpose::Placement, unit as u64);
        let share = own.uniform(Purpose::Placement, occasion);
        let across = own.uniform(Purpose::Shift, occasion);
        let mut laid = Laid {
            unit,
            length_m: length,
            x: share * room_along,
            y: 0.5 * width + across * room_across,
            share,
            key: own,
        };
        if visit == Visit::Second && same_marks {
            let displacement =
                |axis| self.study.visits.relay_sd_m * normal_from_uniform(own.uniform(Purpose::Relay, axis));
            laid.x += displacement(0);
            laid.y += displacement(1);
        }
        laid
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
        if !tape.line_readings.is_empty() {
            // One order for all states: chords by their starts, so that the union sorts what is sorted.
            let from = |colony: &Colony| chord(colony).0;
            scratch.walk.colonies.sort_unstable_by(|a, b| from(a).total_cmp(&from(b)));
        }
        for state in states_of_visit(visit, sheet.states()) {
            let alive = scratch.walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1);
            scratch.chords.clear();
            scratch.chords.extend(alive.map(chord));
            if !tape.point_readings.is_empty() {
                scratch.sets.clear();
                scratch.sets.resize(tape.words(), 0);
                set_points(&mut scratch.sets, &scratch.chords, tape.grid_m as f32, tape.points);
                match classes {
                    None => self.count_points(tape, laid, state, CORAL, &scratch.sets, sheet),
                    Some(classes) => self.classify_points(tape, laid, classes, (visit, state), sheet, scratch),
                }
            }
            for &(reading, length) in &tape.line_readings {
                if laid.unit < self.layout.readings[reading].most_units() {
                    let from = laid.share * (laid.length_m - length);
                    let value = match classes {
                        None => intercept(&mut scratch.chords, &mut scratch.shifted, from, length),
                        Some(classes) => self.classified_intercept(
                            reading,
                            laid,
                            classes,
                            (visit, state),
                            (from, length),
                            &scratch.chords,
                        ),
                    };
                    sheet.set(reading, state, laid.unit, value);
                }
            }
        }
    }

    /// Counts the points of a set for every reading whose indicator has this code.
    fn count_points(&self, tape: &Tape, laid: &Laid, state: usize, code: u8, set: &[u64], sheet: &mut Sheet) {
        for (reading, starts) in &tape.point_readings {
            let asked = &self.layout.readings[*reading];
            if laid.unit < asked.most_units() && code_of(self, &asked.indicator) == Some(code) {
                let start = tape.start(starts, laid.length_m, laid.share);
                let value = f64::from(start.count(set)) / start.number() as f64;
                sheet.set(*reading, state, laid.unit, value);
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
            let place = (laid.x + (point as f64 + 1.0) * tape.grid_m, laid.y);
            let covered = bits::get(&scratch.sets, point);
            scratch.written.push(classes.written(covered, place, state, misread_key(laid.key, visit, point)));
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
    fn nothing_for_strangers<T>(&self, readings: &[(usize, T)], laid: &Laid, state: usize, sheet: &mut Sheet) {
        for (reading, _) in readings {
            let asked = &self.layout.readings[*reading];
            if laid.unit < asked.most_units() && code_of(self, &asked.indicator).is_none() {
                sheet.set(*reading, state, laid.unit, 0.0);
            }
        }
    }

    /// Share of the tape over what the reading asks for, read every 2 cm (exact chords serve hard coral alone).
    fn classified_intercept(
        &self,
        reading: usize,
        laid: &Laid,
        classes: &ClassReader,
        (visit, state): (Visit, usize),
        (from, length): (f64, f64),
        chords: &[(f32, f32)],
    ) -> f64 {
        let Some(code) = code_of(self, &self.layout.readings[reading].indicator) else { return 0.0 };
        let steps = (length / INTERCEPT_STEP_M).round().max(1.0) as usize;
        let hits = (0..steps).filter(|&step| {
            let along = from + (step as f64 + 0.5) * length / steps as f64;
            let covered = chords.iter().any(|&(a, b)| f64::from(a) <= along && along <= f64::from(b));
            let misread = misread_key(laid.key, visit, 1_000_000 + step);
            classes.written(covered, (laid.x + along, laid.y), state, misread) == code
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
        let throw = laid.key.child(Purpose::PhotoPoint, u64::from(visit == Visit::Second));
        let most = belt.readings.iter().map(|&(_, points)| points).max().unwrap_or(0);
        scratch.thrown.throw(throw, belt, most);
        scratch.covered.clear();
        scratch.covered.resize(most, 0);
        scratch.thrown.mark_covered(&scratch.walk.colonies, &mut scratch.covered);
        for state in states_of_visit(visit, sheet.states()) {
            scratch.written.clear();
            let points = scratch.covered.iter().zip(scratch.thrown.points()).enumerate();
            scratch.written.extend(points.map(|(index, (covered, point))| {
                let covered = covered >> state & 1 == 1;
                match classes {
                    None if covered => CORAL,
                    None => u8::MAX,
                    Some(classes) => {
                        let place = (laid.x + f64::from(point.along), laid.y + f64::from(point.across));
                        classes.written(covered, place, state, misread_key(laid.key, visit, index))
                    }
                }
            }));
            for &(reading, points) in &belt.readings {
                let asked = &self.layout.readings[reading];
                if laid.unit < asked.most_units() {
                    let hits = match code_of(self, &asked.indicator) {
                        Some(code) => scratch.written[..points].iter().filter(|&&written| written == code).count(),
                        None => 0,
                    };
                    sheet.set(reading, state, laid.unit, hits as f64 / points as f64);
                }
            }
        }
    }
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
