//! What a coral belt of 10 x 1 m costs: the walk, the overlap rule, what is written; and beside it a vectorised script
//! that simulates the same belts. `cargo bench --bench colonies`; the script needs a `python3` with numpy (another
//! interpreter: REEFWRIGHT_BENCH_PYTHON).

use reefwright::analysis::ColonyIndicator;
use reefwright::random::{Key, Purpose};
use reefwright::reef::colonies::{PartialMortality, Visible};
use reefwright::reef::{CoralLaw, CoralReef, CoralState, NamedReef, ReefSpec, SiteReef, Visit, Walk};
use reefwright::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt, Measurements, OfSite};
use reefwright::theory::colonies::ColonyTheory;
use reefwright::theory::{Discs, Kernels, Shape};
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

const BELTS: usize = 40;
const PASSES: usize = 150;
const BELT: BeltFrame = BeltFrame { from_m: 0.0, length_m: 10.0, width_m: 1.0 };

/// How far a belt is read.
#[derive(Clone, Copy, PartialEq)]
enum Step {
    Walk,
    Rule,
    Count,
    Lengths,
    All,
}

fn main() {
    println!("microseconds a belt of 10 x 1 m, best of {PASSES} passes over {BELTS} belts of one site\n");
    println!("{:22}{:>8}{:>8}{:>8}{:>10}{:>8}", "", "walk", "+ rule", "count", "+ length", "+ all");
    for reef in NamedReef::ALL {
        let coral = coral(reef, reef.typical_cover());
        let steps = [Step::Walk, Step::Rule, Step::Count, Step::Lengths, Step::All];
        let all = steps.map(|step| best(&coral, step, (100.0, 20.0)));
        let times: String = all.iter().map(|pass| format!("{:8.2}", pass.0)).collect();
        println!("{:22}{times}   {:.0} discs listed, {:.1} colonies per m2", reef.name(), all[0].1, all[2].2);
    }
    println!(
        "\n`rule`: of all that is listed; `count`, `length`, `all`: walk, rule and what is written of the colonies in"
    );
    println!("the belt, each on its own from the start\n");
    at_ten_a_square_metre();
    beside_the_script();
    closed_forms();
}

/// What a belt costs where 10 colonies are written per m2: the target is 5 microseconds to count them.
fn at_ten_a_square_metre() {
    let coral = coral(NamedReef::ForeReef, 0.17);
    let [walk, count, lengths] = [Step::Walk, Step::Count, Step::Lengths].map(|step| {
        (0..5)
            .map(|_| best(&coral, step, (100.0, 20.0)))
            .fold((f64::INFINITY, 0.0, 0.0), |a, b| if b.0 < a.0 { b } else { a })
    });
    println!(
        "fore reef at 17 %, {:.1} colonies per m2: walk {:.2}, count {:.2}, with diameters {:.2}\n",
        count.2, walk.0, count.0, lengths.0
    );
}

/// A fore reef with about 10 colonies per m2, and the script on the same belts.
fn beside_the_script() {
    let reef = NamedReef::ForeReef;
    let spec = reef.spec();
    let coral = coral(reef, 0.18);
    let (mut ours, mut density) = (f64::INFINITY, 0.0);
    let mut script = [None::<f64>; 3];
    for _ in 0..5 {
        // In turn, so that both meet the same load.
        let now = best(&coral, Step::Lengths, (100.0, 20.0));
        (ours, density) = (ours.min(now.0), now.2);
        for (least, what) in script.iter_mut().zip(["discs", "visible", "patches"]) {
            let density = coral.law.mean_density(0);
            let now = peer(what, density, &spec, &coral.law);
            *least = least.zip(now).map(|(least, now)| least.min(now)).or(*least).or(now);
        }
    }
    println!(
        "beside the script: {} at 18 %, {density:.1} colonies per m2; count and mean diameter of a belt",
        reef.name()
    );
    println!("ours, patches and overlap rule: {ours:.2} microseconds");
    let names = ["no patches, no overlap rule, no guard", "no patches", "patches"];
    for (name, microseconds) in names.iter().zip(script) {
        match microseconds {
            Some(time) => println!("script, {name}: {time:.1} microseconds, {:.1} times ours", time / ours),
            None => println!("script, {name}: skipped, no python3 with numpy (see REEFWRIGHT_BENCH_PYTHON)"),
        }
    }
    println!();
}

/// Microseconds of processor that the script takes for a belt; `None` where it cannot run.
fn peer(what: &str, density: f64, spec: &ReefSpec, law: &CoralLaw) -> Option<f64> {
    let python = std::env::var("REEFWRIGHT_BENCH_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peer/belts_peer.py");
    let numbers = [
        ("--length", f64::from(BELT.length_m)),
        ("--width", f64::from(BELT.width_m)),
        ("--density", density),
        ("--median", spec.sizes.median_m),
        ("--ln-sd", spec.sizes.ln_sd),
        ("--max", spec.sizes.max_m),
        ("--patch-sd", law.spec.patch.sd),
        ("--patch-scale", law.spec.patch.scale_m),
        ("--patch-cell", law.spec.patch_cell_m()),
    ];
    let words = numbers.iter().flat_map(|(name, value)| [name.to_string(), value.to_string()]);
    let output = Command::new(python)
        .args([script, what, "--belts", "3000", "--batch", "300"])
        .args(words)
        .env("OPENBLAS_NUM_THREADS", "1")
        .output()
        .ok()?;
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).ok()?;
    Some(1e6 * answer["processor_seconds"].as_f64()?)
}

fn coral(reef: NamedReef, cover: f64) -> CoralReef {
    let spec = reef.spec();
    let law = CoralLaw {
        spec,
        mean_area_m2: Discs::new(&spec.sizes).mean_area,
        site_sd: 0.0,
        site_year_sd: 0.0,
        field_memory: 1.0,
        same_colonies: 1.0,
        states: vec![CoralState::even(cover, -libm::log1p(-cover))],
        patch_variance_over_a_point: 0.0,
    };
    CoralReef::new(law, |_| 0.0)
}

/// Scratch memory, which a thread of the engine keeps as well.
#[derive(Default)]
struct Scratch {
    walk: Walk,
    visible: Visible,
    reader: BeltReader,
}

/// Microseconds of the fastest pass, discs listed and colonies written per m2.
fn best(coral: &CoralReef, step: Step, site: (f64, f64)) -> (f64, f64, f64) {
    let mut scratch = Scratch::default();
    let passes = (0..PASSES).map(|_| pass(coral, step, site, &mut scratch));
    passes.fold((f64::INFINITY, 0.0, 0.0), |best, now| if now.0 < best.0 { now } else { best })
}

/// Milliseconds that the closed forms of a zone take: what is made once, and one indicator of one belt.
fn closed_forms() {
    let spec = NamedReef::ForeReef.spec();
    let kernels = Kernels::of_cells(&spec);
    let shape = Shape::new(&spec, &kernels);
    let state = |cover: f64| CoralState::even(cover, -libm::log1p(-cover));
    let law = CoralLaw {
        spec,
        mean_area_m2: shape.discs.mean_area,
        site_sd: 0.3,
        site_year_sd: 0.1,
        field_memory: 0.9,
        same_colonies: 0.8,
        states: vec![state(0.2), state(0.2), state(0.15)],
        patch_variance_over_a_point: shape.patch(0.0),
    };
    let start = Instant::now();
    let theory = ColonyTheory::new(&law, (&shape, &kernels), (100.0, 20.0), Some(0.2));
    let made = start.elapsed();
    black_box(theory.moments(&CoralBelt::default(), (10.0, 1.0), ColonyIndicator::Density));
    let asked = start.elapsed() - made;
    println!(
        "closed forms of three states: {:.1} ms, an indicator {:.1} ms",
        1e3 * made.as_secs_f64(),
        1e3 * asked.as_secs_f64()
    );
}

/// Microseconds, discs listed and colonies written per m2 of a belt when it is read up to a step.
fn pass(coral: &CoralReef, step: Step, size: (f64, f64), scratch: &mut Scratch) -> (f64, f64, f64) {
    let Scratch { walk, visible, reader } = scratch;
    let key = Key::seed(9);
    let (mut listed, mut density) = (0, 0.0);
    let mut site = SiteReef::new(coral, key);
    let start = Instant::now();
    for belt in 0..BELTS {
        let place = |index| key.uniform(Purpose::Placement, 2 * belt as u64 + index);
        let from = ((size.0 - 10.0) * place(0), 0.5 + (size.1 - 1.0) * place(1));
        let line = site.frame_line(from, (1.0, 0.0), 10.0);
        walk.read(&mut site, &line, 0.5, Visit::First);
        listed += walk.colonies.len();
        let asked = match step {
            Step::Walk => {
                black_box(&walk.colonies);
                continue;
            }
            Step::Rule => {
                black_box(visible.states(&walk.colonies));
                continue;
            }
            Step::Count => ColonyIndicator::Density.needs(),
            Step::Lengths => ColonyIndicator::MeanDiameter.needs(),
            Step::All => Measurements::ALL,
        };
        reader.read_some(
            &CoralBelt::default(),
            &BELT,
            (&walk.colonies, Visit::First),
            (asked, OfSite::typical(PartialMortality::USUAL)),
        );
        density += black_box(ColonyIndicator::Density.of(&reader.written, &BELT, 0));
        if step == Step::Lengths {
            black_box(ColonyIndicator::MeanDiameter.of(&reader.written, &BELT, 0));
        }
    }
    let belts = BELTS as f64;
    (start.elapsed().as_nanos() as f64 / 1000.0 / belts, listed as f64 / belts, density / belts)
}
