//! Chances of an expedition as a whole: that all changes are seen, that none of several tests rings falsely.

use super::indicators::tail_of_test;
use super::prepared::Prepared;
use crate::budget::Found;
use crate::design::Asks;
use crate::engine::{Outcome, Plan};
use crate::measures::Rate;
use crate::survey::MethodKind;
use crate::theory::t_power;
use serde::Serialize;

/// What several tests give together, by the trials in which each of them was read on the same virtual reefs. Each change
/// is imposed by itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JointChances {
    /// That all musts which are changes are seen; `None`: fewer than two.
    pub musts_seen: Option<Joint>,
    /// The same for all targets which are changes.
    pub all_seen: Option<Joint>,
    /// That any of the tests rings when nothing changed; `None`: fewer than two tests.
    pub any_false_alarm: Option<Joint>,
    /// Indicators by components alone: drawn independently of all others, whatever they share on a reef.
    pub drawn_independently: Vec<String>,
    /// What keeps false alarms of all tests together under alpha.
    pub shared_alpha: Option<SharedAlpha>,
}

/// A chance of several tests together, with what their single chances say of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Joint {
    pub tests: usize,
    /// By simulation, with its error.
    pub chance: (f64, f64),
    /// From the single chances, were the tests independent.
    pub if_independent: f64,
    /// From the single chances, whatever the tests share (Frechet's bounds).
    pub bounds: (f64, f64),
}

/// Alpha shared out equally among the tests (Bonferroni): the chance that any of them rings falsely is then at most alpha,
/// whatever they share. Holm's steps (1979, Scandinavian Journal of Statistics 6:65-70; from memory) keep that and see at
/// least as much.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SharedAlpha {
    pub tests: usize,
    /// Of each test.
    pub alpha: f64,
    /// For each change that shall be seen: how often it is, by formula, at the test's own alpha and at the shared one.
    pub seen: Vec<(String, f64, f64)>,
}

impl Joint {
    /// That all happen, from the chance of each.
    pub fn all(together: Rate, each: &[f64]) -> Self {
        let sum: f64 = each.iter().sum();
        let others = each.len() as f64 - 1.0;
        Self {
            tests: each.len(),
            chance: (together.value(), together.error()),
            if_independent: each.iter().product(),
            bounds: ((sum - others).max(0.0), each.iter().copied().fold(1.0, f64::min)),
        }
    }

    /// That any happens, from the chance of each.
    pub fn any(together: Rate, each: &[f64]) -> Self {
        Self {
            tests: each.len(),
            chance: (together.value(), together.error()),
            if_independent: 1.0 - each.iter().map(|chance| 1.0 - chance).product::<f64>(),
            bounds: (each.iter().copied().fold(0.0, f64::max), each.iter().sum::<f64>().min(1.0)),
        }
    }
}

/// Which tests are counted together, as a test is known to the plan that is simulated: its tally's place.
pub struct Watched {
    musts: Vec<(usize, usize)>,
    all: Vec<(usize, usize)>,
    quiet: Vec<(usize, usize)>,
}

impl Watched {
    /// `tests`: for each target that is a change whether it is a must, and its design and state.
    pub fn new(tests: &[(bool, usize, usize)]) -> Self {
        let of = |keep: &dyn Fn(bool) -> bool| {
            let kept = tests.iter().filter(|(must, ..)| keep(*must));
            kept.map(|&(_, design, state)| (design, state)).collect::<Vec<_>>()
        };
        let mut quiet: Vec<(usize, usize)> = tests.iter().map(|&(_, design, _)| (design, 1)).collect();
        quiet.sort_unstable();
        quiet.dedup();
        Self { musts: of(&|must| must), all: of(&|_| true), quiet }
    }

    fn groups(&self) -> [&Vec<(usize, usize)>; 3] {
        [&self.musts, &self.all, &self.quiet]
    }

    /// Asks the plan to count them.
    pub fn ask(&self, plan: &mut Plan) {
        plan.groups = self.groups().map(|tests| crate::engine::Group::new(plan, tests)).into();
    }

    /// What was counted.
    pub fn told(&self, outcome: &Outcome) -> [Option<Joint>; 3] {
        let of = |group: usize, joint: fn(Rate, &[f64]) -> Joint, rate: Rate| {
            let tests = self.groups()[group];
            let each: Vec<f64> =
                tests.iter().map(|&(design, state)| outcome.tally(design, state).rejection().value()).collect();
            (tests.len() > 1).then(|| joint(rate, &each))
        };
        let together = &outcome.together;
        [
            of(0, Joint::all, together[0].all()),
            of(1, Joint::all, together[1].all()),
            of(2, Joint::any, together[2].any()),
        ]
    }
}

impl JointChances {
    pub fn new(
        prepared: &Prepared,
        found: &Found,
        [musts_seen, all_seen, any_false_alarm]: [Option<Joint>; 3],
    ) -> Self {
        Self {
            musts_seen,
            all_seen,
            any_false_alarm,
            drawn_independently: drawn_independently(prepared),
            shared_alpha: any_false_alarm.map(|joint| shared_alpha(prepared, found, joint.tests)),
        }
    }
}

fn drawn_independently(prepared: &Prepared) -> Vec<String> {
    let methods = &prepared.plan.study.methods;
    let of = |&method: &usize| match &methods[method].kind {
        MethodKind::Components(components) => Some(components.indicator.clone()),
        _ => None,
    };
    prepared.tasks.methods.iter().filter_map(of).collect()
}

fn shared_alpha(prepared: &Prepared, found: &Found, tests: usize) -> SharedAlpha {
    let test = &prepared.plan.study.test;
    let alpha = test.alpha / tests as f64;
    let weights = prepared.weights();
    let targets = prepared.expedition.targets.iter().zip(&prepared.indicators);
    let changes = targets.filter(|(target, _)| matches!(target.asks, Asks::SeeChange(_)));
    let seen = changes.map(|(target, indicator)| {
        let (variance, df) = indicator.variance(&weights, &found.sites, usize::from(found.units[indicator.task]));
        let at = |alpha: f64| t_power(indicator.target / variance.sqrt(), df, alpha, tail_of_test(test.sides));
        (target.indicator.clone(), at(test.alpha), at(alpha))
    });
    SharedAlpha { tests, alpha, seen: seen.collect() }
}
