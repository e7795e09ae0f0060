//! Fish that are seen otherwise at the second visit: what that looks like, by formula and by simulation.

use super::common::studies::{plan, trials};
use super::{check, group, study};
use reefwright::design::*;
use reefwright::engine::{DesignIndex, Until, Watch, Where};
use reefwright::planner::{Effort, solve};
use reefwright::reef::fish::{Movement, SchoolLaw, Sighting};
use std::sync::atomic::AtomicBool;

/// Shy fish that come to look later, fish that are seen less far, and fish that stay as they are.
fn bolder() -> Study {
    let mut study = study(Places::NewPlaces);
    let fish = &mut study.zones[0].fish;
    fish[0].spec.sighting.shy = 0.7;
    fish[0].spec.sighting.shy_m = 2.0;
    fish[0].later_sighting = Some(Sighting { shy: -0.4, ..fish[0].spec.sighting });
    fish[1].later_sighting = Some(Sighting { scale_m: Some(1.5), seen: 0.8, ..fish[1].spec.sighting });
    study
}

/// Means and standard errors of all indicators in all states are those of theory, the change that is none included.
#[test]
fn fish_that_are_seen_otherwise_at_the_second_visit() {
    check(bolder(), 150);
}

/// Where nothing changed, what is told of fish that grow bolder rises by the ratio of what is seen of them across the belt; a
/// test takes it for a change; and the answer says so.
#[test]
fn what_behaviour_looks_like() {
    let mut study = study(Places::NewPlaces);
    let mut fish = group("parrotfish", 12.0, SchoolLaw::Alone, Movement::Still);
    fish.spec.sighting = Sighting { shy: 0.8, shy_m: 1.5, ..Sighting::ALL };
    let open = Sighting { shy: 0.0, ..fish.spec.sighting };
    study.zones[0].fish = vec![FishGroup { later_sighting: Some(open), ..fish.clone() }];
    study.also_report.clear();
    study.changes = vec![Change {
        indicator: "parrotfish".into(),
        from: 12.0,
        to: 6.0,
        differs_between_sites_sd: None,
        deaths: None,
    }];
    study.methods.truncate(1);
    let of = |study: &Study| {
        let plan = plan(study.clone());
        let outcome = trials(&plan, 7, 250);
        let reading = plan.layout.readings.iter().position(|reading| reading.indicator.name() == "parrotfish").unwrap();
        let design = DesignIndex { reading, units: 1, sites: 0, place: Where::Zone(0) };
        let (apparent, error) = outcome.tally(plan.index(&design), 1).bias();
        (apparent, error, outcome.tally(plan.index(&design), 1).rejection().value(), plan.moments(0, reading).mean[0])
    };
    let (apparent, error, alarms, first) = of(&study);
    let across = |sighting: &Sighting| sighting.mean_over_width(2.0, f64::INFINITY);
    let ratio = across(&open) / across(&fish.spec.sighting);
    println!("{apparent} +- {error}, {first} x {ratio}, {alarms}");
    // The belts are judged a twentieth too wide, which changes the ratio a little.
    assert!(
        (apparent / first - (ratio - 1.0)).abs() < 0.02 * ratio + 4.0 * error / first,
        "{apparent} {first} {ratio}"
    );
    assert!(ratio > 1.5 && alarms > 0.3, "{ratio} {alarms}");
    let told = |study: &Study| {
        let effort = Effort { seed: 5, until: Until::Trials(20), confirm_error: None, with_range: false };
        let never = AtomicBool::new(false);
        let answer = solve(&plan(study.clone()), &effort, &Watch { progress: &|_, _| (), interrupted: &never });
        answer.warnings.iter().filter(|warning| warning.what.contains("seen otherwise")).count()
    };
    assert_eq!(told(&study), 1);
    study.zones[0].fish[0].later_sighting = None;
    let (apparent, error, alarms, _) = of(&study);
    assert!(apparent.abs() < 4.0 * error && alarms < 0.1, "{apparent} {alarms}");
    assert_eq!(told(&study), 0);
}
