//! Counts of animals and shares of things counted: more spread than Poisson and binomial allow for.

mod aggregation;
mod beta_binomial;
mod conditional;
mod law;
mod negative_binomial;
mod quasi_poisson;
mod shares;
mod totals;

pub use aggregation::{LogRatioPlan, TaylorFit, TaylorLaw, moment_k, units_for_k};
pub use beta_binomial::BetaBinomial;
pub use conditional::{ConditionalK, conditional_k};
pub use law::CountLaw;
pub use negative_binomial::NegativeBinomial;
pub use quasi_poisson::QuasiPoisson;
pub use shares::{Marked, Shares, Williams};
pub use totals::Totals;
