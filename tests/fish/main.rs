//! Fish in whole designs: plain trials against the closed forms, and what outside formulas and real belts say of them.

mod behaviour;
#[path = "../common/mod.rs"]
mod common;
mod compared;
mod coral;
mod groups;
mod levels;
mod published;
mod told;
mod totals;

use common::studies::{self, belts, plan, trials};
use reefwright::design::*;
use reefwright::reef::fish::{FishLengths, FishSpec, LengthWeight, Movement, SchoolLaw, Sighting};
use reefwright::reef::{AnimalPatches, AnimalSpec, BetweenSites, PatchLaw, Sizes};
use reefwright::survey::fish_sheet::{ClassValue, LengthClasses, LengthReader, WidthReader};
use reefwright::survey::swim::{CountingRule, FishCount, WayBack};
use reefwright::survey::*;

fn places(density_per_100_m2: f64, patches: Option<AnimalPatches>) -> AnimalSpec {
    AnimalSpec {
        density_per_m2: 0.01 * density_per_100_m2,
        groups: None,
        patches,
        between_sites: BetweenSites::Share(0.6),
        site_year: BetweenSites::Share(0.2),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    }
}

fn group(name: &str, density_per_100_m2: f64, schools: SchoolLaw, movement: Movement) -> FishGroup {
    let spec = FishSpec {
        places: places(density_per_100_m2, None),
        schools,
        spread_m: 1.0,
        lengths: FishLengths { mean_cm: 20.0, cv: 0.3, alike_in_school: 0.5 },
        weight: LengthWeight { a: 0.02, b: 3.0 },
        movement,
        sighting: Sighting { scale_m: Some(3.0), ..Sighting::ALL },
    };
    FishGroup::new(name.into(), spec)
}

fn count() -> FishCount {
    let classes = Some(LengthClasses::of(5.0));
    FishCount {
        width: WidthReader { error: -0.05, sd: 0.1 },
        left_by_others: 1.0,
        lengths: LengthReader { bias: 0.05, cv: 0.1, classes, value: ClassValue::Midpoint },
        visibility_m: None,
    }
}

fn fish_belts(rule: CountingRule, units: &[usize]) -> MethodSpec {
    let kind = MethodKind::FishBelt {
        length_m: vec![30.0],
        width_m: vec![2.0, 5.0],
        swim_minutes: vec![8.0],
        rule,
        count: count(),
        way_back: Some(WayBack { width_m: 1.0, minutes: 6.0 }),
    };
    MethodSpec { kind, ..belts(30.0, 2.0, 1, units) }
}

fn fall(indicator: &str, from: f64, to: f64) -> Change {
    Change { indicator: indicator.into(), from, to, differs_between_sites_sd: None, deaths: None }
}

/// Groups in schools, in patches and hidden ones, by every measure.
fn study(places_at_the_second_visit: Places) -> Study {
    let mut study = studies::study();
    study.visits.places = places_at_the_second_visit;
    study.visits.relay_sd_m = 0.3;
    study.zones[0].sites = vec![8];
    study.zones[0].length_m = 200.0;
    study.zones[0].width_m = 60.0;
    let mut scrapers =
        group("parrotfish", 8.0, SchoolLaw::Logarithmic { p: 0.7 }, Movement::Straight { speed_m_s: 0.05 });
    scrapers.trophic_group = Some("scrapers".into());
    let mut grazers = group("surgeonfish", 10.0, SchoolLaw::LogNormal { median: 4.0, ln_sd: 0.7 }, Movement::Still);
    grazers.spec.places.patches = Some(AnimalPatches { law: PatchLaw::Gamma { k: 2.0 }, scale_m: 20.0 });
    grazers.spec.sighting.shy = -0.5;
    let mut hidden = group("blenny", 30.0, SchoolLaw::Alone, Movement::Still);
    hidden.hides = true;
    hidden.spec.lengths.mean_cm = 7.0;
    hidden.spec.sighting.half_seen_cm = Some(6.0);
    hidden.spec.sighting.ln_sd = 0.3;
    study.zones[0].fish = vec![scrapers, grazers, hidden];
    study.changes = vec![fall("parrotfish", 8.0, 4.0), fall("fish_biomass", 100.0, 70.0)];
    study.also_report = ["scrapers_biomass", "fish_mean_length", "parrotfish_over_25_cm", "fish_share_over_25_cm"]
        .map(String::from)
        .to_vec();
    let point =
        MethodKind::FishPointCount { radius_m: vec![7.5], minutes: vec![5.0], whole_period: true, count: count() };
    study.methods = vec![
        fish_belts(CountingRule::MovingWindow { depth_m: 2.0 }, &[2, 6]),
        MethodSpec { kind: point, ..belts(15.0, 15.0, 1, &[3]) },
    ];
    study
}

/// Mean and standard error of every design and state. `slack` for what theory gives to first order alone.
fn check(study: Study, number: u64) {
    let plan = plan(study);
    let outcome = trials(&plan, 1, number);
    for design in plan.all_designs() {
        for state in 0..plan.states {
            let theory = plan.theory(&design, state);
            let tally = outcome.tally(plan.index(&design), state);
            let (se, se_error) = tally.standard_error();
            let (bias, bias_error) = tally.bias();
            let true_value = |state: usize| -> f64 {
                let zones = plan.weights_in(design.place, design.reading);
                zones.map(|(zone, weight)| weight * plan.mean(zone, design.reading, state)).sum()
            };
            let there = true_value(state) - if state > 0 { true_value(0) } else { 0.0 };
            let told = theory.expected - there;
            let indicator = plan.layout.readings[design.reading].indicator.name().to_owned();
            let is_ratio = indicator.contains("mean_length") || indicator.contains("share");
            let what = format!(
                "{indicator} {design:?} {state}: SE {se} +- {se_error}, {}; bias {bias} +- {bias_error}, {told}",
                theory.total_se()
            );
            // Counts are skewed: the error of an SE is scaled to the one expected. Of ratios 4,000 trials found SEs 4 to 16 % below the
            // formula, and the bias of a share above a length off by 4 % of that share.
            let (slack_se, slack) = if is_ratio { (0.12, 0.05 * true_value(0)) } else { (0.012, 0.0) };
            let expected = theory.total_se();
            let allowed = 4.5 * se_error * (expected / se).max(1.0) + slack_se * expected;
            assert!((se - expected).abs() < allowed, "{what}");
            assert!((bias - told).abs() < 4.5 * bias_error + slack, "{what}");
        }
    }
}

#[test]
fn at_new_places() {
    check(study(Places::NewPlaces), 200);
}

#[test]
fn at_the_same_marks() {
    check(study(Places::SameMarks), 200);
}

#[test]
#[ignore = "4,000 trials: minutes"]
fn at_new_places_and_at_the_same_marks_in_many_trials() {
    check(study(Places::NewPlaces), 4_000);
    check(study(Places::SameMarks), 4_000);
}

/// Fish that turn and fish at home, counted all along the swim, with lines kept apart.
fn turning() -> Study {
    let mut study = study(Places::NewPlaces);
    study.placement.layout = LineLayout::Systematic;
    let turning = Movement::Turning { speed_m_s: 0.05, tau_s: 10.0 };
    let home = Movement::HomeRange { speed_m_s: 0.1, tau_s: 10.0, radius_m: 4.0 };
    study.zones[0].fish =
        vec![group("parrotfish", 8.0, SchoolLaw::Pairs, turning), group("wrasse", 6.0, SchoolLaw::Alone, home)];
    study.also_report = vec!["wrasse_biomass".into()];
    study.methods = vec![fish_belts(CountingRule::WholeSwim, &[4])];
    study
}

#[test]
fn fish_that_turn() {
    check(turning(), 120);
}

#[test]
#[ignore = "3,000 trials: minutes"]
fn fish_that_turn_in_many_trials() {
    check(turning(), 3_000);
}

/// Many belts on a small site, which overlap: fish are not in two of them, because belts are swum one after the other.
#[test]
fn belts_that_overlap_do_not_share_fish() {
    let mut study = studies::study();
    (study.zones[0].length_m, study.zones[0].width_m) = (40.0, 12.0);
    study.zones[0].fish = vec![group("parrotfish", 8.0, SchoolLaw::Alone, Movement::Still)];
    study.zones[0].fish[0].spec.places.between_sites = BetweenSites::Share(0.05);
    study.zones[0].fish[0].spec.places.site_year = BetweenSites::Share(0.02);
    study.changes = vec![fall("parrotfish", 8.0, 4.0)];
    study.methods = vec![fish_belts(CountingRule::Abreast, &[12])];
    check(study, 600);
}
