//! Layouts in whole studies: the same bytes on any number of threads, designs that do not depend on those beside them,
//! numbers that fit the site, and what the report says of lines that are not independent.

mod common;

use common::studies::{belts, intercepts, plan, points, study, trials, urchins};
use reefwright::design::{Places, Scope, Study, TestKind};
use reefwright::engine::{Plan, Until, Watch};
use reefwright::planner::{Answer, Effort, HowMany, solve};
use reefwright::reef::{AnimalPatches, Category, Groups, NamedReef, PatchLaw};
use reefwright::survey::{Heading, LineLayout, Placement};
use std::sync::atomic::AtomicBool;

const LAYOUTS: [(LineLayout, Heading); 4] = [
    (LineLayout::RandomStarts, Heading::Any),
    (LineLayout::LeastGap { gap_m: 2.0 }, Heading::Across),
    (LineLayout::LeastGap { gap_m: 2.0 }, Heading::Any),
    (LineLayout::Systematic, Heading::Along),
];

/// Tapes of two lengths and belts, with a category that is read at the same points.
fn laid(layout: LineLayout, heading: Heading) -> Study {
    let mut study = study();
    study.placement = Placement { layout, heading };
    study.zones[0].sites = vec![2, 3];
    study.zones[0].categories =
        vec![Category { name: "macroalgae".into(), cover: 0.3, between_sites_sd: 0.05, scale_m: 0.3 }];
    study.also_report = vec!["macroalgae".into()];
    study.methods = vec![points(10.0, 0.25, &[1, 2, 4]), intercepts(6.0, &[2, 3]), belts(10.0, 0.4, 40, &[2, 4])];
    study
}

fn on_threads(threads: usize, plan: &Plan) -> String {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    pool.install(|| format!("{:?}", trials(plan, 51, 20)))
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    for (layout, heading) in LAYOUTS {
        let plan = plan(laid(layout, heading));
        assert_eq!(on_threads(1, &plan), on_threads(3, &plan), "{layout:?} {heading:?}");
    }
}

/// A systematic layout of n lines is the same whatever other numbers and methods are compared; so is one at random starts.
#[test]
fn a_design_does_not_depend_on_those_beside_it() {
    for (layout, heading) in [(LineLayout::Systematic, Heading::Across), (LineLayout::RandomStarts, Heading::Any)] {
        let large = laid(layout, heading);
        let mut small = large.clone();
        small.zones[0].sites = vec![2];
        small.also_report.clear();
        small.methods = vec![points(10.0, 0.25, &[2])];
        let (large, small) = (plan(large), plan(small));
        let (many, few) = (trials(&large, 52, 10), trials(&small, 52, 10));
        let is_same = |design: &reefwright::engine::DesignIndex| {
            large.layout.readings[design.reading].units[design.units] == 2 && design.sites == 0
        };
        let same = large.all_designs().find(is_same).unwrap();
        let design = small.all_designs().next().unwrap();
        for state in 0..large.states {
            let (one, other) = (many.tally(large.index(&same), state), few.tally(small.index(&design), state));
            // A classified reading of hard coral counts the same discs as an unclassified one.
            assert_eq!(one, other, "{layout:?}");
        }
    }
}

fn answer(plan: &Plan) -> Answer {
    let never = AtomicBool::new(false);
    let effort = Effort { seed: 1, until: Until::Trials(60), confirm_error: Some(0.1), with_range: false };
    solve(plan, &effort, &Watch { progress: &|_, _| (), interrupted: &never })
}

/// One patchy reef by itself, whose lines are the replicates.
fn one_reef(layout: LineLayout) -> Plan {
    let mut study = study();
    study.scope = Scope::EachReef;
    study.test.kind = TestKind::WelchT;
    study.placement = Placement { layout, heading: Heading::Across };
    let zone = &mut study.zones[0];
    zone.reef = NamedReef::PatchyForeReef.spec();
    (zone.length_m, zone.width_m, zone.sites) = (60.0, 20.0, vec![1]);
    zone.between_sites_sd = 0.12;
    study.methods = vec![intercepts(10.0, &[2, 6])];
    plan(study)
}

#[test]
fn dependent_lines_as_replicates_are_told_with_their_bias() {
    let told = |layout| answer(&one_reef(layout)).warnings.iter().any(|warning| warning.what.contains("with a bias"));
    assert!(told(LineLayout::Systematic));
    assert!(told(LineLayout::LeastGap { gap_m: 3.0 }));
    assert!(!told(LineLayout::RandomStarts));
    let mut many = laid(LineLayout::Systematic, Heading::Along);
    many.zones[0].categories.clear();
    assert!(!answer(&plan(many)).warnings.iter().any(|warning| warning.what.contains("with a bias")));
}

/// Sixty metres have room for thirteen lines across that keep a gap of 5 m: no more is ever asked for, whatever the power
/// there.
#[test]
fn no_more_units_are_asked_for_than_fit() {
    let plan = one_reef(LineLayout::LeastGap { gap_m: 5.0 });
    let fits = plan.study.ground(&plan.study.zones[0]).most_units(10.0, 0.0).unwrap();
    assert_eq!(fits, 13);
    let ask = HowMany::all(&plan)[0];
    assert_eq!(ask.most_units(&plan), fits);
    for needed in answer(&plan).needed {
        for units in [needed.units, needed.units_low, needed.units_high, needed.theory_units] {
            assert!(units.is_none_or(|units| units <= fits), "{needed:?}");
        }
        assert!(needed.confirmed.iter().all(|(units, _, _)| *units <= fits));
    }
}

#[test]
fn a_crowded_site_is_told() {
    let told = |layout| answer(&one_reef(layout)).warnings.iter().any(|warning| warning.what.contains("lie in rows"));
    assert!(!told(LineLayout::LeastGap { gap_m: 5.0 }));
    assert!(told(LineLayout::LeastGap { gap_m: 12.0 }));
}

/// Urchins in groups and in patches of a few metres, on sites of 30 x 10 m, in belts of 10 x 1 m that are kept apart: the
/// standard error of trials is that of theory, and theory without the layout would be off.
#[test]
fn animals_in_belts_kept_apart_vary_as_theory_says() {
    let mut refuted = false;
    for (layout, places) in [
        (LineLayout::LeastGap { gap_m: 1.0 }, Places::NewPlaces),
        (LineLayout::Systematic, Places::NewPlaces),
        (LineLayout::Systematic, Places::SameMarks),
    ] {
        let mut study = urchins(1.0, 0.5);
        study.placement = Placement { layout, heading: Heading::Along };
        study.visits.places = places;
        study.visits.relay_sd_m = 0.2;
        let spec = &mut study.zones[0].animals[0].spec;
        spec.groups = Some(Groups { mean_size: 4.0, spread_m: 0.5 });
        spec.patches = Some(AnimalPatches { law: PatchLaw::LogNormal { ln_sd: 0.6 }, scale_m: 3.0 });
        spec.stays = 0.5;
        // One site at a time, so that its belts and not the sites make the error.
        study.scope = Scope::EachReef;
        study.test.kind = TestKind::WelchT;
        study.zones[0].sites = vec![1];
        let mut free = study.clone();
        free.placement = Placement::default();
        let (plan, free) = (plan(study), plan(free));
        let outcome = trials(&plan, 54, 1500);
        for (design, other) in plan.all_designs().zip(free.all_designs()) {
            for state in 0..plan.states {
                let tally = outcome.tally(plan.index(&design), state);
                let (se, error) = tally.standard_error();
                let (exact, without) = (plan.theory(&design, state).total_se(), free.theory(&other, state).total_se());
                println!(
                    "{layout:?} {places:?} {design:?} {state}: {se:.4} +- {error:.4}, theory {exact:.4}, free {without:.4}"
                );
                // Fields are lognormal to the second moment only: one in a hundred on top.
                assert!((se - exact).abs() < 4.0 * error + 0.01 * exact, "{layout:?} {design:?} {state}");
                assert!((exact / without - 1.0).abs() > 0.02, "{layout:?}: the layout hardly matters here");
                refuted |= (se - without).abs() > 4.0 * error;
            }
        }
    }
    assert!(refuted, "trials do not tell theory with the layout from theory without");
}
