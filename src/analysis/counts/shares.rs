//! Shares of things counted (colonies with a mark, points on coral) in replicates that differ more than chance would make
//! them: the binomial's misfit and Williams' mending of it.

use crate::analysis::degenerate::Degenerate;
use crate::analysis::estimate::{Part, TTest};
use crate::analysis::newton::{At, falling_root};

/// How many of a replicate's things had the mark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marked {
    pub marked: f64,
    pub of: f64,
}

impl Marked {
    pub fn new(marked: f64, of: f64) -> Result<Self, Degenerate> {
        let sound = 0.0 <= marked && marked <= of && of < f64::INFINITY;
        sound.then_some(Self { marked, of }).ok_or(Degenerate::BadValue)
    }
}

/// Replicates in groups, each group with a share of its own: the saturated logistic model.
///
/// Replicates without anything to look at are left out.
#[derive(Clone, Debug)]
pub struct Shares {
    groups: Vec<Vec<Marked>>,
}

impl Shares {
    /// Every group needs a replicate, and there must be more replicates than groups.
    pub fn new(groups: &[&[Marked]]) -> Result<Self, Degenerate> {
        let groups: Vec<Vec<Marked>> =
            groups.iter().map(|group| group.iter().copied().filter(|replicate| replicate.of > 0.0).collect()).collect();
        let replicates: usize = groups.iter().map(Vec::len).sum();
        if groups.iter().any(Vec::is_empty) || replicates <= groups.len() {
            return Err(Degenerate::TooFew);
        }
        Ok(Self { groups })
    }

    pub(super) fn groups(&self) -> &[Vec<Marked>] {
        &self.groups
    }

    /// Replicates less groups.
    pub fn df(&self) -> f64 {
        (self.groups.iter().map(Vec::len).sum::<usize>() - self.groups.len()) as f64
    }

    /// Marked over all of each group.
    pub fn pooled(&self) -> Vec<f64> {
        self.weighted_shares(0.0)
    }

    /// The shares when a replicate of n counts `n / (1 + (n - 1) phi)`.
    fn weighted_shares(&self, phi: f64) -> Vec<f64> {
        let share = |group: &Vec<Marked>| {
            let (mut marked, mut of) = (0.0, 0.0);
            for replicate in group {
                let weight = 1.0 / inflation(replicate, phi);
                marked += weight * replicate.marked;
                of += weight * replicate.of;
            }
            marked / of
        };
        self.groups.iter().map(share).collect()
    }

    /// Refuses groups in which none or all have the mark: their logit has no finite value.
    pub(super) fn logits_exist(&self) -> Result<(), Degenerate> {
        let shares = self.pooled();
        match () {
            () if shares.iter().all(|&share| share == 0.0) => Err(Degenerate::AllZero),
            () if shares.contains(&0.0) => Err(Degenerate::ZeroInOneGroup),
            () if shares.contains(&1.0) => Err(Degenerate::AllInOneGroup),
            () => Ok(()),
        }
    }

    /// Pearson's chi-squared and its slope in phi, with Williams' weights; phi = 0 is the binomial.
    fn chi_squared(&self, phi: f64) -> At {
        let (mut value, mut slope) = (0.0, 0.0);
        for (group, share) in self.groups.iter().zip(self.weighted_shares(phi)) {
            for replicate in group {
                let wide = inflation(replicate, phi);
                let off = replicate.marked - replicate.of * share;
                let term = off * off / (replicate.of * share * (1.0 - share) * wide);
                value += term;
                slope -= term * (replicate.of - 1.0) / wide;
            }
        }
        At { value, slope }
    }

    /// Pearson's chi-squared of the binomial fit, on [`Shares::df`] degrees of freedom.
    pub fn pearson(&self) -> Result<f64, Degenerate> {
        self.logits_exist()?;
        Ok(self.chi_squared(0.0).value)
    }

    /// The binomial fit's deviance, `2 sum [y ln(y / np) + (n - y) ln((n - y) / n(1 - p))]`.
    pub fn deviance(&self) -> f64 {
        let part = |seen: f64, expected: f64| if seen > 0.0 { seen * libm::log(seen / expected) } else { 0.0 };
        let mut sum = 0.0;
        for (group, share) in self.groups.iter().zip(self.pooled()) {
            for &Marked { marked, of } in group {
                sum += part(marked, of * share) + part(of - marked, of * (1.0 - share));
            }
        }
        2.0 * sum
    }

    /// Extra-binomial variation by the moments of Williams.
    pub fn williams(&self) -> Result<Williams, Degenerate> {
        self.logits_exist()?;
        let df = self.df();
        let excess = |phi: f64| {
            let At { value, slope } = self.chi_squared(phi);
            At { value: value - df, slope }
        };
        // One thing a replicate, or no more misfit than the binomial has: nothing to add.
        let phi = if excess(0.0).value <= 0.0 {
            0.0
        } else if excess(1.0).value > 0.0 {
            return Err(Degenerate::NotConverged);
        } else {
            falling_root(0.0, 1.0, 0.05, excess).ok_or(Degenerate::NotConverged)?
        };
        let shares = self.weighted_shares(phi);
        let variance_of = |(group, share): (&Vec<Marked>, &f64)| {
            let size: f64 = group.iter().map(|replicate| replicate.of / inflation(replicate, phi)).sum();
            1.0 / (size * share * (1.0 - share))
        };
        let logit_variances = self.groups.iter().zip(&shares).map(variance_of).collect();
        Ok(Williams { phi, shares, logit_variances, df })
    }
}

/// `1 + (n - 1) phi`: how much wider than binomial the count of a replicate is.
fn inflation(replicate: &Marked, phi: f64) -> f64 {
    1.0 + (replicate.of - 1.0) * phi
}

/// Shares with `variance = n p (1 - p) (1 + (n - 1) phi)`, phi such that Pearson's chi-squared equals its degrees of freedom
/// (Williams 1982, Applied Statistics 31:144, model II; from memory). An oracle of tests: no study asks for it.
#[derive(Clone, Debug)]
pub struct Williams {
    /// The correlation of two things of one replicate; 0 where the binomial fits.
    pub phi: f64,
    pub shares: Vec<f64>,
    /// Variance of each group's logit.
    pub logit_variances: Vec<f64>,
    pub df: f64,
}

impl Williams {
    /// `logit(share of second) - logit(share of first)`, by the numbers of two groups, with t on replicates less groups.
    pub fn logit_difference(&self, first: usize, second: usize) -> Result<TTest, Degenerate> {
        let estimate = logit(self.shares[second]) - logit(self.shares[first]);
        let variance = self.logit_variances[first] + self.logit_variances[second];
        TTest::new(estimate, Part { variance, df: self.df }).ok_or(Degenerate::NotConverged)
    }
}

pub(super) fn logit(share: f64) -> f64 {
    libm::log(share / (1.0 - share))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn group(pairs: &[(f64, f64)]) -> Vec<Marked> {
        pairs.iter().map(|&(marked, of)| Marked::new(marked, of).unwrap()).collect()
    }

    #[test]
    fn shares_alike_have_no_extra_variation() {
        let (a, b) = (group(&[(5.0, 10.0), (10.0, 20.0), (0.0, 0.0)]), group(&[(2.0, 8.0), (1.0, 4.0)]));
        let shares = Shares::new(&[&a, &b]).unwrap();
        assert_eq!((shares.pooled(), shares.df()), (vec![0.5, 0.25], 2.0));
        let fit = shares.williams().unwrap();
        assert_eq!(fit.phi, 0.0);
        let difference = fit.logit_difference(0, 1).unwrap();
        assert!((difference.estimate() + libm::log(3.0)).abs() < 1e-14);
        assert!((difference.error() - (1.0 / 7.5 + 1.0 / 2.25_f64).sqrt()).abs() < 1e-14);
    }

    #[test]
    fn no_answer_has_a_name() {
        let (none, all, some) = (group(&[(0.0, 4.0), (0.0, 9.0)]), group(&[(3.0, 3.0)]), group(&[(1.0, 3.0)]));
        let reason = |groups: &[&[Marked]]| Shares::new(groups).and_then(|shares| shares.williams()).unwrap_err();
        assert_eq!(reason(&[&none, &none]), Degenerate::AllZero);
        assert_eq!(reason(&[&none, &some]), Degenerate::ZeroInOneGroup);
        assert_eq!(reason(&[&all, &group(&[(1.0, 3.0), (2.0, 3.0)])]), Degenerate::AllInOneGroup);
        assert_eq!(reason(&[&some, &some]), Degenerate::TooFew);
        assert_eq!(reason(&[&none, &[]]), Degenerate::TooFew);
        assert_eq!(Marked::new(4.0, 3.0).unwrap_err(), Degenerate::BadValue);
        assert_eq!(Marked::new(f64::NAN, 3.0).unwrap_err(), Degenerate::BadValue);
    }
}
