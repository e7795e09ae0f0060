//! Correlations in closed form, for checks against printed values; the reef's own fields have those of `theory::lattice`.

/// `exp(-h / scale)`: .05 at 3.0 scales.
pub fn exponential(distance: f64, scale: f64) -> f64 {
    libm::exp(-distance / scale)
}

/// Matern correlation of smoothness 3/2, `(1 + x) exp(-x)` with `x = sqrt(3) h / scale`: .05 at 2.74 scales.
pub fn matern_three_halves(distance: f64, scale: f64) -> f64 {
    let x = 3f64.sqrt() * distance / scale;
    (1.0 + x) * libm::exp(-x)
}
