//! Variance components of values in groups: between groups (sites) and within them (lines).

use super::distributions::{chi_squared_quantile, f_quantile, f_upper};
use super::estimate::Part;
use serde::Serialize;

/// An interval for a parameter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    pub low: f64,
    pub high: f64,
}

impl Interval {
    pub fn holds(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Both ends through an increasing function.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { low: f(self.low), high: f(self.high) }
    }
}

/// A mean square and its degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquare {
    pub value: f64,
    pub df: f64,
}

/// One-way analysis of variance of groups of any sizes, and the components behind it.
///
/// Model: value = mean + group + rest, with variances `between` and `within`. The estimators are those of moments
/// ("ANOVA", Henderson's method 1; Searle, Casella & McCulloch 1992, Variance Components, section 3.6; from memory):
/// `within = MSW`, `between = (MSB - MSW) / n0` with `n0 = (N - sum n^2 / N) / (a - 1)`; unbiased whatever the distribution.
#[derive(Clone, Copy, Debug)]
pub struct OneWay {
    pub groups: usize,
    pub values: usize,
    /// Mean of the group means, each group counting once.
    pub mean: f64,
    pub between_groups: MeanSquare,
    pub within_groups: MeanSquare,
    /// `n0`, the number of values of a group that the estimate of `between` works with.
    pub per_group: f64,
    pub balanced: bool,
    /// Variance of the group means with divisor a - 1, and the harmonic mean of the group sizes: for the intervals.
    means_variance: f64,
    harmonic_size: f64,
}

impl OneWay {
    /// `None` with fewer than two groups, or when no group has two values.
    pub fn of<G: AsRef<[f64]>>(groups: &[G]) -> Option<Self> {
        let groups: Vec<&[f64]> = groups.iter().map(AsRef::as_ref).filter(|group| !group.is_empty()).collect();
        let count = groups.len();
        let values: usize = groups.iter().map(|group| group.len()).sum();
        if count < 2 || values == count {
            return None;
        }
        // Taking off the first value is exact for values that share their leading digits, and saves those digits.
        let origin = groups[0][0];
        let means: Vec<f64> =
            groups.iter().map(|group| group.iter().map(|x| x - origin).sum::<f64>() / group.len() as f64).collect();
        let sizes: Vec<f64> = groups.iter().map(|group| group.len() as f64).collect();
        let total = values as f64;
        let grand = means.iter().zip(&sizes).map(|(mean, size)| mean * size).sum::<f64>() / total;
        let square = |x: f64| x * x;
        let between: f64 = means.iter().zip(&sizes).map(|(mean, size)| size * square(mean - grand)).sum();
        let within: f64 = groups
            .iter()
            .zip(&means)
            .map(|(group, mean)| group.iter().map(|x| square(x - origin - mean)).sum::<f64>())
            .sum();
        let (df_between, df_within) = (count as f64 - 1.0, total - count as f64);
        let mean_of_means = means.iter().sum::<f64>() / count as f64;
        Some(Self {
            groups: count,
            values,
            mean: origin + mean_of_means,
            between_groups: MeanSquare { value: between / df_between, df: df_between },
            within_groups: MeanSquare { value: within / df_within, df: df_within },
            per_group: (total - sizes.iter().map(|size| size * size).sum::<f64>() / total) / df_between,
            balanced: sizes.iter().all(|&size| size == sizes[0]),
            means_variance: means.iter().map(|mean| square(mean - mean_of_means)).sum::<f64>() / df_between,
            harmonic_size: count as f64 / sizes.iter().map(|size| 1.0 / size).sum::<f64>(),
        })
    }

    pub fn f(&self) -> f64 {
        self.between_groups.value / self.within_groups.value
    }

    /// Probability of an F as large when groups do not differ.
    pub fn p_value(&self) -> f64 {
        f_upper(self.f(), self.between_groups.df, self.within_groups.df)
    }

    /// Share of the sum of squares that lies between groups.
    pub fn r_squared(&self) -> f64 {
        let between = self.between_groups.value * self.between_groups.df;
        between / (between + self.within_groups.value * self.within_groups.df)
    }

    pub fn within(&self) -> f64 {
        self.within_groups.value
    }

    /// The component between groups as it comes, which may be negative: unbiased, for averaging over many data sets.
    pub fn between_signed(&self) -> f64 {
        (self.between_groups.value - self.within_groups.value) / self.per_group
    }

    /// The component between groups, kept at 0 when negative. A 0 is "not distinguishable here", never "no difference":
    /// read it with [`OneWay::between_interval`].
    pub fn between(&self) -> f64 {
        self.between_signed().max(0.0)
    }

    /// Correlation of two values of one group.
    pub fn same_group_correlation(&self) -> f64 {
        let between = self.between();
        between / (between + self.within())
    }

    /// Error of the mean of group means: the spread of these means, which holds all components.
    pub fn of_mean(&self) -> Part {
        Part { variance: self.means_variance / self.groups as f64, df: self.between_groups.df }
    }

    /// Interval of the component within groups; exact for normal values.
    pub fn within_interval(&self, confidence: f64) -> Interval {
        chi_squared_interval(self.within_groups, confidence)
    }

    /// Interval of the component between groups by the modified large-sample method, close to its nominal confidence for
    /// normal values (Ting, Burdick, Graybill, Jeyaratnam & Lu 1990, Journal of Statistical Computation and Simulation
    /// 35:135; Burdick & Graybill 1992, Confidence Intervals on Variance Components, section 3.3; from memory, its cover
    /// checked by simulation in the tests). Unbalanced groups enter by the variance of their means times the harmonic mean
    /// of their sizes in place of MSB (Thomas & Hultquist 1978, Annals of Statistics 6:582; from memory). There is no exact
    /// interval for this component.
    pub fn between_interval(&self, confidence: f64) -> Interval {
        let above = MeanSquare { value: self.harmonic_size * self.means_variance, df: self.between_groups.df };
        difference_interval(above, self.within_groups, confidence).map(|x| (x / self.harmonic_size).max(0.0))
    }

    /// The same component by Satterthwaite's approximation: simpler, and too short when the component is small beside the
    /// variance within. Its variance is the component, its df the approximate degrees of freedom.
    pub fn between_part(&self) -> Part {
        difference_part(self.between_groups, self.within_groups, self.per_group)
    }

    /// Interval of the correlation of two values of one group; exact for normal values in balanced groups, by the harmonic
    /// mean of the sizes otherwise.
    pub fn same_group_interval(&self, confidence: f64) -> Interval {
        let (above, below) = (self.between_groups.df, self.within_groups.df);
        let ratio = self.harmonic_size * self.means_variance / self.within();
        let tail = 0.5 * (1.0 - confidence);
        let share = |f: f64| ((f - 1.0) / (f - 1.0 + self.harmonic_size)).max(0.0);
        Interval {
            low: share(ratio / f_quantile(1.0 - tail, above, below)),
            high: share(ratio / f_quantile(tail, above, below)),
        }
    }
}

/// Interval of a variance from a mean square that is it times chi-squared / df.
pub fn chi_squared_interval(square: MeanSquare, confidence: f64) -> Interval {
    let tail = 0.5 * (1.0 - confidence);
    let sum = square.value * square.df;
    Interval {
        low: sum / chi_squared_quantile(1.0 - tail, square.df),
        high: sum / chi_squared_quantile(tail, square.df),
    }
}

/// `(above - below) / factor` as an approximate chi-squared: the component and its degrees of freedom.
pub fn difference_part(above: MeanSquare, below: MeanSquare, factor: f64) -> Part {
    let difference = above.value - below.value;
    let spread = above.value * above.value / above.df + below.value * below.value / below.df;
    Part { variance: difference / factor, df: difference * difference / spread }
}

/// Modified large-sample interval of the difference of the expectations of two independent mean squares.
pub fn difference_interval(above: MeanSquare, below: MeanSquare, confidence: f64) -> Interval {
    let tail = 0.5 * (1.0 - confidence);
    let (large, small) = (above.value, below.value);
    let reach = |own: f64, other: f64, ratio: f64, sign: f64| {
        let cross = ((1.0 - ratio) * (1.0 - ratio) - own * own * ratio * ratio - other * other) / ratio;
        let square = own * own * large * large + other * other * small * small + cross * large * small;
        sign * square.max(0.0).sqrt()
    };
    // The quantiles of chi-squared / df are those of F with infinite df below.
    let scaled = |p: f64, df: f64| f_quantile(p, df, f64::INFINITY);
    let low = reach(
        1.0 - 1.0 / scaled(1.0 - tail, above.df),
        1.0 / scaled(tail, below.df) - 1.0,
        f_quantile(1.0 - tail, above.df, below.df),
        -1.0,
    );
    let high = reach(
        1.0 / scaled(tail, above.df) - 1.0,
        1.0 - 1.0 / scaled(1.0 - tail, below.df),
        f_quantile(tail, above.df, below.df),
        1.0,
    );
    Interval { low: large - small + low, high: large - small + high }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::Moments;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::StandardNormal;

    fn groups(random: &mut ChaCha8Rng, sizes: &[usize], between: f64, within: f64) -> Vec<Vec<f64>> {
        let mut normal = |sd: f64| sd * random.sample::<f64, _>(StandardNormal);
        sizes
            .iter()
            .map(|&size| {
                let group = normal(between);
                (0..size).map(|_| 3.0 + group + normal(within)).collect()
            })
            .collect()
    }

    #[test]
    fn estimators_are_unbiased_and_intervals_hold_the_truth_as_often_as_they_say() {
        let mut random = ChaCha8Rng::seed_from_u64(20_261);
        for (sizes, balanced) in [(&[4usize; 9][..], true), (&[2, 9, 3, 3, 6, 1, 4, 2][..], false)] {
            for (between, within) in [(1.0, 1.0), (0.4, 1.5), (2.0, 0.3)] {
                let runs = 3000;
                let (mut component, mut rest) = (Moments::default(), Moments::default());
                let (mut held, mut held_rest, mut held_share) = (0, 0, 0);
                for _ in 0..runs {
                    let fit = OneWay::of(&groups(&mut random, sizes, between, within)).unwrap();
                    assert_eq!(fit.balanced, balanced);
                    component.push(fit.between_signed());
                    rest.push(fit.within());
                    held += fit.between_interval(0.9).holds(between * between) as u32;
                    held_rest += fit.within_interval(0.9).holds(within * within) as u32;
                    let share = between * between / (between * between + within * within);
                    held_share += fit.same_group_interval(0.9).holds(share) as u32;
                }
                assert!(component.mean_measured().errors_from(between * between) < 4.0, "{sizes:?} {between}");
                assert!(rest.mean_measured().errors_from(within * within) < 4.0);
                // Four errors of a rate of 0.9 in 3,000 runs are 0.022; the approximations may add 0.02.
                let rate = |hits: u32| f64::from(hits) / f64::from(runs);
                let slack = if balanced { 0.022 } else { 0.042 };
                assert!((rate(held_rest) - 0.9).abs() < 0.022, "within {sizes:?} {}", rate(held_rest));
                assert!((rate(held_share) - 0.9).abs() < slack, "share {sizes:?} {}", rate(held_share));
                assert!((rate(held) - 0.9).abs() < 0.042, "between {sizes:?} {between} {}", rate(held));
            }
        }
    }

    #[test]
    fn groups_that_cannot_tell_are_refused_and_a_negative_component_is_nil() {
        assert!(OneWay::of(&[vec![1.0, 2.0]]).is_none());
        assert!(OneWay::of(&[vec![1.0], vec![2.0], vec![]]).is_none());
        let fit = OneWay::of(&[vec![1.0, 3.0], vec![1.5, 3.5]]).unwrap();
        assert!(fit.between_signed() < 0.0 && fit.between() == 0.0);
        let interval = fit.between_interval(0.95);
        assert!(interval.low == 0.0 && interval.high > 0.0);
    }
}
