//! Units laid by each rule of placement against what theory says they share. Tolerance: 4 simulation errors.

use super::plan::Plan;
use super::sheet::Sheet;
use super::survey_site::Scratch;
use crate::analysis::{Measured, Moments, covariance_measured};
use crate::design::*;
use crate::random::{Key, Purpose};
use crate::reef::{NamedReef, Visit};
use crate::survey::*;
use crate::theory::ZoneTheory;
use rayon::prelude::*;

/// A small, patchy site, so that it matters where lines lie: 8 m lines and belts, two and six of them.
pub(super) fn study(placement: Placement, places: Places) -> Study {
    let reef = NamedReef::RubbleSlope;
    let minutes = UnitMinutes { lay: 1.0, read: 1.0, ashore: None };
    let method = |kind| MethodSpec { kind, units: vec![2, 6], minutes };
    Study {
        title: "placement".into(),
        scope: Scope::AllSuchReefs,
        question: Question::BetweenTheseVisits,
        test: TestSpec { kind: TestKind::PairedT, scale: SiteScale::Plain, alpha: 0.05, sides: Sides::Two, seen: 0.8 },
        visits: Visits {
            years_apart: 2.0,
            sites: Sites::Same,
            places,
            relay_sd_m: 0.3,
            renewal_per_year: 0.06,
            drift_years: 12.0,
        },
        observers: Observers::perfect(),
        zones: vec![Zone {
            name: "slope".into(),
            sites: vec![2],
            reef_name: reef.name().into(),
            between_sites_sd: 0.1,
            ..Zone::bare(reef.spec(), (40.0, 12.0), 0.2)
        }],
        changes: vec![],
        methods: vec![
            method(MethodKind::PointIntercept { length_m: vec![8.0], spacing_m: vec![0.25] }),
            method(MethodKind::LineIntercept { length_m: vec![8.0, 5.0] }),
            method(MethodKind::PhotoBelt { length_m: vec![8.0], width_m: vec![0.8], points: vec![80] }),
        ],
        placement,
        also_report: vec![],
    }
}

/// For every column: the readings of its units on each site, at the first visit and the second.
fn surveyed(plan: &Plan, number: u64, seed: u64) -> Vec<Vec<[Vec<f64>; 2]>> {
    let survey = plan.survey(0);
    let of_site = |site: u64| -> Vec<[Vec<f64>; 2]> {
        let key = Key::seed(seed).child(Purpose::Site, site);
        let mut sheet = Sheet::new(&plan.layout, plan.states);
        let mut scratch = Scratch::default();
        let mut reef = survey.reef.site(key);
        survey.read(key, &mut reef, Visit::First, &mut sheet, &mut scratch);
        survey.read(key, &mut reef, Visit::Second, &mut sheet, &mut scratch);
        let columns = plan.layout.columns.iter().enumerate();
        columns.map(|(c, column)| [0, 1].map(|state| sheet.units(c, state)[..column.units].to_vec())).collect()
    };
    (0..number).into_par_iter().map(of_site).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sample variance of values.
fn variance(values: &[f64]) -> f64 {
    let about = mean(values);
    values.iter().map(|value| (value - about).powi(2)).sum::<f64>() / (values.len() - 1) as f64
}

fn assert_follows(what: &str, measured: Measured, exact: f64) {
    let errors = measured.errors_from(exact);
    println!("{what}: {:.5} ({:.5}), theory {exact:.5}, {errors:.2} errors apart", measured.value, measured.error);
    assert!(errors < 4.0, "{what}: {measured:?}, theory {exact}");
}

fn follows_theory(placement: Placement, places: Places, sites: u64, seed: u64) {
    let study = study(placement, places);
    let theory = ZoneTheory::new(&study, &study.zones[0]).expect("a reef within reach");
    let plan = Plan::new(study, vec![theory]);
    let surveyed = surveyed(&plan, sites, seed);
    for (c, column) in plan.layout.columns.iter().enumerate() {
        let moments = plan.moments(0, column.reading);
        let numbers = &plan.layout.readings[column.reading].units[column.choices.clone()];
        for &n in numbers {
            let of_sites = |f: &dyn Fn(&[Vec<f64>; 2]) -> f64| -> Vec<f64> {
                surveyed.iter().map(|site| f(&[0, 1].map(|visit| site[c][visit][..n].to_vec()))).collect()
            };
            let units = n as f64;
            let dimensions = plan.layout.readings[column.reading].dimensions.label();
            let what = |part: &str| format!("{}, {places:?}, {dimensions}, {n} units: {part}", placement.label());
            let first = of_sites(&|units| mean(&units[0]));
            let second = of_sites(&|units| mean(&units[1]));
            let of_mean = Moments::of(&first).variance_measured();
            assert_follows(&what("mean of a site"), of_mean, moments.site_mean_variance(0, units));
            let within = Moments::of(&of_sites(&|units| variance(&units[0]))).mean_measured();
            assert_follows(&what("within a site"), within, moments.within_site(0, units));
            let marks = places == Places::SameMarks;
            let shared = moments.site_mean_covariance(1, units, marks);
            assert_follows(&what("two visits"), covariance_measured(&first, &second), shared);
            if marks {
                let differences = |units: &[Vec<f64>; 2]| -> f64 {
                    variance(&units[0].iter().zip(&units[1]).map(|(one, other)| one - other).collect::<Vec<_>>())
                };
                let within = Moments::of(&of_sites(&differences)).mean_measured();
                assert_follows(&what("differences in a site"), within, moments.within_site_difference(1, units));
            }
            // Units of a systematic layout are no fair choice of pairs; of the others any two are.
            if placement.few_from_many() {
                let (one, other) = (of_sites(&|units| units[0][0]), of_sites(&|units| units[0][n - 1]));
                assert_follows(&what("two units"), covariance_measured(&one, &other), moments.pair_of(0, units));
            }
        }
    }
}

const LAYOUTS: [(LineLayout, Heading); 8] = [
    (LineLayout::RandomStarts, Heading::Along),
    (LineLayout::RandomStarts, Heading::Across),
    (LineLayout::RandomStarts, Heading::Any),
    (LineLayout::LeastGap { gap_m: 1.5 }, Heading::Along),
    (LineLayout::LeastGap { gap_m: 4.0 }, Heading::Across),
    (LineLayout::LeastGap { gap_m: 2.0 }, Heading::Any),
    (LineLayout::Systematic, Heading::Along),
    (LineLayout::Systematic, Heading::Across),
];

fn every_layout(sites: u64) {
    for (seed, (layout, heading)) in LAYOUTS.into_iter().enumerate() {
        for places in [Places::NewPlaces, Places::SameMarks] {
            follows_theory(Placement { layout, heading }, places, sites, 700 + seed as u64);
        }
    }
}

/// At new places and at the same marks in turn.
#[test]
fn every_layout_follows_its_theory() {
    for (index, (layout, heading)) in LAYOUTS.into_iter().enumerate().skip(1) {
        let places = if index % 2 == 0 { Places::NewPlaces } else { Places::SameMarks };
        follows_theory(Placement { layout, heading }, places, 250, 800 + index as u64);
    }
}

#[test]
#[ignore = "the same with 12,000 sites each: some minutes"]
fn every_layout_follows_its_theory_on_many_sites() {
    every_layout(12_000);
}

/// Where lines lie matters here, so that the test above has something to see.
#[test]
fn spreading_lines_over_a_patchy_site_makes_its_mean_surer() {
    let variance = |layout| {
        let study = study(Placement { layout, heading: Heading::Across }, Places::NewPlaces);
        let theory = ZoneTheory::new(&study, &study.zones[0]).expect("a reef within reach");
        let dimensions = Dimensions::LineIntercept { length_m: 8.0 };
        let moments = theory.moments(&study, &study.zones[0], HARD_CORAL, dimensions);
        moments.site_mean_variance(0, 6.0) - moments.site_truth[0]
    };
    let random = variance(LineLayout::RandomStarts);
    let gap = variance(LineLayout::LeastGap { gap_m: 4.0 });
    let systematic = variance(LineLayout::Systematic);
    println!("variance about the truth: random {random}, gap {gap}, systematic {systematic}");
    assert!(systematic < gap && gap < 0.9 * random, "{random} {gap} {systematic}");
}
