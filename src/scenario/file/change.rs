use crate::scenario::number::{Number, OddsRatio, PartHit, Percent, Points, Spread, StormScale, Value};
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
    /// How a fall of hard coral strikes, where colonies do not all have the same chance to live.
    pub deaths: Option<DeathsTable>,
    pub source: Option<Source>,
}

/// How a fall of hard coral strikes: by the size of colonies, in patches as a storm does, or both. How many colonies die
/// follows from the covers.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DeathsTable {
    /// How many times the odds to live are higher for a colony of twice the diameter; 1 when left out: all sizes alike.
    pub odds_at_twice_the_size: Option<Number<OddsRatio>>,
    /// Share of the bottom that is hit, in patches; left out: everywhere alike.
    pub hit_percent: Option<Number<PartHit>>,
    /// Scale of these patches; 20 m when left out.
    pub patch_m: Option<Number<StormScale>>,
    /// Share of the colonies, by area, that is left where it was not hit; 100 when left out.
    pub left_elsewhere_percent: Option<Number<Percent>>,
    pub source: Option<Source>,
}
