use crate::reef::fish::LengthWeight;
use serde::Serialize;

/// What stands on the sheet of a fish: the limits of its class, cm; both the same where lengths are written as they are read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrittenLength {
    pub low_cm: f64,
    pub high_cm: f64,
}

/// What is made of a class afterwards.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ClassValue {
    /// The weight of a fish of the middle of the class: too little, by `1 / (1 + width^2 / (4 middle^2))` where b is 3 and
    /// lengths are even within the class.
    #[default]
    Midpoint,
    /// The mean weight of fish whose lengths are even within the class,
    /// `a (high^(b + 1) - low^(b + 1)) / ((b + 1) (high - low))` (Beyer 1987, Fishbyte 5:11-13; as cited).
    Within,
    /// The weight of a fish of the upper limit: a mistake that is found in real files.
    UpperLimit,
}

impl WrittenLength {
    pub fn middle_cm(self) -> f64 {
        0.5 * (self.low_cm + self.high_cm)
    }

    /// The length that the analysis takes, cm.
    pub fn length_cm(self, value: ClassValue) -> f64 {
        match value {
            ClassValue::Midpoint | ClassValue::Within => self.middle_cm(),
            ClassValue::UpperLimit => self.high_cm,
        }
    }

    /// The weight that the analysis takes, g.
    pub fn weight_g(self, value: ClassValue, law: LengthWeight) -> f64 {
        match value {
            ClassValue::Within if self.high_cm > self.low_cm => {
                let power = law.b + 1.0;
                let whole = libm::pow(self.high_cm, power) - libm::pow(self.low_cm, power);
                law.a * whole / (power * (self.high_cm - self.low_cm))
            }
            _ => law.weight_g(self.length_cm(value)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lengths even within the class, b = 3 (computed; Beyer 1987 for the mean weight): the middle gives too little, the
    /// upper limit too much.
    #[test]
    fn weights_of_classes() {
        let law = LengthWeight { a: 0.02, b: 3.0 };
        for (low_cm, high_cm, middle, upper) in [
            (0.0, 5.0, 0.500, 4.00),
            (5.0, 10.0, 0.900, 2.133),
            (10.0, 15.0, 0.9615, 1.662),
            (15.0, 20.0, 0.980, 1.463),
            (20.0, 25.0, 0.9878, 1.355),
            (30.0, 35.0, 0.9941, 1.242),
            (40.0, 45.0, 0.9966, 1.183),
            (10.0, 20.0, 0.900, 2.133),
            (20.0, 30.0, 0.9615, 1.662),
            (30.0, 40.0, 0.980, 1.463),
        ] {
            let class = WrittenLength { low_cm, high_cm };
            let within = class.weight_g(ClassValue::Within, law);
            let over = |value| class.weight_g(value, law) / within;
            assert!((over(ClassValue::Midpoint) - middle).abs() < 0.0006, "{class:?} {}", over(ClassValue::Midpoint));
            assert!(
                (over(ClassValue::UpperLimit) - upper).abs() < 0.0006,
                "{class:?} {}",
                over(ClassValue::UpperLimit)
            );
            let (width, m) = (high_cm - low_cm, class.middle_cm());
            assert!((over(ClassValue::Midpoint) - 1.0 / (1.0 + width * width / (4.0 * m * m))).abs() < 1e-12);
            // Slow twin of the integral, with another b.
            let law = LengthWeight { a: 0.02, b: 2.87 };
            let n = 20_000;
            let place = |i: i32| low_cm + width * (f64::from(i) + 0.5) / f64::from(n);
            let mean = (0..n).map(|i| law.weight_g(place(i))).sum::<f64>() / f64::from(n);
            assert!((class.weight_g(ClassValue::Within, law) / mean - 1.0).abs() < 1e-7);
        }
    }

    #[test]
    fn an_exact_length_is_what_it_is() {
        let law = LengthWeight { a: 0.01, b: 3.1 };
        let exact = WrittenLength { low_cm: 31.0, high_cm: 31.0 };
        for value in [ClassValue::Midpoint, ClassValue::Within, ClassValue::UpperLimit] {
            assert_eq!((exact.length_cm(value), exact.weight_g(value, law)), (31.0, law.weight_g(31.0)));
        }
    }
}
