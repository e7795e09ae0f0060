use crate::survey::coral_belt::EdgeRule;
use std::f64::consts::PI;

/// What an edge rule makes of a belt of discs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeCounts {
    /// Colonies counted for each colony per m2, m2: the area of the belt under an unbiased rule.
    pub area_m2: f64,
    /// Mean radius of those counted, m.
    pub mean_radius_m: f64,
}

/// The area (m2) in which a disc's centre is counted by a belt of `length` x `width` m; for two edges and the centre rule
/// that of the belt. Textbook geometry (Chiu, Stoyan, Kendall & Mecke 2013, Stochastic Geometry and its Applications; from
/// memory). On boundary colonies of coral belts: Zvuloni et al. 2008, Limnology and Oceanography: Methods 6:144-153 (from
/// memory).
pub fn counting_area(rule: EdgeRule, (length, width): (f64, f64), radius: f64) -> f64 {
    match rule {
        EdgeRule::CentreIn | EdgeRule::TwoEdges => length * width,
        EdgeRule::AnyPartIn => length * width + 2.0 * (length + width) * radius + PI * radius * radius,
        EdgeRule::WhollyIn => (length - 2.0 * radius).max(0.0) * (width - 2.0 * radius).max(0.0),
    }
}

/// Counts and sizes under an edge rule, for a law of radii given by its expectations. They hold for any stationary
/// pattern of centres whose radii are independent of it: Poisson, with modulated density, and visible colonies.
pub fn edge_counts(rule: EdgeRule, belt: (f64, f64), expect: impl Fn(&dyn Fn(f64) -> f64) -> f64) -> EdgeCounts {
    let area_m2 = expect(&|radius| counting_area(rule, belt, radius));
    let by_radius = expect(&|radius| radius * counting_area(rule, belt, radius));
    EdgeCounts { area_m2, mean_radius_m: by_radius / area_m2 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::boolean::{LognormalRadius, density_of_cover};

    /// Expectation over lognormal radii in 40,000 steps: what an edge rule counts has a kink at half the width.
    fn expect(radii: &LognormalRadius, f: &dyn Fn(f64) -> f64) -> f64 {
        let steps = 40_000;
        let width = 16.0 / f64::from(steps);
        let term = |i: i32| {
            let z = -8.0 + width * (f64::from(i) + 0.5);
            width * (-0.5 * z * z).exp() / (2.0 * PI).sqrt() * f((radii.ln_mean + radii.ln_sd * z).exp())
        };
        (0..steps).map(term).sum()
    }

    /// Computed: lognormal radii of mean .15 m and coefficient of variation .6, cover .3; each simulated too.
    #[test]
    fn counts_and_sizes_of_a_reef_of_poisson_discs() {
        let radii = LognormalRadius::from_mean_and_cv(0.15, 0.6);
        let density = density_of_cover(0.3, radii.mean_area());
        let rows = [
            ((10.0, 1.0), 37.10234, 49.702787, 25.36207, 0.16421688),
            ((30.0, 2.0), 222.61404, 258.58896, 187.45329, 0.15761378),
            ((0.25, 0.25), 0.23188963, 1.1450997, 0.015485023, 0.21593972),
            ((1.0, 1.0), 3.710234, 6.2930494, 1.9354581, 0.17632527),
        ];
        for (belt, centre, any, wholly, radius) in rows {
            let of = |rule| edge_counts(rule, belt, |f| expect(&radii, f));
            let count = |rule| density * of(rule).area_m2;
            for (found, printed) in [
                (count(EdgeRule::CentreIn), centre),
                (count(EdgeRule::TwoEdges), centre),
                (count(EdgeRule::AnyPartIn), any),
                (count(EdgeRule::WhollyIn), wholly),
                (of(EdgeRule::AnyPartIn).mean_radius_m, radius),
                (of(EdgeRule::CentreIn).mean_radius_m, 0.15),
            ] {
                assert!((found / printed - 1.0).abs() < 1e-6, "{belt:?}: {found} {printed}");
            }
        }
    }

    /// Expected count over true count, computed; the same geometry.
    #[test]
    fn ratios_for_colonies_of_one_size() {
        let long = [(0.05, 1.055, 0.945), (0.15, 1.167, 0.837), (0.30, 1.337, 0.679), (0.60, 1.688, 0.376)];
        let quadrat = [(0.01, 1.081, 0.922), (0.02, 1.165, 0.846), (0.04, 1.340, 0.706)];
        for (belt, rows) in [((10.0, 1.0), &long[..]), ((0.25, 0.25), &quadrat[..])] {
            for &(diameter, touching, wholly) in rows {
                let ratio = |rule| counting_area(rule, belt, 0.5 * diameter) / (belt.0 * belt.1);
                assert!((ratio(EdgeRule::AnyPartIn) - touching).abs() < 6e-4, "{diameter}");
                assert!((ratio(EdgeRule::WhollyIn) - wholly).abs() < 6e-4, "{diameter}");
            }
        }
        assert_eq!(counting_area(EdgeRule::WhollyIn, (10.0, 1.0), 0.7), 0.0);
    }

    /// Sizes of the US Virgin Islands records (ln cm 2.66 +- 1.03; Ennis et al. 2020): counting what touches a 10 x 1 m
    /// belt inflates the density by 28 % (computed).
    #[test]
    fn touching_inflates_the_density_of_recorded_sizes() {
        let radii = LognormalRadius { ln_mean: 2.66 - 200f64.ln(), ln_sd: 1.03 };
        let touching = edge_counts(EdgeRule::AnyPartIn, (10.0, 1.0), |f| radii.expect(0.0005, f));
        let ratio = touching.area_m2 / 10.0;
        assert!((ratio - 1.28).abs() < 0.005, "{ratio}");
        assert!(touching.mean_radius_m > 1.2 * radii.moment(1));
    }
}
