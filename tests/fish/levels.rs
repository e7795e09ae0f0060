//! How often tests of fish counts find a change where there is none.

use super::common::studies::{plan, trials};
use super::groups::{self, BARRACUDA, JACKS, PARROTFISH, group};
use reefwright::design::*;
use reefwright::engine::{DesignIndex, Where};
use std::collections::BTreeMap;

const LN: SiteScale = SiteScale::Ln { plus: Plus::OfSearch };
const ROOT: SiteScale = SiteScale::SquareRoot { plus: Plus::OfSearch };
const SITES: usize = 8;

/// A test of the table and whether its sites are pairs.
#[derive(Clone, Copy)]
struct Case {
    name: &'static str,
    kind: TestKind,
    scale: SiteScale,
    sites: Sites,
}

const fn paired(name: &'static str, kind: TestKind, scale: SiteScale) -> Case {
    Case { name, kind, scale, sites: Sites::Same }
}

const CASES: [Case; 6] = [
    paired("t", TestKind::PairedT, SiteScale::Plain),
    paired("t of ln", TestKind::PairedT, LN),
    paired("t of root", TestKind::PairedT, ROOT),
    paired("permutation", TestKind::Permutation, SiteScale::Plain),
    paired("quasi-Poisson", TestKind::QuasiPoisson, SiteScale::Plain),
    Case {
        name: "negative binomial",
        kind: TestKind::NegativeBinomial,
        scale: SiteScale::Plain,
        sites: Sites::DrawnAnew,
    },
];

/// Shares of trials in which each test rejects, and in which it has no answer, for each indicator: a common group, one in
/// schools and a rare one on eight sites of four belts, whose sites differ by a half of the mean and move by a quarter.
fn rates(case: &Case, also_report: &[&str], number: u64) -> BTreeMap<String, (f64, f64)> {
    let groups = [PARROTFISH, JACKS, BARRACUDA].map(|of| group(of, 0.5, 0.25));
    let mut study = groups::study(groups.to_vec(), &[4]);
    study.changes.truncate(1);
    study.zones[0].sites = vec![SITES];
    study.also_report = also_report.iter().map(|name| (*name).to_owned()).collect();
    (study.test.kind, study.test.scale, study.visits.sites) = (case.kind, case.scale, case.sites);
    let plan = plan(study);
    let outcome = trials(&plan, 71, number);
    let of = |reading: usize| {
        let design = DesignIndex { reading, units: 0, sites: 0, place: Where::Zone(0) };
        let tally = outcome.tally(plan.index(&design), 1);
        let name = plan.layout.readings[reading].indicator.name().to_owned();
        (name, (tally.rejection().value(), tally.degenerate as f64 / number as f64))
    };
    (0..plan.layout.readings.len()).map(of).collect()
}

/// The level of each test lies in its range, and beyond it by 4 simulation errors at most. On eight sites the negative binomial
/// rejects 7 times in 100 and quasi-Poisson 6, where both say 5. Of a group that eight sites hardly meet, tests of totals have
/// no answer four times in ten and every test hardly ever rejects.
fn levels_are_as_told(number: u64) {
    // Ranges of the share of rejections for a common group, one in schools and a rare one.
    let told: [[(f64, f64); 3]; 6] = [
        [(0.037, 0.05), (0.03, 0.05), (0.01, 0.03)],
        [(0.04, 0.055), (0.04, 0.055), (0.01, 0.03)],
        [(0.04, 0.055), (0.04, 0.055), (0.01, 0.03)],
        [(0.035, 0.05), (0.025, 0.05), (0.0, 0.005)],
        [(0.045, 0.07), (0.045, 0.07), (0.0, 0.005)],
        [(0.06, 0.085), (0.055, 0.08), (0.0, 0.005)],
    ];
    for (case, ranges) in CASES.iter().zip(told) {
        let rates = rates(case, &[], number);
        println!("{}: {rates:?}", case.name);
        for ((group, _, _), (least, most)) in [PARROTFISH, JACKS, BARRACUDA].iter().zip(ranges) {
            let (rate, no_answer) = rates[*group];
            let is_rare_total = *group == BARRACUDA.0 && case.kind.law_of_counts().is_some();
            assert!(if is_rare_total { no_answer > 0.25 } else { no_answer < 0.12 }, "{}: {no_answer}", case.name);
            let error = |level: f64| 4.0 * (level * (1.0 - level) / number as f64).sqrt();
            let what = format!("{} of {group}: {rate}", case.name);
            assert!(rate <= most + error(most) && rate >= least - error(least), "{what}");
        }
    }
}

#[test]
fn tests_of_fish_counts_hold_the_levels_that_are_told() {
    levels_are_as_told(300);
}

#[test]
#[ignore = "4,000 trials of each test: a minute"]
fn tests_of_fish_counts_hold_the_levels_that_are_told_in_many_trials() {
    levels_are_as_told(4_000);
}

/// Biomass, a sum over fish of cubes of their lengths: by t as it is, and on ln with a kg per ha added to the mean of a site.
fn biomass_holds_its_level(number: u64) {
    let names = ["parrotfish_biomass", "jacks_biomass"];
    for (scale, least) in [(SiteScale::Plain, 0.01), (SiteScale::Ln { plus: Plus::Value(1.0) }, 0.02)] {
        let case = paired("biomass", TestKind::PairedT, scale);
        let rates = rates(&case, &names, number);
        println!("{scale:?}: {rates:?}");
        for name in names {
            let (rate, _) = rates[name];
            let error = |level: f64| 4.0 * (level * (1.0 - level) / number as f64).sqrt();
            assert!(rate < 0.055 + error(0.055) && rate > least - error(least), "{name} {scale:?}: {rate}");
        }
    }
}

#[test]
fn tests_of_biomass_hold_their_level() {
    biomass_holds_its_level(300);
}

#[test]
#[ignore = "4,000 trials: some seconds"]
fn tests_of_biomass_hold_their_level_in_many_trials() {
    biomass_holds_its_level(4_000);
}
