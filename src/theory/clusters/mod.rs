//! Counts of clustered points in belts and in quadrats along a tape.
//!
//! For any stationary process `Var N = m + m^2 E[g(|X - Y|) - 1]`, X and Y uniform in the window and g the pair
//! correlation. `k = m^2 / (Var N - m)` is therefore no constant of a species: it rises with the window. A negative
//! binomial with that k has the right variance and the wrong share of zeros; the share of zeros is computed here from the
//! process itself.

mod calibrate;
mod cluster_laws;
mod laid;
mod meeting;
mod moments;
mod on_ground;
mod presence;
#[cfg(test)]
mod tests;
mod together;
#[cfg(test)]
mod urchins;
mod void;
mod windows;

pub use calibrate::{AnimalAsked, AnimalError, calibrate_animals};
pub use cluster_laws::{MaternCluster, Thomas, aggregation, log_gaussian_variance, negative_binomial_zero};
pub use meeting::{Groups, Meeting, poisson_upper_limit};
pub use moments::{AnimalTheory, CountedAs, Ground, ReadBy};
pub use together::TwoInPatches;
pub use windows::{gauss_pairs, gauss_pairs_along, mean_within, two_windows, unit_area};
