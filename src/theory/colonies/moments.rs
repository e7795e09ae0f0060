use super::inverse_count::inverse_count;
use super::sizes::{MeasuredSizes, Weight};
use super::visible::VisiblePairs;
use crate::analysis::{ColonyIndicator, in_class};
use crate::reef::CoralLaw;
use crate::reef::colonies::{DEAD_SHARE_PRECISION, mean_dead_share_where_any, share_with_dead_parts};
use crate::survey::coral_belt::{CoralBelt, Detection, EdgeRule};
use crate::theory::coral::{CoralPairs, site_pairs};
use crate::theory::curve::Curve;
use crate::theory::pairs::{PairOfUnits, Unit, mean_common_area, mean_common_area_relaid};
use crate::theory::placement::{smeared, variance_of_rectangle};
use crate::theory::shape::{Kernels, Shape};
use crate::theory::{Discs, LayoutMoments, UnitMoments};

/// Visible colonies of one zone, in closed form: made once a zone, good for any belt and indicator.
#[derive(Clone, Debug)]
pub struct ColonyTheory {
    states: Vec<State>,
    discs: Discs,
    /// Size of a site, m.
    site: (f64, f64),
    /// SD of how far a belt at the same marks is laid from where it was, m per axis; nil of places drawn anew.
    relay_sd: Option<f64>,
}

#[derive(Clone, Debug)]
struct State {
    cover: f64,
    /// Visible colonies per m2; those visible at the first visit too; those that lived then unseen.
    density: f64,
    at_both: f64,
    uncovered: f64,
    /// Shares of the germs of the first visit and of this state that live at both.
    common: (f64, f64),
    /// Densities of ordered pairs of one state, of which the second ranks higher (and as many the first).
    within: Curve,
    /// The same from the first visit to this state: the second ranks higher, the first does.
    across: (Curve, Curve),
    /// Variance of the true cover of whole sites, and covariance with the first visit's.
    truth: (f64, f64),
}

/// Knots of the pair densities.
const KNOTS: usize = 240;

impl ColonyTheory {
    /// `kernels` as for `shape`; `relay_sd` where belts of the second visit lie at the marks of the first.
    pub fn new(law: &CoralLaw, (shape, kernels): (&Shape, &Kernels), site: (f64, f64), relay_sd: Option<f64>) -> Self {
        let visible = VisiblePairs::new(law, shape, kernels);
        let covers = CoralPairs::new(law, shape);
        let distances = site_pairs(site.0, site.1);
        let reach = libm::hypot(site.0, site.1);
        let states = (0..law.states.len()).map(|s| {
            let within = Curve::new(reach, KNOTS, |h| visible.within(s, h).second_above);
            let across = if s == 0 {
                (within.clone(), within.clone())
            } else {
                let mut first_above = Vec::with_capacity(KNOTS + 1);
                let second_above = Curve::new(reach, KNOTS, |h| {
                    let pairs = visible.across(s, h);
                    first_above.push(pairs.first_above);
                    pairs.second_above
                });
                let mut first_above = first_above.into_iter();
                // The knots come in the same order.
                (second_above, Curve::new(reach, KNOTS, |_| first_above.next().unwrap_or(f64::NAN)))
            };
            let density = visible.density(s);
            let (at_both, at_second) = if s == 0 { (density, density) } else { visible.same(s) };
            let bare = |state| covers.bare(state);
            let own = covers.truth_within(s, &distances) - bare(s) * bare(s);
            State {
                cover: law.states[s].cover,
                density,
                at_both,
                uncovered: at_second - at_both,
                common: if s == 0 { (1.0, 1.0) } else { visible.common(s) },
                within,
                across,
                truth: (own, if s == 0 { own } else { covers.truth_across(s, &distances) - bare(0) * bare(s) }),
            }
        });
        Self { states: states.collect(), discs: shape.discs.clone(), site, relay_sd }
    }

    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        if self.states.len() > state {
            self.states = vec![self.states[0].clone(), self.states[1].clone(), self.states[state].clone()];
        }
    }

    /// Visible colonies per m2 in a state. Cover over the mean area of a disc, but for patches hardly larger than colonies.
    pub fn density(&self, state: usize) -> f64 {
        self.states[state].density
    }

    /// Colonies per m2 visible in a state of the second visit that lived at the first and lay under others then.
    pub fn uncovered(&self, state: usize) -> f64 {
        self.states[state].uncovered
    }

    /// Colonies per m2 that are visible at both visits.
    pub fn visible_at_both(&self, state: usize) -> f64 {
        self.states[state].at_both
    }

    /// Moments of an indicator as a belt of `size` (length, width) gives it, in every state.
    pub fn moments(&self, belt: &CoralBelt, size: (f64, f64), indicator: ColonyIndicator) -> UnitMoments {
        let sizes = MeasuredSizes::new(&self.discs, belt, size);
        let perfect =
            CoralBelt { edge: EdgeRule::CentreIn, detection: Detection::From { least_m: 0.0 }, ruler_m: belt.ruler_m };
        let all = MeasuredSizes::new(&self.discs, &perfect, size);
        match indicator {
            ColonyIndicator::Density => self.sum((&sizes.count, all.count.mean), size),
            ColonyIndicator::EllipseCover => self.sum((&sizes.area, all.area.mean), size),
            _ => self.ratio(&sizes, (OneColony::of(indicator, &sizes), OneColony::of(indicator, &all)), size),
        }
    }

    /// Moments of the sum of a weight over the colonies of a belt, per m2; `true_weight` is its mean over all colonies.
    fn sum(&self, (weight, true_weight): (&Weight, f64), size: (f64, f64)) -> UnitMoments {
        let area = size.0 * size.1;
        let pair = PairOfUnits::new(self.site, Unit::Strip { length_m: size.0, width_m: size.1 });
        let common_area = mean_common_area(self.site, size) / (area * area);
        let each = |of: &dyn Fn(usize, &State) -> f64| -> Vec<f64> {
            self.states.iter().enumerate().map(|(s, state)| of(s, state)).collect()
        };
        let true_per_cover = |state: &State| state.density * true_weight / state.cover;
        let first = &self.states[0];
        UnitMoments {
            truth: each(&|_, state| state.density * true_weight),
            mean: each(&|_, state| state.density * weight.mean),
            variance: each(&|_, state| {
                state.density * weight.square / area
                    + variance_of_rectangle(size.0, size.1, |h| state.covariance_within(weight, h))
            }),
            pair: each(&|_, state| {
                pair.mean(|h| state.covariance_within(weight, h)) + state.density * weight.square * common_area
            }),
            same_marks: each(&|s, state| {
                let (Some(sd), true) = (self.relay_sd, s > 0) else { return f64::NAN };
                let reach = libm::hypot(self.site.0, self.site.1);
                let curve = Curve::new(reach, 2 * KNOTS, |h| state.covariance_across(weight, first, h));
                let curve = smeared(&curve, sd);
                let same = state.at_both * weight.square_at_both * mean_common_area_relaid(size, sd);
                same / (area * area) + variance_of_rectangle(size.0, size.1, |h| curve.at(h))
            }),
            across: each(&|s, state| {
                if s == 0 {
                    return f64::NAN;
                }
                pair.mean(|h| state.covariance_across(weight, first, h))
                    + state.at_both * weight.square_at_both * common_area
            }),
            site_truth: each(&|_, state| state.truth.0 * true_per_cover(state).powi(2)),
            site_truth_across: each(&|_, state| state.truth.1 * true_per_cover(state) * true_per_cover(first)),
            read_by_crew: false,
            layout: LayoutMoments::default(),
        }
    }

    /// Moments of a mean over the colonies of a belt, by the delta method. Sizes have the same law everywhere, so that
    /// belts share nothing but colonies that lie in both, and sites do not differ.
    fn ratio(&self, sizes: &MeasuredSizes, (one, truth): (OneColony, OneColony), size: (f64, f64)) -> UnitMoments {
        let area = size.0 * size.1;
        let counts = self.sum((&sizes.count, 1.0), size);
        let number = self.states.len();
        let each = |of: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..number).map(of).collect() };
        let count = |s: usize| counts.mean[s] * area;
        let common = mean_common_area(self.site, size);
        // Of colonies written twice, c of n and n', E c / (n n') is that of the means times what E 1 / n would be of a count
        // with the covariance of n and n' for its variance: c is a random part of either.
        let more = |covariance: f64, s: usize, t: usize| {
            inverse_count((count(s) * count(t)).sqrt(), covariance.max(0.0) * area * area)
        };
        let same = |s: usize, both_area: f64, covariance: f64| {
            let written = self.states[s].at_both * sizes.count.square_at_both * both_area;
            one.variance_at_both * written / (count(0) * count(s)) * more(covariance, 0, s)
        };
        UnitMoments {
            truth: vec![truth.mean; number],
            mean: vec![one.mean; number],
            variance: each(&|s| one.variance / count(s) * more(counts.variance[s], s, s)),
            pair: each(&|s| one.variance * common / (count(s) * area) * more(counts.pair[s], s, s)),
            same_marks: each(&|s| match self.relay_sd {
                Some(sd) if s > 0 => same(s, mean_common_area_relaid(size, sd), counts.same_marks[s]),
                _ => f64::NAN,
            }),
            across: each(&|s| if s == 0 { f64::NAN } else { same(s, common, counts.across[s]) }),
            site_truth: vec![0.0; number],
            site_truth_across: vec![0.0; number],
            read_by_crew: false,
            layout: LayoutMoments::default(),
        }
    }
}

impl State {
    /// Covariance of the weighted densities at two places of one visit.
    fn covariance_within(&self, weight: &Weight, distance: f64) -> f64 {
        let pairs = 2.0 * self.within.at(distance) * weight.mean * weight.upto(distance);
        pairs - (self.density * weight.mean).powi(2)
    }

    /// The same between a place at the first visit and one in this state. The higher of two colonies hides the other only
    /// where it lives at that visit too.
    fn covariance_across(&self, weight: &Weight, first: &State, distance: f64) -> f64 {
        let unhidden = |common: f64| weight.mean - common * (weight.mean - weight.upto(distance));
        let second_above = self.across.0.at(distance) * unhidden(self.common.1);
        let first_above = self.across.1.at(distance) * unhidden(self.common.0);
        weight.mean * (second_above + first_above) - self.density * first.density * weight.mean * weight.mean
    }
}

/// Mean and variance of what one written colony contributes to a mean.
#[derive(Clone, Copy, Debug, PartialEq)]
struct OneColony {
    mean: f64,
    variance: f64,
    /// Mean square about `mean` of the colonies that are written at both visits.
    variance_at_both: f64,
}

impl OneColony {
    fn of(indicator: ColonyIndicator, sizes: &MeasuredSizes) -> Self {
        let of = |f: &dyn Fn(f64) -> f64| Self::moments(sizes, f, &|d| f(d) * f(d));
        let any = share_with_dead_parts;
        let dead = mean_dead_share_where_any;
        let square = |d: f64| dead(d).powi(2) + dead(d) * (1.0 - dead(d)) / (1.0 + DEAD_SHARE_PRECISION);
        match indicator {
            ColonyIndicator::MeanDiameter => of(&|d| d),
            ColonyIndicator::MeanLnDiameter => of(&libm::log),
            ColonyIndicator::AgeIndex { growth_m } => of(&|d| d / growth_m),
            ColonyIndicator::ClassShare { from_m, to_m } => of(&|d| f64::from(u8::from(in_class(d, from_m, to_m)))),
            ColonyIndicator::ShareWithDeadParts => Self::moments(sizes, &any, &any),
            ColonyIndicator::LiveShare => Self::moments(sizes, &|d| 1.0 - any(d) * dead(d), &|d| {
                1.0 - 2.0 * any(d) * dead(d) + any(d) * square(d)
            }),
            ColonyIndicator::MedianDiameter => {
                // The median of n moves by a half of n over the density there.
                let (mean, density) = sizes.median();
                let variance = 0.25 / (density * density);
                Self { mean, variance, variance_at_both: variance }
            }
            ColonyIndicator::Density | ColonyIndicator::EllipseCover => {
                Self { mean: f64::NAN, variance: f64::NAN, variance_at_both: f64::NAN }
            }
        }
    }

    fn moments(sizes: &MeasuredSizes, mean: &dyn Fn(f64) -> f64, square: &dyn Fn(f64) -> f64) -> Self {
        let of = sizes.mean(mean);
        let at_both = sizes.mean_at_both(square) - 2.0 * of * sizes.mean_at_both(mean) + of * of;
        Self { mean: of, variance: (sizes.mean(square) - of * of).max(0.0), variance_at_both: at_both.max(0.0) }
    }
}
