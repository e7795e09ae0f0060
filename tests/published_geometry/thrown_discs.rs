//! A slow twin of the reef of discs without modulated density: all discs about a 10 m line, thrown afresh.

use rand::{Rng, RngExt};
use rand_distr::{Distribution, LogNormal, Poisson};
use reefwright::geometry::chord;

pub const LENGTH: f64 = 10.0;

/// A disc of the reef: place along and across the line, radius, and a mark for what happens to it.
#[derive(Clone, Copy)]
pub struct Disc {
    pub along: f64,
    pub across: f64,
    pub radius: f64,
    pub mark: f64,
}

/// Discs of density `density` in a rectangle that reaches `margin` metres beyond the line on all sides, their ln radius
/// normal; pass a margin that hardly any radius exceeds.
pub fn throw(density: f64, (ln_mean, ln_sd): (f64, f64), margin: f64, random: &mut impl Rng) -> Vec<Disc> {
    let (length, width) = (LENGTH + 2.0 * margin, 2.0 * margin);
    let radius = LogNormal::new(ln_mean, ln_sd).unwrap();
    let number = Poisson::new(density * length * width).unwrap().sample(random) as usize;
    (0..number)
        .map(|_| Disc {
            along: length * random.random::<f64>() - margin,
            across: width * random.random::<f64>() - margin,
            radius: radius.sample(random),
            mark: random.random::<f64>(),
        })
        .collect()
}

/// Which of `number` points, the first at 0, are covered by discs of these radii.
pub fn covered(discs: impl Iterator<Item = Disc>, number: usize, spacing: f64) -> Vec<bool> {
    let mut points = vec![false; number];
    for disc in discs {
        if let Some((from, to)) = chord(disc.along, disc.across, disc.radius) {
            for (i, point) in points.iter_mut().enumerate() {
                let x = i as f64 * spacing;
                *point |= from < x && x < to;
            }
        }
    }
    points
}

pub fn share(points: &[bool]) -> f64 {
    points.iter().filter(|&&hit| hit).count() as f64 / points.len() as f64
}
