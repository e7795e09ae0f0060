//! The mean of several visits a year apart: closed forms against a law of many years drawn number by number, against the whole
//! covariance of all visits, and against what they must come to at the ends.

mod common;

use common::studies::{change, components, plan, points, study, study_by_components, urchins};
use common::{assert_near, assert_relative};
use reefwright::analysis::counts::Totals;
use reefwright::analysis::transforms::Scale;
use reefwright::analysis::{CriticalT, Tail};
use reefwright::design::*;
use reefwright::engine::Plan;
use reefwright::survey::MethodKind;
use reefwright::theory::occasions::{ByYears, Occasions};
use reefwright::theory::{CoralPairs, DesignTheory, UnitMoments, ZoneShare, site_pairs};

/// Standard normals of this file alone.
struct Normals(u64);

impl Normals {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((bits ^ (bits >> 31)) >> 11) as f64 / (1u64 << 53) as f64 + 1e-17
    }

    fn next(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// Moments of a reading where so many years lie between the visits.
fn at_years(study: &Study, years: f64) -> UnitMoments {
    let mut study = study.clone();
    study.visits.years_apart = years;
    plan(study).moments(0, 0).clone()
}

/// Of the mean over several visits in each period.
fn mean_of(study: &Study, occasions: Occasions) -> UnitMoments {
    let one = at_years(study, study.visits.years_apart);
    let mut even = study.clone();
    even.changes.iter_mut().for_each(|change| change.differs_between_sites_sd = None);
    let even = at_years(&even, study.visits.years_apart);
    let known = |shares: Vec<(f64, f64)>| -> Vec<(f64, UnitMoments)> {
        shares.into_iter().map(|(years, share)| (share, at_years(study, years))).collect()
    };
    let (within, across) = (known(occasions.within()), known(occasions.across()));
    fn borrowed(all: &[(f64, UnitMoments)]) -> Vec<(f64, &UnitMoments)> {
        all.iter().map(|(share, moments)| (*share, moments)).collect()
    }
    let same_marks = study.visits.places == Places::SameMarks;
    let pairs = ByYears { one: &one, even: &even, within: borrowed(&within), across: borrowed(&across) };
    pairs.mean(occasions, same_marks)
}

/// Variance of the difference of the means of one site.
fn difference(moments: &UnitMoments, state: usize, units: f64, same_marks: bool) -> f64 {
    moments.site_mean_variance(0, units) + moments.site_mean_variance(state, units)
        - 2.0 * moments.site_mean_covariance(state, units, same_marks)
}

/// The one zone of a plan, which is all of it.
fn share<'a>(
    plan: &'a Plan,
    moments: &'a UnitMoments,
    (sites, units): (usize, usize),
    comparison: Comparison,
) -> ZoneShare<'a> {
    ZoneShare { zone: &plan.study.zones[0], moments, place: None, weight: 1.0, sites, units, comparison }
}

const SITE: f64 = 20.0;
const YEAR: f64 = 7.0;
const UNIT: f64 = 24.0;
const KEPT: f64 = 0.4;
const DEPARTS: f64 = 6.0;

/// Rugosity by its components, at the same marks or at new places, with what the change does to one site more than to another.
fn rugosity(places: Places) -> Study {
    let mut study = study_by_components();
    study.visits.places = places;
    study.methods = vec![components("rugosity", 140.0, [SITE, YEAR, UNIT], &[3])];
    if let MethodKind::Components(parts) = &mut study.methods[0].kind {
        parts.same_mark_correlation = KEPT;
    }
    let change = Change { indicator: "rugosity".into(), from: 140.0, to: 132.0, ..study.changes[0].clone() };
    study.changes = vec![Change { differs_between_sites_sd: Some(DEPARTS), ..change }];
    study
}

/// One visit in each period is what it is without any of this, to the last bit but for the order of sums.
#[test]
fn one_visit_is_one_visit() {
    let mut lines = study();
    lines.methods = vec![points(10.0, 0.2, &[4])];
    lines.visits.places = Places::SameMarks;
    lines.visits.relay_sd_m = 0.3;
    for study in [rugosity(Places::SameMarks), rugosity(Places::NewPlaces), lines] {
        let same_marks = study.visits.places == Places::SameMarks;
        let one = at_years(&study, study.visits.years_apart);
        let mean = mean_of(&study, Occasions::new(1, study.visits.years_apart));
        for state in 1..one.mean.len() {
            let [as_it_is, of_mean] = [&one, &mean].map(|moments| difference(moments, state, 4.0, same_marks));
            assert_relative("difference", of_mean, as_it_is, 1e-12);
            assert_relative(
                "one visit",
                mean.site_mean_variance(state, 4.0),
                one.site_mean_variance(state, 4.0),
                1e-12,
            );
        }
    }
}

/// Sites, years, units and what is kept at marks drawn one by one for every visit: variances of site means within a period, of
/// their differences, and how often the t test sees the change.
#[test]
fn many_years_drawn_one_by_one_have_the_moments_and_the_power() {
    let (sites, units) = (9, 3);
    for places in [Places::SameMarks, Places::NewPlaces] {
        let study = rugosity(places);
        let kept = if places == Places::SameMarks { KEPT } else { 0.0 };
        let plan = plan(study.clone());
        for number in [1usize, 2, 3] {
            let moments = mean_of(&study, Occasions::new(number, study.visits.years_apart));
            let share = share(&plan, &moments, (sites, units), Comparison::Means(Scale::Plain));
            let theory = DesignTheory::new(&plan.study, &[share], 2);
            let mut normal = Normals(17 + number as u64);
            let critical = CriticalT::new(0.05, Tail::Two);
            let bound = critical.at(sites as f64 - 1.0);
            let (trials, mut seen) = (20_000, 0u32);
            let (mut of_period, mut of_difference) = (0.0, 0.0);
            for _ in 0..trials {
                let differences: Vec<f64> = (0..sites)
                    .map(|_| {
                        let (site, departs) = (SITE * normal.next(), DEPARTS * normal.next());
                        let marks: f64 =
                            (0..units).map(|_| kept.sqrt() * UNIT * normal.next()).sum::<f64>() / units as f64;
                        let mut visit = || {
                            let others = (1.0 - kept).sqrt() * UNIT;
                            let read: f64 = (0..units).map(|_| others * normal.next()).sum::<f64>() / units as f64;
                            YEAR * normal.next() + read
                        };
                        let mut period = || (0..number).map(|_| visit()).sum::<f64>() / number as f64;
                        let (first, later) = (period(), period());
                        of_period += (site + marks + first).powi(2);
                        of_difference += (departs + later - first).powi(2);
                        -8.0 + departs + later - first
                    })
                    .collect();
                let mean = differences.iter().sum::<f64>() / sites as f64;
                let square: f64 = differences.iter().map(|of| (of - mean).powi(2)).sum();
                let error = (square / (sites as f64 - 1.0) / sites as f64).sqrt();
                seen += u32::from((mean / error).abs() > bound);
            }
            let all = f64::from(trials) * sites as f64;
            // The variance of normals is known to the root of 2 / number; four of its errors.
            let tolerance = 4.0 * (2.0 / all).sqrt();
            let same_marks = places == Places::SameMarks;
            assert_relative("period", moments.site_mean_variance(0, 3.0), of_period / all, tolerance);
            assert_relative("difference", difference(&moments, 2, 3.0, same_marks), of_difference / all, tolerance);
            let power = theory.rejects(theory.expected, &critical);
            let rate = f64::from(seen) / f64::from(trials);
            assert_near("power", power, rate, 4.0 * (rate * (1.0 - rate) / f64::from(trials)).sqrt());
        }
    }
}

/// Totals over all visits of a period, counted on sites and in years drawn one by one: variance of site means, error of the ratio,
/// and how often each test sees the change. The formulas of one visit are good to as much (`counted_tests`; k by maximum likelihood
/// wants more sites).
#[test]
fn totals_of_several_visits_have_their_error_and_their_power() {
    let (units, between) = (2, 0.4_f64);
    // Sites differ by as much in one visit, their years in it, which are half as large.
    let lasts = (between.powi(2) - (0.5 * between).powi(2)).sqrt();
    let of_year = ((1.0 + between.powi(2)) / (1.0 + lasts.powi(2)) - 1.0).sqrt();
    for (kind, again, sites) in [
        (TestKind::QuasiPoisson, Sites::Same, 14),
        (TestKind::QuasiPoisson, Sites::DrawnAnew, 14),
        (TestKind::NegativeBinomial, Sites::DrawnAnew, 30),
    ] {
        let mut study = urchins(0.6, between);
        study.changes[0].to = 0.7 * study.changes[0].from;
        (study.test.kind, study.visits.sites) = (kind, again);
        let plan = plan(study.clone());
        let reading = &plan.layout.readings[0];
        let per_visit = study.comparison("urchin", reading.dimensions, units);
        let Comparison::Totals { law, search } = per_visit else { panic!("{per_visit:?}") };
        let pairs = again == Sites::Same;
        let mut last = 0.0;
        for number in [1usize, 2, 3] {
            let moments = mean_of(&study, Occasions::new(number, study.visits.years_apart));
            let share = share(&plan, &moments, (sites, units), per_visit.over(number));
            let theory = DesignTheory::new(&plan.study, &[share], 2);
            let critical = CriticalT::new(0.05, Tail::Two);
            let mut normal = Normals(31 + number as u64);
            let (trials, mut seen) = (6_000, 0u32);
            let (mut ratio, mut square, mut of_site) = (0.0, 0.0, 0.0);
            for _ in 0..trials {
                let mut site = || factor(&mut normal, lasts);
                let first: Vec<f64> = (0..sites).map(|_| site()).collect();
                let later: Vec<f64> = if pairs { first.clone() } else { (0..sites).map(|_| site()).collect() };
                let mut totals = |richness: &[f64], per_100_m2: f64| -> Vec<f64> {
                    let mut visit = |rich: f64| {
                        let year = factor(&mut normal, of_year);
                        poisson(&mut normal, per_100_m2 * search * rich * year)
                    };
                    richness.iter().map(|&rich| (0..number).map(|_| visit(rich)).sum()).collect()
                };
                let (first, later) = (totals(&first, 60.0), totals(&later, 42.0));
                let effort = search * number as f64;
                of_site += first.iter().map(|total| (total / effort - 60.0).powi(2)).sum::<f64>();
                let of = |counts| Totals::of_equal_effort(counts, effort).unwrap();
                let test = law.log_ratio(pairs, of(&first), of(&later)).unwrap();
                ratio += test.estimate();
                square += test.estimate().powi(2);
                seen += u32::from(test.rejects(&critical, 0.0));
            }
            let all = f64::from(trials);
            let (mean, rate) = (ratio / all, f64::from(seen) / all);
            let sd = (square / all - mean * mean).sqrt();
            let power = theory.rejects(theory.expected, &critical);
            println!("{kind:?} {again:?} {number}: error {:.4} {sd:.4}, seen {power:.3} {rate:.3}", theory.se);
            assert_relative("site means", moments.site_mean_variance(0, 2.0), of_site / (all * sites as f64), 0.05);
            assert_relative("error", theory.se, sd, 0.04);
            assert_near("seen", power, rate, 0.03);
            assert!(0.1 < rate && rate < 0.99 && rate > last);
            last = rate;
        }
    }
}

/// A lognormal factor of mean 1 with so large an SD.
fn factor(normal: &mut Normals, share: f64) -> f64 {
    let variance = (1.0 + share * share).ln();
    (variance.sqrt() * normal.next() - 0.5 * variance).exp()
}

fn poisson(normal: &mut Normals, mean: f64) -> f64 {
    let (mut number, mut left) = (0.0, normal.uniform());
    let bound = (-mean).exp();
    while left > bound {
        left *= normal.uniform();
        number += 1.0;
    }
    number
}

/// Years, units and marks average out; what the change does to one site more than to another stays, whatever the number.
#[test]
fn departures_of_sites_are_what_is_left() {
    for (places, kept) in [(Places::SameMarks, KEPT), (Places::NewPlaces, 0.0)] {
        let mut last = f64::INFINITY;
        for number in [1usize, 2, 4, 32, 256] {
            let moments = mean_of(&rugosity(places), Occasions::new(number, 2.0));
            let of = difference(&moments, 2, 3.0, places == Places::SameMarks);
            let by_hand = DEPARTS.powi(2) + 2.0 * (YEAR.powi(2) + (1.0 - kept) * UNIT.powi(2) / 3.0) / number as f64;
            assert_relative("by hand", of, by_hand, 1e-10);
            assert!(of < last);
            last = of;
        }
        assert_relative("departures alone", last, DEPARTS.powi(2), 0.06);
    }
}

/// Cover with drift, renewal and years: the difference of the means by the whole covariance of all visits, put together pair by
/// pair from the law of two visits, and by draws from it (which shows that there is such a law).
#[test]
fn cover_that_drifts_has_the_contrast_of_all_its_visits() {
    for places in [Places::SameMarks, Places::NewPlaces] {
        let mut study = study();
        study.zones[0].site_year_sd = 0.03;
        study.methods = vec![points(10.0, 0.2, &[4])];
        (study.visits.years_apart, study.visits.places, study.visits.relay_sd_m) = (5.0, places, 0.3);
        let same_marks = places == Places::SameMarks;
        for number in [2usize, 3] {
            let occasions = Occasions::new(number, 5.0);
            let years: Vec<f64> = (0..2 * number)
                .map(|visit| if visit < number { visit as f64 } else { 5.0 + (visit - number) as f64 })
                .collect();
            let covariance: Vec<Vec<f64>> = years
                .iter()
                .map(|one| {
                    let with = |other: &f64| match (one - other).abs() {
                        0.0 => at_years(&study, 5.0).site_mean_variance(0, 4.0),
                        apart => at_years(&study, apart).site_mean_covariance(1, 4.0, same_marks),
                    };
                    years.iter().map(with).collect()
                })
                .collect();
            let weight = |visit: usize| if visit < number { -1.0 } else { 1.0 } / number as f64;
            let visits = 0..2 * number;
            let pairs = visits.clone().flat_map(|one| visits.clone().map(move |other| (one, other)));
            let contrast: f64 = pairs.map(|(one, other)| weight(one) * weight(other) * covariance[one][other]).sum();
            let found = difference(&mean_of(&study, occasions), 1, 4.0, same_marks);
            assert_relative("contrast", found, contrast, 1e-9);
            // One visit in each period leaves more.
            assert!(found < difference(&at_years(&study, 5.0), 1, 4.0, same_marks));
            let root = cholesky(&covariance);
            let mut normal = Normals(5);
            let draws = 100_000;
            let square: f64 = (0..draws)
                .map(|_| {
                    let of: Vec<f64> = visits.clone().map(|_| normal.next()).collect();
                    let value = |visit: usize| -> f64 { (0..=visit).map(|k| root[visit][k] * of[k]).sum() };
                    visits.clone().map(|visit| weight(visit) * value(visit)).sum::<f64>().powi(2)
                })
                .sum();
            assert_relative("drawn", square / f64::from(draws), found, 4.0 * (2.0 / f64::from(draws)).sqrt());
        }
    }
}

/// Lower triangle whose square is the matrix.
fn cholesky(matrix: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut root = vec![vec![0.0; matrix.len()]; matrix.len()];
    for row in 0..matrix.len() {
        for column in 0..=row {
            let sum: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            let left = matrix[row][column] - sum;
            assert!(row != column || left > 0.0, "no law has these covariances: {matrix:?}");
            root[row][column] = if row == column { left.sqrt() } else { left / root[column][column] };
        }
    }
    root
}

/// Two visits under the same change are in no law of two visits: what is taken for them, against the law of the reef with the
/// changed cover, and with what the change did to each site, at both.
#[test]
fn two_visits_under_one_change_are_near_the_law_of_the_changed_reef() {
    let mut study = study();
    study.zones[0].site_year_sd = 0.03;
    study.methods = vec![points(10.0, 0.2, &[4])];
    study.visits.years_apart = 5.0;
    for (to, differs) in [(0.22, None), (0.14, None), (0.22, Some(0.05)), (0.34, None)] {
        study.changes = vec![Change { differs_between_sites_sd: differs, ..change(0.28, to) }];
        let mut next_year = study.clone();
        next_year.visits.years_apart = 1.0;
        let plan = plan(next_year);
        let theory = plan.theories[0].law().unwrap();
        let mut law = theory.law.clone();
        // What the change did to a site lasts.
        law.site_sd = law.site_sd.hypot(law.states[2].change_sd);
        law.states[2].change_sd = 0.0;
        law.states = vec![law.states[2]; 3];
        let (distances, pairs) = (site_pairs(100.0, 20.0), CoralPairs::new(&law, &theory.shape));
        let square = pairs.bare(2).powi(2);
        let (exact, alone) = (pairs.truth_across(2, &distances) - square, pairs.truth_within(2, &distances) - square);
        // The mean of two visits is half of what one varies and half of what both share.
        let mean = mean_of(&study, Occasions::new(2, 5.0));
        let of_one = plan.moments(0, 0).site_truth[2];
        assert_relative("alone", of_one, alone, 1e-9);
        let taken = 2.0 * mean.site_truth[2] - of_one;
        println!("to {to}, {differs:?}: taken {:.4}, exact {:.4} of one visit", taken / alone, exact / alone);
        assert_near("under the change", taken / alone, exact / alone, 0.005);
    }
}
