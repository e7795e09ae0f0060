use serde::Serialize;

/// Weight by length, `W = a L^b`, grams and cm of total length.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LengthWeight {
    pub a: f64,
    pub b: f64,
}

impl LengthWeight {
    /// Weight of a fish, g.
    #[inline]
    pub fn weight_g(self, length_cm: f64) -> f64 {
        self.a * libm::pow(length_cm, self.b)
    }
}
