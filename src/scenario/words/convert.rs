//! From what people remember to standard deviations, under the normal law.

use crate::random::normal_cdf;

/// Of ten values without the highest and the lowest, the other eight lie in a band of 2.563 SD (80 % of a normal).
const EIGHT_OF_TEN: f64 = 2.563;
/// The middle half of a normal is 1.349 SD wide.
const HALF: f64 = 1.349;

/// People give ranges that are too narrow: ecologists' intervals meant to hold the truth 80 times in 100 held it 49 to
/// 65 times (McBride, Fidler & Burgman 2012, Diversity and Distributions 18:782, abstract). The SDs that would have made
/// them right are larger by 1.2816 / 0.9346 and 1.2816 / 0.6588. That these factors hold for covers is a judgement.
pub const TOO_NARROW: (f64, f64) = (1.4, 1.9);

/// SD from the band in which eight of ten lie.
pub fn sd_of_eight_in_ten(low: f64, high: f64) -> f64 {
    (high - low) / EIGHT_OF_TEN
}

/// SD from the band in which half of them lie.
pub fn sd_of_half(low: f64, high: f64) -> f64 {
    (high - low) / HALF
}

/// SD from the lowest and the highest of `count` values.
pub fn sd_of_range(low: f64, high: f64, count: usize) -> f64 {
    (high - low) / expected_range(count)
}

/// Mean of highest minus lowest of `count` standard normal values, `E = integral of 1 - F^k - (1 - F)^k`.
pub fn expected_range(count: usize) -> f64 {
    let k = count as f64;
    let integrand = |x: f64| {
        let below = normal_cdf(x);
        1.0 - libm::pow(below, k) - libm::pow(1.0 - below, k)
    };
    GRID.sum(integrand)
}

/// Standard error, as a share, of an SD taken from the range of `count` values: SD over mean of the range, where
/// `E range^2 = 2 x double integral over x < y of 1 - F(y)^k - (1 - F(x))^k + (F(y) - F(x))^k`.
pub fn range_error(count: usize) -> f64 {
    let k = count as f64;
    let below: Vec<f64> = GRID.points().map(normal_cdf).collect();
    let power = |value: f64| libm::pow(value, k);
    let mut sum = 0.0;
    for (place, &upper) in below.iter().enumerate() {
        // On the diagonal, half of the square lies on the right side.
        let diagonal = 1.0 - power(upper) - power(1.0 - upper);
        sum += 0.5 * diagonal;
        for &lower in &below[..place] {
            sum += 1.0 - power(upper) - power(1.0 - lower) + power(upper - lower);
        }
    }
    let square = 2.0 * sum * GRID.step * GRID.step;
    let mean = expected_range(count);
    (square - mean * mean).max(0.0).sqrt() / mean
}

/// SD between sites from the SD of their means over `lines` lines: the lines' own part taken out. `None`: nothing is
/// left.
pub fn without_lines(sd_of_means: f64, sd_of_a_line: f64, lines: f64) -> Option<f64> {
    let variance = sd_of_means.powi(2) - sd_of_a_line.powi(2) / lines;
    (variance > 0.0).then(|| variance.sqrt())
}

/// SD of a site's years from the usual move between two years: the mean size of the difference of two normals is
/// `2 / sqrt(pi)` SDs.
pub fn sd_of_moves(move_between_years: f64) -> f64 {
    move_between_years / std::f64::consts::FRAC_2_SQRT_PI
}

/// Equal steps over all of a standard normal that matters; the integrands vanish smoothly at both ends, so that the sum
/// is the integral to many digits.
struct Grid {
    end: f64,
    step: f64,
    count: usize,
}

const GRID: Grid = Grid { end: 8.0, step: 0.05, count: 321 };

impl Grid {
    fn points(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.count).map(|place| -self.end + place as f64 * self.step)
    }

    fn sum(&self, integrand: impl Fn(f64) -> f64) -> f64 {
        self.points().map(integrand).sum::<f64>() * self.step
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_2_SQRT_PI;

    /// The usual divisors of quality control, as printed in many tables (from memory), and their relative errors.
    #[test]
    fn the_divisors_of_a_range_are_the_tabled_ones() {
        for (count, divisor) in [(2, 1.128), (3, 1.693), (4, 2.059), (5, 2.326), (6, 2.534), (8, 2.847), (10, 3.078)] {
            assert!((expected_range(count) - divisor).abs() < 6e-4, "{count}: {}", expected_range(count));
        }
        assert!((range_error(6) - 0.34).abs() < 0.006, "{}", range_error(6));
        assert!((range_error(10) - 0.26).abs() < 0.006, "{}", range_error(10));
        assert!((range_error(2) - 0.8525 / FRAC_2_SQRT_PI).abs() < 0.002, "{}", range_error(2));
    }

    #[test]
    fn bands_are_those_of_a_normal() {
        let half_width = sd_of_eight_in_ten(0.0, 1.0).recip() / 2.0;
        assert!((normal_cdf(half_width) - 0.9).abs() < 1e-4);
        let half_width = sd_of_half(0.0, 1.0).recip() / 2.0;
        assert!((normal_cdf(half_width) - 0.75).abs() < 1e-4);
    }

    #[test]
    fn the_factors_for_narrow_ranges_are_those_of_the_hit_rates() {
        let right = 1.2816;
        for (hits, factor) in [(0.65, TOO_NARROW.0), (0.49, TOO_NARROW.1)] {
            // A band of half-width z holds 2 F(z) - 1.
            let z = right / factor;
            assert!((2.0 * normal_cdf(z) - 1.0 - hits).abs() < 0.015, "{hits}");
        }
    }

    #[test]
    fn lines_are_taken_out_of_the_spread() {
        assert!((without_lines(5.0, 6.0, 4.0).unwrap() - 4.0).abs() < 1e-12);
        assert_eq!(without_lines(3.0, 9.0, 4.0), None);
    }

    #[test]
    fn the_move_between_two_years_is_that_of_a_difference() {
        assert!((sd_of_moves(FRAC_2_SQRT_PI) - 1.0).abs() < 1e-12);
    }
}
