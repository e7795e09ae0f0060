//! How dense visible colonies are, and pairs of them.

use super::centres::Centres;
use crate::reef::CoralLaw;
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
    /// Intensities over the two, weighted by the density of centres there.
    first: LogNormal,
    second: LogNormal,
    /// Covariance of their logarithms.
    covariance: f64,
    /// Mean product of the densities of centres.
    density: f64,
    /// Shares of the germs of each that live at both visits.
    common: (f64, f64),
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
            ranks: ranks(),
        }
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

    /// Visible colonies per m2.
    pub(super) fn density(&self, state: usize) -> f64 {
        let u = self.weighted(state, self.own_shift(state));
        self.law.mean_density(state) * self.shape.intensity.series_of(u, free).bare()
    }

    /// Pairs of visible colonies of one state.
    pub(super) fn within(&self, state: usize, distance: f64) -> Pairs {
        let constant = self.constant(state);
        let shift = self.own_shift(state) + self.centres.mixed(self.shape, distance) + constant;
        let u = self.weighted(state, shift);
        self.pairs(
            distance,
            &Places {
                first: u,
                second: u,
                covariance: self.shape.patch(distance) + self.shape.along(distance) + constant,
                density: self.law.mean_density(state).powi(2)
                    * libm::exp(self.centres.both(self.shape, distance) + constant),
                common: (1.0, 1.0),
            },
        )
    }

    /// Pairs of different colonies, the first visible at the first visit and the second in a state of the second.
    pub(super) fn across(&self, state: usize, distance: f64) -> Pairs {
        let law = self.law;
        let site = law.site_sd.powi(2);
        let shift = self.cross_shift(distance);
        self.pairs(
            distance,
            &Places {
                first: self.weighted(0, self.own_shift(0) + shift),
                second: self.weighted(state, self.own_shift(state) + shift),
                covariance: self.point_covariance(distance),
                density: law.mean_density(0)
                    * law.mean_density(state)
                    * libm::exp(law.field_memory * self.centres.both(self.shape, distance) + site),
                common: self.common(state),
            },
        )
    }

    fn point_covariance(&self, distance: f64) -> f64 {
        let fields = self.shape.patch(distance) + self.shape.along(distance);
        self.law.field_memory * fields + self.law.site_sd.powi(2)
    }

    /// The shares of the germs of the first visit and of a state of the second that live at both.
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
    /// not.
    pub(super) fn same(&self, state: usize) -> (f64, f64) {
        let common = self.common(state);
        let covariance = self.point_covariance(0.0);
        let cross = self.cross_shift(0.0);
        // The shared density is the mean of what each visit's own density says of it.
        let halves = [
            (0.5 * common.0 * self.law.mean_density(0), self.own_shift(0), cross),
            (0.5 * common.1 * self.law.mean_density(state), cross, self.own_shift(state)),
        ];
        let (mut at_both, mut at_second) = (0.0, 0.0);
        for (density, first_shift, second_shift) in halves {
            let (first, second) = (self.weighted(0, first_shift), self.weighted(state, second_shift));
            at_second += density * self.shape.intensity.series_of(second, free).bare();
            // Germs over the centre at either visit: those of both, less the common ones, which count once.
            let both_free: f64 = RANKS
                .pairs()
                .map(|(v, weight)| {
                    let above = v * v;
                    let share = |common: f64| above * (1.0 - 0.5 * common);
                    let pair = ((share(common.0), first), (share(common.1), second));
                    2.0 * v * weight * self.shape.intensity.both_bare(pair.0, pair.1, covariance)
                })
                .sum();
            at_both += density * both_free;
        }
        (at_both, at_second)
    }

    fn pairs(&self, distance: f64, places: &Places) -> Pairs {
        let intensity = &self.shape.intensity;
        let overlap = self.shape.discs.overlap(distance);
        if overlap == 0.0 {
            let (first, second) = (intensity.series_of(places.first, free), intensity.series_of(places.second, free));
            let half = 0.5 * places.density * first.both_bare(&second, places.covariance);
            return Pairs { second_above: half, first_above: half };
        }
        let half_overlaps = (0.5 * overlap * places.common.0, 0.5 * overlap * places.common.1);
        let free_of = |first_share: f64, second_share: f64| {
            let over_both = first_share.min(second_share);
            let first = (first_share - over_both * half_overlaps.0, places.first);
            let second = (second_share - over_both * half_overlaps.1, places.second);
            intensity.both_bare(first, second, places.covariance)
        };
        // The one below has the larger share of germs above it.
        let sum = |of: &dyn Fn(&Ranks) -> f64| -> f64 {
            places.density * self.ranks.iter().map(|ranks| ranks.weight * of(ranks)).sum::<f64>()
        };
        let second_above = sum(&|ranks| free_of(ranks.larger, ranks.smaller));
        if places.common == (1.0, 1.0) && places.first == places.second {
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
