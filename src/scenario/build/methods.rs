use super::Frame;
use crate::design::Zone;
use crate::scenario::Matter;
use crate::scenario::count::{Counts, Units};
use crate::scenario::defaults;
use crate::scenario::file::{
    CoralBeltTable, InvertebrateBeltTable, LineInterceptTable, OtherTable, PhotoBeltTable, PhotoQuadratsTable,
    PointInterceptTable, RecruitQuadratsTable, ScenarioFile, WorkTable,
};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::list::Numbers;
use crate::scenario::number::{Centimetres, FrameSide, Kind, Minutes, Number};
use crate::scenario::problems::Problems;
use crate::scenario::replicates::lines_are_replicates_somewhere;
use crate::scenario::shown::number;
use crate::scenario::source::Source;
use crate::survey::coral_belt::{CoralBelt, Detection, EdgeRule};
use crate::survey::{Components, Frame as PhotoFrame, MethodKind, MethodSpec, Placed, Scale, UnitMinutes};

/// The methods in the order point lines, intercept lines, photo belts, photo quadrats, coral belts, invertebrate belts,
/// recruit quadrats, fish belts, fish point counts, others.
pub fn build(
    file: &ScenarioFile,
    zones: &[Zone],
    frame: Frame,
    problems: &mut Problems,
    ledger: &mut Ledger,
) -> Vec<MethodSpec> {
    let tables = &file.method;
    // A single line has no spread where the lines are the replicates.
    let first_units = if lines_are_replicates_somewhere(frame.scope, zones) { 2 } else { 1 };
    let mut builder = Builder { first_units, problems, ledger };
    let mut methods = Vec::new();
    methods.extend(tables.point_intercept.iter().enumerate().map(|(i, table)| builder.point_intercept(i, table)));
    methods.extend(tables.line_intercept.iter().enumerate().map(|(i, table)| builder.line_intercept(i, table)));
    methods.extend(tables.photo_belt.iter().enumerate().map(|(i, table)| builder.photo_belt(i, table)));
    methods.extend(tables.photo_quadrats.iter().enumerate().map(|(i, table)| builder.photo_quadrats(i, table)));
    methods.extend(tables.coral_belt.iter().enumerate().map(|(i, table)| builder.coral_belt(i, table)));
    methods.extend(tables.invertebrate_belt.iter().enumerate().map(|(i, table)| builder.invertebrate_belt(i, table)));
    methods.extend(tables.recruit_quadrats.iter().enumerate().map(|(i, table)| builder.recruit_quadrats(i, table)));
    methods.extend(tables.fish_belt.iter().enumerate().map(|(i, table)| builder.fish_belt(i, table)));
    methods.extend(tables.fish_point_count.iter().enumerate().map(|(i, table)| builder.fish_point_count(i, table)));
    methods.extend(tables.other.iter().enumerate().map(|(i, table)| builder.other(i, table)));
    if methods.is_empty() {
        let remedy = "Add [[method.point_intercept]], [[method.line_intercept]], [[method.photo_belt]], [[method.photo_quadrats]], [[method.coral_belt]], [[method.invertebrate_belt]], [[method.recruit_quadrats]], [[method.fish_belt]], [[method.fish_point_count]] or [[method.other]].";
        builder.problems.add("method", "there is no method", "at least one", remedy);
    }
    methods
}

pub(super) struct Builder<'a, 'b> {
    first_units: usize,
    pub(super) problems: &'a mut Problems<'b>,
    pub(super) ledger: &'a mut Ledger,
}

/// Minutes as they stand in a table.
pub(super) struct WrittenMinutes<'a> {
    pub(super) lay: Option<Number<Minutes>>,
    pub(super) read: Option<Number<Minutes>>,
    pub(super) ashore: Option<Number<Minutes>>,
    pub(super) source: &'a Option<Source>,
    pub(super) work: &'a Option<WorkTable>,
}

/// The minutes of any table of a method: all have the same keys, but for those ashore.
macro_rules! minutes_of {
    ($table:expr) => {
        WrittenMinutes { ashore: $table.ashore_minutes, ..minutes_of!($table, under_water) }
    };
    ($table:expr, under_water) => {
        WrittenMinutes {
            lay: $table.lay_minutes,
            read: $table.read_minutes,
            ashore: None,
            source: &$table.source,
            work: &$table.work,
        }
    };
}

/// The numbers of a list, or the one that stands for a list that is left out.
pub(super) fn numbers<K: Kind>(written: &Option<Numbers<K>>, usual: f64) -> Vec<f64> {
    written.as_ref().map_or(vec![usual], |list| list.get().to_vec())
}

fn article(what: &str) -> &'static str {
    if what.starts_with(['a', 'e', 'i', 'o', '8']) { "an" } else { "a" }
}

impl Builder<'_, '_> {
    fn point_intercept(&mut self, index: usize, table: &PointInterceptTable) -> MethodSpec {
        let path = format!("method.point_intercept[{index}]");
        let length_m = numbers(&table.length_m, defaults::LINE_LENGTH_M);
        let spacing_m = match (&table.spacing_m, table.points) {
            (Some(list), None) => list.get().to_vec(),
            (None, Some(points)) => vec![length_m[0] / points.get() as f64],
            (None, None) => vec![defaults::SPACING_M],
            (Some(list), Some(_)) => {
                let message = "both the spacing and the number of points are written";
                self.problems.add(&format!("{path}.points"), message, "one of the two", "Take one of them out.");
                list.get().to_vec()
            }
        };
        if table.points.is_some() && length_m.len() > 1 {
            let message = "a number of points goes with one length only";
            let remedy = "Write spacing_m instead of points, or one [[method.point_intercept]] for each length.";
            self.problems.add(&format!("{path}.points"), message, "needs one length", remedy);
        }
        let written = minutes_of!(table);
        let kind = MethodKind::PointIntercept { length_m, spacing_m };
        self.spec(&path, "point-intercept line", kind, &table.units, written)
    }

    fn line_intercept(&mut self, index: usize, table: &LineInterceptTable) -> MethodSpec {
        let path = format!("method.line_intercept[{index}]");
        let length_m = numbers(&table.length_m, defaults::LINE_LENGTH_M);
        let written = minutes_of!(table);
        let kind = MethodKind::LineIntercept { length_m };
        self.spec(&path, "line-intercept line", kind, &table.units, written)
    }

    fn photo_belt(&mut self, index: usize, table: &PhotoBeltTable) -> MethodSpec {
        let path = format!("method.photo_belt[{index}]");
        let length_m = numbers(&table.length_m, defaults::LINE_LENGTH_M);
        let width_m = numbers(&table.width_m, defaults::BELT_WIDTH_M);
        let points = table.points.as_ref().map_or(vec![defaults::PHOTO_POINTS], |list| list.get().to_vec());
        let written = minutes_of!(table);
        let kind = MethodKind::PhotoBelt { length_m, width_m, points };
        self.spec(&path, "photo belt", kind, &table.units, written)
    }

    fn photo_quadrats(&mut self, index: usize, table: &PhotoQuadratsTable) -> MethodSpec {
        let path = format!("method.photo_quadrats[{index}]");
        let side = |written: Option<Number<FrameSide>>, usual| written.map_or(usual, |side| side.get());
        let frame = PhotoFrame {
            frame_length_m: side(table.frame_length_m, defaults::FRAME_LENGTH_M),
            frame_width_m: side(table.frame_width_m, defaults::FRAME_WIDTH_M),
            frames_placed: table.frames_placed.map_or(Placed::Stratified, |word| word.0),
            points_placed: table.points_placed.map_or(Placed::Random, |word| word.0),
        };
        let frames = table.frames.as_ref().map_or(vec![defaults::FRAMES], |list| list.get().to_vec());
        let kind = MethodKind::PhotoQuadrats {
            length_m: numbers(&table.length_m, defaults::LINE_LENGTH_M),
            frame,
            points: table.points.as_ref().map_or(vec![defaults::FRAME_POINTS], |list| list.get().to_vec()),
            frames: frames.clone(),
        };
        let written = minutes_of!(table, under_water);
        let mut spec = self.spec(&path, "tape with photo quadrats", kind, &table.units, written);
        if let Some(a_frame) = table.ashore_minutes_a_frame {
            let about = "minutes ashore for a photograph".to_owned();
            let noted = Noted::Written(number(a_frame.get()));
            self.ledger.note(&path, "ashore_minutes_a_frame", about, noted, &table.source);
            spec.minutes.ashore = Some(a_frame.get() * frames[0] as f64);
        }
        spec
    }

    fn coral_belt(&mut self, index: usize, table: &CoralBeltTable) -> MethodSpec {
        let path = format!("method.coral_belt[{index}]");
        let metres = |written: Option<Number<Centimetres>>| written.map(|size| size.get() / 100.0);
        if let (Some(_), Some(_)) = (table.smallest_cm, table.half_seen_cm) {
            let message = "both the smallest colony seen and the one half seen are written";
            self.problems.add(&format!("{path}.half_seen_cm"), message, "one of the two", "Take one of them out.");
        }
        if table.half_seen_cm.is_none() {
            let keys = [("seen_slope", table.seen_slope.is_some())];
            self.problems.needs(&path, "half_seen_cm", "colonies that may be missed by their size", &keys);
        }
        let detection = match metres(table.half_seen_cm) {
            Some(half_m) => Detection::Logistic { half_m, slope: table.seen_slope.map_or(3.0, |slope| slope.get()) },
            None => Detection::From { least_m: metres(table.smallest_cm).unwrap_or(0.01) },
        };
        let edge = table.edge.map_or(EdgeRule::default(), |word| word.0);
        let growth_m = table.growth_cm_a_year.map_or(defaults::GROWTH_M, |growth| growth.get() / 100.0);
        let about = "growth across for the index of age".to_owned();
        let noted = Noted::when(table.growth_cm_a_year.is_some(), format!("{} cm a year", number(100.0 * growth_m)));
        self.ledger.note(&path, "growth_cm_a_year", about, noted, &table.source);
        let kind = MethodKind::CoralBelt {
            length_m: numbers(&table.length_m, defaults::LINE_LENGTH_M),
            width_m: numbers(&table.width_m, defaults::INVERTEBRATE_WIDTH_M),
            belt: CoralBelt { edge, detection, ruler_m: metres(table.ruler_cm).unwrap_or(0.01) },
            classes_m: table
                .size_classes_cm
                .as_ref()
                .map_or(Vec::new(), |limits| limits.get().iter().map(|limit| limit / 100.0).collect()),
            growth_m,
        };
        let written = minutes_of!(table, under_water);
        self.spec(&path, "coral belt", kind, &table.units, written)
    }

    fn invertebrate_belt(&mut self, index: usize, table: &InvertebrateBeltTable) -> MethodSpec {
        let path = format!("method.invertebrate_belt[{index}]");
        let length_m = numbers(&table.length_m, defaults::LINE_LENGTH_M);
        let width_m = numbers(&table.width_m, defaults::INVERTEBRATE_WIDTH_M);
        let written = minutes_of!(table, under_water);
        let kind = MethodKind::InvertebrateBelt { length_m, width_m };
        self.spec(&path, "invertebrate belt", kind, &table.units, written)
    }

    fn recruit_quadrats(&mut self, index: usize, table: &RecruitQuadratsTable) -> MethodSpec {
        let path = format!("method.recruit_quadrats[{index}]");
        let quadrat_m = match &table.quadrat_cm {
            Some(sides) => sides.get().iter().map(|side| side / 100.0).collect(),
            None => vec![defaults::QUADRAT_M],
        };
        let kind = MethodKind::RecruitQuadrats {
            length_m: numbers(&table.length_m, defaults::LINE_LENGTH_M),
            quadrat_m,
            every_m: numbers(&table.every_m, defaults::QUADRATS_EVERY_M),
        };
        let written = minutes_of!(table, under_water);
        self.spec(&path, "line of recruit quadrats", kind, &table.units, written)
    }

    fn other(&mut self, index: usize, table: &OtherTable) -> MethodSpec {
        let path = format!("method.other[{index}]");
        let components = Components {
            indicator: table.indicator.clone(),
            unit: table.unit.clone().unwrap_or_default(),
            mean: table.mean.get(),
            scale: table.scale.map_or(Scale::Plain, |word| word.0),
            between_sites_sd: table.between_sites.get(),
            site_year_sd: table.site_year.map_or(0.0, |spread| spread.get()),
            between_units_sd: table.between_units.get(),
            same_mark_correlation: table.same_mark_correlation.map_or(0.0, |correlation| correlation.get()),
            floor: table.floor.map(|floor| floor.get()),
        };
        let mut note = |key: &str, what: &str, written: bool, value: f64| {
            let about = format!("{}: {what}", table.indicator);
            self.ledger.note(&path, key, about, Noted::when(written, number(value)), &table.source);
        };
        note("mean", "mean", true, components.mean);
        note("between_sites", "spread between sites", true, components.between_sites_sd);
        note("site_year", "spread of a site's years", table.site_year.is_some(), components.site_year_sd);
        note("between_units", "spread between units", true, components.between_units_sd);
        let correlation = components.same_mark_correlation;
        note("same_mark_correlation", "same-mark correlation", table.same_mark_correlation.is_some(), correlation);
        let what = format!("unit for {}", table.indicator);
        let written = minutes_of!(table);
        self.spec(&path, &what, MethodKind::Components(components), &table.units, written)
    }

    /// A method with its units and minutes; those that are not written are of its first dimensions.
    fn spec(
        &mut self,
        path: &str,
        what: &str,
        kind: MethodKind,
        units: &Option<Counts<Units>>,
        written: WrittenMinutes,
    ) -> MethodSpec {
        let minutes = self.minutes(path, what, written, defaults::minutes(kind.dimensions()[0]));
        self.minutes_of_others(what, &kind);
        MethodSpec { kind, units: self.units(units), minutes }
    }

    /// Where several dimensions are compared, minutes are of the first: how the others get theirs is assumed.
    pub(super) fn minutes_of_others(&mut self, what: &str, kind: &MethodKind) {
        let [first, _, ..] = kind.dimensions()[..] else { return };
        let value =
            format!("those of {}, laying in proportion to the length, reading to {}", first.label(), first.work_is());
        let about = format!("minutes of {} {what} of other dimensions", article(what));
        self.ledger.assume(Matter::Effort, about, value);
    }

    pub(super) fn units(&self, written: &Option<Counts<Units>>) -> Vec<usize> {
        written.as_ref().map_or_else(|| (self.first_units..=defaults::MOST_UNITS).collect(), |list| list.get().to_vec())
    }

    /// Minutes to read a unit that so many units in so many minutes leave, when setting up once and laying and moving on with
    /// each are taken out.
    fn done_last_time(&mut self, path: &str, written: &WrittenMinutes, lay: f64) -> Option<f64> {
        let work = written.work.as_ref()?;
        let done = work.done_last_time?;
        let key = format!("{path}.work.done_last_time");
        if written.read.is_some() {
            let remedy = "What was done last time tells the minutes to read: take read_minutes or done_last_time out.";
            self.problems.add(&key, "done_last_time and read_minutes are both written", "one of the two", remedy);
            return None;
        }
        let minutes = |written: Option<Number<Minutes>>, usual: f64| written.map_or(usual, |minutes| minutes.get());
        let move_on = minutes(work.move_minutes, work.usual_move_minutes());
        let set_up = minutes(work.set_up_minutes, defaults::SET_UP_MINUTES);
        // On a line that another method lays nothing is laid.
        let lay = if work.on_line_of.is_some() { 0.0 } else { lay };
        let units = done.units.get() as f64;
        // To a nanominute.
        let read = (((done.minutes.get() - set_up) / units - lay - move_on) * 1e9).round() / 1e9;
        if read <= 0.0 {
            let message = format!(
                "{} in {} minutes leave no time to read: setting up takes {}, laying and moving on {} each",
                done.units.get(),
                number(done.minutes.get()),
                number(set_up),
                number(lay + move_on)
            );
            let least = number(set_up + units * (lay + move_on));
            let remedy =
                "Correct the units or minutes of last time, or lower lay_minutes, move_minutes or set_up_minutes.";
            self.problems.add(&key, message, format!("more than {least} minutes"), remedy);
            return Some(1.0);
        }
        Some(read)
    }

    pub(super) fn minutes(
        &mut self,
        path: &str,
        what: &str,
        written: WrittenMinutes,
        default: (f64, f64),
    ) -> UnitMinutes {
        let lay = written.lay.map_or(default.0, |minutes| minutes.get());
        let done = self.done_last_time(path, &written, lay);
        let read = done.unwrap_or_else(|| written.read.map_or(default.1, |minutes| minutes.get()));
        let mut note = |key: &str, verb: &str, is_written: bool, value: f64| {
            let about = format!("minutes to {verb} {} {what}", article(what));
            self.ledger.note(path, key, about, Noted::when(is_written, number(value)), written.source);
        };
        note("lay_minutes", "lay", written.lay.is_some(), lay);
        if done.is_none() {
            note("read_minutes", "read", written.read.is_some(), read);
        } else if let Some(work) = written.work {
            let origin = self.ledger.keep(&format!("{path}.work"), "done_last_time", true, &work.source);
            self.ledger.keep_as(path, "read_minutes", origin.clone());
            let about = format!("minutes to read {} {what}, from what was done last time", article(what));
            self.ledger.list_together(path, about, number(read), origin);
        }
        let ashore = written.ashore.map(|minutes| minutes.get());
        if let Some(minutes) = ashore {
            let about = format!("minutes ashore for {} {what}", article(what));
            self.ledger.note(path, "ashore_minutes", about, Noted::Written(number(minutes)), written.source);
        }
        UnitMinutes { lay, read, ashore }
    }
}
