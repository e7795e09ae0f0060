mod colonies;
/// Counts and shares with more spread than chance alone: quasi-Poisson, negative binomial, beta-binomial.
pub mod counts;
mod critical;
mod degenerate;
mod distributions;
#[cfg(test)]
mod error_rates;
mod estimate;
mod gamma;
mod inverse;
mod moments;
mod nested;
mod newton;
mod noncentral;
mod one_way;
/// Tests that exchange whole sites.
pub mod permutation;
/// Rare animals: seen or not seen.
pub mod presence;
/// Sizes of colonies.
pub mod sizes;
/// Scales of analysis.
pub mod transforms;

pub use colonies::{ColonyIndicator, in_class};
pub use critical::{CriticalT, Tail, critical_t};
pub use degenerate::Degenerate;
pub use distributions::*;
pub use estimate::{Part, Sample, TTest, satterthwaite};
pub use moments::{Measured, Moments, correlation, covariance, covariance_measured, mean, variance};
pub use nested::Nested;
pub use noncentral::*;
pub use one_way::{Interval, MeanSquare, OneWay, chi_squared_interval, difference_interval, difference_part};
