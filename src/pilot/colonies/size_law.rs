//! The lognormal law of diameters behind a sample that is cut at both ends, rounded by a ruler, and seen through an edge
//! rule.

use crate::random::normal_cdf;
use crate::theory::root;
use serde::Serialize;

/// A law of sizes found in a pilot, metres. Errors are single standard errors, over sites.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SizeFit {
    pub median_m: f64,
    /// Of the colonies of one site and visit, where the pilot tells how sites differ; else of all.
    pub ln_sd: f64,
    /// Where the law is cut: the largest diameter, or where there are many the one that 1 in 200 exceeds.
    pub max_m: f64,
    pub ln_median_error: f64,
    pub ln_sd_error: f64,
}

/// One diameter (m) with the weight that makes up for the edge rule.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sized {
    pub diameter_m: f64,
    pub weight: f64,
}

/// The sizes of several cells (a site at a visit) as if all had the typical one's: every size of a cell is multiplied by what
/// brings the mean logarithm of the cell to that of all colonies. What is left is the spread within sites.
pub(super) fn levelled(cells: &[Vec<Sized>]) -> Vec<Vec<Sized>> {
    let mean_ln = |sizes: &mut dyn Iterator<Item = &Sized>| {
        let (mut weights, mut sum) = (0.0, 0.0);
        for sized in sizes {
            weights += sized.weight;
            sum += sized.weight * libm::log(sized.diameter_m);
        }
        sum / weights
    };
    let typical = mean_ln(&mut cells.iter().flatten());
    let level = |cell: &Vec<Sized>| -> Vec<Sized> {
        let factor = libm::exp(typical - mean_ln(&mut cell.iter()));
        cell.iter().map(|sized| Sized { diameter_m: factor * sized.diameter_m, ..*sized }).collect()
    };
    cells.iter().map(level).collect()
}

/// Below as many colonies the largest is the cut.
const MANY: usize = 400;

/// The cut of the law above; `None` without sizes.
pub(super) fn cut(cells: &[Vec<Sized>]) -> Option<f64> {
    let mut sizes: Vec<f64> = cells.iter().flatten().map(|sized| sized.diameter_m).collect();
    sizes.sort_by(f64::total_cmp);
    let place = if sizes.len() < MANY { sizes.len() } else { sizes.len() - sizes.len() / 200 };
    place.checked_sub(1).map(|last| sizes[last])
}

/// Median and SD of ln diameter by maximum likelihood for a lognormal law cut at both ends (m): mean and variance of ln
/// diameter are those of the cut law (it is an exponential family). The variance is that within cells, each about its own mean.
/// Rounding to a ruler adds `ruler^2 / 12` to the variance of a diameter, which is taken off, and `-ruler^2 / (24 d^2)` to its
/// mean logarithm. `None` with fewer than three sizes, where no cell has two, or where they spread more evenly than any
/// lognormal law.
pub(super) fn median_and_ln_sd(cells: &[Vec<Sized>], (least_m, max_m): (f64, f64), ruler_m: f64) -> Option<(f64, f64)> {
    let (low, high) = (libm::log(least_m), libm::log(max_m));
    let mut all = Sums::default();
    let (mut within, mut freedom) = (0.0, 0.0);
    for cell in cells {
        let mut own = Sums::default();
        cell.iter().filter(|sized| sized.diameter_m <= max_m * (1.0 + 1e-9)).for_each(|sized| own.add(sized, ruler_m));
        if own.used > 0 {
            within += own.squares - own.sum * own.sum / own.weights;
            freedom += own.weights - own.squared_weights / own.weights;
            all.join(&own);
        }
    }
    if all.used < 3 || !(freedom > 0.0) {
        return None;
    }
    let mean = all.sum / all.weights;
    let variance = within / freedom - all.rounding / all.weights;
    if !(variance > 0.0 && low < mean && mean < high) {
        return None;
    }
    let centre = |sd: f64| root(low - 6.0 * sd, high + 6.0 * sd, 1e-9, |at| Cut::of(at, sd, low, high).mean - mean);
    let gap = |sd: f64| centre(sd).map_or(f64::NAN, |at| Cut::of(at, sd, low, high).variance - variance);
    // The uncut law's SD is not below that of the cut one.
    let sd = root(0.9 * libm::sqrt(variance), WIDEST_LN_SD, 1e-8, gap)?;
    Some((libm::exp(centre(sd)?), sd))
}

/// Weighted sums over sizes, of ln diameter.
#[derive(Default)]
struct Sums {
    used: usize,
    weights: f64,
    squared_weights: f64,
    sum: f64,
    squares: f64,
    /// Of the variance that the ruler adds.
    rounding: f64,
}

impl Sums {
    fn add(&mut self, &Sized { diameter_m, weight }: &Sized, ruler_m: f64) {
        // A colony as small as the ruler has its size from half of it on.
        let share = (ruler_m / diameter_m).min(1.0);
        let ln = libm::log(diameter_m) - share * share / 24.0;
        self.used += 1;
        self.weights += weight;
        self.squared_weights += weight * weight;
        self.sum += weight * ln;
        self.squares += weight * ln * ln;
        self.rounding += weight * share * share / 12.0;
    }

    fn join(&mut self, other: &Self) {
        self.used += other.used;
        self.weights += other.weights;
        self.sum += other.sum;
        self.rounding += other.rounding;
    }
}

/// Wider laws of ln diameter are not looked for.
const WIDEST_LN_SD: f64 = 3.0;

/// Mean and variance of a normal law cut at both ends (Johnson, Kotz & Balakrishnan 1994, Continuous Univariate
/// Distributions 1, section 13.10.1; from memory).
struct Cut {
    mean: f64,
    variance: f64,
}

impl Cut {
    fn of(centre: f64, sd: f64, low: f64, high: f64) -> Self {
        let (a, b) = ((low - centre) / sd, (high - centre) / sd);
        // In the nearer tail, so that nothing large is subtracted.
        let kept = if a > 0.0 { normal_cdf(-a) - normal_cdf(-b) } else { normal_cdf(b) - normal_cdf(a) };
        let density = |x: f64| libm::exp(-0.5 * x * x) / libm::sqrt(std::f64::consts::TAU);
        let shift = (density(a) - density(b)) / kept;
        let variance = 1.0 + (a * density(a) - b * density(b)) / kept - shift * shift;
        Self { mean: centre + sd * shift, variance: sd * sd * variance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose, normal_from_uniform};
    use crate::survey::coral_belt::EdgeRule;
    use crate::theory::colonies::counting_area;

    /// Sizes drawn from a law, seen from a least size on, up to a largest, through an edge rule, with a ruler.
    fn seen((median, sd): (f64, f64), least: f64, most: f64, edge: EdgeRule, ruler: f64) -> Vec<Sized> {
        let belt = (10.0, 1.0);
        let key = Key::seed(3);
        let mut sample = Vec::new();
        for i in 0..40_000 {
            let diameter = median * libm::exp(sd * normal_from_uniform(key.uniform(Purpose::Test, 2 * i)));
            let area = counting_area(edge, belt, 0.5 * diameter);
            let written = (diameter / ruler).round() * ruler;
            let counted = 40.0 * key.uniform(Purpose::Test, 2 * i + 1) < area;
            if counted && least <= written && written <= most && written > 0.0 {
                sample.push(Sized { diameter_m: written, weight: 10.0 / counting_area(edge, belt, 0.5 * written) });
            }
        }
        sample
    }

    #[test]
    fn the_law_is_found_behind_cuts_ruler_and_edge_rule() {
        for (median, sd) in [(0.10, 0.75), (0.13, 1.02), (0.06, 0.5)] {
            for (edge, least, ruler) in [
                (EdgeRule::CentreIn, 0.005, 0.001),
                (EdgeRule::CentreIn, 0.04, 0.01),
                (EdgeRule::AnyPartIn, 0.04, 0.01),
                (EdgeRule::WhollyIn, 0.02, 0.01),
            ] {
                let most = 0.8;
                let sample = seen((median, sd), least, most, edge, ruler);
                let bounds = (least - 0.5 * ruler, most);
                let (found, found_sd) = median_and_ln_sd(&[sample], bounds, ruler).unwrap();
                // Four errors of the least certain case (a third of 40,000 x 1/4 colonies above the cut), and the cut ruler.
                let slack = 0.05 + 0.1 * least / median;
                assert!((found / median).ln().abs() < slack, "{median} {sd} {edge:?} {least}: {found}");
                assert!((found_sd / sd - 1.0).abs() < slack, "{median} {sd} {edge:?} {least}: {found_sd}");
            }
        }
    }

    /// Cells whose colonies are so many times as wide, cuts and all: the law within is that of one cell, whatever they differ by.
    #[test]
    fn what_cells_differ_by_is_no_spread_of_sizes() {
        let sample = seen((0.10, 0.75), 0.02, 0.8, EdgeRule::CentreIn, 0.001);
        let cells: Vec<Vec<Sized>> = sample.chunks(20).map(<[Sized]>::to_vec).collect();
        let wider = |(at, cell): (usize, &Vec<Sized>)| -> Vec<Sized> {
            let factor = if at % 2 == 0 { 1.6 } else { 1.0 / 1.6 };
            cell.iter().map(|sized| Sized { diameter_m: factor * sized.diameter_m, ..*sized }).collect()
        };
        let differ: Vec<Vec<Sized>> = cells.iter().enumerate().map(wider).collect();
        let bounds = (0.0195, 0.8);
        let within = |cells: &[Vec<Sized>]| median_and_ln_sd(&levelled(cells), bounds, 0.001).unwrap();
        let (even, uneven) = (within(&cells), within(&differ));
        // One error of an SD of ten thousand sizes is .7 %; all in one law would have the root of .75^2 + .47^2, 18 % more.
        assert!((even.1 / 0.75 - 1.0).abs() < 0.04 && (uneven.1 / even.1 - 1.0).abs() < 0.01, "{even:?} {uneven:?}");
        assert!((uneven.0 / even.0).ln().abs() < 0.02, "{even:?} {uneven:?}");
        let pooled = median_and_ln_sd(&[differ.concat()], (0.0195 / 1.6, 0.8 * 1.6), 0.001).unwrap();
        assert!(pooled.1 > 1.1 * uneven.1, "{pooled:?} {uneven:?}");
    }

    #[test]
    fn what_has_no_law_is_told() {
        let sized = |diameter_m: f64| Sized { diameter_m, weight: 1.0 };
        assert!(median_and_ln_sd(&[vec![sized(0.1), sized(0.2)]], (0.005, 0.5), 0.01).is_none());
        assert!(median_and_ln_sd(&[vec![sized(0.1); 9]], (0.005, 0.5), 0.001).is_none());
        // Nothing is known of the spread within cells of one colony each.
        let alone: Vec<Vec<Sized>> = (1..=9).map(|cm| vec![sized(0.01 * f64::from(cm))]).collect();
        assert!(median_and_ln_sd(&alone, (0.005, 0.5), 0.001).is_none());
        let many: Vec<Sized> = (1..=1000).map(|mm| sized(0.001 * f64::from(mm))).collect();
        assert_eq!((cut(&[many[..100].to_vec()]), cut(&[many]), cut(&[])), (Some(0.1), Some(0.995), None));
    }
}
