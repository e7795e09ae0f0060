//! Nodes and weights of Gauss rules, and a bracketed root: the numerical tools of the closed forms.

use std::f64::consts::PI;

/// A quadrature rule: nodes and weights.
#[derive(Clone, Debug)]
pub struct Rule {
    pub nodes: Vec<f64>,
    pub weights: Vec<f64>,
}

impl Rule {
    /// Gauss-Legendre on [0, 1], by Newton's method on the Legendre polynomial (Press et al., Numerical Recipes,
    /// section 4.6; from memory).
    pub fn legendre(n: usize) -> Self {
        let mut nodes = vec![0.0; n];
        let mut weights = vec![0.0; n];
        for i in 0..n.div_ceil(2) {
            let mut x = libm::cos(PI * (i as f64 + 0.75) / (n as f64 + 0.5));
            let mut slope = 1.0;
            for _ in 0..100 {
                let (value, derivative) = legendre_value(n, x);
                slope = derivative;
                let step = value / derivative;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            let weight = 1.0 / ((1.0 - x * x) * slope * slope);
            nodes[i] = 0.5 * (1.0 - x);
            nodes[n - 1 - i] = 0.5 * (1.0 + x);
            weights[i] = weight;
            weights[n - 1 - i] = weight;
        }
        Self { nodes, weights }
    }

    /// Gauss-Hermite for the standard normal: `E f(X) = sum w f(x)`.
    pub fn normal(n: usize) -> Self {
        let mut nodes = vec![0.0; n];
        let mut weights = vec![0.0; n];
        let mut x = 0.0;
        for i in 0..n.div_ceil(2) {
            // Starting values of Press et al., section 4.6 (from memory); Newton does the rest.
            x = match i {
                0 => libm::sqrt(2.0 * n as f64 + 1.0) - 1.85575 * libm::pow(2.0 * n as f64 + 1.0, -1.0 / 6.0),
                1 => x - 1.14 * libm::pow(n as f64, 0.426) / x,
                2 => 1.86 * x - 0.86 * nodes[0],
                3 => 1.91 * x - 0.91 * nodes[1],
                _ => 2.0 * x - nodes[i - 2],
            };
            let mut slope = 1.0;
            for _ in 0..200 {
                let (value, derivative) = hermite_value(n, x);
                slope = derivative;
                let step = value / derivative;
                x -= step;
                if step.abs() < 1e-14 {
                    break;
                }
            }
            nodes[i] = x;
            nodes[n - 1 - i] = -x;
            weights[i] = 2.0 / (slope * slope);
            weights[n - 1 - i] = weights[i];
        }
        let scale: f64 = weights.iter().sum();
        Self {
            nodes: nodes.into_iter().map(|x| x * std::f64::consts::SQRT_2).collect(),
            weights: weights.into_iter().map(|w| w / scale).collect(),
        }
    }

    /// `integral of f from low to high` for a rule on [0, 1].
    pub fn integrate(&self, low: f64, high: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
        let width = high - low;
        self.pairs().map(|(x, w)| w * f(low + width * x)).sum::<f64>() * width
    }

    /// `E f(X)` for a rule of the normal.
    pub fn expect(&self, mut f: impl FnMut(f64) -> f64) -> f64 {
        self.pairs().map(|(x, w)| w * f(x)).sum()
    }

    pub fn pairs(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.nodes.iter().copied().zip(self.weights.iter().copied())
    }
}

/// Legendre polynomial of degree `n` and its derivative.
fn legendre_value(n: usize, x: f64) -> (f64, f64) {
    let (mut current, mut before) = (1.0, 0.0);
    for k in 0..n {
        let next = ((2 * k + 1) as f64 * x * current - k as f64 * before) / (k + 1) as f64;
        before = current;
        current = next;
    }
    (current, n as f64 * (x * current - before) / (x * x - 1.0))
}

/// Orthonormal Hermite polynomial of degree `n` (weight exp(-x^2)) and its derivative.
fn hermite_value(n: usize, x: f64) -> (f64, f64) {
    let (mut current, mut before) = (libm::pow(PI, -0.25), 0.0);
    for k in 0..n {
        let next = x * libm::sqrt(2.0 / (k + 1) as f64) * current - libm::sqrt(k as f64 / (k + 1) as f64) * before;
        before = current;
        current = next;
    }
    (current, libm::sqrt(2.0 * n as f64) * before)
}

/// The Hermite polynomial of an order at z, orthonormal for the standard normal.
pub fn orthonormal_hermite(order: usize, z: f64) -> f64 {
    let (mut before, mut value) = (0.0, 1.0);
    for n in 1..=order {
        let root = |n: usize| libm::sqrt(n as f64);
        (before, value) = (value, (z * value - root(n - 1) * before) / root(n));
    }
    value
}

/// Root of `f` in [low, high] by the method of Brent 1973 (Algorithms for Minimization without Derivatives, chapter 4;
/// from memory); `None` when the ends do not bracket a root.
pub fn root(low: f64, high: f64, tolerance: f64, mut f: impl FnMut(f64) -> f64) -> Option<f64> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if !(fa * fb <= 0.0) {
        return None;
    }
    let (mut c, mut fc) = (a, fa);
    let mut last_step = b - a;
    let mut step = last_step;
    for _ in 0..200 {
        if fb * fc > 0.0 {
            (c, fc) = (a, fa);
            last_step = b - a;
            step = last_step;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let near = 2.0 * f64::EPSILON * b.abs() + 0.5 * tolerance;
        let half = 0.5 * (c - b);
        if half.abs() <= near || fb == 0.0 {
            return Some(b);
        }
        if last_step.abs() >= near && fa.abs() > fb.abs() {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q
            } else {
                p = -p
            }
            if 2.0 * p < (3.0 * half * q - (near * q).abs()).min((last_step * q).abs()) {
                last_step = step;
                step = p / q;
            } else {
                step = half;
                last_step = half;
            }
        } else {
            step = half;
            last_step = half;
        }
        (a, fa) = (b, fb);
        b += if step.abs() > near { step } else { near.copysign(half) };
        fb = f(b);
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn legendre_integrates_polynomials_exactly() {
        for n in [2, 5, 24, 40, 160] {
            let rule = Rule::legendre(n);
            assert!((rule.weights.iter().sum::<f64>() - 1.0).abs() < 1e-13);
            let degree = (2 * n - 1).min(31) as i32;
            let value = rule.integrate(0.0, 2.0, |x| x.powi(degree));
            let exact = 2f64.powi(degree + 1) / (degree + 1) as f64;
            assert!((value / exact - 1.0).abs() < 1e-12, "{n}: {value} {exact}");
        }
    }

    #[test]
    fn hermite_knows_the_moments_of_the_normal() {
        for n in [8, 20, 24, 32, 48] {
            let rule = Rule::normal(n);
            let moment = |k: i32| rule.expect(|x| x.powi(k));
            assert!((moment(2) - 1.0).abs() < 1e-12 && (moment(4) - 3.0).abs() < 1e-11, "{n}");
            assert!((moment(8) - 105.0).abs() < 1e-9, "{n}: {}", moment(8));
            assert!(moment(3).abs() < 1e-11);
        }
    }

    #[test]
    fn root_finds_roots_and_says_when_there_is_none() {
        let found = root(0.0, 3.0, 1e-14, |x| x * x - 2.0).unwrap();
        assert!((found - 2f64.sqrt()).abs() < 1e-13);
        assert!(root(2.0, 3.0, 1e-12, |x| x * x - 2.0).is_none());
        assert!(root(0.0, 1.0, 1e-12, |_| f64::NAN).is_none());
    }
}
