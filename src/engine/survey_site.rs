//! Surveys one site in one trial: lays the tapes and belts, reads them in every state, fills the sheet.

use super::layout::{Belt, Indicator, Layout, Reading, Tape};
use super::sheet::Sheet;
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
    thrown: Vec<ThrownPoint>,
    covered: Vec<u16>,
}

#[derive(Clone, Copy)]
struct ThrownPoint {
    along: f32,
    across: f32,
    index: u32,
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

/// Where one tape or belt begins, m on the site.
#[derive(Clone, Copy)]
struct Place {
    x: f64,
    y: f64,
    /// Share of the room along the site that lies before it; a shorter tape starts at the same share of its own room.
    share: f64,
}

impl ZoneSurvey<'_> {
    /// Reads a site at a visit into the sheet: state 0 at the first visit, the other states at the second.
    pub fn read(&self, key: Key, site: &mut SiteReef, visit: Visit, sheet: &mut Sheet, scratch: &mut Scratch) {
        if let Some(tape) = &self.layout.tape {
            for unit in 0..tape.number {
                self.read_tape(tape, key, site, visit, unit, sheet, scratch);
            }
        }
        for (b, belt) in self.layout.belts.iter().enumerate() {
            let belt_key = key.child(Purpose::Placement, 1_000_000 + b as u64);
            for unit in 0..belt.number {
                self.read_belt(belt, belt_key, site, visit, unit, sheet, scratch);
            }
        }
    }

    /// True covers of the site in the states of a visit.
    pub fn truths(&self, site: &mut SiteReef, visit: Visit, sheet: &mut Sheet) {
        let mut truths = [0.0; MOST_STATES];
        site.truth((self.zone.length_m, self.zone.width_m), &mut truths);
        for (r, reading) in self.layout.readings.iter().enumerate() {
            if reading.indicator == Indicator::HardCoral {
                for s in states_of_visit(visit, sheet.states()) {
                    sheet.set_truth(r, s, truths[s]);
                }
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
        let (key, laid_length) = if width > 0.0 {
            let belt = self.layout.belts.iter().position(|belt| belt.length_m == length && belt.width_m == width);
            (key.child(Purpose::Placement, 1_000_000 + belt.unwrap_or(0) as u64), length)
        } else {
            (key, self.layout.tape.as_ref().map_or(length, |tape| tape.length_m))
        };
        (0..reading.most_units())
            .map(|unit| {
                let place = self.place(key, Visit::First, unit, laid_length, width);
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
    fn place(&self, key: Key, visit: Visit, unit: usize, length: f64, width: f64) -> Place {
        let room_along = (self.zone.length_m - length).max(0.0);
        let room_across = (self.zone.width_m - width).max(0.0);
        let same_marks = self.study.visits.places == Places::SameMarks;
        let occasion = if visit == Visit::Second && !same_marks { 1 } else { 0 };
        let own = key.child(Purpose::Placement, unit as u64);
        let share = own.uniform(Purpose::Placement, occasion);
        let across = own.uniform(Purpose::Shift, occasion);
        let mut place = Place { x: share * room_along, y: 0.5 * width + across * room_across, share };
        if visit == Visit::Second && same_marks {
            let displacement =
                |axis| self.study.visits.relay_sd_m * normal_from_uniform(own.uniform(Purpose::Relay, axis));
            place.x += displacement(0);
            place.y += displacement(1);
        }
        place
    }

    #[allow(clippy::too_many_arguments)]
    fn read_tape(
        &self,
        tape: &Tape,
        key: Key,
        site: &mut SiteReef,
        visit: Visit,
        unit: usize,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        let place = self.place(key, visit, unit, tape.length_m, 0.0);
        let line = site.frame_line((place.x, place.y), (1.0, 0.0), tape.length_m);
        scratch.walk.read(site, &line, 0.0, visit);
        for state in states_of_visit(visit, sheet.states()) {
            let alive = scratch.walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1);
            scratch.chords.clear();
            scratch.chords.extend(alive.map(chord));
            if !tape.point_readings.is_empty() {
                scratch.sets.clear();
                scratch.sets.resize(tape.words(), 0);
                set_points(&mut scratch.sets, &scratch.chords, tape.grid_m as f32, tape.points);
                for (reading, starts) in &tape.point_readings {
                    if unit < self.layout.readings[*reading].most_units() {
                        let start = &starts[((place.share * starts.len() as f64) as usize).min(starts.len() - 1)];
                        let value = f64::from(start.count(&scratch.sets)) / start.number() as f64;
                        sheet.set(*reading, state, unit, value);
                    }
                }
            }
            for &(reading, length) in &tape.line_readings {
                if unit < self.layout.readings[reading].most_units() {
                    let from = (place.share * (tape.length_m - length)) as f32;
                    if from != 0.0 {
                        scratch.chords.clear();
                        let alive = scratch.walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1);
                        scratch.chords.extend(alive.map(chord).map(|(a, b)| (a - from, b - from)));
                    }
                    sheet.set(reading, state, unit, union_length(&mut scratch.chords, length) / length);
                }
            }
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn read_belt(
        &self,
        belt: &Belt,
        key: Key,
        site: &mut SiteReef,
        visit: Visit,
        unit: usize,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        let place = self.place(key, visit, unit, belt.length_m, belt.width_m);
        let line = site.frame_line((place.x, place.y), (1.0, 0.0), belt.length_m);
        scratch.walk.read(site, &line, 0.5 * belt.width_m as f32, visit);
        let occasion = u64::from(visit == Visit::Second);
        let throw = key.child(Purpose::Placement, unit as u64).child(Purpose::PhotoPoint, occasion);
        let most = belt.readings.iter().map(|&(_, points)| points).max().unwrap_or(0);
        throw_points(throw, belt, most, &mut scratch.thrown);
        scratch.covered.clear();
        scratch.covered.resize(most, 0);
        mark_covered(&scratch.walk.colonies, &scratch.thrown, &mut scratch.covered);
        for state in states_of_visit(visit, sheet.states()) {
            for &(reading, points) in &belt.readings {
                if unit < self.layout.readings[reading].most_units() {
                    let hits = scratch.covered[..points].iter().filter(|&&c| c >> state & 1 == 1).count();
                    sheet.set(reading, state, unit, hits as f64 / points as f64);
                }
            }
        }
    }
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

/// Sets the points of the grid (at 1, 2, 3 ... grids from the start) that lie in a chord.
fn set_points(sets: &mut [u64], chords: &[(f32, f32)], grid: f32, points: usize) {
    let per_m = 1.0 / grid;
    for &(from, to) in chords {
        let first = ((from * per_m).ceil() as i32 - 1).max(0);
        let last = ((to * per_m).floor() as i32 - 1).min(points as i32 - 1);
        if first <= last {
            bits::set_range(sets, first as usize, last as usize);
        }
    }
}

/// Random points of a belt, sorted along it; `index` is the order in which they were thrown.
fn throw_points(key: Key, belt: &Belt, number: usize, thrown: &mut Vec<ThrownPoint>) {
    thrown.clear();
    thrown.extend((0..number).map(|i| {
        let along = key.uniform(Purpose::PhotoPoint, 2 * i as u64);
        let across = key.uniform(Purpose::PhotoPoint, 2 * i as u64 + 1);
        ThrownPoint {
            along: (along * belt.length_m) as f32,
            across: ((across - 0.5) * belt.width_m) as f32,
            index: i as u32,
        }
    }));
    thrown.sort_unstable_by(|a, b| a.along.total_cmp(&b.along));
}

/// For every point, in which states a colony lies over it.
fn mark_covered(colonies: &[Colony], thrown: &[ThrownPoint], covered: &mut [u16]) {
    for colony in colonies {
        let from = thrown.partition_point(|point| point.along < colony.along - colony.radius);
        for point in &thrown[from..] {
            let along = point.along - colony.along;
            if along > colony.radius {
                break;
            }
            let across = point.across - colony.across;
            if along * along + across * across < colony.radius * colony.radius {
                covered[point.index as usize] |= colony.alive;
            }
        }
    }
}
