//! How many independent units or points a precision takes, and how to divide them between and within sites.
//!
//! These are the formulas of textbooks for independent units: points of one line are not independent, so multiply by the
//! design effect.

use crate::analysis::{normal_quantile, normal_upper};

/// Units at which a mean is known to within `share` of itself with probability `confidence`, when single units vary by
/// the coefficient of variation `cv`: `(z cv / share)^2`. Not rounded.
pub fn count_for_relative_precision(cv: f64, share: f64, confidence: f64) -> f64 {
    let z = two_sided_z(confidence);
    let ratio = z * cv / share;
    ratio * ratio
}

/// Units at which a proportion near `p` is known to within `half_width`: `z^2 p (1 - p) / half_width^2` (Cochran 1977,
/// Sampling Techniques, section 4.4; from memory). Not rounded.
pub fn count_for_proportion(p: f64, half_width: f64, confidence: f64) -> f64 {
    let z = two_sided_z(confidence);
    z * z * p * (1.0 - p) / (half_width * half_width)
}

/// The worst case of simultaneous intervals for all categories of a whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AllCategories {
    /// Points times the square of the half-width.
    pub count_times_square: f64,
    /// The number of equally common categories at which it is worst.
    pub categories: u32,
}

impl AllCategories {
    /// Points at which every category is known to within `half_width` at once, rounded up.
    pub fn count(self, half_width: f64) -> u64 {
        (self.count_times_square / (half_width * half_width) - 1e-9).ceil() as u64
    }
}

/// Points for all categories at once, whatever their shares: the largest over m of `z(alpha / 2m)^2 (1 / m)(1 - 1 / m)`
/// (Thompson 1987, The American Statistician 41:42). Divide by the square of the half-width.
pub fn count_for_all_categories(alpha: f64) -> AllCategories {
    let mut worst = AllCategories { count_times_square: 0.0, categories: 2 };
    for categories in 2..=40 {
        let m = f64::from(categories);
        let z = normal_quantile(alpha / (2.0 * m));
        let value = z * z * (1.0 / m) * (1.0 - 1.0 / m);
        if value > worst.count_times_square {
            worst = AllCategories { count_times_square: value, categories };
        }
    }
    worst
}

/// How often an estimate with standard error `error` lies within `reach` of the truth, for normal errors.
pub fn chance_within(reach: f64, error: f64) -> f64 {
    1.0 - 2.0 * normal_upper(reach / error)
}

fn two_sided_z(confidence: f64) -> f64 {
    -normal_quantile(0.5 * (1.0 - confidence))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_count_gives_the_precision_back() {
        let n = count_for_proportion(0.3, 0.04, 0.9);
        assert!((chance_within(0.04, (0.3 * 0.7 / n).sqrt()) - 0.9).abs() < 1e-12);
        let n = count_for_relative_precision(0.6, 0.15, 0.95);
        assert!((chance_within(0.15, 0.6 / n.sqrt()) - 0.95).abs() < 1e-12);
    }
}
