//! How much of the bottom about a unit must be free of groups for the unit to be empty: `int (1 - exp(-mu q(x))) dx`.

use super::windows::as_quadrats;
use crate::random::normal_cdf;
use crate::theory::Rule;
use crate::theory::pairs::Unit;
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Nodes of a panel.
static PANEL: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(8));

/// Spreads from the edge of a unit beyond which a group sends nothing into it.
const REACH: i32 = 7;

/// The bottom from which groups send animals into a unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Void {
    /// `int (1 - exp(-mu q(x))) dx`, m2.
    pub area: f64,
    /// Sides of the rectangle in which places have the same variance along and across as those of the integral.
    pub length: f64,
    pub width: f64,
}

impl Void {
    /// Of animals that live alone, each counted with the chance `counted`.
    pub fn of_single(unit: Unit, counted: f64) -> Self {
        let (number, every, length, width) = as_quadrats(unit);
        let n = number as f64;
        // Variance of a place: of the quadrat and within it.
        let variance = (every * every * (n * n - 1.0) + length * length) / 12.0;
        Self { area: n * length * width * counted, length: libm::sqrt(12.0 * variance), width }
    }
}

/// A place along an axis with its weight and the chance that an animal of a group centred there falls into the unit's
/// extent along that axis.
struct AxisNode {
    place: f64,
    weight: f64,
    chance: f64,
}

/// For groups with a Poisson number of animals (mean `mean_size`) scattered normally about the centre; relative error
/// below 1e-6.
pub(super) fn thomas_void(unit: Unit, mean_size: f64, spread: f64) -> Void {
    let (number, every, length, width) = as_quadrats(unit);
    let intervals: Vec<(f64, f64)> = (0..number).map(|k| (k as f64 * every, k as f64 * every + length)).collect();
    let along = axis_nodes(&intervals, spread);
    let across = axis_nodes(&[(0.0, width)], spread);
    let (mut area, mut along_moments, mut across_moments) = (0.0, [0.0; 2], [0.0; 2]);
    for x in &along {
        for y in &across {
            let empty = x.weight * y.weight * -libm::expm1(-mean_size * x.chance * y.chance);
            area += empty;
            for (moments, place) in [(&mut along_moments, x.place), (&mut across_moments, y.place)] {
                moments[0] += empty * place;
                moments[1] += empty * place * place;
            }
        }
    }
    let side = |[first, second]: [f64; 2]| {
        let mean = first / area;
        libm::sqrt(12.0 * (second / area - mean * mean).max(0.0))
    };
    Void { area, length: side(along_moments), width: side(across_moments) }
}

/// Panels as wide as the spread about every end of an interval; between them the chance is constant.
fn axis_nodes(intervals: &[(f64, f64)], spread: f64) -> Vec<AxisNode> {
    let mut edges: Vec<f64> = intervals
        .iter()
        .flat_map(|&(low, high)| [low, high])
        .flat_map(|end| (-REACH..=REACH).map(move |k| end + f64::from(k) * spread))
        .collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup_by(|next, kept| *next - *kept < 0.5 * spread);
    let chance =
        |x: f64| intervals.iter().map(|&(low, high)| normal_between((low - x) / spread, (high - x) / spread)).sum();
    let panels = edges.windows(2);
    panels
        .flat_map(|panel| {
            let (low, width) = (panel[0], panel[1] - panel[0]);
            PANEL.pairs().map(move |(s, weight)| (low + width * s, width * weight))
        })
        .map(|(place, weight)| AxisNode { place, weight, chance: chance(place) })
        .collect()
}

fn normal_between(low: f64, high: f64) -> f64 {
    // Both in the lower tail, where differences are exact.
    if low > 0.0 { normal_cdf(-low) - normal_cdf(-high) } else { normal_cdf(high) - normal_cdf(low) }
}

/// The same integral, m2, for animals uniform in a disc of radius `radius` about the centre, and a belt.
pub(super) fn matern_void(belt: (f64, f64), mean_size: f64, radius: f64) -> f64 {
    let disc = PI * radius * radius;
    let chance = |x: f64, y: f64| {
        let below = |a: f64, b: f64| disc_in_quadrant(a, b, radius);
        let (left, right, low, high) = (-x, belt.0 - x, -y, belt.1 - y);
        (below(right, high) - below(left, high) - below(right, low) + below(left, low)) / disc
    };
    // By symmetry a quarter; kinks lie where the disc touches an edge or a corner, the panels are an eighth of it.
    let panels = |half: f64| {
        let mut edges = vec![-radius, half];
        for touching in [0.0, radius] {
            if touching < half {
                edges.push(touching);
            }
        }
        let step = radius / 8.0;
        let fine = (1..).map(|k| -radius + f64::from(k) * step).take_while(|edge| *edge < half.min(radius));
        edges.extend(fine);
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|next, kept| *next - *kept < 1e-9 * radius);
        edges
    };
    let (columns, rows) = (panels(0.5 * belt.0), panels(0.5 * belt.1));
    let rule = &*PANEL;
    let column = |x: f64| -> f64 {
        rows.windows(2).map(|row| rule.integrate(row[0], row[1], |y| -libm::expm1(-mean_size * chance(x, y)))).sum()
    };
    4.0 * columns.windows(2).map(|piece| rule.integrate(piece[0], piece[1], column)).sum::<f64>()
}

/// Area of the part of a disc about the origin where x < a and y < b.
fn disc_in_quadrant(a: f64, b: f64, radius: f64) -> f64 {
    let a = a.clamp(-radius, radius);
    let b = b.clamp(-radius, radius);
    let half_chord = |t: f64| libm::sqrt((radius * radius - t * t).max(0.0));
    // Integral of the half chord from 0 to t.
    let segment = |t: f64| 0.5 * (t * half_chord(t) + radius * radius * libm::asin((t / radius).clamp(-1.0, 1.0)));
    let reach = half_chord(b);
    // Left and right of +-reach the line y = b passes above the whole chord (b > 0) or below it (b < 0); between them it
    // cuts it.
    let full = |low: f64, high: f64| if b > 0.0 && high > low { 2.0 * (segment(high) - segment(low)) } else { 0.0 };
    let cut = |low: f64, high: f64| if high > low { b * (high - low) + segment(high) - segment(low) } else { 0.0 };
    full(-radius, a.min(-reach)) + cut(-reach, a.min(reach)) + full(reach, a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_is_cut_into_its_parts() {
        let (radius, disc) = (1.3, PI * 1.3 * 1.3);
        assert!((disc_in_quadrant(9.0, 9.0, radius) - disc).abs() < 1e-12);
        assert!((disc_in_quadrant(0.0, 0.0, radius) - 0.25 * disc).abs() < 1e-12);
        assert_eq!(disc_in_quadrant(-2.0, 0.3, radius), 0.0);
        for (a, b) in [(0.4f64, 0.9f64), (-0.5, 0.2), (0.6, -0.7), (1.2, 1.2), (-1.2, -1.0)] {
            let steps = 1500;
            let places = (0..steps).map(|i| radius * (2.0 * (i as f64 + 0.5) / f64::from(steps) - 1.0));
            let inside = places
                .filter(|&x| x < a)
                .map(|x| {
                    let half = (radius * radius - x * x).sqrt();
                    (b.min(half) + half).max(0.0)
                })
                .sum::<f64>();
            let slow = inside * 2.0 * radius / f64::from(steps);
            let found = disc_in_quadrant(a, b, radius);
            assert!((found - slow).abs() < 3e-3, "{a} {b}: {found} {slow}");
        }
    }

    #[test]
    fn small_groups_void_what_single_animals_void() {
        let unit = Unit::Quadrats { number: 5, every_m: 2.0, length_m: 0.5, width_m: 0.25 };
        let single = Void::of_single(unit, 1e-6);
        let groups = thomas_void(unit, 1e-6, 0.01);
        assert!((groups.area / single.area - 1.0).abs() < 1e-5, "{groups:?} {single:?}");
        assert!((groups.length / single.length - 1.0).abs() < 1e-3);
        // Places are spread by the groups.
        assert!((groups.width.powi(2) / (0.25f64.powi(2) + 12.0 * 1e-4) - 1.0).abs() < 1e-3);
        let matern = matern_void((3.0, 0.5), 1e-6, 0.2);
        assert!((matern / 1.5e-6 - 1.0).abs() < 1e-5, "{matern}");
    }
}
