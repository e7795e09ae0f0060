use super::site_count::SiteCount;
use crate::design::ColonyDeaths;
use crate::survey::Dimensions;
use serde::Serialize;

/// One design and what it gives: the rows of the table, of the CSV and of the JSON.
///
/// Rates and covers are shares (0-1), other indicators in their own unit; every `_error` is one standard error of the
/// simulation; what does not apply is `None` (`null`).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// `hard_coral`, a category, or the indicator of a by-components method.
    pub indicator: String,
    /// What its values are in: "share" (0-1), or a unit of its own.
    pub unit: String,
    /// Name of the zone; "all" is the weighted mean over zones.
    pub zone: String,
    /// `point_intercept`, `line_intercept`, `photo_belt` or `by_components`.
    pub method: String,
    pub dimensions: Dimensions,
    /// Sites per visit and zone: `sites`, and `sites_in_zones` for the zones that make up "all".
    #[serde(flatten)]
    pub sites: SiteCount,
    /// Units (lines, belts) per site.
    pub units: usize,
    pub same_sites: Option<bool>,
    pub same_places: Option<bool>,
    /// The indicator that changes, where that is another one because this has no mean: size structure, with a change of hard
    /// coral. Left out elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change_of: Option<String>,
    pub change_from: Option<f64>,
    pub change_to: Option<f64>,
    /// How colonies die of the change, where not all have the same chance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deaths: Option<ColonyDeaths>,
    /// What is there at the first visit, in the mean over the sites of the zone. Size structure has none: its rows have rates
    /// alone.
    pub mean: Option<f64>,
    /// That mean as it is written, where that is by formula another than what is there (of fish always). Left out elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written: Option<f64>,
    /// With `written`: what is written over what is there, by which `detectable`, `se`, `se_error`, `theory_se` and `half_width`
    /// were divided, so that they are of what is there: of the change where one is imposed, else of the mean (on a scale: of a
    /// small difference on it). By formula; left out elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written_over_there: Option<f64>,
    /// `paired_t`, `welch_t`, `permutation`, `quasi_poisson`, `negative_binomial`, or none for a status.
    pub test: Option<String>,
    /// `ln` or `square_root` where site means are compared on that scale, and `ln` where totals are by their ratio; left out
    /// where means are compared as they are. `se`, `half_width` and `bias` are then brought back to the unit by the slope of the scale at the mean of the first visit
    /// (on `ln`, a share of that mean), and `detectable` is the change of a typical value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale: Option<String>,
    pub trials: u64,
    pub power: Option<f64>,
    pub power_error: Option<f64>,
    /// Where the false alarm is marked, of this or another number of units: power of the test held to its level (made at
    /// `held_level`, at which it rings falsely as often as promised). Left out elsewhere, and where no level down to a
    /// 4096th of alpha would do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_held: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_held_error: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held_level: Option<f64>,
    pub false_alarm: Option<f64>,
    pub false_alarm_error: Option<f64>,
    /// The false alarm, less two simulation errors, is above 1.2 alpha: never ranked.
    pub false_alarm_marked: bool,
    /// False alarm if the lines were (wrongly) taken as the replicates; shown as a warning where sites are.
    pub lines_as_replicates_false_alarm: Option<f64>,
    /// Of size structure an approximation.
    pub theory_power: Option<f64>,
    /// Theory and simulation part by more than .02 (of size structure .08) + 4 errors: the simulation is to be believed.
    pub theory_parts: bool,
    /// Smallest change (absolute, in the direction of the change asked for) seen at the target power: the change that
    /// is there, not as it is written.
    pub detectable: Option<f64>,
    /// Standard error of the estimate (of the change; for a status, of the mean), by simulation and by theory.
    pub se: Option<f64>,
    pub se_error: Option<f64>,
    pub theory_se: Option<f64>,
    /// Standard error of the mean of one visit over that mean, both as they are written: free of the bias.
    pub cv: Option<f64>,
    /// Of a mean of logarithms, which has no percent: its standard error as a factor of what the logarithms are of. Left out
    /// elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error_factor: Option<f64>,
    /// Half-width of the interval for the estimand at 1 - alpha, mean over trials. Of a change on a scale it is at the mean of
    /// the first visit, so where nothing changed; at any other mean `ratio_factor` tells it.
    pub half_width: Option<f64>,
    /// Where logarithms are compared, or the method is by components on an ln scale: the interval of the ratio second / first reaches from the estimate divided by this to the
    /// estimate times this. Left out elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ratio_factor: Option<f64>,
    /// How often the interval holds the truth of the scope; trials without an interval hold nothing.
    pub interval_truth: Option<f64>,
    pub interval_truth_error: Option<f64>,
    /// With `written`: how often the interval holds what the method writes in the long run. Left out elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_written: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_written_error: Option<f64>,
    /// Mean of (estimate - truth of the scope), as written: of the change where there are two visits or groups, of the mean in
    /// a status.
    pub bias: Option<f64>,
    pub bias_error: Option<f64>,
    /// Trials that gave no answer (counted as not seen).
    pub degenerate: u64,
    /// Minutes of work under water per site and visit.
    pub minutes: f64,
    /// Minutes of work ashore (reading photographs) for a site and visit, never part of `minutes`; none where the
    /// scenario does not tell.
    pub ashore_minutes: Option<f64>,
}

impl Row {
    /// How often the change is seen, with its error: with the test held to its level where it rings falsely too often, so that
    /// designs can be compared. `None` where no level would hold it.
    pub fn power_that_counts(&self) -> Option<(f64, f64)> {
        if self.false_alarm_marked || self.power_held.is_some() {
            self.power_held.zip(self.power_held_error)
        } else {
            self.power.zip(self.power_error)
        }
    }
}
