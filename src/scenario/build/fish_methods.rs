//! Fish belts and point counts.

use super::methods::{Builder, WrittenMinutes, numbers};
use crate::scenario::defaults;
use crate::scenario::file::{FishBeltTable, FishPointCountTable};
use crate::scenario::ledger::Noted;
use crate::scenario::number::{
    ClassWidth, DistanceError, FishLength, LengthCv, LengthError, Number, Percent, Visibility,
};
use crate::scenario::shown::{number, percent};
use crate::scenario::source::Source;
use crate::scenario::word::{CountingWord, PeriodWord, Word, word_of};
use crate::survey::fish_sheet::{ClassValue, FineClasses, LengthClasses, LengthReader, WidthReader};
use crate::survey::swim::{CountingRule, DEFAULT_WINDOW_M, FishCount, WayBack};
use crate::survey::{MethodKind, MethodSpec};

/// What both tables tell of how fish are seen and written down.
struct Written<'a> {
    class_cm: Option<Number<ClassWidth>>,
    half_classes_below_cm: Option<Number<FishLength>>,
    class_value: Option<Word<ClassValue>>,
    length_spread_percent: Option<Number<LengthCv>>,
    length_bias_percent: Option<Number<LengthError>>,
    distance_bias_percent: Option<Number<DistanceError>>,
    distance_spread_percent: Option<Number<LengthCv>>,
    left_after_others_percent: Option<Number<Percent>>,
    visibility_m: Option<Number<Visibility>>,
    source: &'a Option<Source>,
}

/// "30", or "30, 50".
fn listed(values: &[f64]) -> String {
    values.iter().map(|value| number(*value)).collect::<Vec<_>>().join(", ")
}

macro_rules! written {
    ($table:expr) => {
        Written {
            class_cm: $table.class_cm,
            half_classes_below_cm: $table.half_classes_below_cm,
            class_value: $table.class_value,
            length_spread_percent: $table.length_spread_percent,
            length_bias_percent: $table.length_bias_percent,
            distance_bias_percent: $table.distance_bias_percent,
            distance_spread_percent: $table.distance_spread_percent,
            left_after_others_percent: $table.left_after_others_percent,
            visibility_m: $table.visibility_m,
            source: &$table.source,
        }
    };
}

impl Builder<'_, '_> {
    pub(super) fn fish_belt(&mut self, index: usize, table: &FishBeltTable) -> MethodSpec {
        let path = format!("method.fish_belt[{index}]");
        let length_m = numbers(&table.length_m, defaults::FISH_BELT_M.0);
        let width_m = numbers(&table.width_m, defaults::FISH_BELT_M.1);
        let swim_minutes = numbers(&table.swim_minutes, defaults::SWIM_MINUTES);
        let counting = table.counting.map_or(CountingWord::MovingWindow, |word| word.0);
        let window = table.window_m.map(|depth| depth.get());
        if window.is_some() && counting != CountingWord::MovingWindow {
            let message = format!("a depth of the window is written, but counting is {}", word_of(counting));
            let remedy = "Take window_m out, or write counting = \"moving_window\".";
            self.problems.add(&format!("{path}.window_m"), message, "needs a moving window", remedy);
        }
        let rule = match counting {
            CountingWord::WholeSwim => CountingRule::WholeSwim,
            CountingWord::MovingWindow => CountingRule::MovingWindow { depth_m: window.unwrap_or(DEFAULT_WINDOW_M) },
            CountingWord::Abreast => CountingRule::Abreast,
        };
        let way_back = match (table.way_back_width_m, table.way_back_minutes) {
            (Some(width), minutes) => {
                let minutes = minutes.map_or(swim_minutes[0], |minutes| minutes.get());
                Some(WayBack { width_m: width.get(), minutes })
            }
            (None, Some(_)) => {
                let message = "minutes of a way back are written, but not its width";
                let remedy = "Add way_back_width_m = 1, or take way_back_minutes out.";
                self.problems.add(&format!("{path}.way_back_minutes"), message, "needs a width", remedy);
                None
            }
            (None, None) => None,
        };
        let what = match rule {
            CountingRule::WholeSwim => "all that is in the belt at any moment of the swim".to_owned(),
            CountingRule::MovingWindow { depth_m } => format!("what is within {} m ahead", number(depth_m)),
            CountingRule::Abreast => "what crosses the line abreast of the diver".to_owned(),
        };
        let noted = Noted::when(table.counting.is_some(), what);
        let unit = format!("{} x {} m fish belt", listed(&length_m), listed(&width_m));
        self.ledger.note(&path, "counting", format!("{unit}: fish that count"), noted, &table.source);
        let shown: Vec<String> = swim_minutes.iter().map(|minutes| number(*minutes)).collect();
        let about = format!("{unit}: minutes of the swim");
        let noted = Noted::when(table.swim_minutes.is_some(), shown.join(", "));
        self.ledger.note(&path, "swim_minutes", about, noted, &table.source);
        let count = self.fish_count(&path, &unit, &written!(table));
        let usual = swim_minutes[0] + way_back.map_or(0.0, |back| back.minutes);
        let minutes = WrittenMinutes {
            lay: table.lay_minutes,
            read: table.read_minutes,
            ashore: None,
            source: &table.source,
            work: &table.work,
        };
        let minutes = self.minutes(&path, &unit, minutes, (defaults::FISH_LAY_MINUTES, usual));
        let kind = MethodKind::FishBelt { length_m, width_m, swim_minutes, rule, count, way_back };
        self.minutes_of_others("fish count", &kind);
        MethodSpec { kind, units: self.units(&table.units), minutes }
    }

    pub(super) fn fish_point_count(&mut self, index: usize, table: &FishPointCountTable) -> MethodSpec {
        let path = format!("method.fish_point_count[{index}]");
        let radius_m = numbers(&table.radius_m, defaults::COUNT_RADIUS_M);
        let count_minutes = numbers(&table.minutes, defaults::COUNT_MINUTES);
        let whole_period = table.counting.is_some_and(|word| word.0 == PeriodWord::WholePeriod);
        let what = if whole_period { "all that comes in" } else { "what is there at one moment" };
        let noted = Noted::when(table.counting.is_some(), what.into());
        let unit = format!("point count of {} m", listed(&radius_m));
        self.ledger.note(&path, "counting", format!("{unit}: fish that count"), noted, &table.source);
        let count = self.fish_count(&path, &unit, &written!(table));
        let usual = count_minutes[0];
        let minutes = WrittenMinutes {
            lay: table.lay_minutes,
            read: table.read_minutes,
            ashore: None,
            source: &table.source,
            work: &table.work,
        };
        let minutes = self.minutes(&path, &unit, minutes, (defaults::FISH_LAY_MINUTES, usual));
        let kind = MethodKind::FishPointCount { radius_m, minutes: count_minutes, whole_period, count };
        self.minutes_of_others("fish count", &kind);
        MethodSpec { kind, units: self.units(&table.units), minutes }
    }

    fn fish_count(&mut self, path: &str, unit: &str, written: &Written) -> FishCount {
        let of = |percent: Option<Number<LengthCv>>, usual: f64| percent.map_or(usual, |percent| percent.get() / 100.0);
        let width_cm = written.class_cm.map_or(defaults::CLASS_CM, |class| class.get());
        let half = |below_cm| FineClasses { width_cm: 0.5 * width_cm, below_cm };
        let fine = written.half_classes_below_cm.map(|below| half(below.get()));
        let cv = of(written.length_spread_percent, defaults::LENGTH_READING_CV);
        let bias = written.length_bias_percent.map_or(0.0, |bias| bias.get() / 100.0);
        let distance = written.distance_bias_percent.map_or(0.0, |bias| bias.get() / 100.0);
        let distance_sd = of(written.distance_spread_percent, 0.0);
        let left = written.left_after_others_percent.map_or(1.0, |left| left.get() / 100.0);
        let mut note = |key: &str, about: &str, is_written: bool, value: String| {
            self.ledger.note(path, key, format!("{unit}: {about}"), Noted::when(is_written, value), written.source);
        };
        note("class_cm", "classes of length", written.class_cm.is_some(), format!("{} cm", number(width_cm)));
        note("length_spread_percent", "error of a length", written.length_spread_percent.is_some(), percent(cv));
        note("length_bias_percent", "bias of lengths", written.length_bias_percent.is_some(), percent(bias));
        note("distance_bias_percent", "bias of distances", written.distance_bias_percent.is_some(), percent(distance));
        let is_written = written.distance_spread_percent.is_some();
        note("distance_spread_percent", "spread of judged distances", is_written, percent(distance_sd));
        let others = if left < 1.0 { percent(left) } else { "all: the count is first".into() };
        let is_written = written.left_after_others_percent.is_some();
        note("left_after_others_percent", "fish left after other divers", is_written, others);
        FishCount {
            width: WidthReader { error: distance, sd: distance_sd },
            left_by_others: left,
            lengths: LengthReader {
                bias,
                cv,
                classes: Some(LengthClasses { width_cm, fine }),
                value: written.class_value.map_or(ClassValue::Midpoint, |word| word.0),
            },
            visibility_m: written.visibility_m.map(|visibility| visibility.get()),
        }
    }
}
