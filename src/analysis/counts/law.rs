//! The law of totals that a test of counts takes for true.

use super::negative_binomial::NegativeBinomial;
use super::quasi_poisson::QuasiPoisson;
use super::totals::Totals;
use crate::analysis::degenerate::Degenerate;
use crate::analysis::estimate::TTest;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountLaw {
    /// Variance a multiple of the mean ([`QuasiPoisson`]).
    QuasiPoisson,
    /// Variance `mean + mean^2 / k` with one k ([`NegativeBinomial`]).
    NegativeBinomial,
}

impl CountLaw {
    /// Whether it compares the two visits of each site; else two visits are two groups to it.
    pub fn knows_pairs(self) -> bool {
        self == CountLaw::QuasiPoisson
    }

    /// `ln(second / first)` with Wald's error; `pairs`: the same sites twice.
    pub fn log_ratio(self, pairs: bool, first: Totals, second: Totals) -> Result<TTest, Degenerate> {
        match self {
            CountLaw::QuasiPoisson if pairs => Ok(QuasiPoisson::paired(first, second)?.log_ratio),
            CountLaw::QuasiPoisson => Ok(QuasiPoisson::groups(first, second)?.log_ratio),
            CountLaw::NegativeBinomial => NegativeBinomial::two(first, second)?.log_ratio(),
        }
    }
}
