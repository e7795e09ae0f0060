//! The scale on which site means are compared, and what their mean and variance are there.

use super::degenerate::Degenerate;

/// A scale of analysis of a site mean that is never below nil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    Plain,
    /// `ln(x + plus)`.
    Log {
        plus: f64,
    },
    /// `sqrt(x + plus)`.
    SquareRoot {
        plus: f64,
    },
}

/// Mean and variance of a site mean on a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScaleMoments {
    pub mean: f64,
    pub variance: f64,
    /// How much of the variance, as a share of its first term, comes from the terms of second order: where this is large the
    /// terms left out matter as well.
    pub second_order: f64,
}

/// From this share on the formula is called poor. With ln and a spread as of gamma it is reached at a coefficient of variation
/// of 0.45, where the variance is right within 1 % (within 6 % for a lognormal; computed).
pub const POOR_FROM: f64 = 0.1;

impl ScaleMoments {
    /// Whether simulation should be trusted instead.
    pub fn is_poor(&self) -> bool {
        !(self.second_order.abs() < POOR_FROM)
    }

    /// What is said where [`ScaleMoments::is_poor`].
    pub fn caution(&self) -> Option<&'static str> {
        self.is_poor().then_some(
            "Site means vary so much against their mean that the formula for this scale is poor; the simulated numbers are \
             the ones to trust.",
        )
    }
}

impl Scale {
    /// `ln(x + c)` with c half of the smallest mean above nil that can occur: one animal in all units of a site together
    /// (common practice, no source). `whole_area` is the area of those units.
    pub fn log_of_density(whole_area: f64) -> Result<Self, Degenerate> {
        let plus = 0.5 / whole_area;
        if !(0.0 < plus && plus < f64::INFINITY) {
            return Err(Degenerate::BadValue);
        }
        Ok(Self::Log { plus })
    }

    /// `sqrt(x + 3/8 / area)`, which makes the variance of Poisson counts nearly the same whatever their mean (Anscombe 1948,
    /// Biometrika 35:246; from memory). `whole_area` is the area of all units of a site.
    pub fn root_of_density(whole_area: f64) -> Result<Self, Degenerate> {
        let plus = 0.375 / whole_area;
        if !(0.0 < plus && plus < f64::INFINITY) {
            return Err(Degenerate::BadValue);
        }
        Ok(Self::SquareRoot { plus })
    }

    /// The value on the scale; a value that the scale does not have (ln of nil without an addition) is named.
    pub fn of(self, value: f64) -> Result<f64, Degenerate> {
        let there = match self {
            Self::Plain => value,
            Self::Log { plus } => libm::log(value + plus),
            Self::SquareRoot { plus } => (value + plus).sqrt(),
        };
        if there.is_finite() { Ok(there) } else { Err(Degenerate::BadValue) }
    }

    /// Back from the scale: the inverse of [`Scale::of`]. Of a mean on the scale this is the value that is typical there (for
    /// ln near the median), not the mean.
    pub fn back(self, there: f64) -> f64 {
        match self {
            Self::Plain => there,
            Self::Log { plus } => libm::exp(there) - plus,
            Self::SquareRoot { plus } => there.max(0.0) * there.max(0.0) - plus,
        }
    }

    /// How fast the scale rises at a value: a small difference on the scale, divided by it, is one of values.
    pub fn slope(self, value: f64) -> f64 {
        match self {
            Self::Plain => 1.0,
            Self::Log { plus } => 1.0 / (value + plus),
            Self::SquareRoot { plus } => 0.5 / (value + plus).sqrt(),
        }
    }

    /// What a typical value becomes when it changes by `difference` on the scale.
    pub fn changed(self, from: f64, difference: f64) -> Result<f64, Degenerate> {
        Ok(self.back(self.of(from)? + difference))
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Plain => "as measured",
            Self::Log { .. } => "logarithm",
            Self::SquareRoot { .. } => "square root",
        }
    }

    /// What a difference on the scale says when it is brought back.
    pub fn difference_words(self) -> &'static str {
        match self {
            Self::Plain => "difference of means",
            Self::Log { plus: 0.0 } => "ratio of typical (geometric mean) values",
            Self::Log { .. } => {
                "ratio of typical (geometric mean) values, after a small number was added to each so that nil has a logarithm"
            }
            Self::SquareRoot { .. } => {
                "difference of square roots: what it means in densities depends on the density it starts from"
            }
        }
    }

    /// Mean and variance on the scale of a value with this mean, variance and third central moment (see
    /// [`third_moment_of_gamma`]).
    ///
    /// Taylor series about the mean (the delta method) to the second power of the variance, fourth and higher moments as of a
    /// normal distribution to that order: with derivatives g1 .. g4 and m3 the third moment,
    /// `E = g + g2 v / 2 + g3 m3 / 6 + g4 v^2 / 8`, `Var = g1^2 v + g1 g2 m3 + (g2^2 / 2 + g1 g3) v^2`
    /// (Kendall & Stuart, The Advanced Theory of Statistics, volume 1, section 10.6, from memory; the second order derived here
    /// and checked on gamma and lognormal). Refused where mean and addition together are not above nil.
    pub fn moments(self, mean: f64, variance: f64, third: f64) -> Result<ScaleMoments, Degenerate> {
        if !(variance >= 0.0 && variance < f64::INFINITY && third.is_finite() && mean.is_finite()) {
            return Err(Degenerate::BadValue);
        }
        let x = match self {
            Self::Plain => return Ok(ScaleMoments { mean, variance, second_order: 0.0 }),
            Self::Log { plus } | Self::SquareRoot { plus } => mean + plus,
        };
        if !(x > 0.0) {
            return Err(Degenerate::BadValue);
        }
        let value = self.of(mean)?;
        let [g1, g2, g3, g4] = match self {
            Self::SquareRoot { .. } => {
                let root = x.sqrt();
                [0.5 / root, -0.25 / (root * x), 0.375 / (root * x * x), -0.9375 / (root * x * x * x)]
            }
            _ => [1.0 / x, -1.0 / (x * x), 2.0 / (x * x * x), -6.0 / (x * x * x * x)],
        };
        let first = g1 * g1 * variance;
        let second = g1 * g2 * third + (0.5 * g2 * g2 + g1 * g3) * variance * variance;
        Ok(ScaleMoments {
            mean: value + 0.5 * g2 * variance + g3 * third / 6.0 + g4 * variance * variance / 8.0,
            variance: (first + second).max(0.0),
            second_order: if first > 0.0 { second / first } else { 0.0 },
        })
    }
}

/// Third central moment of a gamma distribution, `2 v^2 / m`: for means of counts where nothing better is known, as they are
/// skewed like it.
pub fn third_moment_of_gamma(mean: f64, variance: f64) -> f64 {
    if variance == 0.0 { 0.0 } else { 2.0 * variance * variance / mean }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::gamma::{digamma, trigamma};

    const LOG: Scale = Scale::Log { plus: 0.0 };
    const SCALES: [Scale; 4] = [Scale::Plain, Scale::Log { plus: 0.05 }, LOG, Scale::SquareRoot { plus: 0.375 }];

    #[test]
    fn there_and_back() {
        for scale in SCALES {
            for value in [0.3, 2.0, 700.0] {
                let steep = (scale.of(value * 1.0001).unwrap() - scale.of(value * 0.9999).unwrap()) / (0.0002 * value);
                assert!((scale.slope(value) / steep - 1.0).abs() < 1e-6, "{scale:?}");
                assert!((scale.back(scale.of(value).unwrap()) / value - 1.0).abs() < 1e-13, "{scale:?}");
                assert!((scale.changed(value, 0.0).unwrap() / value - 1.0).abs() < 1e-13);
            }
        }
        assert!((LOG.changed(8.0, -libm::log(2.0)).unwrap() - 4.0).abs() < 1e-14);
    }

    #[test]
    fn nil_needs_an_addition() {
        assert_eq!(LOG.of(0.0).unwrap_err(), Degenerate::BadValue);
        assert_eq!(LOG.moments(0.0, 1.0, 0.0).unwrap_err(), Degenerate::BadValue);
        assert!(Scale::log_of_density(0.0).is_err() && Scale::root_of_density(f64::NAN).is_err());
        // Six belts of 10 m2: one animal is 1/60 a m2, half of it is added.
        assert_eq!(Scale::log_of_density(60.0), Ok(Scale::Log { plus: 1.0 / 120.0 }));
        assert!(Scale::log_of_density(60.0).unwrap().of(0.0).is_ok());
        assert!(LOG.moments(1.0, f64::NAN, 0.0).is_err() && LOG.moments(1.0, -1.0, 0.0).is_err());
    }

    /// ln of gamma: mean `psi(s) - ln s`, variance `psi'(s)` with the shape s = 1 / CV^2, for a mean of 1.
    #[test]
    fn logarithms_of_gamma() {
        for cv in [0.05f64, 0.2, 0.44] {
            let (variance, shape) = (cv * cv, 1.0 / (cv * cv));
            let moments = LOG.moments(1.0, variance, third_moment_of_gamma(1.0, variance)).unwrap();
            // The first terms left out are a sixth of CV^4 of the variance and CV^8 / 120 of the mean.
            let tolerance = 0.2 * variance * variance;
            assert!((moments.variance / trigamma(shape) - 1.0).abs() < tolerance, "cv {cv}: {moments:?}");
            assert!((moments.mean - (digamma(shape) - libm::log(shape))).abs() < tolerance * variance);
            assert!(!moments.is_poor());
        }
        let poor = LOG.moments(1.0, 0.46 * 0.46, third_moment_of_gamma(1.0, 0.46 * 0.46)).unwrap();
        assert!(poor.is_poor() && poor.caution().is_some());
    }

    /// ln of a lognormal: variance `ln(1 + CV^2)`, mean minus half of it. Its third moment is `v^2 (3 + CV^2) / m`.
    #[test]
    fn logarithms_of_lognormal() {
        for mean in [0.01, 1.0, 500.0] {
            let cv = 0.1;
            let variance = cv * cv * mean * mean;
            let moments = LOG.moments(mean, variance, variance * variance / mean * (3.0 + cv * cv)).unwrap();
            let exact = libm::log1p(cv * cv);
            // The terms left out are 4/3 CV^6 of the variance and of that order of the mean.
            assert!((moments.variance / exact - 1.0).abs() < 1.5e-4, "{moments:?}");
            assert!((moments.mean - libm::log(mean) + 0.5 * exact).abs() < 2e-6, "{moments:?}");
        }
    }

    /// Roots of Poisson counts with 3/8 have variance 1/4 (1 + 1 / (16 m^2)); by adding up all counts.
    #[test]
    fn roots_of_poisson() {
        for mean in [6.0f64, 20.0, 100.0] {
            let (mut first, mut second) = (0.0, 0.0);
            for count in 0..400 {
                let count = count as f64;
                let chance = libm::exp(count * libm::log(mean) - mean - libm::lgamma(count + 1.0));
                first += chance * (count + 0.375).sqrt();
                second += chance * (count + 0.375);
            }
            let moments = Scale::SquareRoot { plus: 0.375 }.moments(mean, mean, mean).unwrap();
            assert!((moments.mean - first).abs() < 0.02 / mean, "{mean}: {} {first}", moments.mean);
            assert!((moments.variance / (second - first * first) - 1.0).abs() < 0.7 / (mean * mean));
        }
    }

    #[test]
    fn no_spread_is_no_spread_on_any_scale() {
        for scale in SCALES {
            let moments = scale.moments(3.0, 0.0, third_moment_of_gamma(3.0, 0.0)).unwrap();
            assert_eq!((moments.mean, moments.variance, moments.second_order), (scale.of(3.0).unwrap(), 0.0, 0.0));
        }
    }
}
