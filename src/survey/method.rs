use super::coral_belt::CoralBelt;
use super::swim::{CountingRule, FishCount, WayBack};
use super::told_apart::kind_and_how;
use crate::measures::plural;
use serde::Serialize;

/// A kind of unit with the dimensions it may have. Lists are alternatives to compare, not parts of one design.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MethodSpec {
    pub kind: MethodKind,
    /// How many units (lines, belts) a site gets: the numbers to compare, rising.
    pub units: Vec<usize>,
    pub minutes: UnitMinutes,
}

impl MethodSpec {
    /// Whether this method gives an indicator by its components alone.
    pub fn serves_by_components(&self, indicator: &str) -> bool {
        matches!(&self.kind, MethodKind::Components(components) if components.indicator == indicator)
    }

    /// Minutes ashore for one unit of these dimensions: written for the first ones, in proportion to the points (or the
    /// length, where there are none) for the others.
    pub fn ashore_minutes(&self, dimensions: Dimensions) -> Option<f64> {
        let first = self.kind.dimensions().first().copied()?;
        let share = match (dimensions.points(), first.points()) {
            (Some(points), Some(first)) => points as f64 / first as f64,
            _ => dimensions.length_m().unwrap_or(1.0) / first.length_m().unwrap_or(1.0),
        };
        self.minutes.ashore.map(|minutes| minutes * share)
    }
}

/// What a diver calls one unit of a method, by the method's name.
pub fn unit_of(method: &str) -> &'static str {
    match kind_and_how(method).0 {
        "point_intercept" | "line_intercept" => "line",
        "photo_belt" | "invertebrate_belt" | "coral_belt" | "fish_belt" => "belt",
        "fish_point_count" => "point count",
        "photo_quadrats" => "photo line",
        "recruit_quadrats" => "quadrat line",
        _ => "unit",
    }
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "method", rename_all = "snake_case")]
pub enum MethodKind {
    /// The bottom is read under points at equal spacing along a tape.
    PointIntercept { length_m: Vec<f64>, spacing_m: Vec<f64> },
    /// The length of tape over each kind of bottom is measured.
    LineIntercept { length_m: Vec<f64> },
    /// Photographs along a strip, `points` random points in all of them together.
    PhotoBelt { length_m: Vec<f64>, width_m: Vec<f64>, points: Vec<usize> },
    /// Photographs of frames along a tape, read later under points; the unit is the tape with its frames.
    PhotoQuadrats {
        length_m: Vec<f64>,
        /// How many frames a tape has.
        frames: Vec<usize>,
        frame: Frame,
        /// Points on a frame.
        points: Vec<usize>,
    },
    /// Large invertebrates are counted in strips.
    InvertebrateBelt { length_m: Vec<f64>, width_m: Vec<f64> },
    /// Recruits of corals are counted in square quadrats along a tape; the unit is the tape with its quadrats.
    RecruitQuadrats { length_m: Vec<f64>, quadrat_m: Vec<f64>, every_m: Vec<f64> },
    /// Every colony of a strip is counted and measured.
    CoralBelt {
        length_m: Vec<f64>,
        width_m: Vec<f64>,
        belt: CoralBelt,
        /// Limits of classes of the largest diameter, m, rising; what lies between two of them is an indicator.
        classes_m: Vec<f64>,
        /// Growth across in m a year, for the index of age.
        growth_m: f64,
    },
    /// Fish are counted and sized by a diver who swims along a belt.
    FishBelt {
        length_m: Vec<f64>,
        width_m: Vec<f64>,
        /// Minutes of the swim along a belt of the first length; others at the same speed.
        swim_minutes: Vec<f64>,
        rule: CountingRule,
        count: FishCount,
        /// Where hidden fish are counted on the way back.
        way_back: Option<WayBack>,
    },
    /// Fish are counted and sized from one place.
    FishPointCount {
        radius_m: Vec<f64>,
        minutes: Vec<f64>,
        /// Whether all that comes in counts, or a snapshot.
        whole_period: bool,
        count: FishCount,
    },
    /// No virtual reef: an indicator given by its components of variance alone.
    Components(Components),
}

/// Points along a side of the grid by which a diver estimates what share of a recruit quadrat is free hard bottom.
pub const GRID_SIDE: usize = 3;

/// A photograph of the bottom, and how frames and points are placed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Frame {
    /// Along the tape and across it.
    pub frame_length_m: f64,
    pub frame_width_m: f64,
    pub frames_placed: Placed,
    pub points_placed: Placed,
}

/// How several things are placed on a stretch or an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Placed {
    /// Each anywhere.
    Random,
    /// One in each of as many equal parts, anywhere in it.
    Stratified,
}

/// Equal cells (along, across) for `number` points in a frame: as near to squares as the number allows.
pub fn cells_of_points(number: usize, frame: Frame) -> (usize, usize) {
    let ratio = frame.frame_length_m / frame.frame_width_m;
    let unevenness = |columns: usize| (libm::log(ratio * (number / columns) as f64 / columns as f64)).abs();
    let divisors = (1..=number.max(1)).filter(|columns| number.max(1).is_multiple_of(*columns));
    let columns = divisors.fold(1, |best, columns| if unevenness(columns) < unevenness(best) { columns } else { best });
    (columns, number.max(1) / columns)
}

impl MethodKind {
    /// What it goes by among others: its own name, or that of the indicator it is told by alone.
    pub fn own_name(&self) -> &str {
        match self {
            MethodKind::Components(components) => &components.indicator,
            _ => self.name(),
        }
    }

    /// The name in JSON and in tables.
    pub fn name(&self) -> &'static str {
        match self {
            MethodKind::PointIntercept { .. } => "point_intercept",
            MethodKind::LineIntercept { .. } => "line_intercept",
            MethodKind::PhotoBelt { .. } => "photo_belt",
            MethodKind::PhotoQuadrats { .. } => "photo_quadrats",
            MethodKind::InvertebrateBelt { .. } => "invertebrate_belt",
            MethodKind::RecruitQuadrats { .. } => "recruit_quadrats",
            MethodKind::CoralBelt { .. } => "coral_belt",
            MethodKind::FishBelt { .. } => "fish_belt",
            MethodKind::FishPointCount { .. } => "fish_point_count",
            MethodKind::Components(_) => "by_components",
        }
    }

    /// What a diver calls one unit: line, belt, unit.
    pub fn unit(&self) -> &'static str {
        unit_of(self.name())
    }

    /// The same for many: lines, belts, units.
    pub fn units(&self) -> String {
        plural(self.unit(), 2)
    }

    /// Every combination of the listed dimensions, in the order of the lists.
    pub fn dimensions(&self) -> Vec<Dimensions> {
        let mut all = Vec::new();
        match self {
            MethodKind::PointIntercept { length_m, spacing_m } => {
                for &length_m in length_m {
                    for &spacing_m in spacing_m {
                        all.push(Dimensions::PointIntercept { length_m, spacing_m });
                    }
                }
            }
            MethodKind::LineIntercept { length_m } => {
                all.extend(length_m.iter().map(|&length_m| Dimensions::LineIntercept { length_m }));
            }
            MethodKind::PhotoBelt { length_m, width_m, points } => {
                for &length_m in length_m {
                    for &width_m in width_m {
                        for &points in points {
                            all.push(Dimensions::PhotoBelt { length_m, width_m, points });
                        }
                    }
                }
            }
            MethodKind::PhotoQuadrats { length_m, frames, frame, points } => {
                for &length_m in length_m {
                    for &frames in frames {
                        for &points_a_frame in points {
                            all.push(Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame: *frame });
                        }
                    }
                }
            }
            MethodKind::InvertebrateBelt { length_m, width_m } => {
                for &length_m in length_m {
                    all.extend(width_m.iter().map(|&width_m| Dimensions::InvertebrateBelt { length_m, width_m }));
                }
            }
            MethodKind::RecruitQuadrats { length_m, quadrat_m, every_m } => {
                for &length_m in length_m {
                    for &quadrat_m in quadrat_m {
                        let of = |&every_m| Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m };
                        all.extend(every_m.iter().map(of));
                    }
                }
            }
            MethodKind::CoralBelt { length_m, width_m, .. } => {
                for &length_m in length_m {
                    all.extend(width_m.iter().map(|&width_m| Dimensions::CoralBelt { length_m, width_m }));
                }
            }
            MethodKind::FishBelt { length_m, width_m, swim_minutes, .. } => {
                for &length_m_of in length_m {
                    for &width_m in width_m {
                        let of = |&minutes: &f64| Dimensions::FishBelt {
                            length_m: length_m_of,
                            width_m,
                            swim_minutes: minutes * length_m_of / length_m[0],
                        };
                        all.extend(swim_minutes.iter().map(of));
                    }
                }
            }
            MethodKind::FishPointCount { radius_m, minutes, .. } => {
                for &radius_m in radius_m {
                    let of = |&count_minutes| Dimensions::FishPointCount { radius_m, count_minutes };
                    all.extend(minutes.iter().map(of));
                }
            }
            MethodKind::Components(_) => all.push(Dimensions::Components),
        }
        all
    }

    /// The same kind with one choice of dimensions.
    pub fn only(&self, dimensions: Dimensions) -> MethodKind {
        match (self, dimensions) {
            (MethodKind::CoralBelt { belt, classes_m, growth_m, .. }, Dimensions::CoralBelt { length_m, width_m }) => {
                MethodKind::CoralBelt {
                    length_m: vec![length_m],
                    width_m: vec![width_m],
                    belt: *belt,
                    classes_m: classes_m.clone(),
                    growth_m: *growth_m,
                }
            }
            (
                MethodKind::FishBelt { length_m: lengths, rule, count, way_back, .. },
                Dimensions::FishBelt { length_m, width_m, swim_minutes },
            ) => MethodKind::FishBelt {
                length_m: vec![length_m],
                width_m: vec![width_m],
                swim_minutes: vec![swim_minutes],
                rule: *rule,
                count: *count,
                way_back: way_back.map(|back| WayBack { minutes: back.minutes * length_m / lengths[0], ..back }),
            },
            (
                MethodKind::FishPointCount { whole_period, count, .. },
                Dimensions::FishPointCount { radius_m, count_minutes },
            ) => MethodKind::FishPointCount {
                radius_m: vec![radius_m],
                minutes: vec![count_minutes],
                whole_period: *whole_period,
                count: *count,
            },
            _ => dimensions.alone().unwrap_or_else(|| self.clone()),
        }
    }
}

/// One choice of dimensions.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Dimensions {
    PointIntercept {
        length_m: f64,
        spacing_m: f64,
    },
    PhotoBelt {
        length_m: f64,
        width_m: f64,
        points: usize,
    },
    InvertebrateBelt {
        length_m: f64,
        width_m: f64,
    },
    CoralBelt {
        length_m: f64,
        width_m: f64,
    },
    RecruitQuadrats {
        length_m: f64,
        quadrat_m: f64,
        every_m: f64,
    },
    LineIntercept {
        length_m: f64,
    },
    FishBelt {
        length_m: f64,
        width_m: f64,
        swim_minutes: f64,
    },
    FishPointCount {
        radius_m: f64,
        count_minutes: f64,
    },
    PhotoQuadrats {
        length_m: f64,
        frames: usize,
        points_a_frame: usize,
        #[serde(flatten)]
        frame: Frame,
    },
    /// An empty object in JSON, not `null`: `dimensions` is always an object.
    #[serde(serialize_with = "empty_object")]
    Components,
}

fn empty_object<S: serde::Serializer>(serializer: S) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeMap;
    serializer.serialize_map(Some(0))?.end()
}

impl Dimensions {
    /// Points on a point-intercept line: one every spacing, none at 0, the last at or before the end.
    pub fn points(self) -> Option<usize> {
        match self {
            Dimensions::PointIntercept { length_m, spacing_m } => Some((length_m / spacing_m + 1e-6) as usize),
            Dimensions::PhotoBelt { points, .. } => Some(points),
            Dimensions::PhotoQuadrats { frames, points_a_frame, .. } => Some(frames * points_a_frame),
            Dimensions::LineIntercept { .. }
            | Dimensions::InvertebrateBelt { .. }
            | Dimensions::CoralBelt { .. }
            | Dimensions::RecruitQuadrats { .. }
            | Dimensions::FishBelt { .. }
            | Dimensions::FishPointCount { .. }
            | Dimensions::Components => None,
        }
    }

    /// Length along the reef; across a point count.
    pub fn length_m(self) -> Option<f64> {
        match self {
            Dimensions::PointIntercept { length_m, .. }
            | Dimensions::PhotoBelt { length_m, .. }
            | Dimensions::PhotoQuadrats { length_m, .. }
            | Dimensions::InvertebrateBelt { length_m, .. }
            | Dimensions::CoralBelt { length_m, .. }
            | Dimensions::RecruitQuadrats { length_m, .. }
            | Dimensions::FishBelt { length_m, .. }
            | Dimensions::LineIntercept { length_m } => Some(length_m),
            Dimensions::FishPointCount { radius_m, .. } => Some(2.0 * radius_m),
            Dimensions::Components => None,
        }
    }

    /// Width of a strip; 0 for a tape.
    pub fn width_m(self) -> f64 {
        match self {
            Dimensions::PhotoBelt { width_m, .. }
            | Dimensions::InvertebrateBelt { width_m, .. }
            | Dimensions::FishBelt { width_m, .. }
            | Dimensions::CoralBelt { width_m, .. } => width_m,
            Dimensions::FishPointCount { radius_m, .. } => 2.0 * radius_m,
            Dimensions::PhotoQuadrats { frame, .. } => frame.frame_width_m,
            Dimensions::RecruitQuadrats { quadrat_m, .. } => quadrat_m,
            Dimensions::PointIntercept { .. } | Dimensions::LineIntercept { .. } | Dimensions::Components => 0.0,
        }
    }

    /// The rectangle over which the density of what is counted is averaged, along and across, m: a strip itself, of a circle the
    /// square of its area.
    pub fn field_m(self) -> (f64, f64) {
        match self {
            Dimensions::FishPointCount { radius_m, .. } => {
                let side = radius_m * libm::sqrt(std::f64::consts::PI);
                (side, side)
            }
            _ => (self.length_m().unwrap_or(0.0), self.width_m()),
        }
    }

    /// Quadrats along a tape of recruit quadrats: as many as fit whole, the first at its start.
    pub fn quadrats(self) -> Option<usize> {
        match self {
            Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m } => {
                Some(((length_m - quadrat_m) / every_m + 1e-6) as usize + 1)
            }
            _ => None,
        }
    }

    /// Area in which a unit counts things, m2; `None` where nothing is counted.
    pub fn searched_m2(self) -> Option<f64> {
        match self {
            Dimensions::InvertebrateBelt { length_m, width_m }
            | Dimensions::CoralBelt { length_m, width_m }
            | Dimensions::FishBelt { length_m, width_m, .. } => Some(length_m * width_m),
            Dimensions::FishPointCount { radius_m, .. } => Some(std::f64::consts::PI * radius_m * radius_m),
            Dimensions::RecruitQuadrats { quadrat_m, .. } => {
                self.quadrats().map(|quadrats| quadrats as f64 * quadrat_m * quadrat_m)
            }
            _ => None,
        }
    }

    /// The method with these dimensions alone; `None` where dimensions do not tell it: by
    /// components, coral belts, fish.
    pub fn alone(self) -> Option<MethodKind> {
        Some(match self {
            Dimensions::PointIntercept { length_m, spacing_m } => {
                MethodKind::PointIntercept { length_m: vec![length_m], spacing_m: vec![spacing_m] }
            }
            Dimensions::LineIntercept { length_m } => MethodKind::LineIntercept { length_m: vec![length_m] },
            Dimensions::PhotoBelt { length_m, width_m, points } => {
                MethodKind::PhotoBelt { length_m: vec![length_m], width_m: vec![width_m], points: vec![points] }
            }
            Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame } => MethodKind::PhotoQuadrats {
                length_m: vec![length_m],
                frames: vec![frames],
                frame,
                points: vec![points_a_frame],
            },
            Dimensions::InvertebrateBelt { length_m, width_m } => {
                MethodKind::InvertebrateBelt { length_m: vec![length_m], width_m: vec![width_m] }
            }
            Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m } => MethodKind::RecruitQuadrats {
                length_m: vec![length_m],
                quadrat_m: vec![quadrat_m],
                every_m: vec![every_m],
            },
            Dimensions::CoralBelt { .. }
            | Dimensions::FishBelt { .. }
            | Dimensions::FishPointCount { .. }
            | Dimensions::Components => return None,
        })
    }

    /// What the minutes under water to read a unit are in proportion to: points under a diver's eyes, photographs to take,
    /// square metres to search, else metres.
    pub fn work(self) -> f64 {
        match self {
            Dimensions::PointIntercept { .. } => self.points().unwrap_or(1) as f64,
            Dimensions::PhotoQuadrats { frames, .. } => frames as f64,
            Dimensions::LineIntercept { length_m } | Dimensions::PhotoBelt { length_m, .. } => length_m,
            Dimensions::InvertebrateBelt { .. } | Dimensions::CoralBelt { .. } | Dimensions::RecruitQuadrats { .. } => {
                self.searched_m2().unwrap_or(1.0)
            }
            Dimensions::FishBelt { swim_minutes: minutes, .. }
            | Dimensions::FishPointCount { count_minutes: minutes, .. } => minutes,
            Dimensions::Components => 1.0,
        }
    }

    /// [`Dimensions::work`] in words.
    pub fn work_is(self) -> &'static str {
        match self {
            Dimensions::PointIntercept { .. } => "the number of points",
            Dimensions::PhotoQuadrats { .. } => "the number of photographs",
            Dimensions::LineIntercept { .. } | Dimensions::PhotoBelt { .. } => "the length",
            Dimensions::InvertebrateBelt { .. } | Dimensions::CoralBelt { .. } | Dimensions::RecruitQuadrats { .. } => {
                "the area searched"
            }
            Dimensions::FishBelt { .. } | Dimensions::FishPointCount { .. } => "the minutes of the count",
            Dimensions::Components => "nothing",
        }
    }

    /// For people: "10 m, every 0.1 m".
    pub fn label(self) -> String {
        match self {
            Dimensions::PointIntercept { length_m, spacing_m } => format!("{length_m} m, every {spacing_m} m"),
            Dimensions::PhotoBelt { length_m, width_m, points } => {
                format!("{length_m} x {width_m} m, {points} points")
            }
            Dimensions::PhotoQuadrats { length_m, frames, points_a_frame, frame } => {
                let (long, wide) = (frame.frame_length_m, frame.frame_width_m);
                format!("{length_m} m, {frames} frames {long} x {wide} m, {points_a_frame} points each")
            }
            Dimensions::LineIntercept { length_m } => format!("{length_m} m"),
            Dimensions::InvertebrateBelt { length_m, width_m } | Dimensions::CoralBelt { length_m, width_m } => {
                format!("{length_m} x {width_m} m")
            }
            Dimensions::RecruitQuadrats { length_m, quadrat_m, every_m } => {
                format!("{length_m} m, {quadrat_m} x {quadrat_m} m every {every_m} m")
            }
            Dimensions::FishBelt { length_m, width_m, swim_minutes } => {
                format!("{length_m} x {width_m} m in {} min", shown_minutes(swim_minutes))
            }
            Dimensions::FishPointCount { radius_m, count_minutes } => {
                format!("radius {radius_m} m, {count_minutes} min")
            }
            Dimensions::Components => String::new(),
        }
    }
}

/// Minutes to a tenth: those of a longer belt are in proportion.
fn shown_minutes(minutes: f64) -> f64 {
    (10.0 * minutes).round() / 10.0
}

/// Minutes of work on one unit with the first listed dimensions; other dimensions in proportion: laying by length, reading
/// by what there is to read under water ([`Dimensions::work`]), work ashore by points.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct UnitMinutes {
    pub lay: f64,
    pub read: f64,
    /// Minutes ashore (to read the photographs of a unit), where they are told; effort of another kind.
    pub ashore: Option<f64>,
}

/// The components of variance of an indicator without a virtual reef, on the scale of analysis.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Components {
    pub indicator: String,
    /// The unit the indicator is told in, for people: "kg/ha".
    pub unit: String,
    pub mean: f64,
    pub scale: Scale,
    pub between_sites_sd: f64,
    pub site_year_sd: f64,
    pub between_units_sd: f64,
    /// Correlation of the deviations of one unit's two readings when it is laid at the same marks.
    pub same_mark_correlation: f64,
    /// Readings below this are written as this (natural scale).
    pub floor: Option<f64>,
}

/// The scale on which the components are given, and on which the values are analysed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    Plain,
    Ln,
    Logit,
}

impl Scale {
    /// What a place on the scale is in the unit of the indicator.
    pub fn value(self, place: f64) -> f64 {
        match self {
            Scale::Plain => place,
            Scale::Ln => libm::exp(place),
            Scale::Logit => 1.0 / (1.0 + libm::exp(-place)),
        }
    }

    /// How much that moves with a small step on the scale.
    pub fn slope(self, place: f64) -> f64 {
        let value = self.value(place);
        match self {
            Scale::Plain => 1.0,
            Scale::Ln => value,
            Scale::Logit => value * (1.0 - value),
        }
    }
}
