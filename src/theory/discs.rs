use super::curve::Curve;
use super::quadrature::Rule;
use crate::geometry::disc_overlap;
use crate::random::normal_cdf;
use crate::reef::{SMALLEST_DIAMETER_M, SizeLaw};
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Number of quadrature nodes over ln diameter.
const SIZE_NODES: usize = 160;

/// The disc law of the colonies in closed form: areas and overlaps of discs whose diameters follow a [`SizeLaw`].
#[derive(Clone, Debug)]
pub struct Discs {
    /// The law of the diameters.
    pub sizes: SizeLaw,
    /// Radii (m) and their probabilities: a quadrature of the size law, even in ln diameter.
    radii: Vec<(f64, f64)>,
    /// Mean area, m2.
    pub mean_area: f64,
    /// Mean radius, m.
    pub mean_radius: f64,
    /// Largest diameter, m: overlaps are nil beyond.
    pub largest: f64,
    /// `g(h)`: mean overlap area of a disc with itself moved by h, over the mean area; 1 at 0.
    overlap: Curve,
}

impl Discs {
    pub fn new(sizes: &SizeLaw) -> Self {
        let (low, high) = (libm::log(SMALLEST_DIAMETER_M), libm::log(sizes.max_m));
        let centre = libm::log(sizes.median_m);
        static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(SIZE_NODES));
        let mut radii: Vec<(f64, f64)> = RULE
            .pairs()
            .map(|(x, weight)| {
                let ln_diameter = low + (high - low) * x;
                let z = (ln_diameter - centre) / sizes.ln_sd;
                (0.5 * libm::exp(ln_diameter), weight * libm::exp(-0.5 * z * z))
            })
            .collect();
        let total: f64 = radii.iter().map(|(_, weight)| weight).sum();
        radii.iter_mut().for_each(|(_, weight)| *weight /= total);
        let mean_area = radii.iter().map(|(r, w)| w * PI * r * r).sum::<f64>();
        let mean_radius = radii.iter().map(|(r, w)| w * r).sum();
        let overlap = Curve::new(sizes.max_m, 480, |h| {
            radii.iter().map(|&(r, w)| w * disc_overlap(h, r)).sum::<f64>() / mean_area
        });
        Self { sizes: *sizes, radii, mean_area, mean_radius, largest: sizes.max_m, overlap }
    }

    /// `g(h)`, 1 at distance 0 and 0 beyond the largest diameter.
    pub fn overlap(&self, distance: f64) -> f64 {
        if distance >= self.largest { 0.0 } else { self.overlap.at(distance).max(0.0) }
    }

    /// Share of colonies whose radius is above `radius` m.
    pub fn share_above(&self, radius: f64) -> f64 {
        if radius >= 0.5 * self.largest { 0.0 } else { 1.0 - self.share_below(radius) }
    }

    /// Share of colonies whose radius is below `radius` m, in closed form.
    pub fn share_below(&self, radius: f64) -> f64 {
        if radius <= 0.0 {
            return 0.0;
        }
        let level = |diameter: f64| normal_cdf(libm::log(diameter / self.sizes.median_m) / self.sizes.ln_sd);
        let (low, high) = (level(SMALLEST_DIAMETER_M), level(self.sizes.max_m));
        ((level(2.0 * radius) - low) / (high - low)).clamp(0.0, 1.0)
    }

    /// `E f(R)`, for an f without jumps.
    pub fn expect(&self, f: impl Fn(f64) -> f64) -> f64 {
        self.radii.iter().map(|&(radius, weight)| weight * f(radius)).sum()
    }

    /// `E A^2 / E A`, m2: the mean area of the colony under a random covered point.
    pub fn area_weighted_area(&self) -> f64 {
        let square: f64 = self.radii.iter().map(|&(r, w)| w * (PI * r * r) * (PI * r * r)).sum();
        square / self.mean_area
    }

    /// Fourier transform of the density of the displacement between a point and the centre of a disc that covers it:
    /// `E[2 pi R J1(k R) / k] / a`.
    pub fn displacement_transform(&self, wave_number: f64) -> f64 {
        if wave_number < 1e-9 {
            return 1.0;
        }
        let sum: f64 = self.radii.iter().map(|&(r, w)| w * r * libm::j1(wave_number * r)).sum();
        2.0 * PI * sum / (wave_number * self.mean_area)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed by adaptive quadrature with a general-purpose library (diameters .10 m, ln SD .75, cut .8 m).
    #[test]
    fn the_size_law_of_the_fore_reef() {
        let discs = Discs::new(&SizeLaw { median_m: 0.10, ln_sd: 0.75, max_m: 0.8 });
        assert!((discs.mean_area - 0.02179581).abs() < 2e-8, "{}", discs.mean_area);
        assert!((discs.mean_radius - 0.06499403).abs() < 2e-8, "{}", discs.mean_radius);
        assert!((discs.area_weighted_area() - 0.10475970).abs() < 1e-7);
        let expected =
            [(0.02, 0.881577), (0.05, 0.715391), (0.1, 0.492878), (0.2, 0.229877), (0.4, 0.046414), (0.7, 0.000808364)];
        for (h, g) in expected {
            assert!((discs.overlap(h) - g).abs() < 5e-6, "{h}: {} {g}", discs.overlap(h));
        }
        assert!((discs.overlap(0.0) - 1.0).abs() < 1e-12);
        assert_eq!(discs.overlap(0.81), 0.0);
    }
}
