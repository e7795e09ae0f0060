use super::expedition::WorkTable;
use super::fish::{FishBeltTable, FishPointCountTable};
use crate::scenario::count::{Count, Counts, FramePoints, Frames, LinePoints, PhotoPoints, Units};
use crate::scenario::list::Numbers;
use crate::scenario::number::{
    BeltWidth, Centimetres, Correlation, FrameSide, Growth, LineLength, Minutes, Number, QuadratSide, QuadratSpacing,
    Slope, Spacing, Spread, Value,
};
use crate::scenario::source::Source;
use crate::scenario::word::Word;
use crate::survey::coral_belt::EdgeRule;
use crate::survey::{Placed, Scale};
use schemars::JsonSchema;
use serde::Deserialize;

/// The methods, by kind.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MethodTables {
    #[serde(default)]
    pub point_intercept: Vec<PointInterceptTable>,
    #[serde(default)]
    pub line_intercept: Vec<LineInterceptTable>,
    #[serde(default)]
    pub photo_belt: Vec<PhotoBeltTable>,
    #[serde(default)]
    pub photo_quadrats: Vec<PhotoQuadratsTable>,
    #[serde(default)]
    pub coral_belt: Vec<CoralBeltTable>,
    #[serde(default)]
    pub invertebrate_belt: Vec<InvertebrateBeltTable>,
    #[serde(default)]
    pub recruit_quadrats: Vec<RecruitQuadratsTable>,
    #[serde(default)]
    pub fish_belt: Vec<FishBeltTable>,
    #[serde(default)]
    pub fish_point_count: Vec<FishPointCountTable>,
    #[serde(default)]
    pub other: Vec<OtherTable>,
}

/// What every table of a method has.
pub struct MethodParts<'a> {
    /// `method.photo_belt[0]`.
    pub path: String,
    pub source: &'a Option<Source>,
    pub work: &'a Option<WorkTable>,
}

impl MethodTables {
    /// Of all methods, in the order of `Study::methods`.
    pub fn parts(&self) -> Vec<MethodParts<'_>> {
        macro_rules! all {
            ($($kind:ident)*) => {{
                let mut parts = Vec::new();
                $(parts.extend(self.$kind.iter().enumerate().map(|(index, table)| MethodParts {
                    path: format!("method.{}[{index}]", stringify!($kind)),
                    source: &table.source,
                    work: &table.work,
                }));)*
                parts
            }};
        }
        all!(point_intercept line_intercept photo_belt photo_quadrats coral_belt invertebrate_belt recruit_quadrats fish_belt
              fish_point_count other)
    }
}

/// The bottom is read under points at equal spacing along a tape.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointInterceptTable {
    /// Length of a line, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Distance of the points, or a list to compare; 0.1 m when left out.
    pub spacing_m: Option<Numbers<Spacing>>,
    /// Number of points on a line, instead of their distance (with one length only).
    pub points: Option<Count<LinePoints>>,
    /// Lines at a site, to compare; "1..12" when left out ("2..12" where lines are the replicates).
    pub units: Option<Counts<Units>>,
    /// Minutes to lay a line of the first length.
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes to read a line of the first length at the first spacing.
    pub read_minutes: Option<Number<Minutes>>,
    /// Minutes ashore for a unit (to read its photographs); shown beside the minutes under water, never added to them.
    pub ashore_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// The length of tape over each kind of bottom is measured.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineInterceptTable {
    /// Length of a line, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Lines at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    pub read_minutes: Option<Number<Minutes>>,
    /// Minutes ashore for a unit (to read its photographs); shown beside the minutes under water, never added to them.
    pub ashore_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Photographs along a strip, read later under random points.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoBeltTable {
    /// Length of a belt, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Width of a belt, or a list to compare; 0.5 m when left out.
    pub width_m: Option<Numbers<BeltWidth>>,
    /// Random points on all photographs of a belt together, or a list to compare; 100 when left out.
    pub points: Option<Counts<PhotoPoints>>,
    /// Belts at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes under water (to photograph the belt), not those at the desk.
    pub read_minutes: Option<Number<Minutes>>,
    /// Minutes ashore for a unit (to read its photographs); shown beside the minutes under water, never added to them.
    pub ashore_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Photographs of frames along a tape, read later under points. A unit is a tape with its frames.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoQuadratsTable {
    /// Length of a tape, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Frames along a tape, or a list to compare; 10 when left out.
    pub frames: Option<Counts<Frames>>,
    /// Side of a frame along the tape; 0.7 m when left out.
    pub frame_length_m: Option<Number<FrameSide>>,
    /// Side of a frame across the tape; 0.5 m when left out.
    pub frame_width_m: Option<Number<FrameSide>>,
    /// `stratified` (left out): one frame anywhere in each of as many equal parts of the tape; `random`: each anywhere.
    pub frames_placed: Option<Word<Placed>>,
    /// Points on a frame, or a list to compare; 25 when left out.
    pub points: Option<Counts<FramePoints>>,
    /// `random` (left out): each anywhere on the frame; `stratified`: one anywhere in each of as many equal cells.
    pub points_placed: Option<Word<Placed>>,
    /// Tapes with frames at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes under water to photograph the first number of frames.
    pub read_minutes: Option<Number<Minutes>>,
    /// Minutes ashore to read one frame under the first number of points; shown beside the minutes under water.
    pub ashore_minutes_a_frame: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Every colony of a strip is counted and measured. Gives `colony_density`; what else is wanted is listed in `also_report`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoralBeltTable {
    /// Length of a belt, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Width of a belt, or a list to compare; 1 m when left out.
    pub width_m: Option<Numbers<BeltWidth>>,
    /// Which colonies at the edge belong to the belt: `centre_in` (left out), `any_part_in`, `wholly_in`, `two_edges`.
    pub edge: Option<Word<EdgeRule>>,
    /// Diameters are measured to the nearest of this; 1 cm when left out.
    pub ruler_cm: Option<Number<Centimetres>>,
    /// No colony below this is seen, all from it on; 1 cm when left out.
    pub smallest_cm: Option<Number<Centimetres>>,
    /// Instead: half of the colonies of this diameter are seen, more of larger ones.
    pub half_seen_cm: Option<Number<Centimetres>>,
    /// How fast the log odds of being seen rise with ln diameter; 3 when left out.
    pub seen_slope: Option<Number<Slope>>,
    /// Limits of classes of the largest diameter, rising; each class is an indicator, `colonies_of_10_to_20_cm`.
    pub size_classes_cm: Option<Numbers<Centimetres>>,
    /// Growth across, for the index of age; 1.5 when left out.
    pub growth_cm_a_year: Option<Number<Growth>>,
    /// Belts at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes to count and measure in a belt of the first length and width; others in proportion to their area.
    pub read_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Large invertebrates counted in strips; the animals are listed in each zone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InvertebrateBeltTable {
    /// Length of a belt, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Width of a belt, or a list to compare; 1 m when left out.
    pub width_m: Option<Numbers<BeltWidth>>,
    /// Belts at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes to search a belt of the first length and width; others in proportion to their area.
    pub read_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// Recruits of corals counted in square quadrats along a tape, the first at its start. A unit is a tape with its quadrats.
/// The recruits are told in each zone (`[zone.recruits]`); those of a mapped list are its colonies under 4 cm.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RecruitQuadratsTable {
    /// Length of a tape, or a list to compare; 10 m when left out.
    pub length_m: Option<Numbers<LineLength>>,
    /// Side of a quadrat, or a list to compare; 25 cm when left out.
    pub quadrat_cm: Option<Numbers<QuadratSide>>,
    /// From the start of one quadrat to that of the next, or a list to compare; 1 m when left out.
    pub every_m: Option<Numbers<QuadratSpacing>>,
    /// Tapes with quadrats at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    /// Minutes to search the quadrats of one tape of the first dimensions; others in proportion to their area.
    pub read_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}

/// An indicator without a virtual reef, given by its components of variation alone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OtherTable {
    pub indicator: String,
    /// The unit it is told in: "kg/ha".
    pub unit: Option<String>,
    /// Mean at the first visit, in that unit.
    pub mean: Number<Value>,
    /// Scale of the components and of the analysis: `plain` (default), `ln` or `logit`.
    pub scale: Option<Word<Scale>>,
    /// SD between sites, on that scale.
    pub between_sites: Number<Spread>,
    /// SD of a site's year, on that scale; 0 when left out.
    pub site_year: Option<Number<Spread>>,
    /// SD between units of one site, on that scale.
    pub between_units: Number<Spread>,
    /// Correlation of a unit's two readings when laid at the same marks; 0 when left out.
    pub same_mark_correlation: Option<Number<Correlation>>,
    /// Readings below this are written as this.
    pub floor: Option<Number<Value>>,
    /// Units at a site, to compare.
    pub units: Option<Counts<Units>>,
    pub lay_minutes: Option<Number<Minutes>>,
    pub read_minutes: Option<Number<Minutes>>,
    /// Minutes ashore for a unit (to read its photographs); shown beside the minutes under water, never added to them.
    pub ashore_minutes: Option<Number<Minutes>>,
    /// What a unit takes on an expedition besides laying and reading.
    pub work: Option<WorkTable>,
    pub source: Option<Source>,
}
