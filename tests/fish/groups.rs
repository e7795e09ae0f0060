//! Groups of fish and belts to count them in, from the numbers of a table.

use super::common::studies::{self, belts};
use reefwright::design::*;
use reefwright::reef::fish::{FishLengths, FishSpec, LengthWeight, Movement, SchoolLaw, Sighting};
use reefwright::reef::{AnimalSpec, BetweenSites, Sizes};
use reefwright::survey::fish_sheet::{ClassValue, LengthReader, WidthReader};
use reefwright::survey::swim::{CountingRule, FishCount};
use reefwright::survey::*;

/// A belt of 30 x 2 m, m2.
pub const BELT_M2: f64 = 60.0;

/// Name, fish per belt, k.
pub type Measured = (&'static str, f64, f64);

/// Fish per belt of 30 x 2 m and the k of their negative binomial law within a site and year. Computed from 1,141 belts of 114
/// site-years of Little Cayman, 1999 to 2023 (open data of J. V. Johnson; maximum likelihood, common k, site-year means free).
pub const PARROTFISH: Measured = ("parrotfish", 16.9, 4.69);
pub const SURGEONFISH: Measured = ("surgeonfish", 6.06, 4.67);
pub const GROUPER: Measured = ("grouper", 1.35, 3.81);
pub const SNAPPER: Measured = ("snapper", 2.81, 0.50);
pub const JACKS: Measured = ("jacks", 1.07, 0.31);
pub const BARRACUDA: Measured = ("barracuda", 0.054, 0.20);

/// Fish that stay and are all seen, of whom independent belts have a negative binomial number: schools in points whose sizes
/// are a logarithmic series of p = m / (m + k). Spreads between sites and of a site's years as shares of the mean.
pub fn group((name, mean, k): (&str, f64, f64), between_sites: f64, site_year: f64) -> FishGroup {
    let places = AnimalSpec {
        density_per_m2: mean / BELT_M2,
        groups: None,
        patches: None,
        between_sites: BetweenSites::Share(between_sites),
        site_year: BetweenSites::Share(site_year),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    };
    let spec = FishSpec {
        places,
        schools: SchoolLaw::Logarithmic { p: mean / (mean + k) },
        spread_m: 0.0,
        lengths: FishLengths { mean_cm: 20.0, cv: 0.3, alike_in_school: 0.5 },
        weight: LengthWeight { a: 0.02, b: 3.0 },
        movement: Movement::Still,
        sighting: Sighting::ALL,
    };
    FishGroup::new(name.into(), spec)
}

/// These groups in belts of 30 x 2 m on small sites of which nothing else is looked at, each halved by a change of its own.
pub fn study(groups: Vec<FishGroup>, units: &[usize]) -> Study {
    let mut study = studies::study_by_components();
    (study.zones[0].length_m, study.zones[0].width_m) = (60.0, 20.0);
    study.changes = groups.iter().map(|group| halved(&group.name, 100.0 * group.spec.places.density_per_m2)).collect();
    study.zones[0].fish = groups;
    let lengths = LengthReader { bias: 0.0, cv: 0.1, classes: None, value: ClassValue::Midpoint };
    let width = WidthReader { error: 0.0, sd: 0.0 };
    let count = FishCount { width, left_by_others: 1.0, lengths, visibility_m: None };
    let kind = MethodKind::FishBelt {
        length_m: vec![30.0],
        width_m: vec![2.0],
        swim_minutes: vec![7.0],
        rule: CountingRule::Abreast,
        count,
        way_back: None,
    };
    study.methods = vec![MethodSpec { kind, ..belts(30.0, 2.0, 1, units) }];
    study
}

fn halved(indicator: &str, from: f64) -> Change {
    Change { indicator: indicator.into(), from, to: 0.5 * from, differs_between_sites_sd: None, deaths: None }
}
