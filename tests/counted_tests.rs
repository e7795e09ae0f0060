//! Tests of what is counted: permutation over sites, scales of site means, totals of sites, and whether animals are met at all.

mod common;

use common::studies::{corals, plan, recruits, trials, urchins};
use reefwright::analysis::transforms::Scale;
use reefwright::design::{Plus, Question, SiteScale, Sites, Study, TestKind, Zone};
use reefwright::engine::{DesignIndex, Plan, Until, Watch, Where};
use reefwright::planner::{AnimalSearch, Effort, SURELY, rows, solve};
use reefwright::reef::{AnimalPatches, Groups, PatchLaw};
use std::sync::atomic::AtomicBool;

const ALPHA: f64 = 0.05;
const LN: SiteScale = SiteScale::Ln { plus: Plus::OfSearch };
const ROOT: SiteScale = SiteScale::SquareRoot { plus: Plus::OfSearch };

fn two_zones(study: &mut Study) {
    study.zones[0].weight = 0.7;
    study.zones.push(Zone { name: "other".into(), weight: 0.3, ..study.zones[0].clone() });
    study.zones[1].sites = vec![7, 9];
}

/// Every kind of test on every scale, on pairs, on sites drawn anew and on two groups; animals in groups, so many a m2.
fn grid(densities: &[f64]) -> Vec<Study> {
    let mut all = Vec::new();
    for &density in densities {
        for (sites, question) in [
            (Sites::Same, Question::BetweenTheseVisits),
            (Sites::DrawnAnew, Question::BetweenTheseVisits),
            (Sites::Same, Question::BetweenGroups),
        ] {
            for scale in [SiteScale::Plain, LN, ROOT, SiteScale::Ln { plus: Plus::Value(1.0) }] {
                for kind in [TestKind::PairedT, TestKind::WelchT, TestKind::Permutation] {
                    let is_paired = sites == Sites::Same && question == Question::BetweenTheseVisits;
                    if kind == TestKind::PairedT && !is_paired {
                        continue;
                    }
                    let mut study = urchins(density, 0.7);
                    study.changes.clear();
                    study.zones[0].sites = vec![6, 10];
                    study.zones[0].animals[0].spec.groups = Some(Groups { mean_size: 3.0, spread_m: 0.5 });
                    study.also_report = vec!["urchin".into()];
                    (study.visits.sites, study.question) = (sites, question);
                    (study.test.scale, study.test.kind) = (scale, kind);
                    two_zones(&mut study);
                    all.push(study);
                }
            }
        }
    }
    all
}

fn no_false_alarms_beyond_alpha(densities: &[f64], number: u64) {
    let mut designs = 0;
    for (index, study) in grid(densities).into_iter().enumerate() {
        let plan = plan(study);
        let outcome = trials(&plan, 900 + index as u64, number);
        let error = (ALPHA * (1.0 - ALPHA) / number as f64).sqrt();
        for design in plan.all_designs() {
            let tally = outcome.tally(plan.index(&design), 1);
            let rate = tally.rejection().value();
            let test = &plan.study.test;
            let what = format!("{test:?} {:?} {:?} {design:?}", plan.study.visits.sites, plan.study.question);
            assert!(rate < ALPHA + 4.0 * error, "{what}: {rate}");
            // Enough arrangements and few ties: the level is used up, so that the test is no empty promise.
            let density = plan.study.zones[0].animals[0].spec.density_per_m2;
            let is_fine = density > 0.2 && design.place == Where::All;
            if test.kind == TestKind::Permutation && is_fine {
                assert!(rate > ALPHA - 0.004 - 4.0 * error, "{what}: {rate}");
            }
            designs += 1;
        }
    }
    assert!(designs > 300 * densities.len(), "{designs}");
}

#[test]
fn no_test_of_counts_finds_more_changes_than_it_may() {
    no_false_alarms_beyond_alpha(&[0.3], 128);
}

#[test]
#[ignore = "the same with 2,500 trials a design: some minutes"]
fn no_test_of_counts_finds_more_changes_than_it_may_in_many_trials() {
    no_false_alarms_beyond_alpha(&[0.08, 0.6], 2_500);
}

/// How far formula and simulation may part besides simulation errors: of a standard error, as a share, and of a bias, in
/// standard errors.
struct Loose {
    se: f64,
    bias: f64,
}

/// Expected estimate, its standard error and power of every design follow the formulas.
fn follows_theory(plan: &Plan, (seed, number): (u64, u64), loose: &Loose) {
    let outcome = trials(plan, seed, number);
    for design in plan.all_designs() {
        for state in 0..plan.states {
            let theory = plan.theory(&design, state);
            let tally = outcome.tally(plan.index(&design), state);
            let (se, se_error) = tally.standard_error();
            let (bias, bias_error) = tally.bias();
            let truth = |s: usize| -> f64 {
                let weights = plan.weights_in(design.place, design.reading);
                weights.map(|(z, w)| w * plan.truth(z, (design.reading, design.units), s)).sum()
            };
            let truth = if state == 0 { truth(0) } else { truth(state) - truth(0) };
            let name = plan.layout.readings[design.reading].indicator.name();
            let test = &plan.study.test;
            let what = format!(
                "{name} {:?} {:?} {design:?} {state}: se {se} {}, bias {bias} {}",
                test.kind,
                test.scale,
                theory.total_se(),
                theory.expected - truth
            );
            assert!(!theory.poor, "{what}");
            assert!((se / theory.total_se() - 1.0).abs() < loose.se + 4.0 * se_error / se, "{what}");
            assert!((bias - (theory.expected - truth)).abs() < loose.bias * se + 4.0 * bias_error, "{what}");
            if state > 0 {
                let (rate, formula) = (tally.rejection(), theory.rejects(theory.expected, &plan.critical));
                assert!((rate.value() - formula).abs() < 0.02 + 4.0 * rate.error(), "{what}: {rate:?} {formula}");
            }
        }
    }
}

/// Frequent animals on ln and square root. The delta method leaves out CV^4 / 6 of a variance, 1 % at most here.
#[test]
fn frequent_animals_on_a_scale_follow_theory() {
    for (scale, kind) in [(LN, TestKind::PairedT), (ROOT, TestKind::WelchT)] {
        let mut study = urchins(3.0, 0.25);
        study.changes[0].to = 0.8 * study.changes[0].from;
        (study.test.scale, study.test.kind) = (scale, kind);
        study.zones[0].sites = vec![8];
        two_zones(&mut study);
        study.zones[1].sites = vec![9];
        follows_theory(&plan(study), (41, 1_000), &Loose { se: 0.01, bias: 0.02 });
    }
}

/// The same of colonies and recruits. Truths of their sites are not lognormal, and variances of belts of colonies are good to
/// 1.5 % (`theory::colonies`).
#[test]
fn colonies_and_recruits_on_a_scale_follow_theory() {
    for (scale, kind) in [(LN, TestKind::PairedT), (ROOT, TestKind::PairedT)] {
        let mut colonies = corals(&[1, 3]);
        (colonies.test.scale, colonies.test.kind) = (scale, kind);
        follows_theory(&plan(colonies), (42, 300), &Loose { se: 0.03, bias: 0.05 });
        let mut recruits = recruits(8.0, 0.3);
        (recruits.test.scale, recruits.test.kind) = (scale, kind);
        follows_theory(&plan(recruits), (43, 300), &Loose { se: 0.03, bias: 0.05 });
    }
}

/// Half of one colony in all that is searched on a site, in the unit of the indicator.
#[test]
fn what_is_added_is_of_the_unit_of_each_indicator() {
    let plus = |mut study: Study, units: usize| {
        study.test.scale = LN;
        let plan = plan(study);
        let choice = plan.layout.readings[0].units.iter().position(|&n| n == units).unwrap();
        match plan.scale(0, choice) {
            Scale::Log { plus } => plus,
            other => panic!("{other:?}"),
        }
    };
    // Three belts of 10 m2, per m2; four lines of ten quadrats of 0.25 m2, per m2; four belts of 10 m2, per 100 m2.
    assert!((plus(corals(&[1, 3]), 3) - 0.5 / 30.0).abs() < 1e-15);
    assert!((plus(recruits(8.0, 0.3), 4) - 0.5 / 10.0).abs() < 1e-15);
    assert!((plus(urchins(1.0, 0.3), 4) - 0.5 / 0.4).abs() < 1e-12);
}

/// On ln a halving is a halving wherever it starts: rows bring everything back to animals per 100 m2.
#[test]
fn rows_of_a_scale_are_told_in_the_unit() {
    let of_scale = |scale: SiteScale| {
        let mut study = urchins(3.0, 0.25);
        study.test.scale = scale;
        let plan = plan(study);
        rows(&plan, &trials(&plan, 5, 400))
    };
    let (plain, ln) = (of_scale(SiteScale::Plain), of_scale(LN));
    for (plain, ln) in plain.iter().zip(&ln) {
        assert_eq!((plain.scale.as_deref(), ln.scale.as_deref()), (None, Some("ln")));
        assert_eq!((ln.change_from, ln.change_to, &*ln.unit), (Some(300.0), Some(150.0), "per 100 m2"));
        // Site means hardly spread: the slope of the scale tells nearly the same error of one visit.
        assert!((ln.cv.unwrap() / plain.cv.unwrap() - 1.0).abs() < 0.1, "{ln:?}\n{plain:?}");
        let detectable = ln.detectable.unwrap();
        assert!(0.0 < detectable && detectable < 300.0 && ln.lines_as_replicates_false_alarm.is_none());
        let json = serde_json::to_string(&plain).unwrap();
        assert!(!json.contains("scale") && serde_json::to_string(&ln).unwrap().contains("\"scale\":\"ln\""));
    }
}

fn searched(plan: &Plan, number: u64) -> Vec<AnimalSearch> {
    let effort = Effort { seed: 3, until: Until::Trials(number), confirm_error: None, with_range: false };
    let never = AtomicBool::new(false);
    solve(plan, &effort, &Watch { progress: &|_, _| (), interrupted: &never }).animals
}

/// Rare animals, alone and in groups and patches: what the section tells by formula is what happens.
#[test]
fn chances_of_meeting_an_animal_are_those_of_simulation() {
    for (groups, patches, tolerance) in [
        (None, None, 0.0),
        (
            Some(Groups { mean_size: 4.0, spread_m: 0.5 }),
            Some(AnimalPatches { law: PatchLaw::LogNormal { ln_sd: 0.8 }, scale_m: 15.0 }),
            0.01,
        ),
    ] {
        let mut study = urchins(0.01, 0.8);
        let spec = &mut study.zones[0].animals[0].spec;
        (spec.groups, spec.patches, spec.hidden) = (groups, patches, 0.3);
        study.zones[0].sites = vec![3, 6];
        study.zones.push(Zone { name: "none here".into(), animals: vec![], ..study.zones[0].clone() });
        let searches = searched(&plan(study), 4_000);
        assert_eq!(searches.len(), 1, "a zone without the animal has no search");
        let search = &searches[0];
        let apart = (search.occupied - search.occupied_simulated).abs();
        assert!(apart < tolerance + 4.0 * search.occupied_simulated_error, "{search:?}");
        assert_eq!((search.unit_area_m2, search.most_sites, search.chances.len()), (10.0, 6, 4));
        for chance in &search.chances {
            let apart = (chance.met - chance.met_simulated).abs();
            assert!(apart < 2.0 * tolerance + 4.0 * chance.met_simulated_error, "{chance:?}");
            assert_eq!(chance.area_m2, (chance.sites * chance.units * 10) as f64);
            let limit = chance.upper_limit_per_ha.unwrap();
            // Alone, even and seen, it would be 3.0 / area.
            assert!(limit > 2.9957e4 / chance.area_m2, "{chance:?}");
        }
        // Of the numbers of units told to be enough and one fewer, the first meets one and the other does not, surely enough.
        let enough = search.units_to_meet;
        let most = search.chances.last().unwrap();
        assert!(enough.is_none_or(|units| units > most.units) == (most.met < SURELY), "{search:?}");
    }
}

/// At the density told as the upper limit, nothing is met in 5 of 100 surveys.
#[test]
fn the_upper_limit_is_where_nothing_is_met_in_five_of_a_hundred() {
    let mut study = urchins(0.01, 0.6);
    study.zones[0].sites = vec![6];
    let limit = searched(&plan(study.clone()), 8)[0].chances[1].upper_limit_per_ha.unwrap();
    study.zones[0].animals[0].spec.density_per_m2 = limit / 1e4;
    let plan = plan(study);
    let outcome = trials(&plan, 17, 4_000);
    let design = DesignIndex { reading: 0, units: 1, sites: 0, place: Where::Zone(0) };
    let met = outcome.tally(plan.index(&design), 0).met_share();
    assert!((met.value() - SURELY).abs() < 4.0 * met.error(), "{met:?}");
}
