//! What the fish of a belt cost to draw: ten groups on a 30 x 2 m belt, through `survey::swim`, by rule and by movement, and
//! by how many fish there are. `cargo bench --bench fish`. Beside it a vectorised numpy script of our own that draws the sea
//! from which fish may come, where `python3` (or `REEFWRIGHT_BENCH_PYTHON`) has numpy. Then what it costs the engine to read ten
//! groups that lie in patches, of the coral or of their own, beside ten that do not.

#[allow(dead_code)]
#[path = "../tests/common/studies.rs"]
mod studies;

use rand::{Rng, RngExt};
use reefwright::design::{Change, FishGroup, Study};
use reefwright::engine::{Scratch, Sheet};
use reefwright::random::{Key, Purpose, stream};
use reefwright::reef::fish::{FishLengths, FishSpec, LengthWeight, Movement, SchoolLaw, Sighting};
use reefwright::reef::{
    AnimalPatches, AnimalReef, AnimalSite, AnimalSpec, BetweenSites, FieldOver, PatchLaw, Sizes, StripPlace, Visit,
};
use reefwright::survey::fish_sheet::{ClassValue, LengthReader, WidthReader};
use reefwright::survey::swim::{CountingRule, FishCount, Swim, Swum, Watch};
use reefwright::survey::{MethodKind, MethodSpec, UnitMinutes};
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

const LENGTH_M: f64 = 30.0;
const WIDTH_M: f64 = 2.0;
const SECONDS: f64 = 420.0;
const BELTS: usize = 200;
const PASSES: usize = 25;

/// Fish per belt of a snapshot, mean of the (geometric) school sizes, spread of a school in m, speed in m/s, time between
/// turns in s, home range in m. Invented, of the order of a Caribbean reef.
const GROUPS: [(f64, f64, f64, f64, f64, f64); 10] = [
    (8.0, 2.0, 0.8, 0.06, 20.0, 12.0),
    (4.0, 3.0, 0.8, 0.06, 20.0, 12.0),
    (1.2, 1.0, 0.0, 0.01, 30.0, 4.0),
    (1.4, 1.5, 0.4, 0.03, 20.0, 6.0),
    (2.0, 4.0, 0.6, 0.03, 20.0, 5.0),
    (0.3, 1.2, 0.4, 0.03, 20.0, 8.0),
    (6.0, 1.5, 0.5, 0.005, 5.0, 1.0),
    (3.0, 12.0, 1.0, 0.01, 30.0, 5.0),
    (1.5, 8.0, 1.5, 0.03, 30.0, 15.0),
    (0.3, 8.0, 2.0, 0.3, 60.0, 200.0),
];

fn main() {
    println!("microseconds a 30 x 2 m belt in 7 minutes, ten groups of fish: one thread, mean of {BELTS} belts,");
    println!("each the best of {PASSES} passes; in brackets fish counted a belt\n");
    let rules = [
        ("snapshot", Watch::belt(LENGTH_M, WIDTH_M, 0.0, CountingRule::WholeSwim)),
        ("line abreast", Watch::belt(LENGTH_M, WIDTH_M, SECONDS, CountingRule::Abreast)),
        ("window 2 m ahead", Watch::belt(LENGTH_M, WIDTH_M, SECONDS, CountingRule::MovingWindow { depth_m: 2.0 })),
        ("whole swim", Watch::belt(LENGTH_M, WIDTH_M, SECONDS, CountingRule::WholeSwim)),
        ("point 7.5 m, 5 min", Watch::point(7.5, 300.0)),
    ];
    let kinds = ["still", "straight", "turning", "home range"];
    println!("{:20}{}", "", kinds.map(|kind| format!("{kind:>18}")).concat());
    for (name, watch) in rules {
        let cells: String = kinds.iter().map(|kind| cell(&swims(watch, kind), 1.0)).collect();
        println!("{name:20}{cells}");
    }
    println!("\nby density, window 2 m ahead, home ranges; nanoseconds for each fish counted");
    let swims = swims(rules[2].1, "home range");
    for times in [0.01, 0.1, 1.0, 10.0, 100.0] {
        let (microseconds, fish) = cost(&swims, times);
        println!("{times:6} times: {microseconds:9.2} ({fish:.1} fish), {:.0}", 1000.0 * microseconds / fish);
    }
    in_patches();
    beside_the_script(rules[2].1);
}

/// Ten groups of fish that stay, in belts of 30 x 2 m as the engine reads them, twelve a site, in no patches, in those of the
/// coral, and in patches of their own; and by itself what it takes to read the patches of ten groups under a belt, all at once
/// and place by place.
fn in_patches() {
    println!(
        "\nten groups as the engine reads them, microseconds a belt and visit, sites included; over the same in no patches"
    );
    let plain = engine_cost(&ten_groups(Lie::Evenly));
    println!("in no patches: {plain:.1}");
    for (name, lie) in [
        ("in the patches of the coral", Lie::WithCoral(0.8)),
        ("in patches of their own, scale 2 m", Lie::InPatches(2.0)),
        ("in patches of their own, scale 20 m", Lie::InPatches(20.0)),
    ] {
        let cost = engine_cost(&ten_groups(lie));
        println!("{name}: {cost:.1}, {:.2} times", cost / plain);
    }
    println!("\nthe patches of ten groups alone, microseconds a belt: read as strips, and place by place");
    for (name, lie) in [
        ("of the coral", Lie::WithCoral(0.8)),
        ("their own, scale 2 m", Lie::InPatches(2.0)),
        ("their own, scale 20 m", Lie::InPatches(20.0)),
    ] {
        let [strips, places] = patches_cost(&ten_groups(lie));
        println!("{name}: {strips:.1}, {places:.1}: {:.1} times", places / strips);
    }
}

/// How the ten groups lie within a site: the power with which they go with the patches of the coral, or the scale of their own, m.
#[derive(Clone, Copy)]
enum Lie {
    Evenly,
    WithCoral(f64),
    InPatches(f64),
}

const SITES: u64 = 4;
const BELTS_A_SITE: usize = 12;

fn ten_groups(lie: Lie) -> Study {
    let with_coral_patches = if let Lie::WithCoral(power) = lie { power } else { 0.0 };
    let patches = match lie {
        Lie::InPatches(scale_m) => Some(AnimalPatches { law: PatchLaw::LogNormal { ln_sd: 0.6 }, scale_m }),
        Lie::Evenly | Lie::WithCoral(_) => None,
    };
    let mut study = studies::study();
    let group = |number: usize| {
        let places = AnimalSpec {
            density_per_m2: 0.03,
            groups: None,
            patches,
            between_sites: BetweenSites::Share(0.6),
            site_year: BetweenSites::Share(0.2),
            hidden: 0.0,
            sizes: Sizes::one_class(),
            stays: 0.0,
        };
        let spec = FishSpec {
            places,
            schools: SchoolLaw::Alone,
            spread_m: 0.0,
            lengths: FishLengths { mean_cm: 20.0, cv: 0.3, alike_in_school: 0.5 },
            weight: LengthWeight { a: 0.02, b: 3.0 },
            movement: Movement::Still,
            sighting: Sighting::ALL,
        };
        FishGroup { with_coral_patches, ..FishGroup::new(format!("group_{number}"), spec) }
    };
    study.zones[0].fish = (0..10).map(group).collect();
    study.changes = vec![Change { indicator: "fish_density".into(), ..studies::change(30.0, 20.0) }];
    let count = FishCount {
        width: WidthReader { error: 0.0, sd: 0.0 },
        left_by_others: 1.0,
        lengths: LengthReader { bias: 0.0, cv: 0.1, classes: None, value: ClassValue::Midpoint },
        visibility_m: None,
    };
    let kind = MethodKind::FishBelt {
        length_m: vec![LENGTH_M],
        width_m: vec![WIDTH_M],
        swim_minutes: vec![SECONDS / 60.0],
        rule: CountingRule::Abreast,
        count,
        way_back: None,
    };
    let minutes = UnitMinutes { lay: 3.0, read: 7.0, ashore: None };
    study.methods = vec![MethodSpec { kind, units: vec![BELTS_A_SITE], minutes }];
    study
}

/// Microseconds a belt and visit, best of all passes over a few sites.
fn engine_cost(study: &Study) -> f64 {
    let plan = studies::plan(study.clone());
    let survey = plan.survey(0);
    let (mut sheet, mut scratch) = (Sheet::new(&plan.layout, plan.states), Scratch::default());
    let best = best_of(|| {
        for number in 0..SITES {
            let key = Key::seed(5).child(Purpose::Site, number);
            let mut site = survey.reef.site(key);
            for visit in [Visit::First, Visit::Second] {
                survey.read(key, &mut site, visit, &mut sheet, &mut scratch);
            }
        }
        black_box(&sheet);
    });
    best / (2.0 * SITES as f64 * BELTS_A_SITE as f64)
}

/// Microseconds a belt to read the patches of every group: as strips, those of the coral once for all, and place by place.
fn patches_cost(study: &Study) -> [f64; 2] {
    let plan = studies::plan(study.clone());
    let reefs: Vec<AnimalReef> =
        plan.theories[0].law().unwrap().fish.iter().map(|of| AnimalReef::new(of.law.clone())).collect();
    let mut over = FieldOver::default();
    let of_all = |read: &mut dyn FnMut(&mut [AnimalSite], &StripPlace)| {
        let best = best_of(|| {
            for number in 0..SITES {
                let key = Key::seed(5).child(Purpose::Site, number);
                let kinds = reefs.iter().zip(0..);
                let mut sites: Vec<AnimalSite> = kinds.map(|(reef, kind)| AnimalSite::new(reef, key, kind)).collect();
                for belt in 0..BELTS_A_SITE {
                    let start = (2.0 * belt as f64, 1.5 * belt as f64);
                    read(
                        &mut sites,
                        &StripPlace { start, direction: (1.0, 0.0), length_m: LENGTH_M, width_m: WIDTH_M },
                    );
                }
            }
        });
        best / (SITES as f64 * BELTS_A_SITE as f64)
    };
    let strips = of_all(&mut |sites, strip| {
        for (number, site) in sites.iter().enumerate() {
            if number == 0 || !site.reef.law.spec.is_in_patches_of_coral() {
                site.read_field(strip, Visit::First, &mut over);
            }
            black_box(site.patches_in(&over));
        }
    });
    let places = of_all(&mut |sites, strip| {
        sites.iter_mut().for_each(|site| {
            black_box(site.patches_over(strip));
        });
    });
    [strips, places]
}

/// Microseconds of the quickest pass.
fn best_of(mut pass: impl FnMut()) -> f64 {
    let mut timed = || {
        let start = Instant::now();
        pass();
        start.elapsed().as_nanos() as f64 / 1000.0
    };
    (0..PASSES).map(|_| timed()).fold(f64::INFINITY, f64::min)
}

/// The ten groups of one kind of movement, with their schools per m2 and sizes.
fn swims(watch: Watch, kind: &str) -> Vec<(Swim, f64, f64)> {
    let of = |(per_belt, size, spread, speed_m_s, tau_s, radius_m): (f64, f64, f64, f64, f64, f64)| {
        let movement = match kind {
            "still" => Movement::Still,
            "straight" => Movement::Straight { speed_m_s },
            "turning" => Movement::Turning { speed_m_s, tau_s },
            _ => Movement::HomeRange { speed_m_s, tau_s, radius_m },
        };
        (Swim::new(watch, movement, spread), per_belt / size / (LENGTH_M * WIDTH_M), size)
    };
    GROUPS.into_iter().map(of).collect()
}

fn cell(swims: &[(Swim, f64, f64)], times: f64) -> String {
    let (microseconds, fish) = cost(swims, times);
    format!("{:>18}", format!("{microseconds:.1} ({fish:.0})"))
}

/// Microseconds a belt, each belt at its best, and fish counted.
fn cost(swims: &[(Swim, f64, f64)], times: f64) -> (f64, f64) {
    let mut counted: Vec<Swum> = Vec::new();
    let mut read = |belt: usize| {
        let (start, mut fish) = (Instant::now(), 0);
        let mut rng = stream(Key::seed(5).child(Purpose::Fish, belt as u64));
        for (swim, schools_per_m2, size) in swims {
            swim.draw(times * schools_per_m2, |rng| geometric(*size, rng), &mut rng, &mut counted);
            fish += counted.len();
            black_box(&counted);
        }
        (start.elapsed().as_nanos() as f64 / 1000.0, fish as f64)
    };
    // Belt after belt, pass after pass: a belt read again at once would be known to the processor.
    let (mut best, mut fish) = ([f64::INFINITY; BELTS], [0.0; BELTS]);
    for _ in 0..PASSES {
        for belt in 0..BELTS {
            let (microseconds, counted) = read(belt);
            (best[belt], fish[belt]) = (best[belt].min(microseconds), counted);
        }
    }
    let mean = |values: [f64; BELTS]| values.iter().sum::<f64>() / BELTS as f64;
    (mean(best), mean(fish))
}

/// 1, 2 ... with a mean.
fn geometric(mean: f64, rng: &mut impl Rng) -> usize {
    if mean == 1.0 { 1 } else { 1 + (rng.random::<f64>().ln() / (1.0 - 1.0 / mean).ln()) as usize }
}

/// Ours and the script's, in turn, for straight fish and for those that turn.
fn beside_the_script(watch: Watch) {
    println!("\nbeside the script, the same belt, window 2 m ahead: microseconds of processor, fish counted a belt");
    for kind in ["still", "straight", "turning"] {
        let (ours, fish) = cost(&swims(watch, kind), 1.0);
        match peer(kind) {
            Some((script, theirs)) => println!(
                "{kind:10} ours {ours:.1} ({fish:.1}), script {script:.1} ({theirs:.1}): {:.1} times ours",
                script / ours
            ),
            None => println!("{kind:10} skipped, no python3 with numpy (see REEFWRIGHT_BENCH_PYTHON)"),
        }
    }
}

/// Microseconds of processor that the script takes for a belt, and fish counted; `None` where it cannot run.
fn peer(kind: &str) -> Option<(f64, f64)> {
    let python = std::env::var("REEFWRIGHT_BENCH_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peer/fish_peer.py");
    let belts = if kind == "turning" { "100" } else { "2000" };
    let output = Command::new(python)
        .args([script, kind, "--belts", belts, "--groups", &serde_json::to_string(&GROUPS).ok()?])
        .args(["--length", &LENGTH_M.to_string(), "--width", &WIDTH_M.to_string()])
        .args(["--seconds", &SECONDS.to_string(), "--depth", "2"])
        .env("OPENBLAS_NUM_THREADS", "1")
        .output()
        .ok()?;
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).ok()?;
    Some((1e6 * answer["processor_seconds"].as_f64()?, answer["fish"].as_f64()?))
}
