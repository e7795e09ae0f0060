use super::LengthWeight;
use crate::random::normal_cdf;
use serde::Serialize;

/// Total lengths of the fish of a group: lognormal.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FishLengths {
    /// Mean length, cm.
    pub mean_cm: f64,
    /// SD of the length over its mean.
    pub cv: f64,
    /// Share of the variance of ln length that the fish of one school have in common (fish of one school are of one
    /// size): 0 to 1.
    pub alike_in_school: f64,
}

/// Moments of the weights of fish, g: mean, mean square, and mean product of two different fish of one school.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WeightMoments {
    pub mean: f64,
    pub square: f64,
    pub pair: f64,
}

impl FishLengths {
    /// The lengths at which fish weigh so much in the mean, g.
    pub fn of_mean_weight(grams: f64, law: LengthWeight, cv: f64, alike_in_school: f64) -> Self {
        // E[L^b] = mean^b (1 + cv^2)^(b (b - 1) / 2).
        let wide = libm::pow(1.0 + cv * cv, 0.5 * law.b * (law.b - 1.0));
        Self { mean_cm: libm::pow(grams / (law.a * wide), 1.0 / law.b), cv, alike_in_school }
    }

    /// SD of ln length.
    pub fn ln_sd(self) -> f64 {
        libm::sqrt(libm::log1p(self.cv * self.cv))
    }

    /// Median length, cm.
    pub fn median_cm(self) -> f64 {
        self.mean_cm / libm::sqrt(1.0 + self.cv * self.cv)
    }

    /// The length of a fish from a standard normal that its school shares and one of its own, cm.
    #[inline]
    pub fn length_cm(self, of_school: f64, of_fish: f64) -> f64 {
        let z = libm::sqrt(self.alike_in_school) * of_school + libm::sqrt(1.0 - self.alike_in_school) * of_fish;
        self.median_cm() * libm::exp(self.ln_sd() * z)
    }

    /// `E[L^power]`.
    pub fn moment(self, power: f64) -> f64 {
        let sd = power * self.ln_sd();
        libm::pow(self.median_cm(), power) * libm::exp(0.5 * sd * sd)
    }

    /// Share of the fish longer than `cm`.
    pub fn share_above(self, cm: f64) -> f64 {
        if !(self.cv > 0.0) {
            return f64::from(u8::from(self.mean_cm > cm));
        }
        normal_cdf(libm::log(self.median_cm() / cm) / self.ln_sd())
    }

    /// Weights in closed form: `E[W^2] = E[W]^2 exp(b^2 v)`, within a school `exp(alike b^2 v)`, v the variance of ln
    /// length.
    pub fn weights(self, law: LengthWeight) -> WeightMoments {
        let mean = law.a * self.moment(law.b);
        let exponent = law.b * law.b * self.ln_sd() * self.ln_sd();
        let squared = mean * mean;
        WeightMoments {
            mean,
            square: squared * libm::exp(exponent),
            pair: squared * libm::exp(self.alike_in_school * exponent),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose, normal_from_uniform};

    #[test]
    fn drawn_fish_have_the_moments() {
        let lengths = FishLengths { mean_cm: 24.0, cv: 0.3, alike_in_school: 0.6 };
        let law = LengthWeight { a: 0.016, b: 3.05 };
        let root = Key::seed(5);
        let normal = |i: u64| normal_from_uniform(root.uniform(Purpose::Test, i));
        let schools: Vec<[f64; 2]> =
            (0..60_000).map(|i| [1, 2].map(|fish| lengths.length_cm(normal(3 * i), normal(3 * i + fish)))).collect();
        let exact = lengths.weights(law);
        let over = |of: &dyn Fn(&[f64; 2]) -> f64, exact: f64| {
            assert_mean(&schools.iter().map(of).collect::<Vec<f64>>(), exact);
        };
        let weight = |cm: f64| law.weight_g(cm);
        over(&|fish| fish[0], 24.0);
        over(&|fish| (fish[0] - 24.0) * (fish[0] - 24.0), 0.09 * 24.0 * 24.0);
        over(&|fish| weight(fish[0]), exact.mean);
        over(&|fish| weight(fish[0]) * weight(fish[0]), exact.square);
        over(&|fish| weight(fish[0]) * weight(fish[1]), exact.pair);
        over(&|fish| f64::from(u8::from(fish[1] > 30.0)), lengths.share_above(30.0));
    }

    #[test]
    fn lengths_of_a_mean_weight_have_it() {
        let law = LengthWeight { a: 0.016, b: 3.05 };
        let lengths = FishLengths::of_mean_weight(250.0, law, 0.35, 0.5);
        assert!((lengths.weights(law).mean / 250.0 - 1.0).abs() < 1e-12, "{lengths:?}");
    }

    #[test]
    fn fish_of_one_length() {
        let lengths = FishLengths { mean_cm: 20.0, cv: 0.0, alike_in_school: 0.0 };
        let weights = lengths.weights(LengthWeight { a: 0.02, b: 3.0 });
        assert!((weights.mean - 160.0).abs() < 1e-9 && (weights.square - 25_600.0).abs() < 1e-6);
        assert_eq!((lengths.share_above(19.0), lengths.share_above(20.0)), (1.0, 0.0));
    }
}
