//! The virtual reef against its law in closed form: mean, variance and covariance of lines.

use reefwright::random::{Key, Purpose};
use reefwright::reef::{CoralReef, NamedReef, SiteReef, Visit, Walk};
use reefwright::theory::placement::{variance_of_intercept, variance_of_points};
use reefwright::theory::{CoralAsked, CoralError, CoralPairs, Curve, Intensity, Kernels, LogNormal, Shape, calibrate};

const LINES: u64 = 40_000;

fn asked(reef: NamedReef, sd: f64) -> CoralAsked {
    CoralAsked {
        spec: reef.spec(),
        cover: reef.typical_cover(),
        between_sites_sd: sd,
        site_year_sd: 0.0,
        site: (100.0, 20.0),
        field_memory: 1.0,
        yearly_memory: 1.0,
        same_colonies: 1.0,
        changes: vec![],
    }
}

/// Share of 100 points under colonies, and the share of the line.
fn read(walk: &Walk, length: f32, state: usize, order: &mut Vec<(f32, f32)>) -> (f64, f64) {
    let mut bits = vec![0u64; 2];
    order.clear();
    for colony in walk.colonies.iter().filter(|colony| colony.alive >> state & 1 == 1) {
        let half = (colony.radius * colony.radius - colony.across * colony.across).max(0.0).sqrt();
        let (from, to) = (colony.along - half, colony.along + half);
        order.push((from, to));
        for point in 0..100 {
            let place = (point as f32 + 1.0) * 0.1;
            if from <= place && place <= to {
                bits[point / 64] |= 1 << (point % 64);
            }
        }
    }
    let points = reefwright::geometry::bits::count(&bits) as f64 / 100.0;
    (points, reefwright::geometry::union_length(order, length as f64) / f64::from(length))
}

#[test]
fn mean_and_variance_of_lines_on_all_named_reefs() {
    for (r, reef) in NamedReef::ALL.into_iter().enumerate() {
        let shape = Shape::new(&reef.spec(), &Kernels::of_cells(&reef.spec()));
        let floor = match calibrate(&asked(reef, 0.0), &shape) {
            Err(CoralError::SpreadBelowFloor(floor)) => floor,
            other => panic!("{other:?}"),
        };
        let found = calibrate(&asked(reef, 1.2 * floor), &shape).unwrap();
        let law = found.law;
        let pairs = CoralPairs::new(&law, &shape);
        let bare = pairs.bare(0);
        let covariance = Curve::new(12.0, 300, |h| pairs.bare_within(0, h) - bare * bare);
        let points_theory = variance_of_points(covariance.at(0.0), 100, 0.1, |h| covariance.at(h));
        let line_theory = variance_of_intercept(10.0, |h| covariance.at(h));
        let intensity = Intensity::default();
        let variance = law.patch_variance_over_a_point;
        let cover = law.states[0].cover;
        let coral = CoralReef::new(law, |ln_u| 1.0 - intensity.bare(LogNormal { mean: ln_u.exp(), variance }));
        let mut walk = Walk::default();
        let mut order = Vec::new();
        let (mut points, mut lines) = (Vec::new(), Vec::new());
        for trial in 0..LINES {
            let mut site = SiteReef::new(&coral, Key::seed(1000 + r as u64).child(Purpose::Trial, trial));
            let line = site.frame_line((40.0, 10.0), (1.0, 0.0), 10.0);
            walk.read(&mut site, &line, 0.0, Visit::First);
            let (p, l) = read(&walk, 10.0, 0, &mut order);
            points.push(p);
            lines.push(l);
        }
        for (name, values, theory) in [("points", &points, points_theory), ("line", &lines, line_theory)] {
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let fourth: f64 = values.iter().map(|v| (v - mean).powi(4)).sum::<f64>() / n;
            let mean_z = (mean - cover) / (square / n).sqrt();
            let variance_z = (square - theory) / ((fourth - square * square) / n).sqrt();
            println!(
                "{:22} {name:6} mean {mean:.5} of {cover} z {mean_z:+.1}  variance {square:.6} of {theory:.6} z {variance_z:+.1}",
                reef.name()
            );
            assert!(mean_z.abs() < 4.0 && variance_z.abs() < 4.0);
        }
    }
}
