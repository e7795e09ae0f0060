use serde::Serialize;

/// How a diver judges the distance to the edge of a belt: the judged distance is the true one times a lognormal factor.
/// Who judges distances too short takes in fish from beyond the edge: the belt that is really looked at is wider.
///
/// Experienced divers judge 11.7 % too short (SD 21.4 %), novices 5.0 % (17.9 %), stereo-video .9 % (2.6 %) (Harvey et al.
/// 2004, Marine and Freshwater Research 55:573-580).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WidthReader {
    /// Mean of the judged distance over the true one, less 1.
    pub error: f64,
    /// SD of that ratio, from belt to belt.
    pub sd: f64,
}

impl WidthReader {
    /// Width laid out or measured.
    pub const EXACT: Self = Self { error: 0.0, sd: 0.0 };

    /// The width really looked at over the width meant, with a standard normal for the belt.
    pub fn factor(&self, normal: f64) -> f64 {
        let variance = self.ln_variance();
        libm::exp(0.5 * variance - libm::sqrt(variance) * normal) / (1.0 + self.error)
    }

    /// Its mean, `(1 + c^2) / (1 + error)`, c the coefficient of variation of the judged distance.
    pub fn mean_factor(&self) -> f64 {
        libm::exp(self.ln_variance()) / (1.0 + self.error)
    }

    /// The mean of its square, which is the relative area of a disc.
    pub fn mean_square_factor(&self) -> f64 {
        libm::exp(3.0 * self.ln_variance()) / ((1.0 + self.error) * (1.0 + self.error))
    }

    /// Variance of its logarithm.
    pub fn ln_variance(&self) -> f64 {
        let cv = self.sd / (1.0 + self.error);
        libm::log1p(cv * cv)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;
    use crate::random::{Key, Purpose, normal_from_uniform};

    /// Distances judged 11.7 % too short make belts 1.133 times as wide (Harvey et al. 2004; the consequence is computed).
    #[test]
    fn short_judgement_makes_wide_belts() {
        let steady = WidthReader { error: -0.117, sd: 0.0 };
        assert!((steady.mean_factor() - 1.133).abs() < 0.0006 && (steady.factor(1.7) - 1.133).abs() < 0.0006);
        assert_eq!(WidthReader::EXACT.factor(3.0), 1.0);
        let diver = WidthReader { error: -0.117, sd: 0.214 };
        let root = Key::seed(3);
        let factors: Vec<f64> =
            (0..50_000).map(|i| diver.factor(normal_from_uniform(root.uniform(Purpose::Test, i)))).collect();
        assert_mean(&factors, diver.mean_factor());
        assert_mean(&factors.iter().map(|f| f * f).collect::<Vec<_>>(), diver.mean_square_factor());
        // The judged distances themselves have the published mean and SD.
        let judged: Vec<f64> = factors.iter().map(|f| 1.0 / f - 1.0).collect();
        assert_mean(&judged, -0.117);
        assert_mean(&judged.iter().map(|e| (e + 0.117) * (e + 0.117)).collect::<Vec<_>>(), 0.214 * 0.214);
    }
}
