//! How dense visible colonies are, and pairs of them.

use super::centres::Centres;
use crate::reef::CoralLaw;
use crate::theory::deaths::{Left, LeftInPlace};
use crate::theory::intensity::{LogNormal, shared_intensity};
use crate::theory::quadrature::Rule;
use crate::theory::shape::{Kernels, Shape};
use std::sync::LazyLock;

static RANKS: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(12));
static SHARES: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(8));

/// Visible colonies of one zone in every state.
pub(super) struct VisiblePairs<'a> {
    law: &'a CoralLaw,
    shape: &'a Shape,
    centres: Centres,
    /// Variance of ln intensity over a point in each state.
    variances: Vec<f64>,
    /// What deaths leave in each state.
    left: Vec<Left>,
    ranks: Vec<Ranks>,
}

/// Two shares of germs of higher rank, the first at least the second, with their weight (of the half in which they are so
/// ordered; all weights sum to a half).
struct Ranks {
    larger: f64,
    smaller: f64,
    weight: f64,
}

/// Density of ordered pairs (per m4) at a distance, but for the chance that one of the two hides the other: apart for
/// those of which the second ranks higher and those of which the first does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pairs {
    pub(super) second_above: f64,
    pub(super) first_above: f64,
}

/// Two places at a distance, in one state or two, as far as the intensity goes.
struct Places {
    /// Intensities over the two before deaths, weighted by the density of centres there, and what of each is left.
    first: LogNormal,
    second: LogNormal,
    left: (f64, f64),
    /// Covariance of their logarithms.
    covariance: f64,
    /// Mean product of the densities of centres.
    density: f64,
    /// Mean overlap of the discs over both, as a share of the intensity over each.
    overlaps: (f64, f64),
}

impl<'a> VisiblePairs<'a> {
    pub(super) fn new(law: &'a CoralLaw, shape: &'a Shape, kernels: &Kernels) -> Self {
        let fields = shape.patch(0.0) + shape.along(0.0);
        let along = law.spec.along.sd * law.spec.along.sd;
        Self {
            law,
            shape,
            centres: Centres::new(&law.spec, kernels, shape),
            variances: (0..law.states.len()).map(|s| fields + law.slow_variance(s) - along).collect(),
            left: law.states.iter().map(|state| Left::new(state.deaths.as_ref(), &shape.discs)).collect(),
            ranks: ranks(),
        }
    }

    /// What deaths leave in a state.
    pub(super) fn left(&self, state: usize) -> &Left {
        &self.left[state]
    }

    /// Variance of ln density that all of a site shares in one visit.
    fn constant(&self, state: usize) -> f64 {
        let law = self.law;
        law.site_sd.powi(2) + law.site_year_sd.powi(2) + law.states[state].change_sd.powi(2)
    }

    /// Intensity over a point where `shift` is the covariance of its logarithm with those of the densities it is weighted
    /// by.
    fn weighted(&self, state: usize, shift: f64) -> LogNormal {
        LogNormal { mean: self.law.states[state].mean_intensity * libm::exp(shift), variance: self.variances[state] }
    }

    fn own_shift(&self, state: usize) -> f64 {
        self.centres.mixed(self.shape, 0.0) + self.constant(state)
    }

    fn cross_shift(&self, distance: f64) -> f64 {
        self.law.field_memory * self.centres.mixed(self.shape, distance) + self.law.site_sd.powi(2)
    }

    /// Visible colonies per m2 of bottom in each kind of place.
    pub(super) fn densities(&self, state: usize) -> Vec<f64> {
        let u = self.weighted(state, self.own_shift(state));
        let in_place = |place: &LeftInPlace| {
            let centres = place.share * place.colonies * self.law.mean_density(state);
            centres * self.shape.intensity.series_of(u, |u| free(place.intensity * u)).bare()
        };
        self.left[state].places().iter().map(in_place).collect()
    }

    /// Pairs of visible colonies of one state, by the kinds of place of the two: density of those of which the second
    /// ranks higher (and over both orders of the places as many of which the first does).
    pub(super) fn within(&self, state: usize, distance: f64) -> Vec<f64> {
        let constant = self.constant(state);
        let shift = self.own_shift(state) + self.centres.mixed(self.shape, distance) + constant;
        let u = self.weighted(state, shift);
        let density =
            self.law.mean_density(state).powi(2) * libm::exp(self.centres.both(self.shape, distance) + constant);
        let covariance = self.shape.patch(distance) + self.shape.along(distance) + constant;
        let left = &self.left[state];
        let pair = |(k, l, chance): (usize, usize, f64)| {
            let (one, other) = (&left.places()[k], &left.places()[l]);
            let overlap = |place: &LeftInPlace| place.overlap(&self.shape.discs, distance);
            let overlap = 0.5 * (overlap(one) + overlap(other));
            let places = Places {
                first: u,
                second: u,
                left: (one.intensity, other.intensity),
                covariance,
                density: density * chance * one.colonies * other.colonies,
                overlaps: (overlap, overlap),
            };
            self.pairs(&places).second_above
        };
        left.pairs(distance).map(pair).collect()
    }

    /// Pairs of different colonies, the first visible at the first visit and the second in a state of the second, by the
    /// kind of place of the second.
    pub(super) fn across(&self, state: usize, distance: f64) -> Vec<Pairs> {
        let law = self.law;
        let site = law.site_sd.powi(2);
        let shift = self.cross_shift(distance);
        let common = self.common(state);
        let density = law.mean_density(0)
            * law.mean_density(state)
            * libm::exp(law.field_memory * self.centres.both(self.shape, distance) + site);
        let in_place = |place: &LeftInPlace| {
            let overlap = place.overlap(&self.shape.discs, distance);
            self.pairs(&Places {
                first: self.weighted(0, self.own_shift(0) + shift),
                second: self.weighted(state, self.own_shift(state) + shift),
                left: (1.0, place.intensity),
                covariance: self.point_covariance(distance),
                density: density * place.share * place.colonies,
                overlaps: (overlap * common.0, overlap * common.1),
            })
        };
        self.left[state].places().iter().map(in_place).collect()
    }

    fn point_covariance(&self, distance: f64) -> f64 {
        let fields = self.shape.patch(distance) + self.shape.along(distance);
        self.law.field_memory * fields + self.law.site_sd.powi(2)
    }

    /// The shares of the germs of the first visit and of a state of the second that live at both, before deaths.
    pub(super) fn common(&self, state: usize) -> (f64, f64) {
        let law = self.law;
        let (first, second) = (law.states[0].mean_intensity, law.states[state].mean_intensity);
        let fields = self.shape.patch(0.0) + self.shape.along(0.0);
        let change = law.states[state].change_sd.powi(2);
        let difference = 2.0 * fields * (1.0 - law.field_memory) + 2.0 * law.site_year_sd.powi(2) + change;
        let shared = law.same_colonies * shared_intensity(first, second, difference);
        (shared / first, shared / second)
    }

    /// Colonies per m2 that live at both visits and are visible at both; and those visible at the second, at the first or
    /// not. By kind of place.
    pub(super) fn same(&self, state: usize) -> Vec<(f64, f64)> {
        let common = self.common(state);
        let covariance = self.point_covariance(0.0);
        let cross = self.cross_shift(0.0);
        // The shared density is the mean of what each visit's own density says of it.
        let halves = [
            (0.5 * common.0 * self.law.mean_density(0), self.own_shift(0), cross),
            (0.5 * common.1 * self.law.mean_density(state), cross, self.own_shift(state)),
        ];
        let in_place = |place: &LeftInPlace| {
            let (mut at_both, mut at_second) = (0.0, 0.0);
            for (density, first_shift, second_shift) in halves {
                let density = density * place.share * place.colonies;
                let (first, second) = (self.weighted(0, first_shift), self.weighted(state, second_shift));
                at_second += density * self.shape.intensity.series_of(second, |u| free(place.intensity * u)).bare();
                // Germs over the centre at either visit: those of both, less the common ones, which count once.
                let both_free: f64 = RANKS
                    .pairs()
                    .map(|(v, weight)| {
                        let above = v * v;
                        let at_first = above * (1.0 - 0.5 * common.0 * place.intensity);
                        let at_second = above * place.intensity * (1.0 - 0.5 * common.1);
                        let pair = ((at_first, first), (at_second, second));
                        2.0 * v * weight * self.shape.intensity.both_bare(pair.0, pair.1, covariance)
                    })
                    .sum();
                at_both += density * both_free;
            }
            (at_both, at_second)
        };
        self.left[state].places().iter().map(in_place).collect()
    }

    fn pairs(&self, places: &Places) -> Pairs {
        let intensity = &self.shape.intensity;
        let left = places.left;
        if places.overlaps == (0.0, 0.0) {
            let first = intensity.series_of(places.first, |u| free(left.0 * u));
            let second = intensity.series_of(places.second, |u| free(left.1 * u));
            let half = 0.5 * places.density * first.both_bare(&second, places.covariance);
            return Pairs { second_above: half, first_above: half };
        }
        let half_overlaps = (0.5 * places.overlaps.0, 0.5 * places.overlaps.1);
        let free_of = |first_share: f64, second_share: f64| {
            let over_both = first_share.min(second_share);
            // More in common than one of them has left: see `theory::deaths`.
            let first = ((first_share * left.0 - over_both * half_overlaps.0).max(0.0), places.first);
            let second = ((second_share * left.1 - over_both * half_overlaps.1).max(0.0), places.second);
            intensity.both_bare(first, second, places.covariance)
        };
        // The one below has the larger share of germs above it.
        let sum = |of: &dyn Fn(&Ranks) -> f64| -> f64 {
            places.density * self.ranks.iter().map(|ranks| ranks.weight * of(ranks)).sum::<f64>()
        };
        let second_above = sum(&|ranks| free_of(ranks.larger, ranks.smaller));
        if places.first == places.second && left.0 == left.1 && half_overlaps.0 == half_overlaps.1 {
            return Pairs { second_above, first_above: second_above };
        }
        Pairs { second_above, first_above: sum(&|ranks| free_of(ranks.smaller, ranks.larger)) }
    }
}

/// Chance that a centre under `u` discs in the mean has none of higher rank over it.
fn free(u: f64) -> f64 {
    if u < 1e-12 { 1.0 } else { -libm::expm1(-u) / u }
}

/// Larger share `v^2` (dense near 0, where intensities are high), smaller one a part of it.
fn ranks() -> Vec<Ranks> {
    let of_larger = |(v, weight): (f64, f64)| {
        let larger = v * v;
        SHARES.pairs().map(move |(part, part_weight)| Ranks {
            larger,
            smaller: larger * part,
            weight: weight * 2.0 * v * larger * part_weight,
        })
    };
    RANKS.pairs().flat_map(of_larger).collect()
}
