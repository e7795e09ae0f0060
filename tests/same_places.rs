//! Two zones at the same places: closed forms against plain trials, and what the tests make of it.

mod common;

use common::studies::{
    change, components, corals, plan, points, recruits, study, study_by_components, trials, urchins,
};
use reefwright::design::*;
use reefwright::engine::{DesignIndex, Outcome, Plan, Where};
use reefwright::reef::{AnimalSpec, BetweenSites, Category};
use reefwright::survey::{MethodKind, Scale};
use reefwright::theory::{DesignTheory, ZoneShare};

/// The same study with a second zone at the places of the first.
fn at_two_depths(mut study: Study, correlation: f64, differs: impl Fn(&mut Zone)) -> Study {
    let mut shallow = Zone { name: "crest".into(), ..study.zones[0].clone() };
    shallow.same_places = Some(SamePlaces { as_zone: study.zones[0].name.clone(), correlation });
    (study.zones[0].weight, shallow.weight) = (0.6, 0.4);
    differs(&mut shallow);
    study.zones.push(shallow);
    study
}

/// Every design over all zones in every state.
fn over_all(plan: &Plan) -> impl Iterator<Item = (DesignIndex, usize)> + '_ {
    plan.all_designs()
        .filter(|design| design.place == Where::All)
        .flat_map(|design| (0..plan.states).map(move |state| (design, state)))
}

/// Standard errors as the closed form has them, and rates of rejection near what it lets expect. `slack`: what the closed form
/// of an indicator leaves out, as a share of the standard error; how often skewed counts are seen to change it does not tell.
fn check(study: Study, number: u64, slack: f64) {
    check_some(study, number, slack, true);
}

fn check_some(study: Study, number: u64, slack: f64, rates: bool) {
    let plan = plan(study);
    let outcome = trials(&plan, 11, number);
    for (design, state) in over_all(&plan) {
        let theory = plan.theory(&design, state);
        let tally = outcome.tally(plan.index(&design), state);
        let (se, se_error) = tally.standard_error();
        let of = &plan.layout.readings[design.reading];
        let what = format!("{} {design:?} {state}: {se} ({se_error}) {}", of.indicator.name(), theory.total_se());
        let allowed = 4.5 * se_error * (theory.total_se() / se).max(1.0) + slack * theory.total_se();
        assert!((se - theory.total_se()).abs() < allowed, "{what}");
        let places = plan.sites[0][design.sites] as f64;
        let is_paired = plan.study.pairs_sites() && plan.study.test.kind != TestKind::WelchT;
        let visits = if is_paired || state == 0 { 1.0 } else { 2.0 };
        assert!(theory.df <= visits * (places - 1.0) + 1e-9, "{what} {}", theory.df);
        // Few sites have few arrangements: a permutation then sees less than t.
        let is_fine = plan.study.test.kind != TestKind::Permutation || places >= 12.0;
        if state > 0 && rates && is_fine {
            let expected = theory.rejects(if state == 1 { 0.0 } else { theory.expected }, &plan.critical);
            let rejected = tally.rejection();
            assert!(
                (rejected.value() - expected).abs() < 0.02 + slack + 4.5 * rejected.error(),
                "{what} {expected} {rejected:?}"
            );
        }
    }
}

/// An indicator by components whose sites, years and changes differ.
fn by_components(kind: TestKind, sites: Sites, scale: Scale) -> Study {
    let mut study = study_by_components();
    study.zones[0].sites = vec![6, 12];
    study.test.kind = kind;
    study.visits.sites = sites;
    let mut rugosity = components("rugosity", 1.5, [0.2, 0.12, 0.15], &[1, 4]);
    if let MethodKind::Components(parts) = &mut rugosity.kind {
        parts.scale = scale;
    }
    study.methods = vec![rugosity];
    study.changes =
        vec![Change { indicator: "rugosity".into(), differs_between_sites_sd: Some(0.08), ..change(1.5, 1.38) }];
    study
}

#[test]
fn components_at_all_correlations_and_tests() {
    for correlation in [0.0, 0.5, 0.9] {
        for (kind, sites) in [
            (TestKind::PairedT, Sites::Same),
            (TestKind::WelchT, Sites::Same),
            (TestKind::WelchT, Sites::DrawnAnew),
            (TestKind::Permutation, Sites::Same),
            (TestKind::Permutation, Sites::DrawnAnew),
        ] {
            let study = by_components(kind, sites, Scale::Ln);
            check(at_two_depths(study, correlation, |_| ()), 1000, 0.0);
        }
    }
}

/// Levels: close to .05 at every correlation; what a test would do that took the zones for independent.
#[test]
fn levels_hold_and_independent_zones_would_ring_too_often() {
    for correlation in [0.0, 0.5, 0.9] {
        let study = by_components(TestKind::PairedT, Sites::Same, Scale::Plain);
        let plan = plan(at_two_depths(study, correlation, |_| ()));
        let outcome = trials(&plan, 12, 4000);
        for (design, state) in over_all(&plan).filter(|(_, state)| *state == 1) {
            let tally = outcome.tally(plan.index(&design), state);
            let error = (0.05f64 * 0.95 / 4000.0).sqrt();
            let level = tally.rejection().value();
            assert!((level - 0.05).abs() < 4.5 * error, "{correlation} {design:?} {level}");
            let shares: Vec<ZoneShare> = (0..2)
                .map(|zone| ZoneShare {
                    zone: &plan.study.zones[zone],
                    moments: plan.moments(zone, design.reading),
                    place: None,
                    weight: plan.study.zones[zone].weight,
                    sites: plan.sites[zone][design.sites],
                    units: plan.layout.readings[design.reading].units[design.units],
                    comparison: plan.comparison(design.reading, design.units),
                })
                .collect();
            let apart = DesignTheory::new(&plan.study, &shares, state);
            let (se, se_error) = tally.standard_error();
            if correlation == 0.0 {
                assert!((se - apart.se).abs() < 4.5 * se_error, "{design:?} {se} {}", apart.se);
                assert!(apart.df > 1.5 * plan.theory(&design, state).df);
            } else {
                assert!(se - apart.se > 4.5 * se_error, "{correlation} {design:?} {se} {}", apart.se);
                // What the wrong test takes for its error beside the true one.
                let wrong = DesignTheory { se: plan.theory(&design, state).se, ..apart };
                let rings = wrong.rejects(0.0, &plan.critical);
                assert!(rings > 0.05 + 0.02 * correlation, "{correlation} {design:?} {rings}");
            }
        }
    }
}

/// Hard coral at sites that differ and years that do, of other covers and spreads above than below.
fn on_the_reef() -> Study {
    let mut study = study();
    study.zones[0].length_m = 40.0;
    study.zones[0].width_m = 10.0;
    study.zones[0].sites = vec![6];
    study.zones[0].between_sites_sd = 0.12;
    study.zones[0].site_year_sd = 0.05;
    study.changes[0].differs_between_sites_sd = Some(0.05);
    study.methods = vec![points(10.0, 0.2, &[2, 5])];
    study
}

fn shallow(zone: &mut Zone) {
    zone.cover = 0.2;
    zone.between_sites_sd = 0.11;
    zone.site_year_sd = 0.04;
}

#[test]
fn hard_coral_at_two_depths() {
    for correlation in [0.5, 0.9] {
        check(at_two_depths(on_the_reef(), correlation, shallow), 250, 0.0);
    }
    let mut anew = on_the_reef();
    (anew.visits.sites, anew.test.kind) = (Sites::DrawnAnew, TestKind::WelchT);
    check(at_two_depths(anew, 0.9, shallow), 250, 0.0);
}

#[test]
fn kinds_of_bottom_at_two_depths() {
    let kind = |name: &str, cover: f64, between_sites_sd: f64| Category {
        name: name.into(),
        cover,
        between_sites_sd,
        scale_m: 0.2,
    };
    let mut study = on_the_reef();
    study.zones[0].categories = vec![kind("turf", 0.3, 0.15), kind("sand", 0.2, 0.1)];
    study.also_report = vec!["turf".into(), "sand".into()];
    let crest = |zone: &mut Zone| {
        shallow(zone);
        zone.categories = vec![kind("turf", 0.45, 0.18), kind("sand", 0.1, 0.05)];
    };
    check(at_two_depths(study.clone(), 0.9, crest), 200, 0.0);
    let misread = vec![
        vec![0.9, 0.06, 0.02, 0.02],
        vec![0.05, 0.9, 0.03, 0.02],
        vec![0.0, 0.1, 0.9, 0.0],
        vec![0.02, 0.03, 0.0, 0.95],
    ];
    study.observers.misidentification = Some(misread);
    check(at_two_depths(study, 0.9, crest), 200, 0.0);
}

#[test]
fn animals_recruits_and_colonies_at_two_depths() {
    let other_animals = |zone: &mut Zone| {
        let other = Animal { name: "snail".into(), ..zone.animals[0].clone() };
        zone.animals.insert(0, other);
        zone.animals[1].spec.between_sites = BetweenSites::Share(0.5);
    };
    let mut animals = urchins(0.8, 0.7);
    animals.zones[0].sites = vec![8];
    // Counts are skewed: the error of a standard error is known less well.
    check_some(at_two_depths(animals.clone(), 0.9, other_animals), 2500, 0.02, false);
    // The formula of a scale is for sites that do not differ too much.
    animals.test.scale = SiteScale::Ln { plus: Plus::OfSearch };
    let spread = |spec: &mut AnimalSpec| {
        (spec.between_sites, spec.site_year) = (BetweenSites::Share(0.3), BetweenSites::Share(0.15));
    };
    let alike = |zone: &mut Zone| {
        other_animals(zone);
        zone.animals.iter_mut().for_each(|animal| spread(&mut animal.spec));
    };
    spread(&mut animals.zones[0].animals[0].spec);
    check(at_two_depths(animals, 0.9, alike), 2500, 0.05);
    let recruited = at_two_depths(recruits(8.0, 0.6), 0.9, |zone| zone.cover = 0.2);
    check_some(recruited, 300, 0.03, false);
    check(at_two_depths(corals(&[2]), 0.9, shallow_colonies), 300, 0.03);
}

fn shallow_colonies(zone: &mut Zone) {
    zone.cover = 0.2;
    zone.between_sites_sd = 0.08;
}

/// The named zone is what it was, to the last bit; the other has the law it had; nothing depends on threads.
#[test]
fn each_zone_by_itself_is_what_it_was() {
    let alone = plan(at_two_depths(on_the_reef(), 0.9, |zone| {
        shallow(zone);
        zone.same_places = None;
    }));
    let together = plan(at_two_depths(on_the_reef(), 0.9, shallow));
    let in_threads = |plan: &Plan, threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| trials(plan, 3, 64))
    };
    let (apart, shared, again) = (in_threads(&alone, 2), in_threads(&together, 2), in_threads(&together, 1));
    for design in together.all_designs() {
        for state in 0..together.states {
            let of = |outcome: &Outcome| *outcome.tally(together.index(&design), state);
            assert_eq!(of(&shared), of(&again));
            let theory = |plan: &Plan| plan.theory(&design, state);
            match design.place {
                Where::Zone(0) => assert_eq!(of(&shared), of(&apart)),
                Where::Zone(_) => {
                    assert_eq!(theory(&together), theory(&alone));
                    let (se, error) = of(&shared).standard_error();
                    assert!((se - theory(&together).total_se()).abs() < 4.5 * error);
                }
                Where::All => assert!(theory(&together).se > theory(&alone).se),
            }
        }
    }
}
