//! Rows 37-56, 128 and 129: colonies counted in belts and quadrats on the reef of thrown discs (mean radius .15 m, coefficient
//! of variation .6, cover .3). Counts of Poisson discs are Poisson under every edge rule, so that their variance is their
//! mean; rows 40, 45, 50 and 55 (run again as 128 and 129) are those variances where any part may lie inside.

use crate::double::{mean_agrees, variance_agrees};
use crate::printed;
use rand::RngExt;
use rand_distr::{Distribution, LogNormal, Poisson};
use reefwright::random::{Key, stream};
use reefwright::survey::coral_belt::{BeltFrame, EdgeRule};
use reefwright::theory::boolean::{LognormalRadius, density_of_cover};
use reefwright::theory::colonies::edge_counts;
use std::f64::consts::PI;

/// Beyond this few radii go: 2e-6 of the covered area.
const MARGIN: f64 = 2.5;

/// Frame, rows and printed values of centre in, any part in, wholly in, variance of any part in, mean radius of any part in.
struct Printed {
    frame: (f64, f64),
    first_row: u32,
    values: [&'static str; 5],
    draws: usize,
}

const ROWS: [Printed; 4] = [
    Printed {
        frame: (10.0, 1.0),
        first_row: 37,
        values: ["37.10234", "49.702787", "25.36207", "49.702787", "0.16421688"],
        draws: 12_000,
    },
    Printed {
        frame: (30.0, 2.0),
        first_row: 42,
        values: ["222.61404", "258.58896", "187.45329", "258.58896", "0.15761378"],
        draws: 3_000,
    },
    Printed {
        frame: (0.25, 0.25),
        first_row: 47,
        values: ["0.23188963", "1.1450997", "0.015485023", "1.1450997", "0.21593972"],
        draws: 20_000,
    },
    Printed {
        frame: (1.0, 1.0),
        first_row: 52,
        values: ["3.710234", "6.2930494", "1.9354581", "6.2930494", "0.17632527"],
        draws: 16_000,
    },
];

fn radius() -> LognormalRadius {
    LognormalRadius::from_mean_and_cv(0.15, 0.6)
}

fn density() -> f64 {
    density_of_cover(0.3, radius().mean_area())
}

/// Expectation over radii in equal steps: what an edge rule counts has a kink at half the width.
fn expect(f: &dyn Fn(f64) -> f64) -> f64 {
    let (radii, steps) = (radius(), 40_000);
    let width = 16.0 / f64::from(steps);
    let term = |i: i32| {
        let z = -8.0 + width * (f64::from(i) + 0.5);
        width * (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt() * f((radii.ln_mean + radii.ln_sd * z).exp())
    };
    (0..steps).map(term).sum()
}

#[test]
fn counts_and_their_poisson_variances() {
    for Printed { frame, first_row, values, .. } in &ROWS {
        let of = |rule| edge_counts(rule, *frame, |f| expect(f));
        let count = |rule| density() * of(rule).area_m2;
        printed(*first_row, count(EdgeRule::CentreIn), values[0]);
        printed(first_row + 1, count(EdgeRule::AnyPartIn), values[1]);
        printed(first_row + 2, count(EdgeRule::WhollyIn), values[2]);
        printed(first_row + 3, count(EdgeRule::AnyPartIn), values[3]);
        printed(first_row + 4, of(EdgeRule::AnyPartIn).mean_radius_m, values[4]);
    }
}

/// A sum of radii less so much for each of them: nil in the mean where their mean is that.
#[derive(Clone, Copy)]
struct Radii {
    mean: f64,
    number: f64,
    beyond: f64,
}

impl Radii {
    fn add(&mut self, radius: f32, is_met: bool) {
        if is_met {
            self.number += 1.0;
            self.beyond += f64::from(radius) - self.mean;
        }
    }
}

/// Discs thrown about a frame, and the diver's own rule on each. Sizes of those met, too: wholly or partly in the frame; crossed
/// by a line as long as it (lambda (2 L E R + pi E R^2) of them), which is met beside its ends by sizes in proportion to their
/// diameter; and over a point, in proportion to their area.
#[test]
fn counts_by_simulation() {
    let radii = LogNormal::new(radius().ln_mean, radius().ln_sd).unwrap();
    for Printed { frame: (length, width), first_row, values, draws } in &ROWS {
        let mut random = stream(Key::seed(1000 + u64::from(*first_row)));
        let frame = BeltFrame { from_m: MARGIN as f32, length_m: *length as f32, width_m: *width as f32 };
        let sides = (length + 2.0 * MARGIN, width + 2.0 * MARGIN);
        let number = Poisson::new(density() * sides.0 * sides.1).unwrap();
        let rules = [EdgeRule::CentreIn, EdgeRule::AnyPartIn, EdgeRule::WhollyIn, EdgeRule::TwoEdges];
        let mut counts = rules.map(|_| Vec::new());
        let seen = |rule| edge_counts(rule, (*length, *width), |f| expect(f)).mean_radius_m;
        let line = edge_counts(EdgeRule::AnyPartIn, (*length, 0.0), |f| expect(f));
        let moment = |k: i32| radius().moment(k);
        let over_a_line = 2.0 * length * moment(1) + PI * moment(2);
        assert!((line.area_m2 / over_a_line - 1.0).abs() < 1e-6, "{} {over_a_line}", line.area_m2);
        // Partly in, wholly in, crossed by the line, crossed by it beside its ends, over the point.
        let means = [
            seen(EdgeRule::AnyPartIn),
            seen(EdgeRule::WhollyIn),
            line.mean_radius_m,
            moment(2) / moment(1),
            moment(3) / moment(2),
        ];
        let mut sizes = means.map(|_| Vec::new());
        let mut met = means.map(|_| Vec::new());
        for _ in 0..*draws {
            let mut counted = [0.0; 4];
            let mut radii_met = means.map(|mean| Radii { mean, number: 0.0, beyond: 0.0 });
            for _ in 0..number.sample(&mut random) as usize {
                let along = (sides.0 * random.random::<f64>()) as f32;
                let across = (sides.1 * (random.random::<f64>() - 0.5)) as f32;
                let radius = radii.sample(&mut random) as f32;
                for (rule, count) in rules.iter().zip(&mut counted) {
                    *count += f64::from(u8::from(rule.counts(&frame, along, across, radius)));
                }
                let from_start = f64::from(along) - MARGIN;
                let past_an_end = (-from_start).max(from_start - length).max(0.0);
                let distance = past_an_end.hypot(f64::from(across));
                let crossed = distance < f64::from(radius);
                let is_met = [
                    EdgeRule::AnyPartIn.counts(&frame, along, across, radius),
                    EdgeRule::WhollyIn.counts(&frame, along, across, radius),
                    crossed,
                    crossed && past_an_end == 0.0,
                    (from_start - 0.5 * length).hypot(f64::from(across)) < f64::from(radius),
                ];
                radii_met.iter_mut().zip(is_met).for_each(|(radii, is_met)| radii.add(radius, is_met));
            }
            counts.iter_mut().zip(counted).for_each(|(all, count)| all.push(count));
            for (k, radii) in radii_met.iter().enumerate() {
                sizes[k].push(radii.beyond);
                met[k].push(radii.number);
            }
        }
        let value = |k: usize| values[k].parse::<f64>().unwrap();
        for (k, exact) in [value(0), value(1), value(2), value(0)].into_iter().enumerate() {
            mean_agrees(first_row + k as u32, &counts[k], exact);
        }
        sizes.iter().for_each(|beyond| mean_agrees(first_row + 4, beyond, 0.0));
        mean_agrees(first_row + 4, &met[2], density() * over_a_line);
        mean_agrees(first_row + 4, &met[3], density() * 2.0 * length * moment(1));
        mean_agrees(first_row + 4, &met[4], density() * PI * moment(2));
        // Rows 40, 45, 50, 55; 128 and 129 are 40 and 55 with another seed.
        variance_agrees(first_row + 3, &counts[1], value(3));
        for k in [0, 2, 3] {
            variance_agrees(first_row + 3, &counts[k], if k == 2 { value(2) } else { value(0) });
        }
    }
}

/// Counted over true on reefs of colonies of one size, thrown and judged by the diver's own rule, within 2 %: belts of 10 x 1
/// m and quadrats of 25 x 25 cm (computed; the same formula is checked to more digits where it is). Sizes of the US Virgin
/// Islands records (ln cm 2.66 +- 1.03; Ennis et al. 2020, Territorial Coral Reef Monitoring Program): 1.28 over a belt.
#[test]
fn what_edge_rules_make_of_numbers() {
    let belt = [(0.05, 1.055, 0.945), (0.15, 1.167, 0.837), (0.30, 1.337, 0.679), (0.60, 1.688, 0.376)];
    let quadrat = [(0.01, 1.081, 0.922), (0.02, 1.165, 0.846), (0.04, 1.340, 0.706)];
    let mut random = stream(Key::seed(1009));
    let mut ratios = |(length, width): (f64, f64), margin: f64, diameter: &dyn Fn(f64) -> f64| {
        let frame = BeltFrame { from_m: margin as f32, length_m: length as f32, width_m: width as f32 };
        let (wide, high) = (length + 2.0 * margin, width + 2.0 * margin);
        let rules = [EdgeRule::CentreIn, EdgeRule::AnyPartIn, EdgeRule::WhollyIn, EdgeRule::TwoEdges];
        let mut counts = [0u32; 4];
        const COLONIES: u32 = 400_000;
        for _ in 0..COLONIES {
            let (along, across) =
                ((wide * random.random::<f64>()) as f32, (high * (random.random::<f64>() - 0.5)) as f32);
            let radius = (0.5 * diameter(random.random())) as f32;
            for (rule, count) in rules.iter().zip(&mut counts) {
                *count += u32::from(rule.counts(&frame, along, across, radius));
            }
        }
        let true_number = f64::from(COLONIES) * length * width / (wide * high);
        counts.map(|count| f64::from(count) / true_number)
    };
    for (frame, rows) in [((10.0, 1.0), &belt[..]), ((0.25, 0.25), &quadrat[..])] {
        for &(diameter, touching, wholly) in rows {
            let found = ratios(frame, 0.5 * diameter, &|_| diameter);
            for (found, ratio) in found.into_iter().zip([1.0, touching, wholly, 1.0]) {
                assert!((found / ratio - 1.0).abs() < 0.02, "{frame:?}, {diameter} m: {found} {ratio}");
            }
        }
    }
    // Records hardly reach beyond 4 m.
    let recorded = |u: f64| {
        let diameter = 0.01 * libm::exp(2.66 + 1.03 * reefwright::random::normal_from_uniform(u));
        if diameter < 4.0 { diameter } else { 4.0 }
    };
    let found = ratios((10.0, 1.0), 2.0, &recorded);
    assert!((found[0] - 1.0).abs() < 0.02 && (found[1] / 1.28 - 1.0).abs() < 0.02, "{found:?}");
    assert!((found[3] - 1.0).abs() < 0.02, "{found:?}");
}
