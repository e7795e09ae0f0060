//! An estimate, the variance of its error, and the t test made of the two.

use super::critical::{CriticalT, Tail};

/// An estimated component of the variance of an estimate, with the degrees of freedom it was estimated on; `df` is
/// infinite for a variance that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    pub variance: f64,
    pub df: f64,
}

impl Part {
    pub fn known(variance: f64) -> Self {
        Self { variance, df: f64::INFINITY }
    }

    /// The part of `factor` times the estimate: a zone's mean enters the region's with its weight.
    pub fn weighted(self, factor: f64) -> Self {
        Self { variance: factor * factor * self.variance, df: self.df }
    }
}

/// The variance of a sum of independent estimates and its approximate degrees of freedom.
///
/// `df = (sum v)^2 / sum(v^2 / df)` (Satterthwaite 1946, Biometrics Bulletin 2:110; Welch 1947, Biometrika 34:28; from
/// memory). Parts that are known, or nil, cost no degrees of freedom; if all are, `df` is infinite. A part whose variance
/// was not estimable (NaN, as from one value) makes the whole NaN.
#[inline]
pub fn satterthwaite(parts: &[Part]) -> Part {
    let (mut variance, mut spread) = (0.0, 0.0);
    for part in parts {
        variance += part.variance;
        if part.variance != 0.0 {
            spread += part.variance * part.variance / part.df;
        }
    }
    let df = if spread == 0.0 { f64::INFINITY } else { variance * variance / spread };
    Part { variance, df }
}

/// Count, mean and variance (divisor n - 1; NaN below two values) of one sample of independent replicates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    pub count: f64,
    pub mean: f64,
    pub variance: f64,
}

impl Sample {
    /// Two passes over the values, no allocation. Equal values have variance 0, also when their mean was rounded: a spread
    /// below 64 units in the last place of the mean is taken for rounding.
    #[inline]
    pub fn of(values: &[f64]) -> Self {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        let rounding = 64.0 * f64::EPSILON * mean;
        let variance = if values.len() < 2 {
            f64::NAN
        } else if squares <= count * rounding * rounding {
            0.0
        } else {
            squares / (count - 1.0)
        };
        Self { count, mean, variance }
    }

    /// The error of the mean of the replicates.
    #[inline]
    pub fn of_mean(self) -> Part {
        Part { variance: self.variance / self.count, df: self.count - 1.0 }
    }

    /// The error of the mean when the replicates are a share of a finite list of `listed`: nil when all are seen (Cochran
    /// 1977, Sampling Techniques, section 2.5; from memory).
    #[inline]
    pub fn of_mean_of_list(self, listed: f64) -> Part {
        let mean = self.of_mean();
        Part { variance: mean.variance * (1.0 - self.count / listed).max(0.0), df: mean.df }
    }
}

/// An estimate against the variance of its error: never made where that variance is nil or unknown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TTest {
    estimate: f64,
    error: f64,
    df: f64,
}

impl TTest {
    /// `None` (a degenerate trial, to be counted) when the variance is not positive and finite, the degrees of freedom
    /// are not positive or the estimate is not a number.
    #[inline]
    pub fn new(estimate: f64, part: Part) -> Option<Self> {
        let sound = estimate.is_finite() && 0.0 < part.variance && part.variance < f64::INFINITY && part.df > 0.0;
        sound.then(|| Self { estimate, error: part.variance.sqrt(), df: part.df })
    }

    /// One sample; of differences, the paired test.
    #[inline]
    pub fn one_sample(sample: Sample) -> Option<Self> {
        Self::new(sample.mean, sample.of_mean())
    }

    /// `after - before` of independent samples, each with its own variance (Welch 1947).
    #[inline]
    pub fn welch(before: Sample, after: Sample) -> Option<Self> {
        Self::new(after.mean - before.mean, satterthwaite(&[before.of_mean(), after.of_mean()]))
    }

    /// `after - before` of independent samples with one common variance; wrong in size when the variances and the counts
    /// differ, so [`TTest::welch`] is the one to use.
    #[inline]
    pub fn pooled(before: Sample, after: Sample) -> Option<Self> {
        let df = before.count + after.count - 2.0;
        let pooled = ((before.count - 1.0) * before.variance + (after.count - 1.0) * after.variance) / df;
        let variance = pooled * (1.0 / before.count + 1.0 / after.count);
        Self::new(after.mean - before.mean, Part { variance, df })
    }

    pub fn estimate(&self) -> f64 {
        self.estimate
    }

    /// One standard error.
    pub fn error(&self) -> f64 {
        self.error
    }

    pub fn df(&self) -> f64 {
        self.df
    }

    /// `(estimate - null) / error`.
    #[inline]
    pub fn statistic(&self, null: f64) -> f64 {
        (self.estimate - null) / self.error
    }

    /// How far the interval reaches on each side of the estimate (on the one side that counts, for one-sided tests).
    #[inline]
    pub fn half_width(&self, critical: &CriticalT) -> f64 {
        critical.at(self.df) * self.error
    }

    /// Whether the difference from `null` is significant, in the direction that counts.
    #[inline]
    pub fn rejects(&self, critical: &CriticalT, null: f64) -> bool {
        let difference = self.estimate - null;
        let reach = self.half_width(critical);
        match critical.tail() {
            Tail::Two => difference.abs() > reach,
            Tail::Lower => difference < -reach,
            Tail::Upper => difference > reach,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_and_nil_parts_cost_no_degrees_of_freedom() {
        let estimated = Part { variance: 2.0, df: 5.0 };
        assert_eq!(satterthwaite(&[estimated]), estimated);
        assert_eq!(satterthwaite(&[estimated, Part { variance: 0.0, df: 1.0 }]), estimated);
        assert_eq!(satterthwaite(&[Part::known(1.0), Part::known(2.0)]), Part::known(3.0));
        // (2 + 1)^2 / (4 / 5): the known part raises the degrees of freedom.
        assert!((satterthwaite(&[estimated, Part::known(1.0)]).df - 11.25).abs() < 1e-14);
        assert_eq!(satterthwaite(&[]), Part::known(0.0));
    }

    #[test]
    fn equal_parts_add_their_degrees_of_freedom() {
        let part = Part { variance: 0.7, df: 6.0 };
        let sum = satterthwaite(&[part, part, part]);
        assert!((sum.df - 18.0).abs() < 1e-12 && (sum.variance - 2.1).abs() < 1e-15);
    }

    #[test]
    fn no_test_is_made_of_a_variance_that_is_nil_or_unknown() {
        for (estimate, variance, df) in [
            (1.0, 0.0, 4.0),
            (1.0, f64::NAN, 4.0),
            (1.0, f64::INFINITY, 4.0),
            (1.0, 1.0, 0.0),
            (1.0, 1.0, f64::NAN),
            (f64::NAN, 1.0, 4.0),
        ] {
            assert!(TTest::new(estimate, Part { variance, df }).is_none(), "{estimate} {variance} {df}");
        }
        assert!(TTest::one_sample(Sample::of(&[3.0])).is_none());
        assert!(TTest::one_sample(Sample::of(&[])).is_none());
        assert!(TTest::one_sample(Sample::of(&[0.2, 0.2, 0.2])).is_none());
        assert!(TTest::welch(Sample::of(&[1.0]), Sample::of(&[1.0, 2.0, 4.0])).is_none());
    }

    #[test]
    fn direction_decides_what_counts() {
        let fall = TTest::new(-3.0, Part { variance: 1.0, df: 10.0 }).unwrap();
        let seen = |tail, null| fall.rejects(&CriticalT::new(0.05, tail), null);
        assert!(seen(Tail::Two, 0.0) && seen(Tail::Lower, 0.0) && !seen(Tail::Upper, 0.0));
        assert!(!seen(Tail::Two, -3.0) && seen(Tail::Upper, -6.0));
        assert_eq!(fall.statistic(1.0), -4.0);
    }

    #[test]
    fn a_list_seen_whole_has_no_error() {
        let sample = Sample::of(&[1.0, 2.0, 4.0, 7.0]);
        assert_eq!(sample.of_mean_of_list(4.0).variance, 0.0);
        assert_eq!(sample.of_mean_of_list(8.0).variance, sample.of_mean().variance / 2.0);
        assert_eq!(sample.of_mean_of_list(f64::INFINITY), sample.of_mean());
    }
}
