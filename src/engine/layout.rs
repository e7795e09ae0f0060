//! What is read at a site: the largest design is laid once, every smaller one is read from it.

use crate::design::{HARD_CORAL, Study};
use crate::geometry::bits::{Progression, words_for};
use crate::survey::{Dimensions, MethodKind};

/// What a reading is about.
#[derive(Clone, Debug, PartialEq)]
pub enum Indicator {
    HardCoral,
    /// Index into the zone's categories, by name (zones may order them differently).
    Category(String),
    /// The indicator of a by-components method.
    Own(String),
}

impl Indicator {
    pub fn name(&self) -> &str {
        match self {
            Indicator::HardCoral => HARD_CORAL,
            Indicator::Category(name) | Indicator::Own(name) => name,
        }
    }
}

/// One column of readings: a method with one choice of dimensions, for one indicator.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Index into `study.methods`.
    pub method: usize,
    pub dimensions: Dimensions,
    pub indicator: Indicator,
    /// Numbers of units to evaluate, rising.
    pub units: Vec<usize>,
    /// Minutes of work on one unit.
    pub minutes: f64,
}

/// How point-intercept readings lie on the longest and finest tape.
#[derive(Clone, Debug)]
pub struct Tape {
    /// Length of each tape that is laid: the longest that any reading of so many units asks for, so that a few long
    /// tapes do not make all of them long.
    pub lengths_m: Vec<f64>,
    /// The longest of them.
    pub length_m: f64,
    /// Grid of points on it; 0 points where no method reads points.
    pub grid_m: f64,
    pub points: usize,
    /// (reading, its sets of points for each whole-grid start within the tape).
    pub point_readings: Vec<(usize, Vec<Progression>)>,
    /// (reading, its length) of line intercepts.
    pub line_readings: Vec<(usize, f64)>,
}

/// Strips of one length and width, with the readings that differ in the number of points.
#[derive(Clone, Debug)]
pub struct Belt {
    pub number: usize,
    pub length_m: f64,
    pub width_m: f64,
    /// (reading, points), rising.
    pub readings: Vec<(usize, usize)>,
}

#[derive(Clone, Debug)]
pub struct Layout {
    pub readings: Vec<Reading>,
    pub tape: Option<Tape>,
    pub belts: Vec<Belt>,
    /// Readings of by-components methods.
    pub components: Vec<usize>,
    /// The most units of any reading.
    pub most_units: usize,
}

impl Layout {
    pub fn new(study: &Study) -> Self {
        let mut readings = Vec::new();
        for (m, method) in study.methods.iter().enumerate() {
            let all = method.kind.dimensions();
            let first = all.first().copied().unwrap_or(Dimensions::Components);
            for dimensions in all {
                let length_ratio = ratio(dimensions.length_m(), first.length_m());
                let reading_ratio = match dimensions.points() {
                    Some(points) => points as f64 / first.points().unwrap_or(points) as f64,
                    None => length_ratio,
                };
                let minutes = method.minutes.lay * length_ratio + method.minutes.read * reading_ratio;
                for indicator in indicators(study, &method.kind) {
                    readings.push(Reading { method: m, dimensions, indicator, units: method.units.clone(), minutes });
                }
            }
        }
        let tape = Tape::new(&readings);
        let belts = belts(&readings);
        let components = (0..readings.len()).filter(|&r| readings[r].dimensions == Dimensions::Components).collect();
        let most_units = readings.iter().map(Reading::most_units).max().unwrap_or(0);
        Self { readings, tape, belts, components, most_units }
    }
}

impl Reading {
    pub fn most_units(&self) -> usize {
        self.units.iter().copied().max().unwrap_or(0)
    }
}

fn ratio(value: Option<f64>, first: Option<f64>) -> f64 {
    match (value, first) {
        (Some(value), Some(first)) if first > 0.0 => value / first,
        _ => 1.0,
    }
}

/// Hard coral, every category with a change, and those asked for besides.
fn indicators(study: &Study, kind: &MethodKind) -> Vec<Indicator> {
    if let MethodKind::Components(components) = kind {
        return vec![Indicator::Own(components.indicator.clone())];
    }
    let mut all = vec![Indicator::HardCoral];
    let changed = study.changes.iter().map(|change| &change.indicator);
    for name in changed.chain(&study.also_report) {
        let is_category = study.zones.iter().any(|zone| zone.categories.iter().any(|c| &c.name == name));
        let indicator = Indicator::Category(name.clone());
        if is_category && !all.contains(&indicator) {
            all.push(indicator);
        }
    }
    all
}

impl Tape {
    fn new(readings: &[Reading]) -> Option<Self> {
        let on_tape =
            |r: &&Reading| matches!(r.dimensions, Dimensions::PointIntercept { .. } | Dimensions::LineIntercept { .. });
        let length_m = readings.iter().filter(on_tape).filter_map(|r| r.dimensions.length_m()).fold(0.0, f64::max);
        if length_m <= 0.0 {
            return None;
        }
        let number = readings.iter().filter(on_tape).map(Reading::most_units).max().unwrap_or(0);
        let lengths_m = (0..number)
            .map(|unit| {
                let asked = readings.iter().filter(on_tape).filter(|reading| unit < reading.most_units());
                asked.filter_map(|reading| reading.dimensions.length_m()).fold(0.0, f64::max)
            })
            .collect();
        // Spacings are whole millimetres; the grid is their greatest common divisor.
        let grid_mm = readings.iter().fold(0u64, |grid, reading| match reading.dimensions {
            Dimensions::PointIntercept { spacing_m, .. } => gcd(grid, (spacing_m * 1000.0).round() as u64),
            _ => grid,
        });
        let grid_m = grid_mm as f64 / 1000.0;
        let points = if grid_mm > 0 { (length_m / grid_m + 1e-6) as usize } else { 0 };
        let mut point_readings = Vec::new();
        let mut line_readings = Vec::new();
        for (r, reading) in readings.iter().enumerate() {
            match reading.dimensions {
                Dimensions::PointIntercept { length_m: length, spacing_m } => {
                    let stride = ((spacing_m * 1000.0).round() as u64 / grid_mm.max(1)) as usize;
                    let number = reading.dimensions.points().unwrap_or(0);
                    let room = ((length_m - length) / grid_m + 1e-6) as usize;
                    let starts = (0..=room).map(|start| Progression::new(start + stride - 1, stride, number)).collect();
                    point_readings.push((r, starts));
                }
                Dimensions::LineIntercept { length_m: length } => line_readings.push((r, length)),
                Dimensions::PhotoBelt { .. } | Dimensions::Components => {}
            }
        }
        Some(Self { lengths_m, length_m, grid_m, points, point_readings, line_readings })
    }

    /// Where a shorter tape starts on the grid of a tape of `laid_m`, among the starts made for the longest: at the same
    /// share of its own room.
    pub fn start<'a>(&self, starts: &'a [Progression], laid_m: f64, share: f64) -> &'a Progression {
        let cut = ((self.length_m - laid_m) / self.grid_m + 1e-6) as usize;
        let number = starts.len().saturating_sub(cut).max(1);
        &starts[((share * number as f64) as usize).min(number - 1)]
    }

    /// 64-bit words of a set of its points.
    pub fn words(&self) -> usize {
        words_for(self.points)
    }
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn belts(readings: &[Reading]) -> Vec<Belt> {
    let mut belts: Vec<Belt> = Vec::new();
    for (r, reading) in readings.iter().enumerate() {
        let Dimensions::PhotoBelt { length_m, width_m, points } = reading.dimensions else { continue };
        let number = reading.most_units();
        match belts.iter_mut().find(|belt| belt.length_m == length_m && belt.width_m == width_m) {
            Some(belt) => {
                belt.number = belt.number.max(number);
                belt.readings.push((r, points));
            }
            None => belts.push(Belt { number, length_m, width_m, readings: vec![(r, points)] }),
        }
    }
    belts
}
