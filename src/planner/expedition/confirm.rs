//! The plan put through simulation: fresh trials of just this design.

use super::answer::Confirming;
use super::indicators::{main_design, state_of};
use super::joint::{JointChances, Watched};
use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::tasks::reading_by;
use crate::budget::Found;
use crate::design::{Asks, Target};
use crate::engine::{Plan, run};
use crate::planner::rows::{back_to_there, unit_of_scale, written_mean};
use crate::random::Purpose;

/// Puts what the simulation gives into a plan; true where it was interrupted.
pub fn confirm(prepared: &Prepared, found: &Found, told: &mut BudgetPlan, confirming: &Confirming) -> bool {
    let plan = prepared.plan;
    let mut study = plan.study.clone();
    for (zone, &sites) in study.zones.iter_mut().zip(&found.sites) {
        zone.sites = vec![usize::from(sites)];
    }
    for (task, &method) in prepared.tasks.methods.iter().enumerate() {
        study.methods[method].units = vec![usize::from(found.units[task])];
        study.methods[method].kind = study.methods[method].kind.only(prepared.dimensions[method]);
    }
    let mut kept = 0..;
    let planned = &prepared.tasks.methods;
    study.methods.retain(|_| kept.next().is_some_and(|index| planned.contains(&index)));
    let mut design_plan = Plan::new(study, plan.theories.clone());
    let targets = &prepared.expedition.targets;
    // Methods have other places among those that are left.
    let reading_of = |plan: &Plan, target: &Target| {
        let place = |method: usize| planned.iter().position(|&kept| kept == method);
        reading_by(plan, &target.indicator, target.method.and_then(place))
    };
    let tested = |target: &Target| {
        let design = design_plan.index(&main_design(&design_plan, reading_of(&design_plan, target)?));
        let is_change = matches!(target.asks, Asks::SeeChange(_));
        is_change.then(|| (target.must, design, state_of(plan, target)))
    };
    let watched = Watched::new(&targets.iter().filter_map(tested).collect::<Vec<_>>());
    watched.ask(&mut design_plan);
    let outcome = run(&design_plan, confirming.seed, Purpose::Confirmation as u64, confirming.until, confirming.watch);
    if outcome.trials == 0 {
        return true;
    }
    if design_plan.states > 1 {
        told.joint = Some(JointChances::new(prepared, found, watched.told(&outcome)));
    }
    for (margin, target) in told.margins.iter_mut().zip(targets) {
        let Some(reading) = reading_of(&design_plan, target) else { continue };
        let design = main_design(&design_plan, reading);
        let index = design_plan.index(&design);
        let tally = outcome.tally(index, state_of(plan, target));
        let with_error = |rate: crate::measures::Rate| (rate.value(), rate.error());
        let unit = unit_of_scale(&design_plan, &design);
        match target.asks {
            Asks::SeeChange(_) => margin.seen = Some(with_error(tally.rejection())),
            Asks::HalfWidth(_) => {
                let there = back_to_there(&design_plan, &design, state_of(plan, target));
                margin.half_width = tally.mean_half_width().map(|half| half * there);
                margin.half_width_error = tally.half_width_error().map(|error| error * there);
            }
            Asks::Cv(_) => {
                let over_mean = unit / written_mean(&design_plan, &design).abs();
                let (se, error) = tally.standard_error();
                margin.cv = Some(se * over_mean);
                margin.cv_error = Some(error * over_mean);
            }
        }
        if design_plan.states > 1 {
            margin.false_alarm = Some(with_error(outcome.tally(index, 1).rejection()));
        }
    }
    outcome.interrupted
}
