//! What must hold whatever the numbers are: the same bytes on any number of threads, trials that can be repeated alone, a
//! census that returns the truth, smaller designs that are the first units of larger ones, lists surveyed in part.

mod common;

use common::law::{Reef, cells, simulate};
use common::studies::{
    belts, change, components, corals, intercepts, plan, points, study, study_by_components, trials, urchins, zone,
};
use reefwright::design::{Places, Plus, Scope, SiteScale, Sites, Study, TestKind};
use reefwright::engine::{Group, Outcome, Plan, Where};
use reefwright::planner::rows;
use reefwright::reef::{Category, NamedReef};

/// Two zones, categories, crews, every method; few units.
fn rich() -> Study {
    let mut study = study();
    let mut other = zone(NamedReef::OuterSlope, 0.06);
    study.zones[0].weight = 0.6;
    other.weight = 0.4;
    study.zones.push(other);
    for zone in &mut study.zones {
        zone.sites = vec![2, 4];
        let algae = Category { name: "turf".into(), cover: 0.3, between_sites_sd: 0.05, scale_m: 0.2 };
        zone.categories = vec![algae];
    }
    study.visits.places = Places::SameMarks;
    study.visits.relay_sd_m = 0.2;
    study.observers.spread = 0.05;
    study.also_report = vec!["turf".into()];
    study.methods = vec![
        points(10.0, 0.2, &[1, 3]),
        intercepts(5.0, &[2]),
        belts(10.0, 0.4, 50, &[2]),
        components("rugosity", 1.5, [0.2, 0.1, 0.3], &[1, 2]),
    ];
    study
}

fn on_threads(threads: usize, plan: &Plan, number: u64) -> Outcome {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    pool.install(|| trials(plan, 11, number))
}

/// All numbers of an outcome, to the last bit.
fn bytes(outcome: &Outcome) -> Vec<u8> {
    format!("{outcome:?}").into_bytes()
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let mut plan = plan(rich());
    plan.groups = vec![Group::new(&plan, &[(0, 2), (3, 2)]), Group::new(&plan, &[(0, 1), (1, 1), (5, 1)])];
    let plan = plan;
    let one = on_threads(1, &plan, 45);
    let json = serde_json::to_string(&rows(&plan, &one)).unwrap();
    for threads in [2, 5] {
        let other = on_threads(threads, &plan, 45);
        assert_eq!(bytes(&one), bytes(&other), "{threads} threads");
        assert_eq!(json, serde_json::to_string(&rows(&plan, &other)).unwrap());
    }
    let other_seed = trials(&plan, 12, 45);
    assert_ne!(bytes(&one), bytes(&other_seed), "another seed gives other numbers");
}

/// Tests that are counted together: the twin looks at each trial by itself, as what one more trial adds.
#[test]
fn tests_are_counted_together_trial_by_trial() {
    let mut study = study();
    study.zones[0].sites = vec![4];
    study.methods = vec![points(10.0, 0.5, &[2]), intercepts(10.0, &[2])];
    let mut plan = plan(study);
    let seen = [(0, 2), (1, 2)];
    let quiet = [(0, 1), (1, 1)];
    plan.groups = vec![Group::new(&plan, &seen), Group::new(&plan, &quiet)];
    let runs: Vec<Outcome> = (1..=40).map(|number| trials(&plan, 3, number)).collect();
    let hits = |run: usize, (design, state): (usize, usize)| runs[run].tally(design, state).hits;
    let (mut all, mut any) = ([0, 0], [0, 0]);
    for (group, tests) in [seen, quiet].iter().enumerate() {
        for run in 0..runs.len() {
            let rejections: u64 =
                tests.iter().map(|&test| hits(run, test) - if run == 0 { 0 } else { hits(run - 1, test) }).sum();
            all[group] += u64::from(rejections == 2);
            any[group] += u64::from(rejections > 0);
        }
        let together = &runs.last().unwrap().together[group];
        assert_eq!((together.all().hits, together.any().hits, together.all().trials), (all[group], any[group], 40));
    }
    assert!(all[0] > 0 && any[0] > all[0], "{all:?} {any:?}");
}

/// Totals of colonies by their ratio and sizes by exchanging sites: what a thread kept of earlier trials changes nothing.
#[test]
fn the_same_bytes_where_totals_and_sizes_are_compared() {
    for sites in [Sites::Same, Sites::DrawnAnew] {
        let mut study = corals(&[1, 2]);
        study.visits.sites = sites;
        study.test.kind = TestKind::QuasiPoisson;
        study.also_report = vec!["colony_size_structure".into()];
        study.zones[0].weight = 0.5;
        study.zones.push(reefwright::design::Zone { name: "other".into(), ..study.zones[0].clone() });
        study.zones.iter_mut().for_each(|zone| zone.sites = vec![4, 6]);
        let plan = plan(study);
        let one = on_threads(1, &plan, 20);
        for threads in [2, 5] {
            assert_eq!(bytes(&one), bytes(&on_threads(threads, &plan, 20)), "{threads} threads");
        }
    }
}

/// Animals of two zones tested by exchanging sites, listed and drawn, in pairs and in groups, on a scale.
#[test]
fn the_same_bytes_where_sites_are_exchanged() {
    for sites in [Sites::Same, Sites::DrawnAnew] {
        let mut study = urchins(0.5, 0.5);
        study.visits.sites = sites;
        study.test.kind = TestKind::Permutation;
        study.test.scale = SiteScale::Ln { plus: Plus::OfSearch };
        study.zones[0].weight = 0.5;
        study.zones.push(reefwright::design::Zone { name: "other".into(), ..study.zones[0].clone() });
        study.zones.iter_mut().for_each(|zone| zone.sites = vec![6, 9]);
        let plan = plan(study);
        let one = on_threads(1, &plan, 45);
        for threads in [2, 5] {
            assert_eq!(bytes(&one), bytes(&on_threads(threads, &plan, 45)), "{threads} threads");
        }
        // What a design gives does not depend on the others that are asked for.
        let mut fewer = plan.study.clone();
        fewer.zones.iter_mut().for_each(|zone| zone.sites = vec![9]);
        let fewer = reefwright::engine::Plan::new(fewer, plan.theories.clone());
        let alone = trials(&fewer, 11, 45);
        for design in fewer.all_designs() {
            let same = reefwright::engine::DesignIndex { sites: 1, ..design };
            for state in 0..plan.states {
                assert_eq!(alone.tally(fewer.index(&design), state), one.tally(plan.index(&same), state));
            }
        }
    }
}

/// The first n trials of a longer run are the run of n trials: what one trial gave does not depend on the others.
#[test]
fn a_trial_does_not_depend_on_those_beside_it() {
    let plan = plan(rich());
    let sums: Vec<Outcome> = (1..=9).map(|number| trials(&plan, 21, number)).collect();
    for pair in sums.windows(2) {
        let (fewer, more) = (&pair[0], &pair[1]);
        for (before, after) in fewer.tallies.iter().zip(&more.tallies) {
            assert_eq!(after.trials, before.trials + 1);
            let hits = after.hits - before.hits;
            let error = after.error - before.error;
            let square = after.error_square - before.error_square;
            assert!(hits <= 1);
            // One trial's error and its square, each a difference of two sums.
            assert!((square - error * error).abs() < 1e-12 + 1e-9 * after.error_square, "{error} {square}");
        }
    }
}

/// An indicator whose units all read the site's true value, asked on all sites of a list.
fn census(scope: Scope, kind: TestKind) -> Study {
    let mut study = study_by_components();
    study.scope = scope;
    study.test.kind = kind;
    study.zones[0].sites = vec![5];
    study.zones[0].existing = Some(5);
    study.changes = vec![reefwright::design::Change { indicator: "rugosity".into(), ..change(1.5, 1.2) }];
    study.changes[0].differs_between_sites_sd = Some(0.1);
    study.methods = vec![components("rugosity", 1.5, [0.2, 0.1, 0.0], &[1, 3])];
    study
}

/// A whole list whose units read without error: no trial is off the truth of the list, at either visit, for any test.
#[test]
fn a_census_by_components_returns_the_truth() {
    for kind in [TestKind::PairedT, TestKind::WelchT] {
        for scope in [Scope::TheseReefs, Scope::EachReef] {
            let plan = plan(census(scope, kind));
            let outcome = trials(&plan, 31, 64);
            for tally in &outcome.tallies {
                let mean_square = tally.error_square / tally.trials as f64;
                assert!(mean_square < 1e-24, "{kind:?} {scope:?}: {tally:?}");
            }
        }
    }
}

/// The same in two zones with weights: the weighted mean of a census is the weighted truth.
#[test]
fn a_census_of_two_zones_returns_the_weighted_truth() {
    let mut study = census(Scope::TheseReefs, TestKind::PairedT);
    let mut other = study.zones[0].clone();
    other.name = "other".into();
    study.zones[0].weight = 0.7;
    other.weight = 0.3;
    study.zones.push(other);
    let plan = plan(study);
    let outcome = trials(&plan, 32, 64);
    assert!(plan.all_designs().any(|design| design.place == Where::All));
    assert!(outcome.tallies.iter().all(|tally| tally.error_square < 1e-20));
}

/// A sample of sites whose units see everything: what is left is the spread of the sites, and a paired test of a change
/// that is the same everywhere sees it without any error.
#[test]
fn units_without_error_leave_the_spread_of_sites() {
    let mut study = census(Scope::AllSuchReefs, TestKind::PairedT);
    let plan_of = |study: &Study| plan(study.clone());
    let first = plan_of(&study);
    let outcome = trials(&first, 33, 4_000);
    let (se, error) = outcome.tally(0, 0).standard_error();
    let exact = (0.2f64.powi(2) + 0.1f64.powi(2)).sqrt() / 5.0f64.sqrt();
    assert!((se - exact).abs() < 4.0 * error, "{se} {exact}");
    study.changes[0].differs_between_sites_sd = None;
    study.methods = vec![components("rugosity", 1.5, [0.2, 0.0, 0.0], &[1])];
    let same = plan_of(&study);
    let outcome = trials(&same, 34, 64);
    assert!(outcome.tally(0, 2).error_square < 1e-20);
}

/// Lines so many that they see a small site whole: their mean is what lies there, which is the truth of the site but for
/// patches and colonies; so the error of the mean of n lines falls to a floor that does not depend on the lines.
#[test]
fn many_lines_on_a_tiny_site_see_all_that_lies_there() {
    let mut study = study();
    study.scope = Scope::EachReef;
    study.zones[0].length_m = 10.0;
    study.zones[0].width_m = 0.05;
    study.methods = vec![intercepts(10.0, &[2, 12])];
    let plan = plan(study);
    let outcome = trials(&plan, 35, 400);
    let design = |units: usize| plan.all_designs().find(|design| design.units == units).unwrap();
    let few = outcome.tally(plan.index(&design(0)), 0).standard_error();
    let many = outcome.tally(plan.index(&design(1)), 0).standard_error();
    assert!((few.0 - many.0).abs() < 4.0 * few.1, "{few:?} {many:?}");
    assert!(many.0 > 0.02, "patches and colonies are left: {many:?}");
}

/// First n units of many equal n units alone, sites too, methods beside or not.
#[test]
fn smaller_designs_are_the_first_units_of_larger_ones() {
    let mut large = study();
    large.zones[0].sites = vec![2, 3];
    large.methods = vec![points(10.0, 0.2, &[1, 2, 3]), belts(10.0, 0.4, 40, &[2])];
    let mut small = large.clone();
    small.zones[0].sites = vec![2];
    small.methods = vec![points(10.0, 0.2, &[2])];
    let (large, small) = (plan(large), plan(small));
    let (many, few) = (trials(&large, 41, 20), trials(&small, 41, 20));
    let same = large
        .all_designs()
        .find(|design| {
            design.reading == 0
                && large.layout.readings[0].units[design.units] == 2
                && large.sites[0][design.sites] == 2
        })
        .unwrap();
    let design = small.all_designs().next().unwrap();
    for state in 0..large.states {
        assert_eq!(many.tally(large.index(&same), state), few.tally(small.index(&design), state));
    }
}

/// The mean of 5 of a list of 12 sites: its variance about the mean of the list is (1 - 5/12) / 5 of the spread of sites
/// (Cochran 1977, Sampling Techniques, section 2.6; from memory).
#[test]
fn a_list_surveyed_in_part_has_the_finite_list_factor() {
    let mut study = census(Scope::TheseReefs, TestKind::PairedT);
    study.zones[0].existing = Some(12);
    study.methods = vec![components("rugosity", 1.5, [0.2, 0.0, 0.0], &[2])];
    let plan = plan(study);
    let outcome = trials(&plan, 51, 6_000);
    let (se, error) = outcome.tally(0, 0).standard_error();
    let exact = 0.2 * ((1.0 - 5.0 / 12.0) / 5.0f64).sqrt();
    assert!((se - exact).abs() < 4.0 * error, "{se} {error} {exact}");
    let design = plan.all_designs().next().unwrap();
    assert!((plan.theory(&design, 0).se - exact).abs() < 1e-12);
    // The interval made with that variance holds the truth of the list as often as it says.
    let held = outcome.tally(0, 0).interval_truth();
    assert!((held.value() - 0.95).abs() < 4.0 * held.error(), "{held:?}");
}

/// Sites of a list surveyed whole become strata, their lines the replicates.
#[test]
fn a_list_surveyed_whole_keeps_its_false_alarm_rate() {
    let mut study = census(Scope::TheseReefs, TestKind::WelchT);
    study.changes = vec![];
    study.methods = vec![components("rugosity", 1.5, [0.2, 0.0, 0.3], &[6])];
    let plan = plan(study);
    let outcome = trials(&plan, 52, 8_000);
    let rate = outcome.tally(0, 1).rejection();
    assert!((rate.value() - 0.05).abs() < 0.004 + 4.0 * rate.error(), "{rate:?}");
    let (se, error) = outcome.tally(0, 1).standard_error();
    assert!((se - 0.3 * (2.0f64 / 30.0).sqrt()).abs() < 4.0 * error, "{se}");
}

/// Sites drawn anew share nothing: the variance of the difference is the sum of the two.
#[test]
fn sites_drawn_anew_share_nothing() {
    let mut study = census(Scope::AllSuchReefs, TestKind::WelchT);
    study.visits.sites = Sites::DrawnAnew;
    study.changes = vec![];
    let plan = plan(study);
    let outcome = trials(&plan, 53, 4_000);
    let (se, error) = outcome.tally(0, 1).standard_error();
    let exact = (2.0 * (0.2f64.powi(2) + 0.1f64.powi(2)) / 5.0).sqrt();
    assert!((se - exact).abs() < 4.0 * error, "{se} {exact}");
}

/// A site is a pure function of its key: surveyed again it is the same to the last bit.
#[test]
fn a_reef_repeats_itself() {
    let spec = NamedReef::RubbleSlope.spec();
    let reef = Reef::new(spec, cells(&spec), 0.15, 0.3);
    let (once, again) = (simulate(&reef, 61, 20), simulate(&reef, 61, 40));
    for (one, other) in once.iter().zip(&again) {
        assert_eq!(one.truths, other.truths);
        assert_eq!(format!("{:?}", one.tapes), format!("{:?}", other.tapes));
    }
}
