//! A budget as JSON.

use super::report::BudgetReport;
use crate::design::{Asks, Expedition, Scheduled, Study, Unit};
use crate::planner::expedition::{BookDays, BudgetAnswer, BudgetPlan, Cost, Margin, PlanStretch, SiteTasks, ZoneSites};
use crate::report::SCHEMA_VERSION;
use crate::scenario::Assumption;
use serde::Serialize;

/// The object of `--json` and `budget.json`. Shares, rates and covers are 0-1, other indicators in their own unit; each
/// `_error` is one standard error of the simulation; what does not apply is `null`. Besides the keys here it has those of
/// [`BudgetAnswer`]: `schedule`, `what_ifs`, `near_ties`, `near_best`, `warnings`, `starts`, `stairs`, `all`, `musts`, `best`,
/// `frontier` and others.
#[derive(Serialize)]
struct Wire<'a> {
    caution: &'a str,
    title: &'a str,
    version: &'a str,
    schema_version: u32,
    seed: u64,
    /// The plan that is scheduled; `null` where none fits.
    answer: Option<WireAnswer<'a>>,
    /// One row for each target, of that plan.
    margins: Vec<WireMargin<'a>>,
    lost_days: WireLostDays<'a>,
    #[serde(flatten)]
    rest: &'a BudgetAnswer,
    assumptions: &'a [Assumption],
    expedition: &'a Expedition,
    scenario: &'a Study,
    /// File names of the figures beside it, without ending; none where nothing was written.
    figures: Vec<String>,
}

/// The plan that is scheduled.
#[derive(Serialize)]
struct WireAnswer<'a> {
    /// `all_targets`: it meets every target; `best_use`: of the days that can be booked.
    plan: &'static str,
    days: usize,
    team_dives: usize,
    pair_dives: usize,
    /// Sites by zone, with what one takes.
    sites: &'a [ZoneSites],
    /// Days of the stretches of the crew, where it is planned by them; sites of each then stand with their zones.
    #[serde(skip_serializing_if = "<[PlanStretch]>::is_empty")]
    stretches: &'a [PlanStretch],
    /// Units of each method at each site.
    site_set: &'a [SiteTasks],
    /// Of one visit, by the user's rates; absent where none are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    cost: Option<&'a Cost>,
}

/// How one target is met.
#[derive(Serialize)]
struct WireMargin<'a> {
    indicator: &'a str,
    /// `must` or `should`
    priority: &'static str,
    /// `change`, `half_width` or `cv`
    asks: &'static str,
    /// Unit of `target` and `achieved`: `share` for covers; of a `cv` a share of the mean.
    unit: String,
    target: f64,
    /// By formula: the smallest change seen as often as asked, the half-width, the error over the mean.
    achieved: f64,
    /// Target over achieved: 1 is just met.
    margin: f64,
    change_from: Option<f64>,
    change_to: Option<f64>,
    /// How often the change shall be seen.
    power_asked: Option<f64>,
    /// How often the change is seen, by simulation; beside it how often it is when nothing changed.
    power: Option<f64>,
    power_error: Option<f64>,
    false_alarm: Option<f64>,
    false_alarm_error: Option<f64>,
    half_width: Option<f64>,
    half_width_error: Option<f64>,
    cv: Option<f64>,
    cv_error: Option<f64>,
    /// Of fish: what is written over what is there.
    #[serde(skip_serializing_if = "Option::is_none")]
    written_over_there: Option<f64>,
    /// Share of the variance that more units cannot reduce.
    not_by_units: Option<f64>,
}

/// What lost days do.
#[derive(Serialize)]
struct WireLostDays<'a> {
    /// Share of days lost and mean length of a spell as given; `null`: not told.
    share: Option<f64>,
    spell_days: Option<f64>,
    bookable_days: usize,
    /// For each plan what it needs, its chance, and the days to book.
    book: &'a [BookDays],
    /// Chance of each number of days left.
    left: Vec<WireDaysLeft>,
}

#[derive(Serialize)]
struct WireDaysLeft {
    days: usize,
    chance: f64,
    /// The same where each day is lost or not by itself.
    chance_each_by_itself: f64,
}

impl BudgetReport {
    pub fn json(&self) -> String {
        self.json_with(Vec::new())
    }

    /// With the names of the figures that are written beside it.
    pub fn json_with(&self, figures: Vec<String>) -> String {
        let answer = &self.answer;
        let plan = answer.scheduled();
        let wire = Wire {
            caution: self.caution,
            title: &self.title,
            version: &self.version,
            schema_version: SCHEMA_VERSION,
            seed: self.seed,
            answer: plan.map(|plan| self.wire_answer(plan)),
            margins: plan
                .map_or(Vec::new(), |plan| plan.margins.iter().map(|margin| self.wire_margin(margin)).collect()),
            lost_days: self.wire_lost_days(),
            rest: answer,
            assumptions: &self.assumptions,
            expedition: &self.expedition,
            scenario: &self.scenario,
            figures,
        };
        serde_json::to_string_pretty(&wire)
            .unwrap_or_else(|error| serde_json::json!({ "error": error.to_string() }).to_string())
    }

    fn wire_answer<'a>(&'a self, plan: &'a BudgetPlan) -> WireAnswer<'a> {
        WireAnswer {
            plan: match self.answer.scheduled_as() {
                Scheduled::AllTargets => "all_targets",
                Scheduled::BestOfDays => "best_use",
                Scheduled::BestOfMoney => "best_use_of_money",
            },
            days: plan.days,
            team_dives: plan.team_dives,
            pair_dives: plan.pair_dives,
            sites: &plan.zones,
            stretches: &plan.stretches,
            site_set: &plan.site_set,
            cost: plan.cost.as_ref(),
        }
    }

    fn wire_margin<'a>(&self, margin: &'a Margin) -> WireMargin<'a> {
        let unit = match self.scenario.unit_of(&margin.indicator) {
            _ if matches!(margin.asks, Asks::Cv(_)) => "share".to_owned(),
            Unit::Share => "share".to_owned(),
            Unit::Own(unit) => unit,
        };
        WireMargin {
            indicator: &margin.indicator,
            priority: if margin.must { "must" } else { "should" },
            asks: match margin.asks {
                Asks::SeeChange(_) => "change",
                Asks::HalfWidth(_) => "half_width",
                Asks::Cv(_) => "cv",
            },
            unit,
            target: margin.target,
            achieved: margin.achieved,
            margin: margin.margin,
            change_from: margin.change.map(|change| change.0),
            change_to: margin.change.map(|change| change.1),
            power_asked: margin.power_asked,
            power: margin.seen.map(|seen| seen.0),
            power_error: margin.seen.map(|seen| seen.1),
            false_alarm: margin.false_alarm.map(|rate| rate.0),
            false_alarm_error: margin.false_alarm.map(|rate| rate.1),
            half_width: margin.half_width,
            half_width_error: margin.half_width_error,
            cv: margin.cv,
            cv_error: margin.cv_error,
            written_over_there: margin.written_over_there,
            not_by_units: margin.not_by_units,
        }
    }

    fn wire_lost_days(&self) -> WireLostDays<'_> {
        let lost = self.expedition.days.lost;
        let left = self.days_left().into_iter().map(|left| WireDaysLeft {
            days: left.days,
            chance: left.as_told,
            chance_each_by_itself: left.by_itself,
        });
        WireLostDays {
            share: lost.map(|lost| lost.share),
            spell_days: lost.and_then(|lost| lost.spell_days),
            bookable_days: self.answer.bookable_days,
            book: &self.answer.book,
            left: left.collect(),
        }
    }
}
