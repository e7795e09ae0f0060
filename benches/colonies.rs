//! What a coral belt of 10 x 1 m costs: the walk, the overlap rule, what is written, an indicator. `cargo bench --bench
//! colonies`.

use reefwright::analysis::ColonyIndicator;
use reefwright::random::{Key, Purpose};
use reefwright::reef::colonies::Visible;
use reefwright::reef::{CoralLaw, CoralReef, CoralState, NamedReef, SiteReef, Visit, Walk};
use reefwright::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt};
use reefwright::theory::colonies::ColonyTheory;
use reefwright::theory::{Discs, Kernels, Shape};
use std::hint::black_box;
use std::time::Instant;

const BELTS: usize = 40;
const PASSES: usize = 60;

fn main() {
    println!("microseconds a belt of 10 x 1 m, best of {PASSES} passes over {BELTS} belts of one site");
    println!("reef                      walk  +overlap rule  +what is written  +density  listed  written per m2");
    for reef in NamedReef::ALL {
        let spec = reef.spec();
        let mean_intensity = -libm::log1p(-reef.typical_cover());
        let coral = CoralReef::new(
            CoralLaw {
                spec,
                mean_area_m2: Discs::new(&spec.sizes).mean_area,
                site_sd: 0.0,
                site_year_sd: 0.0,
                field_memory: 1.0,
                same_colonies: 1.0,
                states: vec![CoralState::even(reef.typical_cover(), mean_intensity)],
                patch_variance_over_a_point: 0.0,
            },
            |_| 0.0,
        );
        let steps = [0, 1, 2, 3].map(|step| {
            (0..PASSES)
                .map(|_| pass(&coral, step))
                .fold((f64::INFINITY, 0.0, 0.0), |best, now| if now.0 < best.0 { now } else { best })
        });
        println!(
            "{:22} {:7.2} {:14.2} {:17.2} {:9.2} {:7.0} {:15.1}",
            reef.name(),
            steps[0].0,
            steps[1].0 - steps[0].0,
            steps[2].0 - steps[1].0,
            steps[3].0 - steps[2].0,
            steps[3].1,
            steps[3].2
        );
    }
    closed_forms();
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
fn pass(coral: &CoralReef, step: usize) -> (f64, f64, f64) {
    let (mut walk, mut visible, mut reader) = (Walk::default(), Visible::default(), BeltReader::default());
    let frame = BeltFrame { from_m: 0.0, length_m: 10.0, width_m: 1.0 };
    let key = Key::seed(9);
    let (mut listed, mut density) = (0, 0.0);
    let mut site = SiteReef::new(coral, key);
    let start = Instant::now();
    for belt in 0..BELTS {
        let place = |index| key.uniform(Purpose::Placement, 2 * belt as u64 + index);
        let line = site.frame_line((90.0 * place(0), 0.5 + 19.0 * place(1)), (1.0, 0.0), 10.0);
        walk.read(&mut site, &line, 0.5, Visit::First);
        listed += walk.colonies.len();
        match step {
            0 => _ = black_box(&walk.colonies),
            1 => _ = black_box(visible.states(&walk.colonies)),
            _ => {
                reader.read(&CoralBelt::default(), &frame, &walk.colonies, Visit::First);
                black_box(&reader.records);
                if step == 3 {
                    density += black_box(ColonyIndicator::Density.of(&reader.records, &frame, 0));
                }
            }
        }
    }
    let belts = BELTS as f64;
    (start.elapsed().as_nanos() as f64 / 1000.0 / belts, listed as f64 / belts, density / belts)
}
