/// A function of distance, tabulated once and read by interpolation: covariances, correlations, overlaps.
///
/// Knots lie at `reach * (i / n)^3`, dense near 0 where covariances bend; between them a cubic through the neighbouring
/// slopes (Catmull-Rom in the variable `(h / reach)^(1/3)`). Beyond `reach` it returns its last value.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    reach: f64,
    values: Vec<f64>,
}

impl Curve {
    /// Tabulates `f` at `intervals + 1` knots on [0, reach].
    pub fn new(reach: f64, intervals: usize, mut f: impl FnMut(f64) -> f64) -> Self {
        assert!(reach > 0.0 && intervals >= 3);
        let values = (0..=intervals)
            .map(|i| {
                let t = i as f64 / intervals as f64;
                f(reach * t * t * t)
            })
            .collect();
        Self { reach, values }
    }

    pub fn reach(&self) -> f64 {
        self.reach
    }

    pub fn at(&self, distance: f64) -> f64 {
        let last = self.values.len() - 1;
        let t = libm::cbrt((distance / self.reach).abs()) * last as f64;
        if t >= last as f64 {
            return self.values[last];
        }
        let i = t as usize;
        let x = t - i as f64;
        let (v1, v2) = (self.values[i], self.values[i + 1]);
        let v0 = if i == 0 { 2.0 * v1 - v2 } else { self.values[i - 1] };
        let v3 = if i + 2 > last { 2.0 * v2 - v1 } else { self.values[i + 2] };
        let (s1, s2) = (0.5 * (v2 - v0), 0.5 * (v3 - v1));
        let (x2, x3) = (x * x, x * x * x);
        v1 + s1 * (x - 2.0 * x2 + x3) + (v2 - v1) * (3.0 * x2 - 2.0 * x3) + s2 * (x3 - x2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolation_is_exact_at_knots_and_close_between() {
        let f = |h: f64| (-h / 2.0).exp();
        let curve = Curve::new(100.0, 512, f);
        for i in 0..2000 {
            let h = 100.0 * (i as f64 / 2000.0).powi(2);
            assert!((curve.at(h) - f(h)).abs() < 2e-6, "{h}: {} {}", curve.at(h), f(h));
        }
        assert_eq!(curve.at(0.0), 1.0);
        assert_eq!(curve.at(1e9), f(100.0));
    }
}
