//! Power of a t test read from a table, for searches over many designs.

use super::power::{detectable_noncentrality, t_power_at};
use super::quadrature::Rule;
use crate::analysis::{Tail, chi_squared_quantile, critical_t, normal_cdf};
use cdflib::special::gamma_log;

/// [`super::t_power`] at one alpha and tail, tabulated: tens of nanoseconds a value instead of microseconds, error below
/// 1e-5 (tested).
///
/// Rows lie at equal steps of `1 / df` from 0 to 1; each has its own columns, from where power is nil to where it is 1, at
/// equal steps of `asinh(noncentrality / 3)`: fine near 0, where the normal curve bends, coarse far out, where at few
/// degrees of freedom power still climbs. Between the four rows and four columns around the place asked for, cubics.
#[derive(Clone, Debug)]
pub struct PowerTable {
    alpha: f64,
    tail: Tail,
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
struct Row {
    /// First column and columns per unit, in `asinh(noncentrality / 3)`.
    lowest: f64,
    per_unit: f64,
    powers: Vec<f32>,
}

/// Columns lie evenly below this noncentrality and logarithmically above.
const LINEAR_WITHIN: f64 = 3.0;
const ROWS: usize = 80;
const COLUMNS: usize = 112;

impl PowerTable {
    pub fn new(alpha: f64, tail: Tail) -> Self {
        let rule = Rule::legendre(48);
        let rows = (0..=ROWS).map(|i| Row::new(ROWS as f64 / i as f64, alpha, tail, &rule)).collect();
        Self { alpha, tail, rows }
    }

    pub fn alpha(&self) -> f64 {
        self.alpha
    }

    pub fn tail(&self) -> Tail {
        self.tail
    }

    /// Power at `noncentrality` (signed: negative is a fall) on `df` >= 1 degrees of freedom, infinity included; below 1
    /// it is computed exactly and slowly.
    pub fn at(&self, noncentrality: f64, df: f64) -> f64 {
        if !(df >= 1.0) {
            return super::t_power(noncentrality, df, self.alpha, self.tail);
        }
        if !noncentrality.is_finite() {
            return f64::NAN;
        }
        let toward = match self.tail {
            Tail::Two => noncentrality.abs(),
            Tail::Lower => -noncentrality,
            Tail::Upper => noncentrality,
        };
        let place = ROWS as f64 / df;
        let first = (place as usize).saturating_sub(1).min(ROWS - 3);
        let weights = cubic_weights(place - first as f64);
        let column = libm::asinh(toward / LINEAR_WITHIN);
        let sum: f64 = self.rows[first..].iter().zip(weights).map(|(row, weight)| weight * row.at(column)).sum();
        sum.clamp(0.0, 1.0)
    }

    /// The size of noncentrality that is seen with probability `power`, to about 1e-4; `None` as for
    /// [`super::detectable_change`].
    pub fn detectable(&self, df: f64, power: f64) -> Option<f64> {
        let sign = if self.tail == Tail::Lower { -1.0 } else { 1.0 };
        detectable_noncentrality(power, 3.0, |noncentrality| self.at(sign * noncentrality, df))
    }
}

impl Row {
    fn new(df: f64, alpha: f64, tail: Tail, rule: &Rule) -> Self {
        let critical = critical_t(alpha, tail, df);
        // Six errors beyond the largest critical difference that the error of the test may make.
        let largest = if df == f64::INFINITY { 1.0 } else { (chi_squared_quantile(1.0 - 1e-9, df) / df).sqrt() };
        let highest = critical.abs() * largest + 6.0;
        let lowest = if tail == Tail::Two { 0.0 } else { -critical.abs().min(6.0) - 6.0 };
        let lowest = libm::asinh(lowest / LINEAR_WITHIN);
        let step = (libm::asinh(highest / LINEAR_WITHIN) - lowest) / COLUMNS as f64;
        let spread = ErrorSpread::new(df);
        let powers = (0..=COLUMNS).map(|k| {
            let noncentrality = LINEAR_WITHIN * libm::sinh(lowest + k as f64 * step);
            let wrong = if tail == Tail::Two { spread.power(-noncentrality, critical, rule) } else { 0.0 };
            (spread.power(noncentrality, critical, rule) + wrong) as f32
        });
        Self { lowest, per_unit: 1.0 / step, powers: powers.collect() }
    }

    fn at(&self, column: f64) -> f64 {
        let place = (column - self.lowest) * self.per_unit;
        if place <= 0.0 {
            return f64::from(self.powers[0]);
        }
        if place >= COLUMNS as f64 {
            return 1.0;
        }
        let first = (place as usize).saturating_sub(1).min(COLUMNS - 3);
        let weights = cubic_weights(place - first as f64);
        self.powers[first..].iter().zip(weights).map(|(&power, weight)| weight * f64::from(power)).sum()
    }
}

/// Weights of the cubic through values at 0, 1, 2, 3.
fn cubic_weights(x: f64) -> [f64; 4] {
    let (a, b, c, d) = (x, x - 1.0, x - 2.0, x - 3.0);
    [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0]
}

/// The distribution of `S = sqrt(chi-squared / df)`, estimated over true standard error.
struct ErrorSpread {
    df: f64,
    /// Logarithm of the constant of its density.
    scale: f64,
    least: f64,
    largest: f64,
}

impl ErrorSpread {
    fn new(df: f64) -> Self {
        if df == f64::INFINITY {
            return Self { df, scale: 0.0, least: 1.0, largest: 1.0 };
        }
        let scale = core::f64::consts::LN_2 + 0.5 * df * libm::log(0.5 * df) - gamma_log(0.5 * df);
        let of = |p: f64| (chi_squared_quantile(p, df) / df).sqrt();
        Self { df, scale, least: of(1e-12), largest: of(1.0 - 1e-12) }
    }

    /// `P(Z + noncentrality > critical S)`: the normal tail averaged over S. Only where `critical S` is within nine of the
    /// noncentrality is the tail between 0 and 1; below, it is 1, and there the share of S is asked of chi-squared.
    fn power(&self, noncentrality: f64, critical: f64, rule: &Rule) -> f64 {
        const REACH: f64 = 8.0;
        if self.df == f64::INFINITY {
            return normal_cdf(noncentrality - critical);
        }
        if !(critical > 0.0) {
            // Only for alpha above 1/2 on one side, which no one asks for: exact and slow.
            return t_power_at(noncentrality, self.df, critical, Tail::Upper);
        }
        let from = ((noncentrality - REACH) / critical).clamp(self.least, self.largest);
        let to = ((noncentrality + REACH) / critical).clamp(self.least, self.largest);
        let certain = if from > self.least { self.share_below(from) } else { 0.0 };
        // In r = sqrt(S) the density has no infinite slope at 0, whatever df.
        let partial = rule.integrate(from.sqrt(), to.sqrt(), |r| {
            let s = r * r;
            2.0 * r * self.density(s) * normal_cdf(noncentrality - critical * s)
        });
        certain + partial
    }

    fn density(&self, s: f64) -> f64 {
        libm::exp(self.scale + (self.df - 1.0) * libm::log(s) - 0.5 * self.df * s * s)
    }

    fn share_below(&self, s: f64) -> f64 {
        crate::analysis::chi_squared_cdf(self.df * s * s, self.df)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::t_power;

    #[test]
    fn the_table_meets_the_exact_power() {
        for (alpha, tail) in
            [(0.05, Tail::Two), (0.05, Tail::Lower), (0.1, Tail::Upper), (0.01, Tail::Two), (0.001, Tail::Lower)]
        {
            let table = PowerTable::new(alpha, tail);
            let mut worst = (0.0, 0.0, 0.0);
            for k in 0..60 {
                let df = 1.0 + 0.005 * libm::exp(0.23 * k as f64) - 0.005;
                for j in 0..40 {
                    let noncentrality = (j as f64 - 10.0) * 0.31 * if df < 2.0 { 1.9 } else { 1.0 };
                    let exact = t_power(noncentrality, df, alpha, tail);
                    let off = (table.at(noncentrality, df) - exact).abs();
                    if off > worst.0 {
                        worst = (off, df, noncentrality);
                    }
                }
            }
            assert!(worst.0 < 1e-5, "{alpha} {tail:?}: {worst:?}");
        }
    }

    #[test]
    fn ends_of_the_table() {
        let table = PowerTable::new(0.05, Tail::Lower);
        assert_eq!(table.at(-1e9, 4.0), 1.0);
        assert!(table.at(50.0, 4.0) < 1e-6);
        assert!(table.at(f64::NAN, 4.0).is_nan() && table.at(1.0, f64::NAN).is_nan());
        assert!((table.at(-2.0, f64::INFINITY) - normal_cdf(2.0 - 1.644_853_626_951_473)).abs() < 1e-5);
    }

    #[test]
    fn detectable_noncentrality_is_that_of_the_exact_power() {
        for tail in [Tail::Two, Tail::Lower] {
            let table = PowerTable::new(0.05, tail);
            for (df, power) in [(1.0, 0.8), (3.3, 0.8), (22.0, 0.9), (f64::INFINITY, 0.5)] {
                let found = table.detectable(df, power).unwrap();
                let exact = crate::theory::detectable_change(1.0, df, 0.05, tail, power).unwrap();
                assert!((found - exact).abs() < 2e-4 * exact, "{tail:?} {df} {power}: {found} {exact}");
            }
        }
    }
}
