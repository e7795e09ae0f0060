//! The estimate of one zone and its variance as the test sees it, from sums over sites.

use super::site_sums::SiteSums;
use crate::analysis::Part;
use crate::design::TestKind;

/// How the sites of a zone enter an estimate.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// Share of a fixed list that was surveyed; 1: lines are the replicates.
    pub listed: f64,
    pub units: f64,
    pub paired: bool,
    pub same_marks: bool,
}

impl Terms {
    pub fn new(listed: f64, units: usize, kind: TestKind, same_sites: bool, same_marks: bool) -> Self {
        Self { listed, units: units as f64, paired: kind != TestKind::WelchT && same_sites, same_marks }
    }

    /// Whether site means are the replicates (in part at least).
    pub fn replicates_are_sites(&self) -> bool {
        self.listed < 1.0
    }
}

/// An estimate, its variance, and `sum v^2 / df` over the parts of the variance (which is all that combining needs).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ZoneEstimate {
    pub estimate: f64,
    pub variance: f64,
    pub spread: f64,
}

impl ZoneEstimate {
    /// The estimate of the change to `state` (of the mean, for state 0).
    #[inline]
    pub fn new(sums: &SiteSums, state: usize, terms: &Terms) -> Self {
        let sites = sums.sites;
        let (first, later) = (&sums.states[0], &sums.states[state]);
        let mut parts = Parts::default();
        let between = (1.0 - terms.listed) / sites;
        if between > 0.0 {
            if state == 0 {
                parts.add(between * variance(first.mean, first.mean_square, sites), sites - 1.0);
            } else if terms.paired {
                let square = variance(later.mean - first.mean, later.difference_square, sites);
                parts.add(between * square, sites - 1.0);
            } else {
                parts.add(between * variance(first.mean, first.mean_square, sites), sites - 1.0);
                parts.add(between * variance(later.mean, later.mean_square, sites), sites - 1.0);
            }
        }
        if terms.listed > 0.0 {
            let scale = terms.listed / (sites * sites);
            let df = terms.units - 1.0;
            if state == 0 {
                parts.add_many(scale, first.within, first.within_square, df);
            } else if terms.same_marks {
                parts.add_many(scale, later.within_difference, later.within_difference_square, df);
            } else {
                parts.add_many(scale, first.within, first.within_square, df);
                parts.add_many(scale, later.within, later.within_square, df);
            }
        }
        let estimate = if state == 0 { first.mean / sites } else { (later.mean - first.mean) / sites };
        Self { estimate, variance: parts.variance, spread: parts.spread }
    }

    /// The change by lines taken (wrongly) as independent replicates, whatever site they come from.
    #[inline]
    pub fn of_lines(sums: &SiteSums, state: usize, units: f64) -> Self {
        let lines = sums.sites * units;
        let of = |s: usize| {
            let state = &sums.states[s];
            // Sum of squares of all lines from the sites' means and variances of means.
            let square = units * state.mean_square + units * (units - 1.0) * state.within;
            variance(units * state.mean, square, lines) / lines
        };
        let mut parts = Parts::default();
        parts.add(of(0), lines - 1.0);
        parts.add(of(state), lines - 1.0);
        let estimate = (sums.states[state].mean - sums.states[0].mean) / sums.sites;
        Self { estimate, variance: parts.variance, spread: parts.spread }
    }

    pub fn part(&self) -> Part {
        let df = if self.spread == 0.0 { f64::INFINITY } else { self.variance * self.variance / self.spread };
        Part { variance: self.variance, df }
    }

    /// Adds a zone with its weight.
    #[inline]
    pub fn add(&mut self, zone: &ZoneEstimate, weight: f64) {
        let square = weight * weight;
        self.estimate += weight * zone.estimate;
        self.variance += square * zone.variance;
        self.spread += square * square * zone.spread;
    }
}

/// Sample variance from a sum and a sum of squares; a spread at the level of rounding is nil.
#[inline]
fn variance(sum: f64, square: f64, n: f64) -> f64 {
    let about_mean = square - sum * sum / n;
    if about_mean <= 1e-13 * square { 0.0 } else { about_mean / (n - 1.0) }
}

#[derive(Default)]
struct Parts {
    variance: f64,
    spread: f64,
}

impl Parts {
    #[inline]
    fn add(&mut self, variance: f64, df: f64) {
        self.variance += variance;
        if variance != 0.0 {
            self.spread += variance * variance / df;
        }
    }

    /// Many parts of the same degrees of freedom: sums of their variances and of the squares.
    #[inline]
    fn add_many(&mut self, scale: f64, variances: f64, squares: f64, df: f64) {
        self.variance += scale * variances;
        self.spread += scale * scale * squares / df;
    }
}
