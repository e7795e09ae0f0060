//! Studies to run: one zone, one change, built up field by field.

use reefwright::design::*;
use reefwright::engine::{Outcome, Plan, Until, Watch, run};
use reefwright::reef::{AnimalSpec, BetweenSites, NamedReef, Sizes};
use reefwright::survey::*;
use reefwright::theory::ZoneTheory;
use std::sync::atomic::AtomicBool;

/// A zone of an invented place on a named reef, of typical cover.
pub fn zone(reef: NamedReef, between_sites_sd: f64) -> Zone {
    Zone {
        name: reef.name().into(),
        sites: vec![8],
        reef_name: reef.name().into(),
        between_sites_sd,
        ..Zone::bare(reef.spec(), (100.0, 20.0), reef.typical_cover())
    }
}

/// The same study for indicators by components alone: what the reef of a site would be is not looked at, so it is small.
pub fn study_by_components() -> Study {
    let mut study = study();
    study.zones[0].length_m = 5.0;
    study.zones[0].width_m = 2.5;
    study
}

/// The fore reef at 28 % with a change to 22 %: eight same sites, new places, paired t, no methods yet.
pub fn study() -> Study {
    let mut zone = zone(NamedReef::ForeReef, 0.08);
    zone.cover = 0.28;
    Study {
        title: "test".into(),
        scope: Scope::AllSuchReefs,
        question: Question::BetweenTheseVisits,
        test: TestSpec { kind: TestKind::PairedT, scale: SiteScale::Plain, alpha: 0.05, sides: Sides::Two, seen: 0.8 },
        visits: Visits {
            years_apart: 2.0,
            sites: Sites::Same,
            places: Places::NewPlaces,
            relay_sd_m: 0.0,
            renewal_per_year: 0.06,
            drift_years: 12.0,
        },
        observers: Observers::perfect(),
        zones: vec![zone],
        changes: vec![change(0.28, 0.22)],
        methods: vec![],
        placement: Placement::default(),
        also_report: vec![],
    }
}

pub fn change(from: f64, to: f64) -> Change {
    Change { indicator: HARD_CORAL.into(), from, to, differs_between_sites_sd: None, deaths: None }
}

const MINUTES: UnitMinutes = UnitMinutes { lay: 3.0, read: 12.0, ashore: None };

pub fn points(length_m: f64, spacing_m: f64, units: &[usize]) -> MethodSpec {
    let kind = MethodKind::PointIntercept { length_m: vec![length_m], spacing_m: vec![spacing_m] };
    MethodSpec { kind, units: units.to_vec(), minutes: MINUTES }
}

pub fn intercepts(length_m: f64, units: &[usize]) -> MethodSpec {
    MethodSpec { kind: MethodKind::LineIntercept { length_m: vec![length_m] }, units: units.to_vec(), minutes: MINUTES }
}

pub fn belts(length_m: f64, width_m: f64, number: usize, units: &[usize]) -> MethodSpec {
    let kind = MethodKind::PhotoBelt { length_m: vec![length_m], width_m: vec![width_m], points: vec![number] };
    MethodSpec { kind, units: units.to_vec(), minutes: MINUTES }
}

/// Urchins of so many a m2 whose sites differ by a share of that, alone and even within a site, that halve; in belts of
/// 10 x 1 m on small sites.
pub fn urchins(density_per_m2: f64, between_sites: f64) -> Study {
    let mut study = study_by_components();
    study.zones[0].length_m = 30.0;
    study.zones[0].width_m = 10.0;
    let spec = AnimalSpec {
        density_per_m2,
        groups: None,
        patches: None,
        between_sites: BetweenSites::Share(between_sites),
        site_year: BetweenSites::Share(0.5 * between_sites),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.0,
    };
    study.zones[0].animals = vec![Animal { name: "urchin".into(), spec }];
    let per_100_m2 = 100.0 * density_per_m2;
    study.changes = vec![Change { indicator: "urchin".into(), ..change(per_100_m2, 0.5 * per_100_m2) }];
    let kind = MethodKind::InvertebrateBelt { length_m: vec![10.0], width_m: vec![1.0] };
    study.methods = vec![MethodSpec { kind, units: vec![2, 4], minutes: MINUTES }];
    study
}

/// Coral belts of 10 x 1 m on small sites of a fore reef whose coral falls from 28 to 22 %.
pub fn corals(units: &[usize]) -> Study {
    let mut study = study();
    study.zones[0].length_m = 40.0;
    study.zones[0].width_m = 10.0;
    study.zones[0].between_sites_sd = 0.09;
    let (length_m, width_m, belt) = (vec![10.0], vec![1.0], coral_belt::CoralBelt::default());
    let kind = MethodKind::CoralBelt { length_m, width_m, belt, classes_m: vec![], growth_m: 0.015 };
    study.methods = vec![MethodSpec { kind, units: units.to_vec(), minutes: MINUTES }];
    study
}

/// Recruits of so many a m2 of free bottom whose sites differ by a share of that, alone and even within a site, that fall to
/// two thirds; lines of ten quadrats of 50 x 50 cm.
pub fn recruits(density_per_m2: f64, between_sites: f64) -> Study {
    let mut study = corals(&[1]);
    let spec = AnimalSpec { density_per_m2, ..urchins(1.0, between_sites).zones[0].animals[0].spec.clone() };
    study.zones[0].recruits = Some(Recruits { spec, cannot_live_on: vec![] });
    study.changes = vec![Change { indicator: RECRUIT_DENSITY.into(), ..change(6.0, 4.0) }];
    let kind = MethodKind::RecruitQuadrats { length_m: vec![10.0], quadrat_m: vec![0.5], every_m: vec![1.0] };
    study.methods = vec![MethodSpec { kind, units: vec![2, 4], minutes: MINUTES }];
    study
}

/// An indicator by its components alone: mean, SD between sites, site by year and between units.
pub fn components(indicator: &str, mean: f64, sds: [f64; 3], units: &[usize]) -> MethodSpec {
    let parts = Components {
        indicator: indicator.into(),
        unit: "share".into(),
        mean,
        scale: Scale::Plain,
        between_sites_sd: sds[0],
        site_year_sd: sds[1],
        between_units_sd: sds[2],
        same_mark_correlation: 0.0,
        floor: None,
    };
    MethodSpec { kind: MethodKind::Components(parts), units: units.to_vec(), minutes: MINUTES }
}

pub fn plan(study: Study) -> Plan {
    let theories = study.zones.iter().map(|zone| ZoneTheory::new(&study, zone).expect("a reef within reach")).collect();
    Plan::new(study, theories)
}

pub fn trials(plan: &Plan, seed: u64, number: u64) -> Outcome {
    trials_of_set(plan, (seed, 0), number)
}

pub fn trials_of_set(plan: &Plan, (seed, set): (u64, u64), number: u64) -> Outcome {
    let never = AtomicBool::new(false);
    run(plan, seed, set, Until::Trials(number), &Watch { progress: &|_, _| (), interrupted: &never })
}
