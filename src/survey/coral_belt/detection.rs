use serde::Serialize;

/// The chance that a diver sees a colony, by its largest diameter as measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Detection {
    /// Every colony of this size and larger is seen, no smaller one.
    From { least_m: f64 },
    /// Log odds rise with ln diameter: one half at `half_m`, by `slope` for each factor e.
    Logistic { half_m: f64, slope: f64 },
}

impl Default for Detection {
    /// All from 1 cm on, which is all that the reef has.
    fn default() -> Self {
        Detection::From { least_m: 0.01 }
    }
}

impl Detection {
    #[inline]
    pub fn chance(self, longest_m: f64) -> f64 {
        match self {
            // A class of the ruler is a whole number of classes up to rounding.
            Detection::From { least_m } => f64::from(u8::from(longest_m >= least_m * (1.0 - 1e-9))),
            Detection::Logistic { half_m, slope } => 1.0 / (1.0 + libm::exp(-slope * libm::log(longest_m / half_m))),
        }
    }

    /// Whether the chance is ever between none and all.
    pub fn is_certain(self) -> bool {
        matches!(self, Detection::From { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_rise_from_nothing_to_all() {
        let laws = [Detection::From { least_m: 0.05 }, Detection::Logistic { half_m: 0.04, slope: 3.0 }];
        for law in laws {
            let chances: Vec<f64> = (1..200).map(|cm| law.chance(0.01 * f64::from(cm))).collect();
            assert!(chances.windows(2).all(|pair| pair[0] <= pair[1]), "{law:?}");
            assert!(chances[0] < 0.1 && chances[198] > 0.99, "{law:?}");
        }
        assert_eq!(laws[1].chance(0.04), 0.5);
        assert_eq!(Detection::default().chance(0.01), 1.0);
    }
}
