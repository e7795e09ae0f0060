//! The gamma function's logarithm and its derivatives, also as differences that keep their digits.

/// Up to this count a difference is a sum of its terms, which loses nothing when the offset is large.
const SUMMED: f64 = 40.0;

/// From here on the asymptotic series below are right to the last digits: the first term left out is 2e-16.
const FAR: f64 = 16.0;

/// `ln x - 1 / (2 x) - psi(x)` for x >= [`FAR`] (Abramowitz & Stegun 1964, 6.3.18; from memory).
fn digamma_series(x: f64) -> f64 {
    let r = 1.0 / (x * x);
    r * (1.0 / 12.0 - r * (1.0 / 120.0 - r * (1.0 / 252.0 - r * (1.0 / 240.0 - r * (1.0 / 132.0)))))
}

/// `psi'(x) - 1 / x - 1 / (2 x^2)` for x >= [`FAR`] (Abramowitz & Stegun 1964, 6.4.12; from memory).
fn trigamma_series(x: f64) -> f64 {
    let r = 1.0 / (x * x);
    r / x * (1.0 / 6.0 - r * (1.0 / 30.0 - r * (1.0 / 42.0 - r * (1.0 / 30.0 - r * (5.0 / 66.0)))))
}

/// `psi(x)`, the derivative of `ln Gamma(x)`, for x > 0; relative error below 1e-14 except near its root at 1.46.
///
/// By recurrence (Abramowitz & Stegun 1964, 6.3.5; from memory) to where the series holds.
pub fn digamma(x: f64) -> f64 {
    let (mut at, mut below) = (x, 0.0);
    while at < FAR {
        below += 1.0 / at;
        at += 1.0;
    }
    libm::log(at) - 0.5 / at - digamma_series(at) - below
}

/// `psi'(x)` for x > 0; relative error below 1e-14.
pub fn trigamma(x: f64) -> f64 {
    let (mut at, mut below) = (x, 0.0);
    while at < FAR {
        below += 1.0 / (at * at);
        at += 1.0;
    }
    1.0 / at + 0.5 / (at * at) + trigamma_series(at) + below
}

/// `ln Gamma(offset + count) - ln Gamma(offset)`.
///
/// Far out, the difference of Stirling's series (Abramowitz & Stegun 1964, 6.1.41; from memory) is written so that nothing
/// large is subtracted; the same holds for the two below.
pub fn ln_gamma_difference(offset: f64, count: f64) -> f64 {
    let end = offset + count;
    if is_summed(count) {
        terms(count).map(|j| libm::log(offset + j)).sum()
    } else if offset < FAR {
        libm::lgamma(end) - libm::lgamma(offset)
    } else {
        let series = |x: f64| (1.0 / 12.0 - (1.0 / 360.0 - 1.0 / (1260.0 * x * x)) / (x * x)) / x;
        let main = (end - 0.5) * libm::log1p(count / offset) + count * (libm::log(offset) - 1.0);
        main + series(end) - series(offset)
    }
}

/// `psi(offset + count) - psi(offset)`.
pub fn digamma_difference(offset: f64, count: f64) -> f64 {
    let end = offset + count;
    if is_summed(count) {
        terms(count).map(|j| 1.0 / (offset + j)).sum()
    } else if offset < FAR {
        digamma(end) - digamma(offset)
    } else {
        let main = libm::log1p(count / offset) + 0.5 * count / (offset * end);
        main + digamma_series(offset) - digamma_series(end)
    }
}

/// `psi'(offset + count) - psi'(offset)`, at most nil.
pub fn trigamma_difference(offset: f64, count: f64) -> f64 {
    let end = offset + count;
    if is_summed(count) {
        terms(count).map(|j| -1.0 / ((offset + j) * (offset + j))).sum()
    } else if offset < FAR {
        trigamma(end) - trigamma(offset)
    } else {
        let product = offset * end;
        let main = -count / product * (1.0 + 0.5 * (offset + end) / product);
        main + trigamma_series(end) - trigamma_series(offset)
    }
}

fn is_summed(count: f64) -> bool {
    count <= SUMMED && count == count.floor()
}

fn terms(count: f64) -> impl Iterator<Item = f64> {
    (0..count as u32).map(f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(value: f64, expected: f64, relative: f64) {
        assert!((value / expected - 1.0).abs() < relative, "{value} against {expected}");
    }

    /// `psi(1) = -gamma`, `psi(1/2) = -gamma - 2 ln 2`, `psi'(1) = pi^2 / 6`, `psi'(1/2) = pi^2 / 2`.
    #[test]
    fn closed_values() {
        const EULER: f64 = 0.577_215_664_901_532_9;
        let pi = std::f64::consts::PI;
        close(digamma(1.0), -EULER, 1e-14);
        close(digamma(0.5), -EULER - 2.0 * std::f64::consts::LN_2, 1e-14);
        close(trigamma(1.0), pi * pi / 6.0, 1e-14);
        close(trigamma(0.5), pi * pi / 2.0, 1e-14);
    }

    #[test]
    fn sums_and_differences_of_functions_agree() {
        for offset in [0.03, 0.9, 7.0, 400.0] {
            for count in [1.0, 17.0, 40.0, 40.5, 300.0] {
                close(digamma_difference(offset, count), digamma(offset + count) - digamma(offset), 1e-11);
                close(trigamma_difference(offset, count), trigamma(offset + count) - trigamma(offset), 1e-10);
                close(ln_gamma_difference(offset, count), libm::lgamma(offset + count) - libm::lgamma(offset), 1e-11);
            }
        }
    }

    /// A whole count that is just not whole takes the road of functions: nothing is lost at large offsets.
    #[test]
    fn both_roads_meet() {
        for offset in [0.3, 20.0, 1e4, 1e9] {
            let (sum, other) =
                (|f: fn(f64, f64) -> f64| f(offset, 7.0), |f: fn(f64, f64) -> f64| f(offset, 7.0 + 1e-13));
            for f in [ln_gamma_difference, digamma_difference, trigamma_difference] {
                close(other(f), sum(f), 1e-11);
            }
        }
    }

    #[test]
    fn counts_that_are_not_whole_lie_between() {
        let at = |count| digamma_difference(2.0, count);
        assert!(at(3.0) < at(3.5) && at(3.5) < at(4.0));
        assert_eq!(at(0.0), 0.0);
    }
}
