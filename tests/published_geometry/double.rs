//! A slow twin of every thresholded reef: latent normals at given places through a Cholesky factor.

use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

pub type Place = (f64, f64);

pub fn distance(a: Place, b: Place) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Points at equal spacing along the x axis, the first at `from`.
pub fn line(number: usize, spacing: f64, from: f64) -> Vec<Place> {
    (0..number).map(|i| (from + spacing * i as f64, 0.0)).collect()
}

/// Centres of equal cells of a rectangle whose lower left corner is `corner`.
pub fn grid(columns: usize, rows: usize, size: (f64, f64), corner: Place) -> Vec<Place> {
    let at = |i: usize, number: usize, side: f64| side * (i as f64 + 0.5) / number as f64;
    (0..columns)
        .flat_map(|i| (0..rows).map(move |j| (corner.0 + at(i, columns, size.0), corner.1 + at(j, rows, size.1))))
        .collect()
}

/// Lower Cholesky factor of the correlations of a field at some places.
pub struct Field {
    factor: Vec<Vec<f64>>,
}

impl Field {
    pub fn new(places: &[Place], correlation: impl Fn(f64) -> f64) -> Self {
        let mut factor: Vec<Vec<f64>> = Vec::with_capacity(places.len());
        for (i, &place) in places.iter().enumerate() {
            let mut row: Vec<f64> = Vec::with_capacity(i + 1);
            for j in 0..i {
                let done: f64 = row.iter().zip(&factor[j]).map(|(a, b)| a * b).sum();
                row.push((correlation(distance(place, places[j])) - done) / factor[j][j]);
            }
            // The diagonal of a pair of equal places may be 0 but for rounding.
            let left: f64 = 1.0 - row.iter().map(|a| a * a).sum::<f64>();
            row.push(left.max(1e-14).sqrt());
            factor.push(row);
        }
        Self { factor }
    }

    /// A realisation at the places.
    pub fn draw(&self, random: &mut impl Rng) -> Vec<f64> {
        let normals: Vec<f64> = (0..self.factor.len()).map(|_| normal(random)).collect();
        self.factor.iter().map(|row| row.iter().zip(&normals).map(|(a, z)| a * z).sum()).collect()
    }
}

pub fn normal(random: &mut impl Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Share of values above a threshold.
pub fn share_above(values: &[f64], threshold: f64) -> f64 {
    values.iter().filter(|&&z| z > threshold).count() as f64 / values.len() as f64
}

/// Checks a simulated mean within 4 standard errors.
#[track_caller]
pub fn mean_agrees(row: u32, values: &[f64], exact: f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let error = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>().sqrt() / n;
    assert!((mean - exact).abs() < 4.0 * error, "row {row}: {mean} {exact} {error}");
}

/// Checks a simulated covariance within 4 standard errors.
#[track_caller]
pub fn covariance_agrees(row: u32, pairs: &[(f64, f64)], exact: f64) {
    let n = pairs.len() as f64;
    let first = pairs.iter().map(|pair| pair.0).sum::<f64>() / n;
    let second = pairs.iter().map(|pair| pair.1).sum::<f64>() / n;
    let products: Vec<f64> = pairs.iter().map(|pair| (pair.0 - first) * (pair.1 - second) * n / (n - 1.0)).collect();
    mean_agrees(row, &products, exact);
}

#[track_caller]
pub fn variance_agrees(row: u32, values: &[f64], exact: f64) {
    let pairs: Vec<(f64, f64)> = values.iter().map(|&v| (v, v)).collect();
    covariance_agrees(row, &pairs, exact);
}
