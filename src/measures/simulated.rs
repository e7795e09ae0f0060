//! What the tests of simulations share.

/// Checks that the mean of simulated values is within 4 of its standard errors of the exact one.
#[track_caller]
pub fn assert_mean(values: &[f64], exact: f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let error = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>().sqrt() / n;
    assert!((mean - exact).abs() < 4.0 * error, "mean {mean}, exact {exact}, error {error}");
}
