use super::classes::LengthClasses;
use super::written::{ClassValue, WrittenLength};
use serde::Serialize;

/// How a diver reads lengths under water and what is made of them afterwards.
///
/// Things look a third larger under water (refraction, at most 1.33): `bias` .33 where nobody corrects for it. Experienced
/// divers are off by 2.1 cm in the mean, novices by 2.3, stereo-video by 0.6 (Harvey, Fletcher & Shortis, Fishery Bulletin,
/// 2001 from memory).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LengthReader {
    /// By what share lengths are read too long, in the mean; below nil: too short.
    pub bias: f64,
    /// SD of a reading over its mean; normal.
    pub cv: f64,
    /// `None`: lengths are written as they are read.
    pub classes: Option<LengthClasses>,
    pub value: ClassValue,
}

/// Nobody reads a fish as shorter than this share of the mean reading: a bound far out in the tail.
const SHORTEST_READING: f64 = 0.05;

impl LengthReader {
    /// Lengths as they are.
    pub const EXACT: Self = Self { bias: 0.0, cv: 0.0, classes: None, value: ClassValue::Midpoint };

    /// The length that is read of a fish of `true_cm`, with a standard normal for the error.
    #[inline]
    pub fn read_cm(&self, true_cm: f64, normal: f64) -> f64 {
        true_cm * (1.0 + self.bias) * (1.0 + self.cv * normal).max(SHORTEST_READING)
    }

    /// What is written of a fish of `true_cm`.
    #[inline]
    pub fn read(&self, true_cm: f64, normal: f64) -> WrittenLength {
        self.written(self.read_cm(true_cm, normal))
    }

    /// What is written of a length as read.
    #[inline]
    pub fn written(&self, read_cm: f64) -> WrittenLength {
        match self.classes {
            Some(classes) => classes.class(read_cm),
            None => WrittenLength { low_cm: read_cm, high_cm: read_cm },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_off_and_go_into_classes() {
        let reader = LengthReader {
            bias: 1.0 / 3.0,
            cv: 0.1,
            classes: Some(LengthClasses::of(5.0)),
            value: ClassValue::Midpoint,
        };
        assert!((reader.read_cm(30.0, 0.0) - 40.0).abs() < 1e-9);
        assert!((reader.read_cm(30.0, -1.0) - 36.0).abs() < 1e-9);
        assert_eq!(reader.read(30.0, -1.0), WrittenLength { low_cm: 35.0, high_cm: 40.0 });
        assert!(reader.read_cm(30.0, -50.0) > 0.0);
        assert_eq!(LengthReader::EXACT.read(17.3, 2.0), WrittenLength { low_cm: 17.3, high_cm: 17.3 });
    }
}
