//! The finalists: what the formula finds is put through fresh trials, and what does not hold there is not called the plan.
//!
//! Equal effort for each plan that is claimed, because each of its targets is judged by its own error; near-ties get a quarter
//! of the trials, because of them nothing is said but that they hold. All see the same virtual reefs.

use super::answer::Confirming;
use super::confirm::confirm;
use super::options::{Chosen, Options, least_with_targets};
use super::plan::{BudgetPlan, Margin};
use super::prepared::Prepared;
use crate::analysis::normal_quantile;
use crate::budget::{Hold, Search};
use crate::design::{Asks, Sides};
use crate::engine::Until;
use crate::measures::counted;
use crate::planner::rows::rings_too_often;

/// All that was simulated: one design may be several of the plans, and is simulated once.
pub struct Finalists<'a, 'b> {
    pub options: &'b Options<'a>,
    pub confirming: &'b Confirming<'b>,
    known: Vec<(Chosen, BudgetPlan)>,
    pub interrupted: bool,
}

/// The plan that is told, if there is one, with what was found on the way.
pub struct Confirmed {
    /// `None`: the test of each that was tried rings too often when nothing changed.
    pub stands: Option<(Chosen, BudgetPlan)>,
    /// What the simulation changed, in words.
    pub said: Vec<String>,
}

/// Plans with more effort that are tried where those before are not confirmed.
const MOST_ROUNDS: usize = 4;
/// By how much at least more is asked in each of them.
const STEP: f64 = 1.02;
/// Monte Carlo errors by which a target is missed.
const MISSED: f64 = 2.0;

impl<'a, 'b> Finalists<'a, 'b> {
    pub fn new(options: &'b Options<'a>, confirming: &'b Confirming<'b>) -> Self {
        Self { options, confirming, known: Vec::new(), interrupted: false }
    }

    /// A design with what it gives, simulated.
    pub fn simulated(&mut self, chosen: &Chosen, hold: Hold) -> BudgetPlan {
        let prepared = &self.options.all[chosen.option];
        let mut plan = prepared.told(&chosen.found, hold);
        if let Some((_, known)) = self.known.iter().find(|(known, _)| known == chosen) {
            plan.margins.clone_from(&known.margins);
            plan.joint.clone_from(&known.joint);
        } else if !self.interrupted {
            self.interrupted |= confirm(prepared, &chosen.found, &mut plan, self.confirming);
            self.known.push((chosen.clone(), plan.clone()));
        }
        plan
    }

    /// A near-tie with a quarter of the trials: its margins.
    pub fn looked_at(&mut self, chosen: &Chosen) -> Vec<Margin> {
        let until = match self.confirming.until {
            Until::Trials(trials) => Until::Trials((trials / 4).max(1)),
            Until::Error(error) => Until::Error(2.0 * error),
        };
        let prepared = &self.options.all[chosen.option];
        let mut plan = prepared.told(&chosen.found, Hold::All);
        if !self.interrupted {
            let confirming = Confirming { until, ..*self.confirming };
            self.interrupted |= confirm(prepared, &chosen.found, &mut plan, &confirming);
        }
        plan.margins
    }

    /// The least plan that simulation confirms: the least by formula, then near-ties, then plans of which the formula asks more.
    pub fn confirmed(&mut self, searches: &[Search], first: Chosen, ties: &[Chosen], hold: Hold) -> Confirmed {
        let words = if hold == Hold::All { "all targets" } else { "the musts" };
        let mut said = Vec::new();
        let mut asked: Vec<f64> = vec![1.0; self.options.all[0].indicators.len()];
        let mut tried: Vec<(Chosen, BudgetPlan)> = Vec::new();
        let mut next: Vec<Chosen> = ties.iter().rev().cloned().chain([first.clone()]).collect();
        for _ in 0..ties.len() + 1 + MOST_ROUNDS {
            let candidate = next.pop().or_else(|| self.with_more_asked(searches, &asked, hold));
            let Some(candidate) = candidate else { break };
            let plan = self.simulated(&candidate, hold);
            let misses = self.misses(&candidate, &plan, hold);
            if misses.is_empty() || self.interrupted {
                if !said.is_empty() {
                    said.push(format!("For {words} stands the next that simulation confirms: {}.", effort(&candidate)));
                }
                return Confirmed { stands: Some((candidate, plan)), said };
            }
            for (index, ratio, why) in misses {
                asked[index] = asked[index].max(candidate.found.margins[index].max(1.0) * ratio);
                said.push(format!("{} for {words}, by formula: {why}.", effort(&candidate)));
            }
            tried.push((candidate, plan));
        }
        let alpha = self.options.all[0].plan.study.test.alpha;
        let stands = keeps_its_level(tried.iter().map(|(_, plan)| alarms(&plan.margins)), alpha);
        said.push(match stands {
            Some(0) => {
                format!("No plan for {words} that was tried is confirmed by simulation: what stands is the formula's.")
            }
            Some(place) => format!(
                "No plan for {words} that was tried is confirmed by simulation: what stands is by formula the first whose tests \
                 do not ring too often, {}.",
                effort(&tried[place].0)
            ),
            None => format!("The tests of each plan for {words} that was tried ring too often: none of them is told."),
        });
        Confirmed { stands: stands.map(|place| tried.swap_remove(place)), said }
    }

    /// The best use of something with what it gives, simulated; nothing where its tests ring too often, which is then said.
    pub fn answers(
        &mut self,
        best: Option<Chosen>,
        what: &str,
        said: &mut Vec<String>,
    ) -> Option<(Chosen, BudgetPlan)> {
        let best = best?;
        let plan = self.simulated(&best, Hold::All);
        let prepared = &self.options.all[best.option];
        if !rings(prepared, &plan.margins) {
            return Some((best, plan));
        }
        let why = plan.margins.iter().filter_map(|margin| miss(prepared, margin)).map(|(_, why)| why);
        said.push(format!("{what} is not told: {}.", why.collect::<Vec<_>>().join("; ")));
        None
    }

    /// The least effort where the formula must give more than the targets.
    fn with_more_asked(&self, searches: &[Search], asked: &[f64], hold: Hold) -> Option<Chosen> {
        let times: Vec<f64> = asked.iter().map(|more| 1.0 / more).collect();
        let found = least_with_targets(searches, &times, hold)?;
        let of = &searches[found.option];
        Some(Chosen { found: of.design(&found.found.units, &found.found.sites)?, ..found })
    }

    /// Targets that simulation misses by more than its errors: which, by which ratio more must be asked, and why.
    fn misses(&self, chosen: &Chosen, plan: &BudgetPlan, hold: Hold) -> Vec<(usize, f64, String)> {
        let prepared = &self.options.all[chosen.option];
        let each = plan.margins.iter().zip(&prepared.indicators).enumerate();
        let asked = each.filter(|(_, (_, indicator))| hold.asks(indicator));
        asked
            .filter_map(|(index, (margin, _))| miss(prepared, margin).map(|(ratio, why)| (index, ratio, why)))
            .collect()
    }
}

/// How often the tests of a plan ring when nothing changed, with their errors.
fn alarms(margins: &[Margin]) -> Vec<(f64, f64)> {
    margins.iter().filter_map(|margin| margin.false_alarm).collect()
}

/// The first of some plans none of whose tests rings too often; a plan with a test that does is no answer.
fn keeps_its_level(mut plans: impl Iterator<Item = Vec<(f64, f64)>>, alpha: f64) -> Option<usize> {
    plans.position(|alarms| alarms.into_iter().all(|rate| !rings_too_often(rate, alpha)))
}

/// By how much the formula must ask more so that simulation gives the target; `None`: it does.
fn miss(prepared: &Prepared, margin: &Margin) -> Option<(f64, String)> {
    let test = &prepared.plan.study.test;
    let name = margin.indicator.replace('_', " ");
    if let Some((rate, error)) = margin.false_alarm.filter(|&rate| rings_too_often(rate, test.alpha)) {
        return Some((STEP, format!("without a change the test of {name} rings in {rate:.3} ({error:.3}), too often")));
    }
    match margin.asks {
        Asks::SeeChange(_) => {
            let ((seen, error), asked) = (margin.seen?, margin.power_asked?);
            let missed = seen + MISSED * error < asked;
            let tail = if test.sides == Sides::Two { 0.5 } else { 1.0 };
            let critical = normal_quantile(1.0 - tail * test.alpha);
            let ratio = |seen: f64| critical + normal_quantile(seen.clamp(0.01, 0.99));
            missed.then(|| {
                (
                    (ratio(asked) / ratio(seen).max(0.1)).clamp(STEP, 2.0),
                    format!("the change of {name} is seen in {seen:.3} ({error:.3}) of the simulated surveys"),
                )
            })
        }
        Asks::HalfWidth(target) => over(&name, margin.half_width?, target, margin.half_width_error?),
        Asks::Cv(target) => over(&name, margin.cv?, target, margin.cv_error?),
    }
}

fn over(name: &str, achieved: f64, target: f64, error: f64) -> Option<(f64, String)> {
    let ratio = achieved / target;
    let missed = achieved - MISSED * error > target;
    missed
        .then(|| (ratio.clamp(STEP, 2.0), format!("{name} comes out {ratio:.2} times as wide as asked when simulated")))
}

/// Whether simulation misses a target of a design, or its test rings too often.
pub fn is_missed(prepared: &Prepared, margins: &[Margin]) -> bool {
    margins.iter().any(|margin| miss(prepared, margin).is_some())
}

/// Whether the test of some target of a design rings too often.
pub fn rings(prepared: &Prepared, margins: &[Margin]) -> bool {
    keeps_its_level([alarms(margins)].into_iter(), prepared.plan.study.test.alpha).is_none()
}

fn effort(chosen: &Chosen) -> String {
    let found = &chosen.found;
    let sites = found.sites.iter().map(|&sites| usize::from(sites)).sum();
    format!("{}, {}, {}", counted(found.days, "day"), counted(found.team_dives, "team dive"), counted(sites, "site"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One rule: 1.2 times alpha, less two errors. A plan with one test above it is passed over, and where each has one none is
    /// the answer.
    #[test]
    fn a_plan_whose_test_rings_too_often_is_no_answer() {
        let (good, edge, bad) = ((0.05, 0.004), (0.0679, 0.004), (0.0681, 0.004));
        let first = |plans: &[&[(f64, f64)]]| keeps_its_level(plans.iter().map(|alarms| alarms.to_vec()), 0.05);
        assert_eq!(first(&[&[good, bad], &[bad], &[good, edge]]), Some(2));
        assert_eq!(first(&[&[bad, good], &[bad]]), None);
        // Half-widths alone have no test.
        assert_eq!(first(&[&[]]), Some(0));
        for (rate, rings) in [(good, false), (edge, false), (bad, true)] {
            assert_eq!(rings_too_often(rate, 0.05), rings, "{rate:?}");
        }
    }
}
