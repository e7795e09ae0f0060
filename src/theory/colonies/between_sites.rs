//! Sites whose colonies differ beyond chance: what that does to means over the colonies of a belt.
//!
//! On a site all colonies are so many times as wide as on the typical one, and the log odds of having dead parts lie so much
//! higher; both are normal (the first in ln). A mean over colonies is worked out at departures on a grid, read anew from the
//! sizes there, so that a share stays one; means and variances over sites are sums over the grid, covariances across the visits
//! the series of Mehler.

use super::moments::{ColonyTheory, OnSite, mean_of};
use super::sizes::MeasuredSizes;
use crate::analysis::ColonyIndicator;
use crate::design::SiteSpread;
use crate::reef::colonies::PartialMortality;
use crate::survey::coral_belt::{CoralBelt, Detection, EdgeRule};
use crate::theory::UnitMoments;
use crate::theory::quadrature::{Rule, orthonormal_hermite};

/// Departures to this many SDs either way; what lies beyond is a hundred-thousandth of a variance.
const REACH_SDS: usize = 5;
/// Steps of the grid for each SD: of ln diameter, and of the share with dead parts, which bends less.
const STEPS: [usize; 2] = [2, 1];
/// Terms of the series across the visits.
const TERMS: usize = 10;
/// Step in log odds over which the share with dead parts is differentiated.
const STEP: f64 = 0.05;

/// Departures of sites along one axis, evenly spread. Sums with the weights of a normal are its means: an even sum with a step
/// of one SD errs by 2 exp(-2 pi^2).
#[derive(Clone, Debug, PartialEq)]
struct Axis {
    spread: SiteSpread,
    steps: usize,
}

impl Axis {
    fn new(spread: SiteSpread, steps: usize) -> Self {
        Self { spread, steps: if spread.between_sites > 0.0 { steps } else { 0 } }
    }

    /// The last of the knots 0, 1 ...
    fn last(&self) -> usize {
        2 * REACH_SDS * self.steps
    }

    /// Departure of a knot in SDs.
    fn sds(&self, knot: usize) -> f64 {
        if self.steps == 0 { 0.0 } else { knot as f64 / self.steps as f64 - REACH_SDS as f64 }
    }

    fn departure(&self, knot: usize) -> f64 {
        self.spread.between_sites * self.sds(knot)
    }

    /// Knots with their weights.
    fn weighted(&self) -> Vec<(usize, f64)> {
        let weight = |knot: usize| libm::exp(-0.5 * self.sds(knot).powi(2));
        let total: f64 = (0..=self.last()).map(weight).sum();
        (0..=self.last()).map(|knot| (knot, weight(knot) / total)).collect()
    }

    /// Where a departure lies among the knots, at the ends what lies beyond.
    fn place(&self, departure: f64) -> f64 {
        let sds = departure / self.spread.between_sites;
        ((sds + REACH_SDS as f64) * self.steps as f64).clamp(0.0, self.last() as f64)
    }

    /// The value at a departure of what is known at the knots.
    fn between(&self, value: impl Fn(usize) -> f64, departure: f64) -> f64 {
        if self.steps == 0 {
            return value(0);
        }
        let place = self.place(departure);
        if place >= self.last() as f64 { value(self.last()) } else { between_knots(value, self.last(), place) }
    }

    /// Correlation of a site's departures at two visits.
    fn alike(&self) -> f64 {
        if self.steps == 0 { 0.0 } else { (self.spread.lasting() / self.spread.between_sites).powi(2) }
    }

    /// For each order, what a sum over the knots takes for the coefficient in Hermite polynomials.
    fn polynomials(&self) -> Vec<Vec<f64>> {
        let terms = if self.steps == 0 { 1 } else { TERMS };
        let of = |order: usize| {
            self.weighted()
                .into_iter()
                .map(|(knot, weight)| weight * orthonormal_hermite(order, self.sds(knot)))
                .collect()
        };
        (0..terms).map(of).collect()
    }
}

/// The value at `t` between even knots 0, 1 ... `last`: a cubic that rises or falls with its knots and never leaves their range
/// (slopes are the mean of those of both sides, at most three times either, nil at a top or bottom; Fritsch and Carlson 1980,
/// from memory).
fn between_knots(value: impl Fn(usize) -> f64, last: usize, t: f64) -> f64 {
    let i = t as usize;
    let x = t - i as f64;
    let (low, high) = (value(i), value(i + 1));
    let step = high - low;
    let before = if i == 0 { step } else { low - value(i - 1) };
    let after = if i + 2 > last { step } else { value(i + 2) - high };
    let slope = |other: f64| {
        if step * other <= 0.0 {
            return 0.0;
        }
        let most = 3.0 * step.abs().min(other.abs());
        (0.5 * (step + other)).clamp(-most, most)
    };
    let (x2, x3) = (x * x, x * x * x);
    low + slope(before) * (x - 2.0 * x2 + x3) + step * (3.0 * x2 - 2.0 * x3) + slope(after) * (x3 - x2)
}

/// How sites differ, in ln diameter and in the share with dead parts, for one indicator.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sites {
    axes: [Axis; 2],
    /// Log odds for each share.
    log_odds: f64,
}

/// What a mean over the colonies of whole sites is, in every state, by how their colonies depart from those of the typical site.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteValues {
    axes: [Axis; 2],
    /// By state, knot in ln diameter, knot in the share with dead parts.
    values: Vec<Vec<Vec<f64>>>,
}

impl SiteValues {
    /// The mean on a site with these departures in ln diameter and in the share with dead parts.
    pub fn at(&self, state: usize, [ln_diameter, dead_parts]: [f64; 2]) -> f64 {
        let values = &self.values[state];
        let of_knot = |knot: usize| self.axes[1].between(|dead| values[knot][dead], dead_parts);
        self.axes[0].between(of_knot, ln_diameter)
    }

    fn expect(&self, of: impl Fn(usize, usize) -> f64) -> f64 {
        let inner = self.axes[1].weighted();
        let of_knot = |knot: usize| inner.iter().map(|(dead, weight)| weight * of(knot, *dead)).sum::<f64>();
        self.axes[0].weighted().into_iter().map(|(knot, weight)| weight * of_knot(knot)).sum()
    }

    fn mean(&self, state: usize) -> f64 {
        self.expect(|knot, dead| self.values[state][knot][dead])
    }

    fn variance(&self, state: usize) -> f64 {
        let mean = self.mean(state);
        self.expect(|knot, dead| (self.values[state][knot][dead] - mean).powi(2))
    }

    /// Covariance of the mean at the first visit and in each state of another.
    fn across(&self) -> Vec<f64> {
        let polynomials = [&self.axes[0], &self.axes[1]].map(Axis::polynomials);
        let coefficient = |state: usize, first: &[f64], second: &[f64]| -> f64 {
            let rows = self.values[state].iter().zip(first);
            rows.map(|(row, weight)| weight * row.iter().zip(second).map(|(value, w)| value * w).sum::<f64>()).sum()
        };
        let mut sums = vec![0.0; self.values.len()];
        for (k, first) in polynomials[0].iter().enumerate() {
            for (l, second) in polynomials[1].iter().enumerate().filter(|(l, _)| k + l > 0) {
                let alike = self.axes[0].alike().powi(k as i32) * self.axes[1].alike().powi(l as i32);
                let of_first = coefficient(0, first, second);
                for (state, sum) in sums.iter_mut().enumerate() {
                    *sum += alike * of_first * coefficient(state, first, second);
                }
            }
        }
        sums
    }
}

impl Sites {
    /// How many times as wide the colonies are at each knot.
    pub(super) fn wider(&self) -> Vec<f64> {
        (0..=self.axes[0].last()).map(|knot| libm::exp(self.axes[0].departure(knot))).collect()
    }

    /// How colonies are partly dead on a site where more of them (by this share) are.
    fn dead(&self, law: &PartialMortality, more: f64) -> PartialMortality {
        PartialMortality { log_odds: law.log_odds + self.log_odds * more, ..*law }
    }

    /// A mean over colonies of these sizes, by state and site.
    pub(super) fn values(
        &self,
        theory: &ColonyTheory,
        sizes: &[Vec<MeasuredSizes>],
        indicator: ColonyIndicator,
    ) -> SiteValues {
        let [widths, shares] = &self.axes;
        let of_knot = |(state, of_state): (usize, &Vec<MeasuredSizes>), knot: usize| -> Vec<f64> {
            let sizes = theory.sizes_there(of_state, state, Some(knot));
            let at = |dead: usize| mean_of((indicator, &self.dead(&theory.dead, shares.departure(dead))), &sizes);
            (0..=shares.last()).map(at).collect()
        };
        let of_state = |state: (usize, &Vec<MeasuredSizes>)| -> Vec<Vec<f64>> {
            (0..=widths.last()).map(|knot| of_knot(state, knot)).collect()
        };
        SiteValues { axes: self.axes.clone(), values: sizes.iter().enumerate().map(of_state).collect() }
    }

    /// Moments over sites of what is known `on` each kind of them: of what is written there, and of what is true.
    pub(super) fn over_sites(
        &self,
        law: &PartialMortality,
        on: impl Fn(OnSite) -> UnitMoments,
        written: &SiteValues,
        truth: &SiteValues,
    ) -> UnitMoments {
        // Within sites, in the mean of whole SDs of width and three nodes of the share.
        let shares = if self.axes[1].steps == 0 { vec![(0.0, 1.0)] } else { Rule::normal(3).pairs().collect() };
        let coarse = Axis { steps: self.axes[0].steps.min(1), ..self.axes[0].clone() };
        let every = if coarse.steps == 0 { 1 } else { self.axes[0].steps };
        let kinds = coarse.weighted().into_iter().flat_map(|(knot, weight)| {
            shares.iter().map(move |(sds, more)| {
                (
                    OnSite { wider: Some(every * knot), dead: self.dead(law, sds * self.axes[1].spread.between_sites) },
                    weight * more,
                )
            })
        });
        let typical = || on(OnSite { wider: None, dead: *law });
        let mut all = UnitMoments::mean_over(kinds.map(|(site, weight)| (on(site), weight))).unwrap_or_else(typical);
        for state in 0..all.mean.len() {
            // What belts lean by stays as it is on the kinds of sites.
            let bias = all.mean[state] - all.truth[state];
            all.truth[state] = truth.mean(state);
            all.mean[state] = all.truth[state] + bias;
            let between = written.variance(state);
            all.variance[state] += between;
            all.pair[state] += between;
            all.site_truth[state] += truth.variance(state);
        }
        // What is not known across visits (of the first with itself) stays so.
        for (state, (written, truth)) in written.across().into_iter().zip(truth.across()).enumerate() {
            all.same_marks[state] += written;
            all.across[state] += written;
            all.site_truth_across[state] += truth;
        }
        all
    }
}

impl ColonyTheory {
    /// What an indicator is on whole sites by what their colonies are like, as it is there; `None` where all sites are alike in it:
    /// of sums over colonies, and of a whole distribution.
    pub fn by_site(&self, belt: &CoralBelt, size: (f64, f64), indicator: ColonyIndicator) -> Option<SiteValues> {
        let sites = self.sites(indicator)?;
        Some(sites.values(self, &self.all_sizes(belt, size, &sites.wider()), indicator))
    }

    /// Log odds of having dead parts for each share by which a site's colonies have more.
    pub fn dead_log_odds(&self) -> f64 {
        self.dead_log_odds
    }

    /// How sites differ in it by more than chance; `None` where they do not.
    pub(super) fn sites(&self, indicator: ColonyIndicator) -> Option<Sites> {
        let is_mean = indicator.is_of_kinds_of_colonies() && indicator != ColonyIndicator::SizeStructure;
        let [widths, shares] = self.variation.spreads();
        let shares = if indicator.is_of_dead_parts() { shares } else { SiteSpread::default() };
        let axes = [Axis::new(widths, STEPS[0]), Axis::new(shares, STEPS[1])];
        let any = axes.iter().any(|axis| axis.steps > 0);
        (is_mean && any).then_some(Sites { axes, log_odds: self.dead_log_odds })
    }

    /// By how much the log odds of having dead parts rise with the share of the colonies of the typical site that have some.
    pub(super) fn log_odds_for_each_share(&self) -> f64 {
        let seen = Detection::From { least_m: 0.0 };
        let belt = CoralBelt { edge: EdgeRule::CentreIn, detection: seen, ..CoralBelt::default() };
        let sizes = self.all_sizes(&belt, (1.0, 1.0), &[]);
        let sizes = self.sizes_there(&sizes[0], 0, None);
        let share = |step: f64| {
            let dead = PartialMortality { log_odds: self.dead.log_odds + step, ..self.dead };
            sizes.mean(|d| dead.share_with_dead_parts(d))
        };
        2.0 * STEP / (share(STEP) - share(-STEP))
    }
}
