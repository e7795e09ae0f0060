//! The engine against the closed forms for two visits to calibrated reefs: what is read twice at the same marks, what is
//! read elsewhere on the same site, and what is true of whole sites. Tolerance: 4 simulation errors.

mod common;

use common::assert_simulated;
use common::law::{Reef, SeenSite, Tape, simulate};
use common::studies::{change, study, zone};
use reefwright::analysis::{Measured, Moments, covariance_measured};
use reefwright::design::{Change, ColonyDeaths, HARD_CORAL, Places, StormPatches, Study};
use reefwright::reef::NamedReef;
use reefwright::survey::Dimensions;
use reefwright::theory::{UnitMoments, ZoneTheory};

const SITES: u64 = 1_500;
const REEFS: [(NamedReef, f64); 3] =
    [(NamedReef::ForeReef, 0.07), (NamedReef::RubbleSlope, 0.08), (NamedReef::DenseCoralGarden, 0.12)];

/// Same marks on one of the reefs; a fall by a quarter, and the same fall differing between sites.
fn revisited(reef: NamedReef, between_sites_sd: f64) -> Study {
    let mut study = study();
    study.zones = vec![zone(reef, between_sites_sd)];
    study.visits.places = Places::SameMarks;
    let cover = reef.typical_cover();
    let fall = change(cover, 0.75 * cover);
    let differing = Change { differs_between_sites_sd: Some(0.3 * cover), ..fall.clone() };
    study.changes = vec![fall, differing];
    study
}

fn still(mut study: Study) -> Study {
    study.visits.renewal_per_year = 0.0;
    study.visits.drift_years = f64::INFINITY;
    study
}

struct Run {
    study: Study,
    theory: ZoneTheory,
    sites: Vec<SeenSite>,
}

impl Run {
    fn new(study: Study, seed: u64, number: u64) -> Self {
        let theory = ZoneTheory::new(&study, &study.zones[0]).expect("a reef within reach");
        let (law, shape) = (theory.law.clone(), theory.shape.clone());
        let sites = simulate(&Reef { law, shape, relay_sd: study.visits.relay_sd_m }, seed, number);
        Self { study, theory, sites }
    }

    fn moments(&self, dimensions: Dimensions) -> UnitMoments {
        self.theory.moments(&self.study, &self.study.zones[0], HARD_CORAL, dimensions)
    }

    fn column(&self, unit: usize, state: usize, value: fn(&Tape) -> f64) -> Vec<f64> {
        self.sites.iter().map(|site| value(&site.tapes[unit][state])).collect()
    }

    fn truths(&self, state: usize) -> Vec<f64> {
        self.sites.iter().map(|site| site.truths[state]).collect()
    }

    /// Readings of lines and belts: mean, variance, and covariances in one visit and between two.
    fn readings_follow(&self, name: &str) {
        type Reading = (Dimensions, fn(&Tape) -> f64);
        let readings: [Reading; 4] = [
            (Dimensions::PointIntercept { length_m: 10.0, spacing_m: 0.1 }, |tape| tape.points_100),
            (Dimensions::PointIntercept { length_m: 10.0, spacing_m: 0.5 }, |tape| tape.points_20),
            (Dimensions::LineIntercept { length_m: 10.0 }, |tape| tape.intercept),
            (Dimensions::PhotoBelt { length_m: 10.0, width_m: 0.4, points: 300 }, |tape| tape.belt),
        ];
        for (dimensions, value) in readings {
            let moments = self.moments(dimensions);
            let first = self.column(0, 0, value);
            for state in 0..moments.mean.len() {
                let what = |part: &str| format!("{name}, {dimensions:?}, state {state}: {part}");
                let (one, other) = (self.column(0, state, value), self.column(1, state, value));
                let of_one = Moments::of(&one);
                assert_simulated(&what("mean"), of_one.mean_measured(), moments.mean[state], 4.0);
                assert_simulated(&what("variance"), of_one.variance_measured(), moments.variance[state], 4.0);
                let pair = covariance_measured(&one, &other);
                assert_simulated(&what("two units of one visit"), pair, moments.pair[state], 4.0);
                if state > 0 {
                    let marks = covariance_measured(&first, &one);
                    assert_simulated(&what("same marks"), marks, moments.same_marks[state], 4.0);
                    let across = covariance_measured(&first, &other);
                    assert_simulated(&what("another unit, later"), across, moments.across[state], 4.0);
                }
            }
        }
    }
}

/// SD of values with its simulation error.
fn sd(values: &[f64]) -> Measured {
    let variance = Moments::of(values).variance_measured();
    Measured { value: variance.value.sqrt(), error: variance.error / (2.0 * variance.value.sqrt()) }
}

fn differences(later: &[f64], earlier: &[f64]) -> Vec<f64> {
    later.iter().zip(earlier).map(|(later, earlier)| later - earlier).collect()
}

fn nothing_but_the_change(number: u64) {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        Run::new(still(revisited(reef, spread)), 100 + seed as u64, number).readings_follow(reef.name());
    }
}

/// A tape laid 30 cm aside, 6 % of the colonies renewed a year, patches that drift, and sites with years of their own.
fn everything_moves(number: u64) {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        let mut study = revisited(reef, spread);
        study.visits.relay_sd_m = 0.3;
        study.zones[0].site_year_sd = 0.025;
        Run::new(study, 200 + seed as u64, number).readings_follow(reef.name());
    }
}

#[test]
fn readings_where_nothing_moves_but_the_change() {
    nothing_but_the_change(SITES);
}

#[test]
fn readings_where_tapes_colonies_and_patches_move() {
    everything_moves(SITES);
}

/// Falls that strike large colonies, strike in patches, and both; with all that moves besides.
fn struck(reef: NamedReef, between_sites_sd: f64) -> Study {
    let mut study = revisited(reef, between_sites_sd);
    study.visits.relay_sd_m = 0.3;
    study.zones[0].site_year_sd = 0.025;
    let cover = reef.typical_cover();
    let fall = |odds_at_twice_the_size, patches| {
        let deaths = Some(ColonyDeaths { odds_at_twice_the_size, patches });
        Change { deaths, ..change(cover, 0.5 * cover) }
    };
    let storm = |patch_scale_m| Some(StormPatches { hit: 0.6, patch_scale_m, left_elsewhere: 0.9 });
    study.changes = vec![fall(0.4, None), fall(1.0, storm(15.0)), fall(2.5, storm(6.0))];
    study
}

fn deaths_strike(number: u64) {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        Run::new(struck(reef, spread), 500 + seed as u64, number).readings_follow(reef.name());
    }
}

#[test]
fn readings_after_deaths_by_size_and_in_patches() {
    deaths_strike(SITES);
}

#[test]
#[ignore = "the same with 12,000 sites a reef: some minutes"]
fn readings_of_many_sites() {
    nothing_but_the_change(12_000);
    everything_moves(12_000);
    deaths_strike(12_000);
}

/// A storm leaves the sites different from one another by where it struck; the truth of a site knows that.
#[test]
fn the_truth_of_sites_that_a_storm_struck() {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        let run = Run::new(still(struck(reef, spread)), 600 + seed as u64, SITES);
        let first = run.truths(0);
        for state in 2..5 {
            let what = |what: &str| format!("{}: {what} in state {state}", reef.name());
            let truths = run.truths(state);
            let measured = Moments::of(&truths).mean_measured();
            assert_simulated(&what("cover"), measured, 0.5 * reef.typical_cover(), 4.0);
            let change = sd(&differences(&truths, &first));
            // Nothing but the change moves: the site's years are in the differences too.
            let moments = run.moments(Dimensions::LineIntercept { length_m: 10.0 });
            let [own, across] = [moments.site_truth[state], moments.site_truth_across[state]];
            assert_simulated(&what("variance"), Moments::of(&truths).variance_measured(), own, 4.0);
            assert_simulated(&what("covariance"), covariance_measured(&first, &truths), across, 4.0);
            let expected = (own + moments.site_truth[0] - 2.0 * across).sqrt();
            assert_simulated(&what("SD of the change"), change, expected, 4.0);
        }
    }
}

/// The truth of a site is what its effect, its year and the along-reef field give. Its SD over sites is what was asked,
/// its means are the covers asked, and where nothing else moves the SD of the true change is what was asked, or what the
/// law implies by itself.
#[test]
fn the_truth_of_whole_sites_is_what_was_asked() {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        let run = Run::new(still(revisited(reef, spread)), 300 + seed as u64, SITES);
        let cover = reef.typical_cover();
        let name = reef.name();
        let first = run.truths(0);
        assert_simulated(&format!("{name}: spread"), sd(&first), spread, 4.0);
        for (state, cover) in [cover, cover, 0.75 * cover, 0.75 * cover].into_iter().enumerate() {
            let truths = Moments::of(&run.truths(state));
            assert_simulated(&format!("{name}: cover in state {state}"), truths.mean_measured(), cover, 4.0);
        }
        let unchanged = differences(&run.truths(1), &first);
        assert!(unchanged.iter().all(|d| d.abs() < 1e-6), "{name}: nothing moves where nothing is asked");
        let implied = run.theory.implied_change_sd[0];
        let asked = 0.3 * cover;
        assert!(implied < asked);
        for (state, expected) in [(2, implied), (3, asked)] {
            let measured = sd(&differences(&run.truths(state), &first));
            println!("{name}: SD of the true change {measured:?}, asked {expected}");
            assert_simulated(&format!("{name}: SD of the change in state {state}"), measured, expected, 4.0);
        }
    }
}

/// The site-by-year SD is how far the true cover of a site moves in a year: one year's difference has it times the root of
/// two, the drift of the along-reef field included.
#[test]
fn a_year_moves_the_truth_of_a_site_as_far_as_was_asked() {
    for (seed, (reef, spread)) in REEFS.into_iter().enumerate() {
        let mut study = revisited(reef, spread);
        study.visits.years_apart = 1.0;
        study.zones[0].site_year_sd = 0.03;
        let run = Run::new(study, 400 + seed as u64, SITES);
        assert_simulated(&format!("{}: spread", reef.name()), sd(&run.truths(0)), spread, 4.0);
        let year = differences(&run.truths(1), &run.truths(0));
        assert_simulated(reef.name(), sd(&year), 0.03 * 2.0f64.sqrt(), 4.0);
        assert_simulated(reef.name(), Moments::of(&year).mean_measured(), 0.0, 4.0);
    }
}
