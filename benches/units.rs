//! What a unit of every method costs as the engine reads it: laid, walked and written down at both visits in all states,
//! the site's effects and fields included. `cargo bench --bench units`. By the side of a square site, to show that a reef
//! costs what is looked at.

#[allow(dead_code)]
#[path = "../tests/common/studies.rs"]
mod studies;

use reefwright::design::{Animal, COLONY_DENSITY, Change, RECRUIT_DENSITY, Recruits, Study};
use reefwright::engine::{Scratch, Sheet};
use reefwright::random::{Key, Purpose};
use reefwright::reef::{AnimalPatches, AnimalSpec, BetweenSites, Groups, PatchLaw, Sizes, Visit};
use reefwright::survey::coral_belt::CoralBelt;
use reefwright::survey::{Frame, MethodKind, MethodSpec, Placed, UnitMinutes};
use std::hint::black_box;
use std::time::Instant;

const SITES: u64 = 4;
const UNITS: usize = 12;
const PASSES: usize = 150;

fn main() {
    let sides = [30.0, 100.0, 300.0, 1000.0, 3000.0];
    println!("microseconds a unit and visit on a fore reef of 20 %, by the side of a square site: one thread, best of");
    println!("{PASSES} passes over {SITES} sites of {UNITS} units, visits 1 and 2 (two states), sites included\n");
    let columns: String = sides.iter().map(|side| format!("{side:7.0} m")).collect();
    println!("{:58}{columns}", "");
    for (name, study) in methods() {
        let costs: String = sides.iter().map(|&side| format!("{:9.2}", cost(&study, side))).collect();
        println!("{name:58}{costs}");
    }
}

/// Microseconds a unit and visit.
fn cost(study: &Study, side: f64) -> f64 {
    let mut study = study.clone();
    (study.zones[0].length_m, study.zones[0].width_m) = (side, side);
    let plan = studies::plan(study);
    let survey = plan.survey(0);
    let (mut sheet, mut scratch) = (Sheet::new(&plan.layout, plan.states), Scratch::default());
    let mut pass = || {
        let start = Instant::now();
        for number in 0..SITES {
            let key = Key::seed(5).child(Purpose::Site, number);
            let mut site = survey.reef.site(key);
            for visit in [Visit::First, Visit::Second] {
                survey.read(key, &mut site, visit, &mut sheet, &mut scratch);
            }
        }
        black_box(&sheet);
        start.elapsed().as_nanos() as f64 / 1000.0
    };
    let best = (0..PASSES).map(|_| pass()).fold(f64::INFINITY, f64::min);
    best / (2.0 * SITES as f64 * UNITS as f64)
}

fn methods() -> Vec<(&'static str, Study)> {
    let minutes = UnitMinutes { lay: 3.0, read: 12.0, ashore: None };
    let study = |kind: MethodKind, change: Change, also_report: &[&str]| {
        let mut study = studies::study();
        let zone = &mut study.zones[0];
        (zone.sites, zone.cover, zone.between_sites_sd) = (vec![8], 0.20, 0.07);
        zone.recruits = Some(Recruits { spec: animals(5.0, None), cannot_live_on: vec![] });
        let patches = AnimalPatches { scale_m: 4.0, law: PatchLaw::Gamma { k: 0.4 } };
        zone.animals = vec![Animal { name: "urchin".into(), spec: animals(0.3, Some(patches)) }];
        study.changes = vec![change];
        study.also_report = also_report.iter().map(|&name| name.into()).collect();
        study.methods = vec![MethodSpec { kind, units: vec![UNITS], minutes }];
        study
    };
    let of = |indicator: &str, from: f64, to: f64| Change { indicator: indicator.into(), ..studies::change(from, to) };
    let coral = || studies::change(0.20, 0.16);
    let belt = || MethodKind::CoralBelt {
        length_m: vec![10.0],
        width_m: vec![1.0],
        belt: CoralBelt::default(),
        classes_m: vec![0.0, 0.1, 0.4],
        growth_m: 0.015,
    };
    let frame = Frame {
        frame_length_m: 0.5,
        frame_width_m: 0.5,
        frames_placed: Placed::Stratified,
        points_placed: Placed::Random,
    };
    let photos = MethodKind::PhotoQuadrats { length_m: vec![10.0], frames: vec![10], frame, points: vec![20] };
    let line = || MethodKind::RecruitQuadrats { length_m: vec![10.0], quadrat_m: vec![0.25], every_m: vec![1.0] };
    let search = MethodKind::InvertebrateBelt { length_m: vec![10.0], width_m: vec![1.0] };
    let points = MethodKind::PointIntercept { length_m: vec![10.0], spacing_m: vec![0.1] };
    vec![
        ("line of 10 m, 100 points", study(points, coral(), &[])),
        ("coral belt 10 x 1 m, density", study(belt(), coral(), &[])),
        ("coral belt 10 x 1 m, density, size, dead parts, ellipses", study(belt(), coral(), &COLONIES)),
        ("10 photo quadrats of 50 x 50 cm along 10 m, 20 points", study(photos, coral(), &[])),
        ("10 recruit quadrats of 25 x 25 cm along 10 m", study(line(), of(RECRUIT_DENSITY, 3.0, 1.5), &[])),
        ("the same with the share of hard bottom", study(line(), of(RECRUIT_DENSITY, 3.0, 1.5), &HARD)),
        ("belt for animals 10 x 1 m", study(search, of("urchin", 30.0, 15.0), &[])),
    ]
}

const COLONIES: [&str; 4] =
    [COLONY_DENSITY, "colony_mean_diameter", "colonies_with_dead_parts", "cover_of_measured_colonies"];
const HARD: [&str; 1] = ["recruit_density_on_hard_bottom"];

fn animals(density_per_m2: f64, patches: Option<AnimalPatches>) -> AnimalSpec {
    AnimalSpec {
        density_per_m2,
        groups: Some(Groups { mean_size: 3.0, spread_m: 0.3 }),
        patches,
        between_sites: BetweenSites::Share(0.6),
        site_year: BetweenSites::Share(0.1),
        hidden: 0.0,
        sizes: Sizes::one_class(),
        stays: 0.5,
    }
}
