//! What is read at a site: the largest design is laid once, every smaller one is read from it.

use super::quadrat_line::{QuadratLine, quadrats};
use crate::analysis::ColonyIndicator;
use crate::analysis::sizes::SizeClasses;
use crate::design::{
    ALL_FISH, COLONY_DENSITY, COMMERCIAL, Change, FishGroup, FishIndicator, FishMeasure, HARD_CORAL, PRESENCE,
    RECRUIT_DENSITY, RecruitMeasure, Study, colony_measures,
};
use crate::geometry::bits::{Progression, words_for};
use crate::reef::colonies::AXIS_RATIO;
use crate::survey::{Dimensions, Frame, MethodKind, Placement};
use std::ops::Range;

/// What a reading is about.
#[derive(Clone, Debug, PartialEq)]
pub enum Indicator {
    HardCoral,
    /// Index into the zone's categories, by name (zones may order them differently).
    Category(String),
    /// A kind of animal, all or those of commercial size alone: their density, or whether there is any.
    Animal {
        animal: String,
        commercial: bool,
        presence: bool,
        name: String,
    },
    /// What recruit quadrats tell.
    Recruits {
        measure: RecruitMeasure,
        /// Indicators whose change moves it.
        moved_by: Vec<String>,
    },
    /// What a coral belt tells.
    Colonies {
        measure: ColonyIndicator,
        name: String,
    },
    /// What fish belts and point counts tell.
    Fish {
        told: FishIndicator,
        name: String,
        /// Indicators whose change moves it.
        moved_by: Vec<String>,
    },
    /// The indicator of a by-components method.
    Own(String),
}

impl Indicator {
    pub fn is_of_fish(&self) -> bool {
        matches!(self, Indicator::Fish { .. })
    }

    pub fn name(&self) -> &str {
        match self {
            Indicator::HardCoral => HARD_CORAL,
            Indicator::Recruits { measure, .. } => measure.name(),
            Indicator::Category(name)
            | Indicator::Own(name)
            | Indicator::Animal { name, .. }
            | Indicator::Fish { name, .. }
            | Indicator::Colonies { name, .. } => name,
        }
    }

    /// Whether a change moves it: that of its own indicator; and that of hard coral the number and the cover of colonies, and
    /// their sizes and what goes with sizes unless colonies are lost whatever their size (whether their whole distribution
    /// moves is for its test to see). Recruits move with their density,
    /// and those of all bottom with the bottom that is free for them. Animals of one kind live and die whatever their size, so that
    /// all of them and those of commercial size move by the same share, whichever is asked about.
    pub fn is_moved_by(&self, change: &Change) -> bool {
        let changed = &change.indicator;
        match self {
            Indicator::Recruits { moved_by, .. } | Indicator::Fish { moved_by, .. } => moved_by.contains(changed),
            Indicator::Colonies {
                measure: ColonyIndicator::Density | ColonyIndicator::EllipseCover | ColonyIndicator::SizeStructure,
                ..
            } => changed == HARD_CORAL,
            Indicator::Colonies { .. } => change.deaths.is_some_and(|deaths| deaths.moves_sizes()),
            Indicator::Animal { animal, .. } => changed.strip_suffix(COMMERCIAL).unwrap_or(changed) == animal,
            _ => self.name() == changed,
        }
    }

    /// Whether it is a share or a mean of what is met: where nothing is met it has no value.
    pub fn is_of_what_is_met(&self) -> bool {
        match self {
            Indicator::Colonies { measure, .. } => {
                !measure.is_known_without_colonies() && *measure != ColonyIndicator::SizeStructure
            }
            Indicator::Fish { told, .. } => {
                matches!(told.measure, FishMeasure::MeanLength | FishMeasure::ShareLongerThan(_))
            }
            _ => false,
        }
    }

    /// Whether its values are logarithms: a bias adds to them, and their ratio says nothing.
    pub fn is_of_logarithms(&self) -> bool {
        matches!(self, Indicator::Colonies { measure, .. } if measure.is_of_logarithms())
    }

    /// Whether it is the whole distribution of sizes.
    pub fn is_size_structure(&self) -> bool {
        matches!(self, Indicator::Colonies { measure: ColonyIndicator::SizeStructure, .. })
    }

    /// Whether it is read on the bottom: covers of hard coral and of categories.
    pub fn is_of_the_bottom(&self) -> bool {
        matches!(self, Indicator::HardCoral | Indicator::Category(_))
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
    /// Minutes of work on one unit, and of those to lay it.
    pub minutes: f64,
    pub lay_minutes: f64,
}

/// The values of one reading on one set of units. Where the first n units are what n units would be, one column serves
/// every number of units; else each number has its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    pub reading: usize,
    /// The numbers of units it serves, as indices into the reading's.
    pub choices: Range<usize>,
    /// Units in it: the largest of these numbers.
    pub units: usize,
}

/// Tapes of one layout, and how readings lie on the longest and finest of them.
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
    /// (column, its sets of points for each whole-grid start within the tape).
    pub point_readings: Vec<(usize, Vec<Progression>)>,
    /// (column, its length) of line intercepts.
    pub line_readings: Vec<(usize, f64)>,
}

/// Strips of one layout, of one length and width, with the columns that are read from them under points.
#[derive(Clone, Debug)]
pub struct Belt {
    pub number: usize,
    pub length_m: f64,
    pub width_m: f64,
    pub throws: Vec<Throw>,
}

/// Points that are thrown together, and the columns that are read from them.
#[derive(Clone, Debug)]
pub struct Throw {
    pub into: Into,
    pub points: usize,
    /// (column, its points: the first so many).
    pub readings: Vec<(usize, usize)>,
}

/// What points are thrown into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Into {
    /// The whole strip; fewer points are the first of more.
    Strip,
    /// So many in each of some frames; every choice has its own.
    Frames { frames: usize, each: usize, frame: Frame },
}

/// Strips of one layout, of one length and width, in which animals are counted.
#[derive(Clone, Debug)]
pub struct SearchedBelt {
    pub number: usize,
    pub length_m: f64,
    pub width_m: f64,
    pub columns: Vec<usize>,
}

/// Belts or circles of one layout, of one method and size, in which fish are counted.
#[derive(Clone, Debug)]
pub struct FishUnits {
    pub number: usize,
    pub method: usize,
    pub dimensions: Dimensions,
    /// Room that a unit takes, m.
    pub length_m: f64,
    pub width_m: f64,
    pub columns: Vec<usize>,
}

/// Strips of one layout, of one method, length and width, in which colonies are counted and measured.
#[derive(Clone, Debug)]
pub struct MeasuredBelt {
    pub number: usize,
    pub method: usize,
    pub length_m: f64,
    pub width_m: f64,
    pub columns: Vec<usize>,
}

/// A column whose units tell how many colonies of each class of sizes they have.
#[derive(Clone, Debug)]
pub struct SizedColumn {
    pub column: usize,
    pub classes: SizeClasses,
}

#[derive(Clone, Debug)]
pub struct Layout {
    pub readings: Vec<Reading>,
    /// In the order of their readings.
    pub columns: Vec<Column>,
    /// One set of tapes where longer and more tapes serve for shorter and fewer.
    pub tapes: Vec<Tape>,
    pub belts: Vec<Belt>,
    /// Belts in which animals are counted.
    pub searched: Vec<SearchedBelt>,
    /// Belts in which colonies are counted and measured.
    pub measured: Vec<MeasuredBelt>,
    /// Columns of size structure.
    pub sized: Vec<SizedColumn>,
    /// Tapes with quadrats in which recruits are counted.
    pub quadrats: Vec<QuadratLine>,
    /// Belts and circles in which fish are counted.
    pub fish: Vec<FishUnits>,
    /// Columns of by-components methods.
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
                let reading_ratio = dimensions.work() / first.work();
                let lay_minutes = method.minutes.lay * length_ratio;
                let minutes = lay_minutes + method.minutes.read * reading_ratio;
                for indicator in indicators(study, &method.kind) {
                    let units = method.units.clone();
                    readings.push(Reading { method: m, dimensions, indicator, units, minutes, lay_minutes });
                }
            }
        }
        let columns = columns(&readings, study.placement);
        let tapes = tapes(&readings, &columns, study.placement);
        let belts = belts(&readings, &columns, study.placement);
        let searched = searched(&readings, &columns, study.placement);
        let measured = measured(&readings, &columns, study.placement);
        let quadrats = quadrats(&readings, &columns, study.placement);
        let fish = fish_units(study, &readings, &columns);
        let sized = sized(study, &readings, &columns);
        let of = |column: &Column| readings[column.reading].dimensions;
        let components = (0..columns.len()).filter(|&c| of(&columns[c]) == Dimensions::Components).collect();
        let most_units = readings.iter().map(Reading::most_units).max().unwrap_or(0);
        Self { readings, columns, tapes, belts, searched, measured, sized, quadrats, fish, components, most_units }
    }

    /// The place of a column among those of size structure.
    #[inline]
    pub fn sized_place(&self, column: usize) -> Option<usize> {
        self.sized.iter().position(|sized| sized.column == column)
    }

    /// The reading of a column.
    #[inline]
    pub fn reading(&self, column: usize) -> &Reading {
        &self.readings[self.columns[column].reading]
    }

    /// The place at which the sizes of a reading are kept: that of the first of its columns of size structure.
    pub fn sized_reading(&self, reading: usize) -> Option<usize> {
        self.sized.iter().position(|sized| self.columns[sized.column].reading == reading)
    }

    /// The same by any of its columns of size structure.
    pub fn first_sized(&self, sized: usize) -> usize {
        self.sized_reading(self.columns[self.sized[sized].column].reading).unwrap_or(sized)
    }

    /// Columns of a reading, as a range.
    pub fn columns_of(&self, reading: usize) -> Range<usize> {
        let from = self.columns.partition_point(|column| column.reading < reading);
        from..self.columns.partition_point(|column| column.reading <= reading)
    }
}

fn columns(readings: &[Reading], placement: Placement) -> Vec<Column> {
    let mut columns = Vec::new();
    for (r, reading) in readings.iter().enumerate() {
        if placement.few_from_many() || reading.dimensions == Dimensions::Components {
            columns.push(Column { reading: r, choices: 0..reading.units.len(), units: reading.most_units() });
        } else {
            let each = reading.units.iter().enumerate();
            columns.extend(each.map(|(u, &units)| Column { reading: r, choices: u..u + 1, units }));
        }
    }
    columns
}

/// Whether columns are read from the same units, given the lengths of theirs.
fn same_layout(placement: Placement, (one, length): (&Column, f64), (other, other_length): (&Column, f64)) -> bool {
    (placement.short_from_long() || length == other_length) && (placement.few_from_many() || one.units == other.units)
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
    match kind {
        MethodKind::InvertebrateBelt { .. } => return animals(study),
        MethodKind::RecruitQuadrats { .. } => return recruits(study),
        MethodKind::CoralBelt { classes_m, growth_m, .. } => return colonies(study, classes_m, *growth_m),
        MethodKind::FishBelt { .. } | MethodKind::FishPointCount { .. } => return fish(study, kind),
        _ => {}
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

/// Every kind of animal, and those of commercial size and their presence where a change or the list of what is reported asks for
/// them.
fn animals(study: &Study) -> Vec<Indicator> {
    let mut all: Vec<Indicator> = Vec::new();
    for animal in study.zones.iter().flat_map(|zone| &zone.animals) {
        let commercial = format!("{}{COMMERCIAL}", animal.name);
        let presence = format!("{}{PRESENCE}", animal.name);
        let is_asked = |name: &String| {
            study.changes.iter().any(|change| change.indicator == *name) || study.also_report.contains(name)
        };
        let told = [(false, false, animal.name.clone()), (true, false, commercial), (false, true, presence)];
        for (commercial, presence, name) in told {
            let is_told = name == animal.name || is_asked(&name);
            let indicator = Indicator::Animal { animal: animal.name.clone(), commercial, presence, name };
            if is_told && !all.contains(&indicator) {
                all.push(indicator);
            }
        }
    }
    all
}

/// Every change, the number of each group that the method counts, number and biomass of all of them, and what else is
/// asked for.
fn fish(study: &Study, kind: &MethodKind) -> Vec<Indicator> {
    let counts_hidden = match kind {
        MethodKind::FishBelt { way_back, .. } => way_back.is_some(),
        _ => false,
    };
    let groups: Vec<&FishGroup> = study.zones.iter().flat_map(|zone| &zone.fish).collect();
    let of_groups = study.fish_groups().into_iter().map(str::to_owned);
    let changed = study.changes.iter().map(|change| &change.indicator);
    let asked = study.also_report.iter().cloned();
    let together = [FishMeasure::Density, FishMeasure::Biomass].map(|measure| measure.name(ALL_FISH));
    let mut all: Vec<Indicator> = Vec::new();
    // What is asked about comes first, then group by group, then all together.
    for name in changed.cloned().chain(of_groups).chain(together).chain(asked) {
        let Some(told) = study.fish_of(&name) else { continue };
        let is_counted = |group: &&&FishGroup| told.includes(group) && (counts_hidden || !group.hides);
        if all.iter().any(|known| known.name() == name) || groups.iter().find(is_counted).is_none() {
            continue;
        }
        let moves = |change: &&Change| told.is_moved_by(&change.indicator, &study.zones);
        let moved_by = study.changes.iter().filter(moves).map(|change| change.indicator.clone()).collect();
        all.push(Indicator::Fish { told, name, moved_by });
    }
    all
}

/// The density of colonies, and what else of them is to be reported.
fn colonies(study: &Study, classes_m: &[f64], growth_m: f64) -> Vec<Indicator> {
    let all = colony_measures(classes_m, growth_m).into_iter();
    all.filter(|(name, _)| name == COLONY_DENSITY || study.also_report.contains(name))
        .map(|(name, measure)| Indicator::Colonies { measure, name })
        .collect()
}

/// The density of recruits, and what else of them is to be reported.
fn recruits(study: &Study) -> Vec<Indicator> {
    let cannot = study.zones.iter().flat_map(|zone| &zone.recruits).flat_map(|recruits| &recruits.cannot_live_on);
    let of_bottom: Vec<String> = std::iter::once(HARD_CORAL.to_owned()).chain(cannot.cloned()).collect();
    let is_asked = |measure: &RecruitMeasure| {
        *measure == RecruitMeasure::Density || study.also_report.iter().any(|name| name == measure.name())
    };
    let indicator = |measure| {
        let mut moved_by = vec![RECRUIT_DENSITY.to_owned()];
        if measure != RecruitMeasure::OnHardBottom {
            moved_by.extend(of_bottom.iter().cloned());
        }
        Indicator::Recruits { measure, moved_by }
    };
    RecruitMeasure::ALL.into_iter().filter(is_asked).map(indicator).collect()
}

fn searched(readings: &[Reading], columns: &[Column], placement: Placement) -> Vec<SearchedBelt> {
    let mut belts: Vec<SearchedBelt> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        let Dimensions::InvertebrateBelt { length_m, width_m } = readings[column.reading].dimensions else { continue };
        let number = column.units;
        let is_same = |belt: &&mut SearchedBelt| {
            belt.length_m == length_m && belt.width_m == width_m && (placement.few_from_many() || belt.number == number)
        };
        match belts.iter_mut().find(is_same) {
            Some(belt) => {
                belt.number = belt.number.max(number);
                belt.columns.push(c);
            }
            None => belts.push(SearchedBelt { number, length_m, width_m, columns: vec![c] }),
        }
    }
    belts
}

fn measured(readings: &[Reading], columns: &[Column], placement: Placement) -> Vec<MeasuredBelt> {
    let mut belts: Vec<MeasuredBelt> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        let reading = &readings[column.reading];
        let Dimensions::CoralBelt { length_m, width_m } = reading.dimensions else { continue };
        let (number, method) = (column.units, reading.method);
        let is_same = |belt: &&mut MeasuredBelt| {
            (belt.length_m, belt.width_m, belt.method) == (length_m, width_m, method)
                && (placement.few_from_many() || belt.number == number)
        };
        match belts.iter_mut().find(is_same) {
            Some(belt) => {
                belt.number = belt.number.max(number);
                belt.columns.push(c);
            }
            None => belts.push(MeasuredBelt { number, method, length_m, width_m, columns: vec![c] }),
        }
    }
    belts
}

fn fish_units(study: &Study, readings: &[Reading], columns: &[Column]) -> Vec<FishUnits> {
    let mut all: Vec<FishUnits> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        let reading = &readings[column.reading];
        let (length_m, width_m) = (reading.dimensions.length_m().unwrap_or(0.0), reading.dimensions.width_m());
        if study.methods[reading.method].kind.fish_count().is_none() {
            continue;
        }
        let (number, method, dimensions) = (column.units, reading.method, reading.dimensions);
        let is_same = |units: &&mut FishUnits| {
            (units.dimensions, units.method) == (dimensions, method)
                && (study.placement.few_from_many() || units.number == number)
        };
        match all.iter_mut().find(is_same) {
            Some(units) => {
                units.number = units.number.max(number);
                units.columns.push(c);
            }
            None => all.push(FishUnits { number, method, dimensions, length_m, width_m, columns: vec![c] }),
        }
    }
    all
}

/// Columns of size structure, with classes by the ruler of their method up to the largest colony of any zone.
fn sized(study: &Study, readings: &[Reading], columns: &[Column]) -> Vec<SizedColumn> {
    let largest = study.zones.iter().map(|zone| zone.reef.sizes.max_m).fold(0.0, f64::max) / AXIS_RATIO.low.sqrt();
    let of = |(column, classes): (usize, &Column)| {
        let reading = &readings[classes.reading];
        match &study.methods[reading.method].kind {
            MethodKind::CoralBelt { belt, .. } if reading.indicator.is_size_structure() => {
                let classes = SizeClasses::of_ruler(belt.ruler_m, largest).ok()?;
                Some(SizedColumn { column, classes })
            }
            _ => None,
        }
    };
    columns.iter().enumerate().filter_map(of).collect()
}

/// Sets of tapes, each with the columns that are read from it.
fn tapes(readings: &[Reading], columns: &[Column], placement: Placement) -> Vec<Tape> {
    let length = |c: usize| readings[columns[c].reading].dimensions.length_m().unwrap_or(0.0);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        match readings[column.reading].dimensions {
            Dimensions::PointIntercept { .. } | Dimensions::LineIntercept { .. } => {}
            _ => continue,
        }
        let is_same = |group: &&mut Vec<usize>| {
            same_layout(placement, (&columns[group[0]], length(group[0])), (column, length(c)))
        };
        match groups.iter_mut().find(is_same) {
            Some(group) => group.push(c),
            None => groups.push(vec![c]),
        }
    }
    groups.iter().map(|group| Tape::new(readings, columns, group)).collect()
}

impl Tape {
    fn new(readings: &[Reading], columns: &[Column], group: &[usize]) -> Self {
        let on_it = || group.iter().map(|&c| (columns[c].units, readings[columns[c].reading].dimensions));
        let longest = |unit: usize| {
            on_it().filter(|(units, _)| unit < *units).filter_map(|(_, d)| d.length_m()).fold(0.0, f64::max)
        };
        let number = on_it().map(|(units, _)| units).max().unwrap_or(0);
        let lengths_m: Vec<f64> = (0..number).map(longest).collect();
        let length_m = lengths_m.iter().copied().fold(0.0, f64::max);
        // Spacings are whole millimetres; the grid is their greatest common divisor.
        let grid_mm = on_it().fold(0u64, |grid, (_, dimensions)| match dimensions {
            Dimensions::PointIntercept { spacing_m, .. } => gcd(grid, (spacing_m * 1000.0).round() as u64),
            _ => grid,
        });
        let grid_m = grid_mm as f64 / 1000.0;
        let points = if grid_mm > 0 { (length_m / grid_m + 1e-6) as usize } else { 0 };
        let mut point_readings = Vec::new();
        let mut line_readings = Vec::new();
        for &c in group {
            let dimensions = readings[columns[c].reading].dimensions;
            match dimensions {
                Dimensions::PointIntercept { length_m: length, spacing_m } => {
                    let stride = ((spacing_m * 1000.0).round() as u64 / grid_mm.max(1)) as usize;
                    let number = dimensions.points().unwrap_or(0);
                    let room = ((length_m - length) / grid_m + 1e-6) as usize;
                    let starts = (0..=room).map(|start| Progression::new(start + stride - 1, stride, number)).collect();
                    point_readings.push((c, starts));
                }
                Dimensions::LineIntercept { length_m: length } => line_readings.push((c, length)),
                _ => {}
            }
        }
        Self { lengths_m, length_m, grid_m, points, point_readings, line_readings }
    }

    /// Where a shorter tape starts on the grid of a tape of `laid_m`, among the starts made for the longest: at the same
    /// share of its own room.
    pub fn start<'a>(&self, starts: &'a [Progression], laid_m: f64, share: f64) -> &'a Progression {
        let cut = ((self.length_m - laid_m) / self.grid_m + 1e-6) as usize;
        let number = starts.len().saturating_sub(cut).max(1);
        &starts[((share * number as f64) as usize).min(number - 1)]
    }

    /// Whether a column is read from these tapes.
    pub fn has(&self, column: usize) -> bool {
        let points = self.point_readings.iter().map(|(c, _)| *c);
        points.chain(self.line_readings.iter().map(|(c, _)| *c)).any(|c| c == column)
    }

    /// 64-bit words of a set of its points.
    pub fn words(&self) -> usize {
        words_for(self.points)
    }
}

impl Belt {
    /// Whether a column is read from these belts.
    pub fn has(&self, column: usize) -> bool {
        self.throws.iter().flat_map(|throw| &throw.readings).any(|(c, _)| *c == column)
    }

    fn add(&mut self, into: Into, column: usize, points: usize) {
        match self.throws.iter_mut().find(|throw| throw.into == into) {
            Some(throw) => {
                throw.points = throw.points.max(points);
                throw.readings.push((column, points));
            }
            None => self.throws.push(Throw { into, points, readings: vec![(column, points)] }),
        }
    }
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn belts(readings: &[Reading], columns: &[Column], placement: Placement) -> Vec<Belt> {
    let mut belts: Vec<Belt> = Vec::new();
    for (c, column) in columns.iter().enumerate() {
        let (length_m, width_m, into) = match readings[column.reading].dimensions {
            Dimensions::PhotoBelt { length_m, width_m, .. } => (length_m, width_m, Into::Strip),
            Dimensions::PhotoQuadrats { length_m, frames, points_a_frame: each, frame } => {
                (length_m, frame.frame_width_m, Into::Frames { frames, each, frame })
            }
            _ => continue,
        };
        let points = readings[column.reading].dimensions.points().unwrap_or(0);
        let number = column.units;
        let is_same = |belt: &&mut Belt| {
            belt.length_m == length_m && belt.width_m == width_m && (placement.few_from_many() || belt.number == number)
        };
        match belts.iter_mut().find(is_same) {
            Some(belt) => {
                belt.number = belt.number.max(number);
                belt.add(into, c, points);
            }
            None => {
                let mut belt = Belt { number, length_m, width_m, throws: Vec::new() };
                belt.add(into, c, points);
                belts.push(belt);
            }
        }
    }
    belts
}
