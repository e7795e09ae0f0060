//! A target, what is asked and what comes of it, in words.

use super::report::BudgetReport;
use crate::design::{Asks, TestSpec, Unit};
use crate::planner::expedition::Margin;
use crate::report::digits::{hundredths, significant, with_error};
use crate::report::words::{plain as spoken, sentence};

/// Factor from the unit of an indicator to what is shown, the word for levels and the word for differences.
fn shown_in(report: &BudgetReport, indicator: &str) -> (f64, String, String) {
    match report.scenario.unit_of(indicator) {
        Unit::Share => (100.0, " %".to_owned(), " points".to_owned()),
        Unit::Own(unit) if unit.is_empty() => (1.0, String::new(), String::new()),
        Unit::Own(unit) => (1.0, format!(" {unit}"), format!(" {unit}")),
    }
}

impl BudgetReport {
    /// "by simulation, for the mean over the zones by their weights (in brackets: one standard error)"
    pub fn how_told(&self) -> String {
        let margins = self.answer.scheduled().map_or(&[][..], |plan| &plan.margins);
        if margins.iter().any(|margin| simulated(self, margin).is_some()) {
            let legend = self.legend(margins);
            format!("by simulation{} (in brackets: one standard error{legend})", self.of_zones())
        } else {
            let legend = self.legend(margins);
            let legend = legend.strip_prefix("; ").map_or(String::new(), |legend| format!(" ({legend})"));
            format!("by formula{}{legend}", self.of_zones())
        }
    }

    /// What the words of some verdicts mean, those that are used.
    fn legend(&self, margins: &[Margin]) -> String {
        let words = [
            ("within error", "; within error: what is asked lies within two of them"),
            ("nearly", "; nearly: missed by no more than a tenth of what is asked"),
        ];
        let is_used = |word: &str| margins.iter().any(|margin| verdict(margin) == word);
        words.into_iter().filter(|(word, _)| is_used(word)).map(|(_, means)| means).collect()
    }

    /// Of what the numbers of targets are, where there are several zones.
    pub fn of_zones(&self) -> &'static str {
        if self.scenario.zones.len() > 1 { ", for the mean over the zones by their weights" } else { "" }
    }

    /// Why a level that is asked about is not the one of the scenario, where there are several zones: a change is told by
    /// its ratio, at what the zones have.
    pub fn why_other_levels(&self) -> Option<&'static str> {
        let plan = self.answer.scheduled()?;
        let other = |margin: &Margin| {
            let (Asks::SeeChange(state), Some((from, _))) = (margin.asks, margin.change) else { return false };
            self.scenario
                .changes
                .get(state)
                .is_some_and(|change| change.indicator == margin.indicator && (change.from / from - 1.0).abs() > 0.005)
        };
        plan.margins.iter().any(other).then_some(
            "Levels here are the mean over the zones by their weights, as the zones are told; a change that was told from \
             another level is asked for in the same ratio.",
        )
    }

    /// The targets of the plan that no reef was made for.
    pub fn not_on_the_reef(&self) -> Option<String> {
        let margins = self.answer.scheduled().map_or(&[][..], |plan| &plan.margins);
        let is_so = |margin: &&Margin| self.scenario.scale_of_components(&margin.indicator).is_some();
        let mut names: Vec<String> = margins.iter().filter(is_so).map(|margin| spoken(&margin.indicator)).collect();
        names.dedup();
        let (all, last) = match names.as_slice() {
            [] => return None,
            [one] => (sentence(one), "is"),
            [first @ .., last] => (sentence(&format!("{} and {last}", first.join(", "))), "are"),
        };
        Some(format!(
            "{all} {last} drawn from the components of variation that were told, not counted on the virtual reef."
        ))
    }

    /// What is to be known of how the targets are told, besides what stands at each.
    pub fn on_targets(&self) -> Vec<String> {
        self.why_other_levels().map(str::to_owned).into_iter().chain(self.not_on_the_reef()).collect()
    }
}

/// What is to be told, with the levels: "a fall of hard coral from 28 to 22 %".
pub fn target_words(report: &BudgetReport, margin: &Margin) -> String {
    let (scale, level, width) = shown_in(report, &margin.indicator);
    let name = spoken(&margin.indicator);
    match margin.asks {
        Asks::SeeChange(_) => {
            let (from, to) = margin.change.unwrap_or((f64::NAN, f64::NAN));
            let word = if to < from { "fall" } else { "rise" };
            format!("a {word} of {name} from {} to {}{level}", significant(scale * from, 3), significant(scale * to, 3))
        }
        Asks::HalfWidth(half_width) => {
            let what = if report.scenario.question.visits() == 2 { "the change of " } else { "" };
            format!("{what}{name} to within {}{width}", significant(scale * half_width, 3))
        }
        Asks::Cv(cv) => format!("{name} with an error of {} % of its mean", significant(100.0 * cv, 2)),
    }
}

/// How many times in 100 the change of a target shall be seen, where that is another number than the test of the study wants.
pub fn own_power(test: &TestSpec, margin: &Margin) -> Option<String> {
    let power = margin.power_asked.filter(|&power| power != test.seen)?;
    Some(significant(100.0 * power, 2))
}

/// What is asked, short: "28 to 22 %", "28 to 22 %, 90 in 100" with a power of its own, "within 5 points", "error 30 %".
pub fn asked(report: &BudgetReport, margin: &Margin) -> String {
    let (scale, level, width) = shown_in(report, &margin.indicator);
    match margin.asks {
        Asks::SeeChange(_) => {
            let (from, to) = margin.change.unwrap_or((f64::NAN, f64::NAN));
            let own =
                own_power(&report.scenario.test, margin).map_or(String::new(), |times| format!(", {times} in 100"));
            format!("{} to {}{level}{own}", significant(scale * from, 3), significant(scale * to, 3))
        }
        Asks::HalfWidth(half_width) => format!("within {}{width}", significant(scale * half_width, 3)),
        Asks::Cv(cv) => format!("error {} % of mean", significant(100.0 * cv, 2)),
    }
}

/// What simulation gives, with its error: "seen 81 (2) in 100"; `None` where nothing was simulated.
pub fn simulated(report: &BudgetReport, margin: &Margin) -> Option<String> {
    let (scale, _, width) = shown_in(report, &margin.indicator);
    match margin.asks {
        Asks::SeeChange(_) => {
            margin.seen.map(|(seen, error)| format!("seen {} in 100", hundredths(Some(seen), Some(error))))
        }
        Asks::HalfWidth(_) => margin.half_width.map(|half| {
            format!("within {}{width}", with_error(scale * half, margin.half_width_error.map(|error| scale * error)))
        }),
        Asks::Cv(_) => margin.cv.map(|cv| {
            format!("error {} % of mean", with_error(100.0 * cv, margin.cv_error.map(|error| 100.0 * error)))
        }),
    }
}

/// What is achieved by formula: "5.8 points" of a change or a half-width, "25 % of mean" of an error.
pub fn achieved(report: &BudgetReport, margin: &Margin) -> String {
    let (scale, _, width) = shown_in(report, &margin.indicator);
    match margin.asks {
        Asks::SeeChange(_) | Asks::HalfWidth(_) => {
            format!("{}{width}", significant(scale * margin.achieved, 3))
        }
        Asks::Cv(_) => format!("{} % of mean", significant(100.0 * margin.achieved, 2)),
    }
}

/// A whole line for somebody who knows no statistics: "a fall of hard coral from 28 to 22 %: seen 81 (1) times in 100
/// (asked: 80)".
pub fn promise(report: &BudgetReport, margin: &Margin) -> String {
    let name = spoken(&margin.indicator);
    let what = match margin.asks {
        Asks::SeeChange(_) => target_words(report, margin),
        Asks::HalfWidth(_) if report.scenario.question.visits() == 2 => format!("the change of {name}"),
        Asks::HalfWidth(_) | Asks::Cv(_) => name,
    };
    let (scale, _, _) = shown_in(report, &margin.indicator);
    let asked = match margin.asks {
        Asks::SeeChange(_) => significant(100.0 * margin.power_asked.unwrap_or(report.scenario.test.seen), 2),
        Asks::HalfWidth(asked) => significant(scale * asked, 3),
        Asks::Cv(asked) => significant(100.0 * asked, 2),
    };
    match simulated(report, margin) {
        Some(told) => {
            // Where the formula says otherwise than the word beside it, both stand there.
            let is_told = ["met", "within error"].contains(&verdict(margin));
            let by_formula = if is_told && margin.margin < crate::budget::MET {
                format!("; by formula {:.2} of what is asked", margin.margin)
            } else {
                String::new()
            };
            format!("{what}: {} (asked: {asked}{by_formula})", told.replace(" in 100", " times in 100"))
        }
        None => format!("{what}: {:.2} of what is asked, by formula (not simulated)", margin.margin),
    }
}

/// Simulation errors within which a target is neither met nor missed: as many as plans are confirmed by.
pub const ERRORS: f64 = 2.0;

/// What is asked, what simulation gives with its error, and whether more is better; `None` where nothing was simulated.
fn asked_and_simulated(margin: &Margin) -> Option<(f64, (f64, f64), bool)> {
    let with = |value: Option<f64>, error: Option<f64>| Some((value?, error.unwrap_or(0.0)));
    match margin.asks {
        Asks::SeeChange(_) => Some((margin.power_asked?, margin.seen?, true)),
        Asks::HalfWidth(asked) => Some((asked, with(margin.half_width, margin.half_width_error)?, false)),
        Asks::Cv(asked) => Some((asked, with(margin.cv, margin.cv_error)?, false)),
    }
}

/// Whether a target is met, in words: by the simulation where it was simulated (that number stands beside the word), else by
/// the margin of the formula.
pub fn verdict(margin: &Margin) -> &'static str {
    if let Some((asked, (value, error), more_is_better)) = asked_and_simulated(margin) {
        let ahead = if more_is_better { value - asked } else { asked - value };
        let is_near = if more_is_better { value >= 0.9 * asked } else { value <= asked / 0.9 };
        return match ahead {
            ahead if ahead > ERRORS * error => "met",
            ahead if ahead >= -ERRORS * error => "within error",
            _ if is_near => "nearly",
            _ => "not met",
        };
    }
    match margin.margin {
        margin if margin >= 1.05 => "met",
        margin if margin >= crate::budget::MET => "just met",
        margin if margin >= 0.9 => "nearly",
        _ => "not met",
    }
}

/// What cannot be mended by more units at a site, where that holds a target up.
pub fn held_up(margin: &Margin) -> Option<String> {
    let stuck = margin.not_by_units.filter(|share| *share > 0.7 && margin.margin < 1.05)?;
    Some(format!("{:.0} % of its error is not reduced by more units at a site", 100.0 * stuck))
}
