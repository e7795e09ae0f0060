//! Comparison of counts whose variance is a multiple of their mean.

use super::totals::{Totals, ratio_exists};
use crate::analysis::degenerate::Degenerate;
use crate::analysis::estimate::{Part, TTest, satterthwaite};
use crate::analysis::newton::{At, falling_root};

/// The log ratio of two densities with the dispersion that its error was taken from.
#[derive(Clone, Copy, Debug)]
pub struct QuasiPoisson {
    /// `ln(second / first)` with its error and degrees of freedom.
    pub log_ratio: TTest,
    /// Pearson's chi-squared over its degrees of freedom: the variance of a total as a multiple of its mean. Below 1 it is
    /// used as it is.
    pub dispersion: f64,
    /// The same log ratio with its error taken from how far each site is from what was expected of it (the linearised ratio;
    /// Cochran 1977, Sampling Techniques, section 6.3, from memory): right with many sites whatever the variance has to do with
    /// the mean, where `log_ratio` stays wrong when rich sites vary more than in proportion. With ten sites it rejects a little
    /// too often itself. `None` where a group has one site.
    pub by_sites: Option<TTest>,
}

impl QuasiPoisson {
    /// Different sites in the two groups: one density per group, one common dispersion.
    ///
    /// `Var(ln ratio) = dispersion (1 / T1 + 1 / T2)`, T the totals, tested with t on `n1 + n2 - 2` degrees of freedom
    /// (McCullagh & Nelder 1989, Generalized Linear Models, sections 4.5 and 9.2; from memory). Needs a site in each group
    /// and three in all.
    pub fn groups(first: Totals, second: Totals) -> Result<Self, Degenerate> {
        let sites = first.sites() + second.sites();
        if first.sites() == 0 || second.sites() == 0 || sites < 3 {
            return Err(Degenerate::TooFew);
        }
        ratio_exists(&first, &second)?;
        let df = (sites - 2) as f64;
        let information = [first.total(), second.total()];
        let estimate = libm::log(second.rate() / first.rate());
        let parts = [first, second].map(|group| empirical(group.sites(), squares(&group), group.total()));
        Self::of(
            estimate,
            1.0 / information[0] + 1.0 / information[1],
            pearson(&first) + pearson(&second),
            df,
            satterthwaite(&parts),
        )
    }

    /// The same sites at two visits: every site has its own density, all change by the same factor.
    ///
    /// Given what a site had at both visits together, its second count is a binomial with
    /// `logit p = ln ratio + ln(effort 2 / effort 1)` whose variance is multiplied by the dispersion; this equals the
    /// Poisson model with a term per site (McCullagh & Nelder 1989, section 6.4; from memory). Sites without any animal at
    /// both visits tell nothing; t on one less than the number of the others.
    pub fn paired(first: Totals, second: Totals) -> Result<Self, Degenerate> {
        if first.sites() != second.sites() {
            return Err(Degenerate::BadValue);
        }
        ratio_exists(&first, &second)?;
        let pairs = Pairs { first, second };
        let telling = pairs.iter().count();
        if telling < 2 {
            return Err(Degenerate::TooFew);
        }
        let estimate = pairs.log_ratio().ok_or(Degenerate::NotConverged)?;
        let (mut information, mut chi_squared, mut squares) = (0.0, 0.0, 0.0);
        for pair in pairs.iter() {
            let variance = pair.variance(estimate);
            let off = pair.second - pair.expected(estimate);
            information += variance;
            chi_squared += off * off / variance;
            squares += off * off;
        }
        let by_sites = empirical(telling, squares, information);
        Self::of(estimate, 1.0 / information, chi_squared, (telling - 1) as f64, by_sites)
    }

    fn of(estimate: f64, poisson_variance: f64, chi_squared: f64, df: f64, by_sites: Part) -> Result<Self, Degenerate> {
        let dispersion = chi_squared / df;
        // Counts that lie on their fitted values but for rounding leave no spread to judge by.
        if dispersion < 1e-24 {
            return Err(Degenerate::NothingVaries);
        }
        let log_ratio = TTest::new(estimate, Part { variance: dispersion * poisson_variance, df });
        Ok(Self {
            log_ratio: log_ratio.ok_or(Degenerate::NotConverged)?,
            dispersion,
            by_sites: TTest::new(estimate, by_sites),
        })
    }
}

/// Variance of a log density from the squares of what sites are off, on one degree less than there are sites.
fn empirical(sites: usize, squares: f64, information: f64) -> Part {
    let df = sites as f64 - 1.0;
    Part { variance: squares * sites as f64 / df / (information * information), df }
}

/// Squares of what the sites of one group are off its own density.
fn squares(totals: &Totals) -> f64 {
    let rate = totals.rate();
    totals.iter().map(|(count, effort)| (count - rate * effort) * (count - rate * effort)).sum()
}

/// Pearson's chi-squared of one group about its own density.
fn pearson(totals: &Totals) -> f64 {
    let rate = totals.rate();
    totals.iter().map(|(count, effort)| (count - rate * effort) * (count - rate * effort) / (rate * effort)).sum()
}

/// Sites that were seen twice.
struct Pairs<'a> {
    first: Totals<'a>,
    second: Totals<'a>,
}

/// What one site had at the second visit, at both together, and `ln(effort 2 / effort 1)`.
struct Pair {
    second: f64,
    both: f64,
    offset: f64,
}

impl Pair {
    fn share(&self, log_ratio: f64) -> f64 {
        1.0 / (1.0 + libm::exp(-(log_ratio + self.offset)))
    }

    fn expected(&self, log_ratio: f64) -> f64 {
        self.both * self.share(log_ratio)
    }

    fn variance(&self, log_ratio: f64) -> f64 {
        let share = self.share(log_ratio);
        self.both * share * (1.0 - share)
    }
}

impl Pairs<'_> {
    /// The sites that had an animal at one visit or the other.
    fn iter(&self) -> impl Iterator<Item = Pair> + '_ {
        (0..self.first.sites()).filter_map(|site| {
            let (before, after) = (self.first.counts()[site], self.second.counts()[site]);
            let offset = libm::log(self.second.effort(site) / self.first.effort(site));
            (before + after > 0.0).then_some(Pair { second: after, both: before + after, offset })
        })
    }

    /// The ratio at which the second counts expected add up to those seen; in closed form when every site kept its effort.
    fn log_ratio(&self) -> Option<f64> {
        let crude = libm::log(self.second.total() / self.first.total());
        let (lowest, highest) = self.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), pair| {
            (low.min(pair.offset), high.max(pair.offset))
        });
        if lowest == highest {
            return Some(crude - lowest);
        }
        let seen = self.second.total();
        // The answer lies between what it would be if all sites had the lowest or the highest ratio of efforts.
        falling_root(crude - highest, crude - lowest, crude - 0.5 * (lowest + highest), |log_ratio| At {
            value: seen - self.iter().map(|pair| pair.expected(log_ratio)).sum::<f64>(),
            slope: -self.iter().map(|pair| pair.variance(log_ratio)).sum::<f64>(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn equal(counts: &[f64]) -> Totals<'_> {
        Totals::of_equal_effort(counts, 1.0).unwrap()
    }

    fn close(value: f64, expected: f64) {
        assert!((value - expected).abs() < 1e-10 * expected.abs().max(1.0), "{value} against {expected}");
    }

    /// By hand: means 2 and 6, chi-squared 2/2 + 8/6 = 7/3 on 2 degrees of freedom, totals 4 and 12.
    #[test]
    fn two_groups_by_hand() {
        let fit = QuasiPoisson::groups(equal(&[1.0, 3.0]), equal(&[4.0, 8.0])).unwrap();
        close(fit.log_ratio.estimate(), libm::log(3.0));
        close(fit.dispersion, 7.0 / 6.0);
        close(fit.log_ratio.error(), (7.0 / 6.0 * (1.0 / 4.0 + 1.0 / 12.0_f64)).sqrt());
        assert_eq!(fit.log_ratio.df(), 2.0);
        // By the groups' own variances 2 and 8: Var(ln mean) = s^2 / (n mean^2).
        close(fit.by_sites.unwrap().error(), (2.0 / 2.0 / 4.0 + 8.0 / 2.0 / 36.0_f64).sqrt());
        assert!(QuasiPoisson::groups(equal(&[1.0]), equal(&[4.0, 8.0])).unwrap().by_sites.is_none());
    }

    /// By hand: site totals 4, 8, 6 of 18, share at the second visit 1/3; expected 4/3, 8/3, 2.
    #[test]
    fn paired_sites_by_hand() {
        let fit = QuasiPoisson::paired(equal(&[3.0, 4.0, 5.0, 0.0]), equal(&[1.0, 4.0, 1.0, 0.0])).unwrap();
        close(fit.log_ratio.estimate(), -libm::log(2.0));
        let variance = |both: f64| both * 2.0 / 9.0;
        let chi_squared = (1.0 / 9.0) / variance(4.0) + (16.0 / 9.0) / variance(8.0) + 1.0 / variance(6.0);
        close(fit.dispersion, chi_squared / 2.0);
        close(fit.log_ratio.error(), (fit.dispersion * (1.0 / 12.0 + 1.0 / 6.0)).sqrt());
        assert_eq!(fit.log_ratio.df(), 2.0);
        let squares: f64 = 1.0 / 9.0 + 16.0 / 9.0 + 1.0;
        close(fit.by_sites.unwrap().error(), (squares * 1.5).sqrt() / 4.0);
    }

    /// Every site changes by exactly the ratio: it is found whatever the efforts, and nothing is left to vary.
    #[test]
    fn efforts_are_taken_out() {
        let (efforts_1, efforts_2) = ([1.0, 2.0, 4.0], [3.0, 2.0, 1.0]);
        let before = [10.0, 40.0, 20.0];
        let after: Vec<f64> = (0..3).map(|i| 0.5 * before[i] / efforts_1[i] * efforts_2[i]).collect();
        let pairs = Pairs {
            first: Totals::new(&before, &efforts_1).unwrap(),
            second: Totals::new(&after, &efforts_2).unwrap(),
        };
        close(pairs.log_ratio().unwrap(), libm::log(0.5));
        assert_eq!(QuasiPoisson::paired(pairs.first, pairs.second).unwrap_err(), Degenerate::NothingVaries);
    }

    #[test]
    fn exchange_of_the_groups_turns_the_sign_only() {
        let (a, b) = ([3.0, 9.0, 1.0, 7.0], [2.0, 2.0, 8.0, 0.0]);
        for fit in [QuasiPoisson::groups, QuasiPoisson::paired] {
            let (forth, back) = (fit(equal(&a), equal(&b)).unwrap(), fit(equal(&b), equal(&a)).unwrap());
            close(forth.log_ratio.estimate(), -back.log_ratio.estimate());
            close(forth.log_ratio.error(), back.log_ratio.error());
            close(forth.dispersion, back.dispersion);
        }
    }

    #[test]
    fn no_answer_has_a_name() {
        let (none, some, more) = ([0.0; 3], [1.0, 0.0, 2.0], [2.0, 2.0, 2.0]);
        for fit in [QuasiPoisson::groups, QuasiPoisson::paired] {
            let reason = |a, b| fit(equal(a), equal(b)).unwrap_err();
            assert_eq!(reason(&none, &none), Degenerate::AllZero);
            assert_eq!(reason(&none, &some), Degenerate::ZeroInOneGroup);
            assert_eq!(reason(&some, &none), Degenerate::ZeroInOneGroup);
            assert_eq!(reason(&more, &more), Degenerate::NothingVaries);
            assert_eq!(reason(&some[..1], &more[..1]), Degenerate::TooFew);
        }
        assert_eq!(QuasiPoisson::paired(equal(&some), equal(&some[..2])).unwrap_err(), Degenerate::BadValue);
        // One site that tells, two that are empty.
        assert_eq!(
            QuasiPoisson::paired(equal(&[1.0, 0.0, 0.0]), equal(&[2.0, 0.0, 0.0])).unwrap_err(),
            Degenerate::TooFew
        );
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            assert!(Totals::of_equal_effort(&[1.0, bad], 1.0).is_err());
            assert!(Totals::of_equal_effort(&[1.0], bad).is_err());
        }
        assert!(Totals::new(&[1.0], &[0.0]).is_err() && Totals::new(&[1.0], &[]).is_err());
    }
}
