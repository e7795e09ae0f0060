use super::written::WrittenLength;
use serde::Serialize;

/// Classes of length on a sheet, each from its lower limit up to the next. Reef fish are often sized in classes of 5 cm, below
/// 10 cm in classes of 2.5 cm (Green & Bellwood 2009, IUCN Resilience Science Group Working Paper 7, page 53).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LengthClasses {
    /// Width of a class, cm.
    pub width_cm: f64,
    /// Narrower classes for small fish.
    pub fine: Option<FineClasses>,
}

/// Classes from 0 up to where the others begin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FineClasses {
    pub width_cm: f64,
    pub below_cm: f64,
}

impl LengthClasses {
    /// Classes of one width, cm.
    pub fn of(width_cm: f64) -> Self {
        Self { width_cm, fine: None }
    }

    /// The class that a length in cm falls into.
    pub fn class(self, cm: f64) -> WrittenLength {
        match self.fine {
            Some(fine) if cm < fine.below_cm => {
                let low_cm = (cm / fine.width_cm).floor() * fine.width_cm;
                WrittenLength { low_cm, high_cm: (low_cm + fine.width_cm).min(fine.below_cm) }
            }
            fine => {
                let first = fine.map_or(0.0, |fine| fine.below_cm);
                let low_cm = first + ((cm - first) / self.width_cm).floor() * self.width_cm;
                WrittenLength { low_cm, high_cm: low_cm + self.width_cm }
            }
        }
    }

    /// All classes from that of `low_cm` to that of `high_cm`.
    pub fn between(self, low_cm: f64, high_cm: f64) -> impl Iterator<Item = WrittenLength> {
        // From the middle of one class the next begins half a class on; limits themselves may be missed by rounding.
        let next = move |class: &WrittenLength| {
            let narrow = self.fine.map_or(self.width_cm, |fine| fine.width_cm.min(self.width_cm));
            (class.high_cm <= high_cm).then(|| self.class(class.high_cm + 0.01 * narrow))
        };
        std::iter::successors(Some(self.class(low_cm)), next)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn classes_follow_each_other_without_gaps() {
        let fine = FineClasses { width_cm: 2.5, below_cm: 10.0 };
        let classes = LengthClasses { width_cm: 5.0, fine: Some(fine) };
        let limits: Vec<f64> = classes.between(0.0, 24.0).map(|class| class.low_cm).collect();
        assert_eq!(limits, [0.0, 2.5, 5.0, 7.5, 10.0, 15.0, 20.0]);
        for classes in [classes, LengthClasses::of(0.1), LengthClasses { width_cm: 3.0, fine: Some(fine) }] {
            let all: Vec<WrittenLength> = classes.between(0.33, 60.0).collect();
            assert!(all.windows(2).all(|pair| (pair[0].high_cm - pair[1].low_cm).abs() < 1e-9), "{classes:?}");
            for cm in [0.33, 2.67, 9.99, 10.01, 31.77] {
                let class = classes.class(cm);
                assert!(class.low_cm <= cm && cm < class.high_cm && all.iter().any(|other| other.low_cm <= cm));
            }
        }
        assert_eq!(classes.class(10.0), WrittenLength { low_cm: 10.0, high_cm: 15.0 });
        assert_eq!(LengthClasses::of(5.0).class(7.0), WrittenLength { low_cm: 5.0, high_cm: 10.0 });
    }
}
