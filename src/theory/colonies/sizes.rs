use super::edge::counting_area;
use crate::reef::colonies::AXIS_RATIO;
use crate::survey::coral_belt::CoralBelt;
use crate::theory::Discs;
use crate::theory::quadrature::Rule;
use std::f64::consts::PI;
use std::sync::LazyLock;

static RATIOS: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(16));
/// Steps in ln radius.
const STEPS: usize = 1500;

/// The sizes that are written in a belt, for visible colonies of the reef's law of sizes: what the edge rule, the
/// diver's eye and the ruler make of them. Sums over steps in ln radius and nodes of the axis ratio: good to 1e-3.
#[derive(Clone, Debug)]
pub struct MeasuredSizes {
    pub written: WrittenSizes,
    /// The same on sites whose colonies are wider, by each of the factors that were asked for.
    pub(super) elsewhere: Vec<WrittenSizes>,
    /// Sums over all visible colonies of the weight w with which they are written.
    pub(super) count: Weight,
    /// The same of w times the colony's area, m2.
    pub(super) area: Weight,
}

/// Written colonies by the class of the ruler.
#[derive(Clone, Debug)]
pub struct WrittenSizes {
    /// Written colonies of each class (1, 2 ... steps of the ruler), for each visible colony of the belt's area.
    classes: Vec<f64>,
    /// The same of colonies written at both of two visits.
    at_both: Vec<f64>,
    ruler_m: f64,
}

/// Moments of a weight that a visible colony of radius R has.
#[derive(Clone, Debug)]
pub(super) struct Weight {
    pub(super) mean: f64,
    /// Mean of its square, where the colony is written at one visit, and at both.
    pub(super) square: f64,
    pub(super) square_at_both: f64,
    /// Mean of the weight over colonies up to each radius.
    upto: Vec<(f64, f64)>,
}

impl Weight {
    fn none() -> Self {
        Self { mean: 0.0, square: 0.0, square_at_both: 0.0, upto: vec![(0.0, 0.0)] }
    }

    /// `E[w; R <= radius]`.
    pub(super) fn upto(&self, radius: f64) -> f64 {
        let after = self.upto.partition_point(|&(edge, _)| edge < radius);
        match (after.checked_sub(1).map(|before| self.upto[before]), self.upto.get(after)) {
            (_, None) => self.mean,
            (None, _) => 0.0,
            (Some((low, below)), Some(&(high, above))) => below + (above - below) * (radius - low) / (high - low),
        }
    }
}

impl MeasuredSizes {
    pub fn new(discs: &Discs, belt: &CoralBelt, size: (f64, f64)) -> Self {
        Self::of_survivors((discs, &|_| 1.0), belt, size, &[])
    }

    /// The same where a colony of a radius (m) survived with some probability, and on sites where all are so many times as
    /// wide. The edge rule and whom the diver misses go by the width that the reef has.
    pub fn of_survivors(
        (discs, survival): (&Discs, &dyn Fn(f64) -> f64),
        belt: &CoralBelt,
        size: (f64, f64),
        wider: &[f64],
    ) -> Self {
        let smallest = 0.5 * crate::reef::SMALLEST_DIAMETER_M;
        let ratio = 0.5 * discs.largest / smallest;
        let edge = |i: usize| smallest * libm::pow(ratio, i as f64 / STEPS as f64);
        let largest = discs.largest / AXIS_RATIO.low.sqrt();
        let mut written = WrittenSizes::none(largest, belt.ruler_m);
        let mut elsewhere: Vec<WrittenSizes> =
            wider.iter().map(|factor| WrittenSizes::none(factor * largest, belt.ruler_m)).collect();
        let (mut count, mut area) = (Weight::none(), Weight::none());
        let mut below = 0.0;
        let all = discs.expect(survival);
        for i in 0..STEPS {
            let (low, high) = (edge(i), edge(i + 1));
            let upto = discs.share_below(high);
            let radius = libm::sqrt(low * high);
            let probability = (upto - below) * survival(radius) / all;
            below = upto;
            let edges = counting_area(belt.edge, size, radius) / (size.0 * size.1);
            let disc = PI * radius * radius;
            let (mut seen, mut seen_twice) = (0.0, 0.0);
            for (x, node) in RATIOS.pairs() {
                let longest = 2.0 * radius / AXIS_RATIO.at(x).sqrt();
                let class = written.class_of(longest);
                let chance = belt.detection.chance(class as f64 * belt.ruler_m);
                let weights = [chance, chance * chance].map(|chance| probability * node * edges * chance);
                written.add(class, weights);
                for (sizes, factor) in elsewhere.iter_mut().zip(wider) {
                    sizes.add(sizes.class_of(factor * longest), weights);
                }
                seen += node * chance;
                seen_twice += node * chance * chance;
            }
            for (weight, of) in [(&mut count, 1.0), (&mut area, disc)] {
                weight.mean += probability * edges * seen * of;
                weight.square += probability * edges * seen * of * of;
                weight.square_at_both += probability * edges * seen_twice * of * of;
                weight.upto.push((high, weight.mean));
            }
        }
        Self { written, elsewhere, count, area }
    }

    /// What is written on a site of the list of factors, or on the typical one.
    pub(super) fn on(&self, site: Option<usize>) -> &WrittenSizes {
        site.map_or(&self.written, |site| &self.elsewhere[site])
    }

    /// Written colonies for each visible colony of the belt's area.
    pub fn share_written(&self) -> f64 {
        self.count.mean
    }
}

/// Classes of the ruler beyond this are put into the last.
const MOST_CLASSES: f64 = 20_000.0;

impl WrittenSizes {
    fn none(largest_m: f64, ruler_m: f64) -> Self {
        let most = (largest_m / ruler_m + 1.5).min(MOST_CLASSES) as usize;
        Self { classes: vec![0.0; most + 1], at_both: vec![0.0; most + 1], ruler_m }
    }

    fn class_of(&self, longest_m: f64) -> usize {
        ((longest_m / self.ruler_m + 0.5) as usize).clamp(1, self.classes.len() - 1)
    }

    /// A colony that is written with these chances at one visit and at both.
    fn add(&mut self, class: usize, [once, twice]: [f64; 2]) {
        self.classes[class] += once;
        self.at_both[class] += twice;
    }

    /// The sizes of several kinds of place together, each with the share of the colonies that are there.
    pub(super) fn together(of: &[(f64, &Self)]) -> Self {
        let sum = |list: fn(&Self) -> &Vec<f64>| {
            let mut sum = vec![0.0; list(of[0].1).len()];
            for (weight, sizes) in of {
                sum.iter_mut().zip(list(sizes)).for_each(|(to, from)| *to += weight * from);
            }
            sum
        };
        Self { classes: sum(|sizes| &sizes.classes), at_both: sum(|sizes| &sizes.at_both), ruler_m: of[0].1.ruler_m }
    }

    /// Mean of a function of the written largest diameter, m.
    pub fn mean(&self, f: impl Fn(f64) -> f64) -> f64 {
        self.mean_over(&self.classes, f)
    }

    /// The same over colonies that are written at both of two visits.
    pub fn mean_at_both(&self, f: impl Fn(f64) -> f64) -> f64 {
        self.mean_over(&self.at_both, f)
    }

    fn mean_over(&self, classes: &[f64], f: impl Fn(f64) -> f64) -> f64 {
        let total: f64 = classes.iter().sum();
        let written = classes.iter().enumerate().skip(1).filter(|(_, share)| **share > 0.0);
        let sum: f64 = written.map(|(k, share)| share * f(k as f64 * self.ruler_m)).sum();
        sum / total
    }

    /// The median of the written diameters were they not rounded, m, and the density of diameters there, per m.
    pub fn median(&self) -> (f64, f64) {
        let total: f64 = self.classes.iter().sum();
        let mut below = 0.0;
        for (k, share) in self.classes.iter().map(|p| p / total).enumerate() {
            if below + share >= 0.5 {
                let within = (0.5 - below) / share;
                return ((k as f64 - 0.5 + within) * self.ruler_m, share / self.ruler_m);
            }
            below += share;
        }
        (f64::NAN, f64::NAN)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::NamedReef;
    use crate::reef::colonies::mean_stretch;
    use crate::survey::coral_belt::{Detection, EdgeRule};

    #[test]
    fn a_perfect_belt_writes_the_law_of_sizes() {
        for reef in NamedReef::ALL {
            let discs = Discs::new(&reef.spec().sizes);
            let belt =
                CoralBelt { ruler_m: 0.001, detection: Detection::From { least_m: 0.0 }, ..CoralBelt::default() };
            let sizes = MeasuredSizes::new(&discs, &belt, (10.0, 1.0));
            assert!((sizes.share_written() - 1.0).abs() < 1e-9);
            assert!((sizes.area.mean / discs.mean_area - 1.0).abs() < 1e-3, "{reef:?}");
            let mean = 2.0 * discs.mean_radius * mean_stretch();
            assert!(
                (sizes.written.mean(|d| d) / mean - 1.0).abs() < 2e-3,
                "{reef:?} {} {mean}",
                sizes.written.mean(|d| d)
            );
            for radius in [0.01, 0.03, 0.1, 2.0] {
                assert!((sizes.count.upto(radius) - discs.share_below(radius)).abs() < 2e-3);
            }
        }
    }

    #[test]
    fn what_is_missed_is_small_and_what_touches_is_large() {
        let discs = Discs::new(&NamedReef::ForeReef.spec().sizes);
        let perfect = CoralBelt::default();
        let mean = |belt: &CoralBelt| {
            let sizes = MeasuredSizes::new(&discs, belt, (10.0, 1.0));
            (sizes.share_written(), sizes.written.mean(|d| d), sizes.written.median().0)
        };
        let whole = mean(&perfect);
        let missed = mean(&CoralBelt { detection: Detection::From { least_m: 0.05 }, ..perfect });
        let touching = mean(&CoralBelt { edge: EdgeRule::AnyPartIn, ..perfect });
        let inside = mean(&CoralBelt { edge: EdgeRule::WhollyIn, ..perfect });
        assert!(missed.0 < 0.95 && missed.1 > whole.1 && missed.2 > whole.2);
        assert!(touching.0 > 1.1 && touching.1 > whole.1);
        assert!(inside.0 < 0.9 && inside.1 < whole.1);
    }
}
