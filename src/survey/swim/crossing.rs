use std::f64::consts::{FRAC_2_PI, PI};

/// Mean speeds, over uniform headings, of fish that pass a diver, m/s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSpeeds {
    /// Along the way of the diver.
    pub along: f64,
    /// Across it: `2 u / pi`.
    pub across: f64,
    pub relative: f64,
}

impl MeanSpeeds {
    /// Of fish of speed `u` past a diver of speed `v`.
    pub fn of(u: f64, v: f64) -> Self {
        Self { along: mean_along(u, v), across: FRAC_2_PI * u, relative: mean_relative_speed(u, v) }
    }
}

/// Mean over uniform headings of the speed along the belt of a fish of speed `u` past a diver of speed `v`:
/// `E |v - u cos t|`, which is `v` for `u <= v` and else `(2 / pi) (sqrt(u^2 - v^2) + v asin(v / u))`.
fn mean_along(u: f64, v: f64) -> f64 {
    if u <= v {
        return v;
    }
    FRAC_2_PI * (libm::sqrt(u * u - v * v) + v * libm::asin(v / u))
}

/// Mean over uniform headings of the speed of a fish of speed `u` relative to a diver of speed `v`:
/// `(2 / pi) (u + v) E(m)`, `m = 4 u v / (u + v)^2`, with the complete elliptic integral of the second kind (named after
/// Yapp 1956 and Skellam 1958, from memory; `4 v / pi` at `u = v`: Hutchinson & Waser 2007).
fn mean_relative_speed(u: f64, v: f64) -> f64 {
    let both = u + v;
    if both == 0.0 {
        return 0.0;
    }
    let other = (u - v).abs() / both;
    FRAC_2_PI * both * elliptic_second_kind(other)
}

/// Complete elliptic integral of the second kind for the complementary modulus `k'` (`m = 1 - k'^2`), by the
/// arithmetic-geometric mean (Abramowitz & Stegun 17.6, from memory).
fn elliptic_second_kind(complementary: f64) -> f64 {
    if complementary == 0.0 {
        return 1.0;
    }
    let (mut a, mut b, mut power) = (1.0, complementary, 0.5);
    let mut sum = power * (1.0 - complementary * complementary);
    while (a - b).abs() > 1e-15 * a {
        let c = 0.5 * (a - b);
        (a, b) = (0.5 * (a + b), libm::sqrt(a * b));
        power *= 2.0;
        sum += power * c * c;
    }
    0.5 * PI / a * (1.0 - sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean over headings by the midpoint rule, exact for smooth periodic functions.
    fn over_headings(f: impl Fn(f64, f64) -> f64) -> f64 {
        let n = 200_000;
        (0..n).map(|i| libm::sincos(2.0 * PI * (f64::from(i) + 0.5) / f64::from(n))).map(|(s, c)| f(c, s)).sum::<f64>()
            / f64::from(n)
    }

    #[test]
    fn mean_speeds_are_means_over_headings() {
        for (u, v) in [(0.0, 1.0), (0.3, 1.0), (1.0, 1.0), (1.7, 1.0), (0.4, 0.0)] {
            let along = over_headings(|c, _| (v - u * c).abs());
            assert!((mean_along(u, v) - along).abs() < 1e-9, "{u} {v}");
            let relative = over_headings(|c, s| libm::hypot(v - u * c, u * s));
            assert!((mean_relative_speed(u, v) - relative).abs() < 1e-9, "{u} {v}");
        }
        assert_eq!(mean_relative_speed(0.0, 0.0), 0.0);
    }

    /// Computed values of `g / v` and of Yapp's `V / v`; at `u = v` the latter is `4 / pi` (Hutchinson & Waser 2007,
    /// corrigendum), not the common approximation `sqrt(2)`.
    #[test]
    fn tabulated_values() {
        for (u, g) in [(1.0, 1.0), (1.5, 1.1763), (2.0, 1.4360), (3.0, 2.0170), (5.0, 3.2470), (10.0, 6.3981)] {
            assert!((mean_along(u, 1.0) - g).abs() < 6e-5, "{u}: {}", mean_along(u, 1.0));
        }
        for (u, speed) in [(0.25, 1.0157), (0.5, 1.0635), (1.0, 1.2732), (2.0, 2.1271), (5.0, 5.0501)] {
            assert!((mean_relative_speed(u, 1.0) - speed).abs() < 6e-5, "{u}: {}", mean_relative_speed(u, 1.0));
        }
        assert!((mean_relative_speed(0.3, 0.3) - 4.0 * 0.3 / PI).abs() < 1e-15);
    }
}
