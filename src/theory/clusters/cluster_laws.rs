//! Classical cluster processes, even in the large: oracles for tests, and the law within a site.

use super::void::{matern_void, thomas_void};
use super::windows::{gauss_pairs, two_windows, unit_area};
use crate::geometry::disc_overlap;
use crate::theory::Rule;
use crate::theory::pairs::Unit;
use crate::theory::placement::{distance_density, variance_of_rectangle};
use std::f64::consts::{PI, SQRT_2};
use std::sync::LazyLock;

static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(64));

/// Poisson centres, a Poisson number of points each, scattered normally (the process of Thomas 1949; from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thomas {
    pub groups_per_m2: f64,
    pub mean_size: f64,
    /// SD along each axis, metres.
    pub spread_m: f64,
}

impl Thomas {
    pub fn mean(&self, unit: Unit) -> f64 {
        self.groups_per_m2 * self.mean_size * unit_area(unit)
    }

    /// `lambda A B + lambda mu J(A) J(B)` for a belt, exactly.
    pub fn variance(&self, unit: Unit) -> f64 {
        self.mean(unit) + self.paired_density() * gauss_pairs(unit, SQRT_2 * self.spread_m)
    }

    /// Covariance of the counts of two parallel windows (length, width), the second starting at `offset` from the start of
    /// the first; what they have in common is counted in both.
    pub fn covariance(&self, first: (f64, f64), second: (f64, f64), offset: (f64, f64)) -> f64 {
        self.groups_per_m2 * self.mean_size * two_windows(first, second, offset, 0.0)
            + self.paired_density() * two_windows(first, second, offset, SQRT_2 * self.spread_m)
    }

    /// `P(N = 0) = exp(-kappa int (1 - exp(-mu q(x))) dx)`, q(x) the chance that a point of a group centred at x falls into
    /// the unit.
    pub fn none(&self, unit: Unit) -> f64 {
        libm::exp(-self.groups_per_m2 * thomas_void(unit, self.mean_size, self.spread_m).area)
    }

    /// `lambda mu`.
    fn paired_density(&self) -> f64 {
        self.groups_per_m2 * self.mean_size * self.mean_size
    }
}

/// The same with points uniform in a disc about the centre (Matern 1960; from memory). An oracle of tests: no study asks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MaternCluster {
    pub groups_per_m2: f64,
    pub mean_size: f64,
    pub radius_m: f64,
}

impl MaternCluster {
    pub fn mean(&self, belt: (f64, f64)) -> f64 {
        self.groups_per_m2 * self.mean_size * belt.0 * belt.1
    }

    /// `m + lambda mu (A B)^2 E[gamma_R(|X - Y|)] / (pi R^2)^2`.
    pub fn variance(&self, belt: (f64, f64)) -> f64 {
        let disc = PI * self.radius_m * self.radius_m;
        let overlap = self.mean_overlap(belt);
        let area = belt.0 * belt.1;
        self.mean(belt) + self.mean(belt) * self.mean_size * area * overlap / (disc * disc)
    }

    /// `E gamma_R(|X - Y|)` for two random places of a belt: split where the density of distances has kinks and where the
    /// discs part.
    fn mean_overlap(&self, belt: (f64, f64)) -> f64 {
        let (long, short, apart) = (belt.0.max(belt.1), belt.0.min(belt.1), 2.0 * self.radius_m);
        let mut edges = vec![0.0, short, long, libm::hypot(long, short)];
        edges.retain(|edge| *edge < apart);
        edges.push(apart.min(libm::hypot(long, short)));
        let piece = |low: f64, high: f64| {
            RULE.integrate(0.0, 1.0, |v| {
                // v^2 (3 - 2v) takes away the square-root singularities at both ends of a piece.
                let r = low + (high - low) * v * v * (3.0 - 2.0 * v);
                let density = distance_density(r, long, short);
                6.0 * v * (1.0 - v) * (high - low) * disc_overlap(r, self.radius_m) * density
            })
        };
        edges.windows(2).map(|edge| piece(edge[0], edge[1])).sum()
    }

    /// P(N = 0), as of [`Thomas::none`].
    pub fn none(&self, belt: (f64, f64)) -> f64 {
        libm::exp(-self.groups_per_m2 * matern_void(belt, self.mean_size, self.radius_m))
    }
}

/// Variance of the count of a log-Gaussian Cox process in a belt: `m + m^2 E[exp(variance rho(|X - Y|)) - 1]`. An oracle of tests:
/// no study asks for it.
pub fn log_gaussian_variance(mean: f64, belt: (f64, f64), variance: f64, rho: impl Fn(f64) -> f64) -> f64 {
    mean + mean * mean * variance_of_rectangle(belt.0, belt.1, |h| libm::expm1(variance * rho(h)))
}

/// `k = m^2 / (Var - m)`: of one kind of window only. Infinite for a Poisson count, negative below it.
pub fn aggregation(mean: f64, variance: f64) -> f64 {
    mean * mean / (variance - mean)
}

/// Share of zeros of a negative binomial, to be set beside the true one.
pub fn negative_binomial_zero(mean: f64, k: f64) -> f64 {
    libm::exp(-k * libm::log1p(mean / k))
}
