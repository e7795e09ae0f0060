//! Two points on a reef after a death of colonies that is not even: by their size, or in patches. The density before is
//! that of one state, `u` with the covariance of ln u that patches and whatever else the two points share bring.

use super::intensity::LogNormal;
use super::shape::Shape;
use super::threshold;
use crate::theory::Curve;
use std::f64::consts::PI;

/// Survival by size: a colony of radius R survives with probability q(R).
#[derive(Clone, Debug)]
pub struct DeathBySize {
    /// `E q(R) pi R^2 / a`: what is left of the intensity over a point.
    pub left: f64,
    /// `E q(R)`: what is left of the colonies.
    pub colonies_left: f64,
    /// `E q(R) gamma_R(h) / a`, the overlap of survivors.
    overlap: Curve,
}

impl DeathBySize {
    pub fn new(shape: &Shape, survival: impl Fn(f64) -> f64) -> Self {
        let discs = &shape.discs;
        let area = |radius: f64| PI * radius * radius / discs.mean_area;
        Self {
            left: discs.expect(|radius| survival(radius) * area(radius)),
            colonies_left: discs.expect(&survival),
            overlap: Curve::new(discs.largest, 480, |h| {
                discs.expect(|r| survival(r) * crate::geometry::disc_overlap(h, r)) / discs.mean_area
            }),
        }
    }

    /// Mean area of a surviving disc over that of all: sizes afterwards have the density `q(R) f(R) / E q`.
    pub fn mean_area_ratio(&self) -> f64 {
        self.left / self.colonies_left
    }

    /// Probability that a point is bare afterwards.
    pub fn bare(&self, shape: &Shape, before: LogNormal) -> f64 {
        shape.intensity.series(self.left, before).bare()
    }

    /// P(bare before and, at `distance`, bare afterwards): `E exp(-(1 - g_q / 2) u1 - (E q A / a - g_q / 2) u2)`.
    pub fn bare_across(&self, shape: &Shape, before: LogNormal, (distance, covariance): (f64, f64)) -> f64 {
        let half = 0.5 * self.overlap_at(distance);
        shape.intensity.both_bare((1.0 - half, before), (self.left - half, before), covariance)
    }

    /// P(both bare afterwards).
    pub fn bare_after(&self, shape: &Shape, before: LogNormal, (distance, covariance): (f64, f64)) -> f64 {
        let left = self.left - 0.5 * self.overlap_at(distance);
        shape.intensity.both_bare((left, before), (left, before), covariance)
    }

    fn overlap_at(&self, distance: f64) -> f64 {
        if distance >= self.overlap.reach() { 0.0 } else { self.overlap.at(distance).max(0.0) }
    }
}

/// A storm in patches that are large against a colony: a thresholded field whose inside covers a share of the bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PatchyStorm {
    /// Share of the bottom that is hit.
    pub hit: f64,
    /// Survival of colonies there and elsewhere.
    pub inside: f64,
    pub outside: f64,
}

impl PatchyStorm {
    /// Survival and share of the bottom, where it was hit and elsewhere.
    fn places(&self) -> [(f64, f64); 2] {
        [(self.inside, self.hit), (self.outside, 1.0 - self.hit)]
    }

    /// Probability that a point is bare afterwards.
    pub fn bare(&self, shape: &Shape, before: LogNormal) -> f64 {
        self.places().iter().map(|&(survival, share)| share * shape.intensity.series(survival, before).bare()).sum()
    }

    /// P(bare before and, at `distance`, bare afterwards): `sum_k f_k E exp(-(1 - q_k g / 2) u1 - (q_k - q_k g / 2) u2)`.
    pub fn bare_across(&self, shape: &Shape, before: LogNormal, (distance, covariance): (f64, f64)) -> f64 {
        let half = 0.5 * shape.discs.overlap(distance);
        let place = |&(survival, share): &(f64, f64)| {
            let (first, second) = (1.0 - survival * half, survival * (1.0 - half));
            share * shape.intensity.both_bare((first, before), (second, before), covariance)
        };
        self.places().iter().map(place).sum()
    }

    /// P(both bare afterwards), with the correlation of the storm's field at the distance:
    /// `sum_kl P_kl E exp(-(q_k - q g / 2) u1 - (q_l - q g / 2) u2)`, q the mean of `q_k` and `q_l`.
    pub fn bare_after(
        &self,
        shape: &Shape,
        before: LogNormal,
        (distance, covariance): (f64, f64),
        storm_correlation: f64,
    ) -> f64 {
        let half = 0.5 * shape.discs.overlap(distance);
        // Interpolation may put the correlation of a place with itself a hair above 1.
        let together = threshold::covariance(self.hit, storm_correlation.clamp(-1.0, 1.0));
        let mut both = 0.0;
        for (k, (one, one_share)) in self.places().into_iter().enumerate() {
            for (l, (other, other_share)) in self.places().into_iter().enumerate() {
                let chance = one_share * other_share + if k == l { together } else { -together };
                let common = 0.5 * (one + other) * half;
                // Two near points of which one was hit: more would be common than one of them has left, were patches not
                // large. Such pairs are rare.
                let left = |survival: f64| (survival - common).max(0.0);
                let bare = shape.intensity.both_bare((left(one), before), (left(other), before), covariance);
                both += chance * bare;
            }
        }
        both
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reef::{Patchiness, ReefSpec, SizeLaw};
    use crate::theory::Kernels;
    use crate::theory::lattice::lattice_correlation;
    use crate::theory::placement::{variance_of_points, variance_of_rectangle};

    /// Sizes of the fore reef, patches of SD .4 and scale 1.5 m, nothing else; cover .225.
    fn fore_reef() -> (Shape, LogNormal) {
        let spec = ReefSpec {
            sizes: SizeLaw { median_m: 0.10, ln_sd: 0.75, max_m: 0.8 },
            patch: Patchiness { sd: 0.4, scale_m: 1.5 },
            along: Patchiness { sd: 0.0, scale_m: 60.0 },
        };
        let shape = Shape::new(&spec, &Kernels::smooth(&spec));
        let variance = shape.patch(0.0);
        let mean = shape.intensity.mean_for_cover(0.225, variance).unwrap();
        (shape, LogNormal { mean, variance })
    }

    fn line(c: impl Fn(f64) -> f64) -> f64 {
        let curve = Curve::new(12.0, 240, &c);
        variance_of_points(c(0.0), 100, 0.1, |h| curve.at(h))
    }

    fn belt(c: impl Fn(f64) -> f64) -> f64 {
        let curve = Curve::new(12.0, 240, c);
        variance_of_rectangle(10.0, 0.4, |h| curve.at(h))
    }

    /// Covariance of a line of 100 points with itself afterwards, of a belt of 10 x .4 m with itself, variance of the belt
    /// afterwards, cover: computed, and simulated apart from this program with the errors given.
    #[test]
    fn storms_in_patches() {
        let (shape, u) = fore_reef();
        let computed = [
            ((0.5, 0.1, 0.8, 20.0), [0.00299219, 0.00212529, 0.00733694, 0.10541]),
            ((0.7, 0.02, 0.8, 5.0), [0.00167455, 0.00118789, 0.0046327, 0.05918]),
        ];
        let simulated = [
            [(0.00301317, 7.1e-5), (0.00212854, 5.6e-5), (0.00734774, 6.9e-5), (0.10568, 6.8e-4)],
            [(0.00167232, 5.4e-5), (0.00123945, 4.3e-5), (0.00475086, 6.6e-5), (0.05982, 5.4e-4)],
        ];
        for (((hit, inside, outside, scale), computed), simulated) in computed.into_iter().zip(simulated) {
            let storm = PatchyStorm { hit, inside, outside };
            let correlation = lattice_correlation(scale);
            let (bare_before, bare_after) = (1.0 - 0.225, storm.bare(&shape, u));
            let at = |h: f64| (h, shape.patch(h));
            let across = |h: f64| storm.bare_across(&shape, u, at(h)) - bare_before * bare_after;
            let after = |h: f64| storm.bare_after(&shape, u, at(h), correlation.at(h)) - bare_after * bare_after;
            let ours = [line(across), belt(across), belt(after), 1.0 - bare_after];
            println!("{ours:?} {computed:?}");
            for ((ours, computed), (found, error)) in ours.into_iter().zip(computed).zip(simulated) {
                assert!((ours / computed - 1.0).abs() < 2e-3, "{ours} {computed}");
                assert!((ours - found).abs() < 4.0 * error, "{ours} {found}");
            }
        }
    }

    #[test]
    fn a_death_that_spares_no_size_is_a_storm_everywhere() {
        let (shape, u) = fore_reef();
        let even = DeathBySize::new(&shape, |_| 0.4);
        let storm = PatchyStorm { hit: 1.0, inside: 0.4, outside: 0.9 };
        assert!((even.mean_area_ratio() - 1.0).abs() < 1e-12);
        assert!((even.bare(&shape, u) - storm.bare(&shape, u)).abs() < 1e-12);
        for h in [0.0, 0.05, 0.3, 2.0] {
            let at = (h, shape.patch(h));
            assert!((even.bare_across(&shape, u, at) - storm.bare_across(&shape, u, at)).abs() < 1e-6);
            assert!((even.bare_after(&shape, u, at) - storm.bare_after(&shape, u, at, 0.3)).abs() < 1e-6);
        }
    }

    #[test]
    fn where_large_colonies_die_cover_falls_more_than_colonies() {
        let (shape, u) = fore_reef();
        let large = DeathBySize::new(&shape, |radius| 1.0 / (1.0 + (radius / 0.1).powi(2)));
        assert!(large.left < large.colonies_left && large.mean_area_ratio() < 0.8);
        // At one point: bare before and after is bare before.
        let at = (0.0, shape.patch(0.0));
        assert!((large.bare_across(&shape, u, at) - 0.775).abs() < 1e-5);
        assert!((large.bare_after(&shape, u, at) - large.bare(&shape, u)).abs() < 1e-5);
    }
}
