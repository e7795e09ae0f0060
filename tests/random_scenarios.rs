//! Theory against plain trials over scenarios drawn at random: any reef, site, method, crew, scope and test. Means and
//! standard errors within 4.5 simulation errors (through which variances and covariances enter); power within .02 + 4
//! errors wherever the normal theory may be expected to hold, and a mark on the row wherever it does not.

mod common;

use common::studies::{belts, change, intercepts, points, study, trials, zone};
use reefwright::design::{Crew, Places, Scope, Sides, Sites, Study, TestKind};
use reefwright::engine::{Outcome, Plan};
use reefwright::planner::rows;
use reefwright::random::{Key, Purpose};
use reefwright::reef::{Category, NamedReef};
use reefwright::survey::{Heading, LineLayout, MethodSpec, Placement};
use reefwright::theory::{CoralError, ZoneError, ZoneTheory};
use std::cell::Cell;

/// Uniform draws, one after the other.
struct Draw {
    key: Key,
    next: Cell<u64>,
}

impl Draw {
    fn new(scenario: u64) -> Self {
        Self { key: Key::seed(2024).child(Purpose::Test, scenario), next: Cell::new(0) }
    }

    fn uniform(&self) -> f64 {
        self.next.set(self.next.get() + 1);
        self.key.uniform(Purpose::Test, self.next.get())
    }

    fn between(&self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    fn chance(&self, probability: f64) -> bool {
        self.uniform() < probability
    }

    fn one_of<T: Copy>(&self, all: &[T]) -> T {
        all[(self.uniform() * all.len() as f64) as usize]
    }
}

fn method(draw: &Draw) -> MethodSpec {
    let units = [2, 3 + (3.0 * draw.uniform()) as usize];
    let length = draw.one_of(&[5.0, 10.0, 20.0]);
    match (3.0 * draw.uniform()) as usize {
        0 => points(length, draw.one_of(&[0.1, 0.25, 0.5]), &units),
        1 => intercepts(length, &units),
        _ => belts(length, draw.one_of(&[0.4, 1.0]), draw.one_of(&[50, 200]), &units),
    }
}

/// A scenario, its spread between sites still open.
fn scenario(draw: &Draw) -> Study {
    let mut study = study();
    let reef = draw.one_of(&NamedReef::ALL);
    let mut zone = zone(reef, 0.0);
    zone.cover = reef.typical_cover() * draw.between(0.7, 1.2);
    zone.length_m = draw.between(60.0, 120.0).round();
    zone.width_m = draw.between(10.0, 25.0).round();
    zone.sites = vec![3, 6 + (4.0 * draw.uniform()) as usize];
    let cover = zone.cover;
    study.changes = vec![change(cover, cover * draw.one_of(&[0.6, 0.8, 0.9, 1.15]))];
    if draw.chance(0.3) {
        study.changes[0].differs_between_sites_sd = Some(0.15 * cover);
    }
    if draw.chance(0.3) {
        let category = |name: &str, share, scale_m| Category {
            name: name.into(),
            cover: share * (1.0 - cover),
            between_sites_sd: 0.1 * share * (1.0 - cover),
            scale_m,
        };
        zone.categories = vec![category("macroalgae", 0.5, 0.2), category("sand", 0.3, 0.4)];
        study.also_report = vec!["macroalgae".into()];
    }
    study.zones = vec![zone];
    study.visits.years_apart = draw.one_of(&[1.0, 2.0, 5.0]);
    study.visits.renewal_per_year = draw.between(0.0, 0.1);
    study.visits.drift_years = draw.between(8.0, 25.0);
    if draw.chance(0.5) {
        study.visits.places = Places::SameMarks;
        study.visits.relay_sd_m = draw.between(0.0, 0.5);
    }
    if draw.chance(0.25) {
        study.visits.sites = Sites::DrawnAnew;
    }
    study.scope = draw.one_of(&[Scope::AllSuchReefs, Scope::AllSuchReefs, Scope::AllSuchReefs, Scope::EachReef]);
    study.test.kind = draw.one_of(&[TestKind::PairedT, TestKind::WelchT]);
    study.test.sides = draw.one_of(&[Sides::Two, Sides::Fall]);
    if draw.chance(0.3) {
        study.observers.spread = draw.between(0.02, 0.08);
        study.observers.between_visits = draw.one_of(&[Crew::Same, Crew::Changed, Crew::Mixed]);
    }
    study.methods = vec![method(draw)];
    study
}

/// Gives the sites a spread that the reef can have; `None` where the rest cannot be.
fn prepared(mut study: Study, draw: &Draw) -> Option<Plan> {
    let floor = match ZoneTheory::new(&study, &study.zones[0]) {
        Err(ZoneError::Coral(CoralError::SpreadBelowFloor(floor))) => floor,
        _ => return None,
    };
    study.zones[0].between_sites_sd = floor * draw.between(1.1, 1.6);
    if draw.chance(0.5) {
        study.zones[0].site_year_sd = 0.25 * study.zones[0].between_sites_sd;
    }
    let theory = ZoneTheory::new(&study, &study.zones[0]).ok()?;
    Some(Plan::new(study, vec![theory]))
}

/// Means and standard errors of every design in every state.
///
/// Where the statement is about one reef, lines of a small patchy site share patches that are chance: they tell less of the
/// error about the site's truth than there is (on a rubble slope of 64 x 18 m with four belts of 20 m the lines alone would
/// make it .047, trials give .056). Theory has that part, the test on lines has not.
fn moments_agree(scenario: u64, plan: &Plan, outcome: &Outcome) {
    for design in plan.all_designs() {
        for state in 0..plan.states {
            let theory = plan.theory(&design, state);
            let tally = outcome.tally(plan.index(&design), state);
            let (se, se_error) = tally.standard_error();
            let (bias, bias_error) = tally.bias();
            let what = || format!("scenario {scenario}, {design:?}, state {state}\n{:#?}", plan.study);
            assert!(bias.abs() < 4.5 * bias_error, "bias {bias} {bias_error}: {}", what());
            // A sample without its tail has both its standard error and the error of that too small: the error is scaled
            // to the standard error expected.
            let apart = (se - theory.total_se()) / (se_error * theory.total_se() / se);
            assert!(apart.abs() < 4.5, "SE {se} {se_error} of {}: {}", theory.total_se(), what());
        }
    }
}

/// Power of every row, and its mark.
fn power_agrees(scenario: u64, plan: &Plan, outcome: &Outcome) {
    for row in rows(plan, outcome) {
        let (Some(power), Some(error), Some(theory)) = (row.power, row.power_error, row.theory_power) else { continue };
        let apart = (power - theory).abs() > 0.02 + 4.0 * error;
        assert_eq!(row.theory_parts, apart, "scenario {scenario}: {row:#?}");
        let enough = if plan.study.scope == Scope::EachReef { row.units >= 6 } else { row.sites.fewest() >= 6 };
        if enough {
            assert!(!apart, "scenario {scenario}: power {power} ({error}) of {theory}: {row:#?}\n{:#?}", plan.study);
        }
    }
}

/// Any placement that fits, from draws of its own, so that the scenario is what it is without.
fn placed(mut study: Study, draw: &Draw) -> Study {
    for _ in 0..50 {
        let gap_m = draw.between(0.5, 5.0);
        let layout = draw.one_of(&[LineLayout::RandomStarts, LineLayout::LeastGap { gap_m }, LineLayout::Systematic]);
        study.placement = Placement { layout, heading: draw.one_of(&[Heading::Along, Heading::Across, Heading::Any]) };
        let ground = study.ground(&study.zones[0]);
        let fits = study.methods[0].kind.dimensions().iter().all(|dimensions| {
            let (length, width) = (dimensions.length_m().unwrap_or(0.0), dimensions.width_m());
            let most = study.most_units_of(length, width);
            ground.has_room(length, width) && ground.most_units(length, width).is_none_or(|fits| most <= fits)
        });
        let can_be = layout != LineLayout::Systematic || study.placement.heading != Heading::Any;
        if fits && can_be && study.placement != Placement::default() {
            return study;
        }
    }
    study.placement = Placement::default();
    study
}

fn check(scenarios: usize, number: u64, place: impl Fn(Study, u64) -> Study) {
    let mut checked = 0;
    let mut drawn = 0;
    while checked < scenarios {
        let draw = Draw::new(drawn);
        if let Some(plan) = prepared(place(scenario(&draw), drawn), &draw) {
            let outcome = trials(&plan, drawn, number);
            moments_agree(drawn, &plan, &outcome);
            power_agrees(drawn, &plan, &outcome);
            checked += 1;
        }
        drawn += 1;
        assert!(drawn < 4 * scenarios as u64 + 20, "most scenarios cannot be");
    }
    println!("{checked} of {drawn} scenarios drawn");
}

#[test]
fn theory_and_trials_agree_on_a_few_random_scenarios() {
    check(8, 160, |study, _| study);
}

#[test]
fn they_agree_for_lines_placed_in_any_way() {
    check(6, 160, |study, drawn| placed(study, &Draw::new(1_000_000 + drawn)));
}

#[test]
#[ignore = "100 scenarios of 250 trials: some minutes"]
fn theory_and_trials_agree_on_a_hundred_random_scenarios() {
    check(100, 250, |study, _| study);
}

#[test]
#[ignore = "100 scenarios of 250 trials: some minutes"]
fn they_agree_for_lines_placed_in_any_way_in_a_hundred_scenarios() {
    check(100, 250, |study, drawn| placed(study, &Draw::new(1_000_000 + drawn)));
}

/// Errors between theory and trials: of the bias and of the standard error, by design and state.
fn apart(plan: &Plan, outcome: &Outcome) -> Vec<f64> {
    let mut all = Vec::new();
    for design in plan.all_designs() {
        for state in 0..plan.states {
            let tally = outcome.tally(plan.index(&design), state);
            let theory = plan.theory(&design, state).total_se();
            let ((se, se_error), (bias, bias_error)) = (tally.standard_error(), tally.bias());
            all.push(bias / bias_error);
            all.push((se - theory) / (se_error * theory / se));
        }
    }
    all
}

/// Whether the largest departure among many is chance: the scenario that is farthest off with its own seed is run again with
/// other seeds, and what was farthest is near in their mean.
#[test]
#[ignore = "100 scenarios of 250 trials, the farthest again with eight seeds: some minutes"]
fn the_farthest_of_a_hundred_scenarios_is_chance() {
    let mut farthest: Option<(f64, u64, usize)> = None;
    let (mut scenarios, mut drawn, mut compared) = (0, 0, 0);
    while scenarios < 100 {
        let draw = Draw::new(drawn);
        if let Some(plan) = prepared(scenario(&draw), &draw) {
            let own = apart(&plan, &trials(&plan, drawn, 250));
            compared += own.len();
            for (place, apart) in own.into_iter().enumerate().filter(|(_, apart)| apart.abs() > 2.8) {
                println!("scenario {drawn}, number {place}: {apart:+.2} errors");
                if farthest.is_none_or(|(most, ..)| apart.abs() > most.abs()) {
                    farthest = Some((apart, drawn, place));
                }
            }
            scenarios += 1;
        }
        drawn += 1;
    }
    println!("{compared} numbers compared, many of them of the same lines");
    let Some((most, number, place)) = farthest else { return };
    let draw = Draw::new(number);
    let plan = prepared(scenario(&draw), &draw).unwrap();
    let again: Vec<f64> = (1..=8).map(|seed| apart(&plan, &trials(&plan, 90_000 + seed, 250))[place]).collect();
    let pooled = again.iter().sum::<f64>() / 8f64.sqrt();
    println!(
        "scenario {number}, number {place}: {most:+.2}; again {again:.2?}, pooled {pooled:+.2}\n{:#?}",
        plan.study
    );
    assert!(pooled.abs() < 3.5, "it is theory: {pooled}");
}
