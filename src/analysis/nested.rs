//! Variance components of three balanced levels: sites, lines in sites, values in lines.

use super::distributions::f_upper;
use super::estimate::Part;
use super::one_way::MeanSquare;

/// Nested analysis of variance with equal numbers at each level.
///
/// Model: value = mean + top + middle (within top) + rest. Components by moments (Snedecor & Cochran 1967, Statistical
/// Methods, section 10.17; from memory): `rest = MSE`, `middle = (MSM - MSE) / n`, `top = (MST - MSM) / (n m)`.
#[derive(Clone, Copy, Debug)]
pub struct Nested {
    pub mean: f64,
    pub tops: MeanSquare,
    pub middles: MeanSquare,
    pub rest_square: MeanSquare,
    per_top: f64,
    per_middle: f64,
}

impl Nested {
    /// `data[top][middle]` holds the values; `None` unless balanced with at least two of each.
    pub fn of(data: &[Vec<Vec<f64>>]) -> Option<Self> {
        let tops = data.len();
        let per_top = data.first()?.len();
        let per_middle = data[0].first()?.len();
        let balanced = data.iter().all(|top| top.len() == per_top && top.iter().all(|cell| cell.len() == per_middle));
        if !balanced || tops < 2 || per_top < 2 || per_middle < 2 {
            return None;
        }
        let mean_of = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let square = |x: f64| x * x;
        let middle_means: Vec<Vec<f64>> =
            data.iter().map(|top| top.iter().map(|cell| mean_of(cell)).collect()).collect();
        let top_means: Vec<f64> = middle_means.iter().map(|means| mean_of(means)).collect();
        let mean = mean_of(&top_means);
        let (mut of_tops, mut of_middles, mut of_rest) = (0.0, 0.0, 0.0);
        for (t, top) in data.iter().enumerate() {
            of_tops += square(top_means[t] - mean);
            for (m, cell) in top.iter().enumerate() {
                of_middles += square(middle_means[t][m] - top_means[t]);
                of_rest += cell.iter().map(|x| square(x - middle_means[t][m])).sum::<f64>();
            }
        }
        let (a, m, n) = (tops as f64, per_top as f64, per_middle as f64);
        let mean_square = |sum: f64, df: f64| MeanSquare { value: sum / df, df };
        Some(Self {
            mean,
            tops: mean_square(of_tops * m * n, a - 1.0),
            middles: mean_square(of_middles * n, a * (m - 1.0)),
            rest_square: mean_square(of_rest, a * m * (n - 1.0)),
            per_top: m,
            per_middle: n,
        })
    }

    pub fn rest(&self) -> f64 {
        self.rest_square.value
    }

    /// Kept at 0 when negative, as [`Nested::top`].
    pub fn middle(&self) -> f64 {
        ((self.middles.value - self.rest_square.value) / self.per_middle).max(0.0)
    }

    pub fn top(&self) -> f64 {
        ((self.tops.value - self.middles.value) / (self.per_middle * self.per_top)).max(0.0)
    }

    pub fn total(&self) -> f64 {
        self.top() + self.middle() + self.rest()
    }

    pub fn f_of_tops(&self) -> f64 {
        self.tops.value / self.middles.value
    }

    pub fn f_of_middles(&self) -> f64 {
        self.middles.value / self.rest_square.value
    }

    pub fn p_of_tops(&self) -> f64 {
        f_upper(self.f_of_tops(), self.tops.df, self.middles.df)
    }

    /// Error of the overall mean.
    pub fn of_mean(&self) -> Part {
        let values = (self.tops.df + 1.0) * self.per_top * self.per_middle;
        Part { variance: self.tops.value / values, df: self.tops.df }
    }
}
