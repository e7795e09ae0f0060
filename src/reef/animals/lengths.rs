use crate::random::{normal_cdf, normal_from_uniform};
use serde::Serialize;

/// Sizes of animals, in classes from the smallest to the largest: too small to be taken and commercial; recruits under
/// 2 cm and of 2-4 cm. The size of an animal is a mark in (0, 1), its rank among all sizes, the same at both visits.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sizes {
    /// The share of each class; they sum to 1.
    Classes(Vec<f64>),
    /// A law of lengths and the limits between the classes, metres, rising.
    Lengths { law: LengthLaw, limits_m: Vec<f64> },
}

/// Lognormal lengths, cut at both ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LengthLaw {
    /// Median before the cut, metres.
    pub median_m: f64,
    /// Standard deviation of ln length.
    pub ln_sd: f64,
    pub least_m: f64,
    pub most_m: f64,
}

impl Sizes {
    /// All animals in one class.
    pub fn one_class() -> Self {
        Sizes::Classes(vec![1.0])
    }

    /// Two classes: the share above commercial size, and before it the others.
    pub fn commercial(share: f64) -> Self {
        Sizes::Classes(vec![1.0 - share, share])
    }

    /// Share of each class, from the smallest.
    pub fn shares(&self) -> Vec<f64> {
        match self {
            Sizes::Classes(shares) => shares.clone(),
            Sizes::Lengths { law, limits_m } => {
                let mut below = vec![0.0];
                below.extend(limits_m.iter().map(|&limit| law.share_below(limit)));
                below.push(1.0);
                below.windows(2).map(|pair| pair[1] - pair[0]).collect()
            }
        }
    }

    /// The upper ends of the classes as marks, but for the last class: an animal is in the first class whose end is above
    /// its mark, else in the last. Made once, then good for every animal.
    pub fn class_ends(&self) -> Vec<f64> {
        let shares = self.shares();
        let all_but_last = shares.len().saturating_sub(1);
        shares[..all_but_last]
            .iter()
            .scan(0.0, |sum, share| {
                *sum += share;
                Some(*sum)
            })
            .collect()
    }

    /// Length of an animal of a mark, metres; `None` where only classes are told.
    pub fn length_m(&self, mark: f64) -> Option<f64> {
        match self {
            Sizes::Classes(_) => None,
            Sizes::Lengths { law, .. } => Some(law.quantile(mark)),
        }
    }
}

impl LengthLaw {
    /// Share of the animals shorter than `length` metres.
    pub fn share_below(&self, length: f64) -> f64 {
        let (low, high) = (self.level(self.least_m), self.level(self.most_m));
        (self.level(length.clamp(self.least_m, self.most_m)) - low) / (high - low)
    }

    /// The length that the share `level` of the animals does not reach.
    pub fn quantile(&self, level: f64) -> f64 {
        let (low, high) = (self.level(self.least_m), self.level(self.most_m));
        let normal = normal_from_uniform(low + level * (high - low));
        (self.median_m * libm::exp(self.ln_sd * normal)).clamp(self.least_m, self.most_m)
    }

    fn level(&self, length: f64) -> f64 {
        normal_cdf(libm::log(length / self.median_m) / self.ln_sd)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_and_classes_are_two_tellings_of_one_law() {
        let law = LengthLaw { median_m: 0.12, ln_sd: 0.3, least_m: 0.02, most_m: 0.25 };
        let sizes = Sizes::Lengths { law, limits_m: vec![0.08, 0.15] };
        let (shares, ends) = (sizes.shares(), sizes.class_ends());
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-14 && shares.len() == 3 && ends.len() == 2);
        for i in 1..200 {
            let mark = i as f64 / 200.0;
            let length = sizes.length_m(mark).unwrap();
            assert!((law.share_below(length) - mark).abs() < 1e-10);
            assert_eq!(
                ends.iter().filter(|&&end| end <= mark).count(),
                [0.08, 0.15].iter().filter(|&&l| l <= length).count()
            );
        }
        assert_eq!(Sizes::commercial(0.25).class_ends(), [0.75]);
        assert!(Sizes::one_class().class_ends().is_empty());
    }
}
