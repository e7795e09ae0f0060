use crate::design::Crew;
use crate::scenario::count::{Count, People};
use crate::scenario::number::{Bias, Number, Percent, Share};
use crate::scenario::source::Source;
use crate::scenario::word::Word;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Who reads, and how well.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ObserversTable {
    /// People at the second visit: `same` (default), `changed`, or `mixed` (half of them stay).
    pub between_visits: Option<Word<Crew>>,
    /// How many people share the lines of a site; 2 when left out.
    pub number: Option<Count<People>>,
    /// SD between people of what they write, in percent of what is there; 0 when left out.
    pub spread_percent: Option<Number<Percent>>,
    /// The crew of the second visit reads this much too high (negative: too low), in percent of what is there.
    pub second_visit_bias_percent: Option<Number<Bias>>,
    pub misidentification: Option<MisidentificationTable>,
    pub source: Option<Source>,
}

/// One row for each kind of bottom that is sometimes taken for another: what is there = { what is written = share }.
/// The shares of a row sum to 1; kinds without a row are always written as they are.
pub type MisidentificationTable = BTreeMap<String, BTreeMap<String, Number<Share>>>;
