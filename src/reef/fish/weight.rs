use serde::Serialize;
use thiserror::Error;

/// Weight by length, `W = a L^b`, grams and cm of total length.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LengthWeight {
    pub a: f64,
    pub b: f64,
}

/// What a fish of 20 cm may weigh, g. Deep and usual bodies weigh 40 to 400 g, barracudas 50 to 80, trumpetfish and eels
/// 4 to 20 (a judgement from published tables).
pub const WEIGHT_AT_20_CM_G: [f64; 2] = [3.0, 600.0];
/// What b may be. Expected are 2.5 to 3.5, with a median of 3.03 over 3,929 relations of 1,773 species (Froese 2006, Journal
/// of Applied Ichthyology 22:241); single tables have a little more and less.
pub const EXPONENT: [f64; 2] = [2.2, 3.8];

/// Why a and b cannot be those of a fish.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum OddWeight {
    #[error("b is {b}; weight goes nearly with the cube of length, and no fish is known outside {} to {}", EXPONENT[0], EXPONENT[1])]
    Exponent { b: f64 },
    #[error("a fish of 20 cm would weigh {}; usual bodies weigh 40 to 400 g at that length, eels a few grams", grams(*.at_20_cm_g))]
    Weight { at_20_cm_g: f64 },
}

impl OddWeight {
    /// Which of the two is odd, as far as one can tell.
    pub fn column(self) -> &'static str {
        match self {
            OddWeight::Exponent { .. } => "b",
            OddWeight::Weight { .. } => "a",
        }
    }

    /// What is allowed.
    pub fn allowed(self) -> String {
        let ([least, most], what) = match self {
            OddWeight::Exponent { .. } => (EXPONENT, "b"),
            OddWeight::Weight { .. } => (WEIGHT_AT_20_CM_G, "grams at 20 cm:"),
        };
        format!("{what} {least} to {most}")
    }

    /// What to do about it.
    pub fn remedy(self) -> &'static str {
        match self {
            OddWeight::Exponent { .. } => {
                "Look whether a and b were exchanged or a digit was lost; b is 3 for a fish that keeps its shape."
            }
            OddWeight::Weight { .. } => {
                "a is for total length in cm and weight in g: a for mm is multiplied by 10^b, a for kg by 1000."
            }
        }
    }
}

fn grams(weight: f64) -> String {
    match weight {
        tiny if tiny < 0.1 => format!("{tiny:.1e} g"),
        small if small < 10.0 => format!("{small:.1} g"),
        large if large < 1e4 => format!("{large:.0} g"),
        huge => format!("{:.0} kg", huge / 1000.0),
    }
}

impl LengthWeight {
    /// Weight of a fish, g.
    #[inline]
    pub fn weight_g(self, length_cm: f64) -> f64 {
        self.a * libm::pow(length_cm, self.b)
    }

    /// Refuses pairs that no fish can have: wrong units, lost digits.
    ///
    /// # Errors
    /// What is odd about the pair.
    pub fn check(self) -> Result<Self, OddWeight> {
        if !(EXPONENT[0] <= self.b && self.b <= EXPONENT[1]) {
            return Err(OddWeight::Exponent { b: self.b });
        }
        let at_20_cm_g = self.weight_g(20.0);
        if !(WEIGHT_AT_20_CM_G[0] <= at_20_cm_g && at_20_cm_g <= WEIGHT_AT_20_CM_G[1]) {
            return Err(OddWeight::Weight { at_20_cm_g });
        }
        Ok(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn absurd_pairs_are_refused_and_real_ones_are_not() {
        let check = |a: f64, b: f64| LengthWeight { a, b }.check();
        for (a, b) in [(0.0115, 2.94), (0.0497, 2.839), (0.0234, 3.19), (0.0067, 3.23), (0.0058, 3.554), (0.0012, 3.1)]
        {
            assert!(check(a, b).is_ok(), "{a} {b}");
        }
        // One pair of a published table, 10 g at 20 cm for a surgeonfish; lengths in mm; weights in kg; exchanged; nothing.
        assert!(matches!(check(0.0197, 2.08), Err(OddWeight::Exponent { .. })));
        for (a, b) in [(1.6e-5, 3.0), (0.016e-3, 3.02), (0.16, 3.02), (0.0, 3.0), (-0.02, 3.0)] {
            let odd = check(a, b).unwrap_err();
            assert!(matches!(odd, OddWeight::Weight { .. }), "{odd}");
            assert!(odd.remedy().contains("10^b"));
        }
        assert!(check(3.02, 0.0158).is_err() && check(f64::NAN, 3.0).is_err() && check(0.02, f64::NAN).is_err());
        assert!(check(1.6e-5, 3.0).unwrap_err().to_string().starts_with("a fish of 20 cm would weigh 0.1 g"));
    }
}
