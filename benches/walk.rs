//! What the walk costs: nanoseconds a line and a point on every named reef. `cargo bench --bench walk`.

use reefwright::geometry::{bits, union_length};
use reefwright::random::{KEY_X, Key, Purpose, mix};
use reefwright::reef::{Colony, CoralLaw, CoralReef, NamedReef, SiteReef, Visit, Walk};
use reefwright::theory::{CoralAsked, CoralChange, CoralError, Kernels, Shape, calibrate};
use std::hint::black_box;
use std::time::Instant;

const SITES: u64 = 12;
const LINES: usize = 12;
const PASSES: usize = 120;

fn main() {
    println!("one hash costs {:.2} ns on this machine now", hash_cost());
    println!("ns a line of 10 m, best of {PASSES} passes over {SITES} sites of {LINES} lines; points every 0.1 m");
    println!("reef                    visit 1  visit 2   ns/point  +intercept  belt .5 m  belt 1 m  colonies");
    for reef in NamedReef::ALL {
        let coral = coral(reef);
        let first = best(|| lines(&coral, Visit::First, 10.0, 0.0, Reading::Points, (100.0, 20.0)));
        let second = best(|| lines(&coral, Visit::Second, 10.0, 0.0, Reading::Points, (100.0, 20.0)));
        let intercept = best(|| lines(&coral, Visit::First, 10.0, 0.0, Reading::Intercept, (100.0, 20.0)));
        let narrow = best(|| lines(&coral, Visit::First, 10.0, 0.25, Reading::Nothing, (100.0, 20.0)));
        let wide = best(|| lines(&coral, Visit::First, 10.0, 0.5, Reading::Nothing, (100.0, 20.0)));
        println!(
            "{:22} {:8.0} {:8.0} {:10.1} {:11.0} {:10.0} {:9.0} {:9.1}",
            reef.name(),
            first.0,
            second.0,
            first.0 / 100.0,
            intercept.0 - first.0,
            narrow.0,
            wide.0,
            first.1
        );
    }
    println!("\nfore_reef, visit 1, by the side of a square site");
    let coral = coral(NamedReef::ForeReef);
    for side in [30.0, 100.0, 300.0, 1000.0, 3000.0] {
        let cost = best(|| lines(&coral, Visit::First, 10.0, 0.0, Reading::Points, (side, side)));
        println!("{side:6.0} m {:8.0} ns a line, sites and their effects included", cost.0);
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Reading {
    Nothing,
    Points,
    Intercept,
}

/// The yardstick that tells machines and moments of load apart.
fn hash_cost() -> f64 {
    let hashes = 2_000_000u64;
    let pass = || {
        let start = Instant::now();
        black_box((0..hashes).fold(0u64, |sum, i| sum ^ mix(black_box(i).wrapping_mul(KEY_X))));
        start.elapsed().as_nanos() as f64 / hashes as f64
    };
    (0..PASSES).map(|_| pass()).fold(f64::INFINITY, f64::min)
}

/// Two worlds: no change and a fall by a fifth.
fn coral(reef: NamedReef) -> CoralReef {
    let shape = Shape::new(&reef.spec(), &Kernels::of_cells(&reef.spec()));
    let asked = |sd: f64| CoralAsked {
        spec: reef.spec(),
        cover: reef.typical_cover(),
        between_sites_sd: sd,
        site_year_sd: 0.0,
        site: (100.0, 20.0),
        field_memory: 0.9,
        yearly_memory: 0.9,
        same_colonies: 0.9,
        changes: vec![CoralChange::to(0.8 * reef.typical_cover())],
    };
    let floor = match calibrate(&asked(0.0), &shape) {
        Err(CoralError::SpreadBelowFloor(floor)) => floor,
        other => panic!("{other:?}"),
    };
    let law: CoralLaw = calibrate(&asked(1.2 * floor), &shape).expect("a spread above the floor").law;
    CoralReef::new(law, |_| 0.0)
}

/// Nanoseconds a line and colonies a line, of the fastest pass.
fn best(mut pass: impl FnMut() -> (f64, f64)) -> (f64, f64) {
    (0..PASSES).map(|_| pass()).fold((f64::INFINITY, 0.0), |best, now| if now.0 < best.0 { now } else { best })
}

fn lines(coral: &CoralReef, visit: Visit, length: f64, side: f32, reading: Reading, size: (f64, f64)) -> (f64, f64) {
    let mut walk = Walk::default();
    let mut chords = Vec::new();
    let mut set = vec![0u64; 2];
    let mut colonies = 0;
    let start = Instant::now();
    for s in 0..SITES {
        let key = Key::seed(9).child(Purpose::Site, s);
        let mut site = SiteReef::new(coral, key);
        for l in 0..LINES {
            let place = |index| key.uniform(Purpose::Placement, 2 * l as u64 + index);
            let from = ((size.0 - length) * place(0), size.1 * place(1));
            let line = site.frame_line(from, (1.0, 0.0), length);
            walk.read(&mut site, &line, side, visit);
            colonies += walk.colonies.len();
            if reading == Reading::Nothing {
                black_box(&walk.colonies);
                continue;
            }
            chords.clear();
            chords.extend(walk.colonies.iter().map(|colony| chord(&colony)));
            set.fill(0);
            for &(from, to) in &chords {
                let first = ((from * 10.0).ceil() as i32 - 1).max(0);
                let last = ((to * 10.0).floor() as i32 - 1).min(99);
                if first <= last {
                    bits::set_range(&mut set, first as usize, last as usize);
                }
            }
            black_box(bits::count(&set));
            if reading == Reading::Intercept {
                black_box(union_length(&mut chords, length));
            }
        }
    }
    let lines = SITES as f64 * LINES as f64;
    (start.elapsed().as_nanos() as f64 / lines, colonies as f64 / lines)
}

fn chord(colony: &Colony) -> (f32, f32) {
    let half = (colony.radius * colony.radius - colony.across * colony.across).max(0.0).sqrt();
    (colony.along - half, colony.along + half)
}
