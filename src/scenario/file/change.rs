use crate::scenario::number::{Number, Points, Spread, Value};
use crate::scenario::source::Source;
use schemars::JsonSchema;
use serde::Deserialize;

/// A change to see: from this to that. In each zone the zone's own cover moves by the same ratio.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangeTable {
    /// `hard_coral` (default), a category, or the indicator of a `[[method.other]]`.
    pub indicator: Option<String>,
    /// Before (for `between_groups`: in the first group); percent of cover, or the indicator's own unit.
    pub from: Number<Value>,
    /// After (for `between_groups`: in the second group).
    pub to: Number<Value>,
    /// SD of the true change between whole sites, in points of cover. Left out: the same ratio on every site.
    pub differs_between_sites_points: Option<Number<Points>>,
    /// The same for an indicator that is not a cover, in its own unit.
    pub differs_between_sites: Option<Number<Spread>>,
    pub source: Option<Source>,
}
