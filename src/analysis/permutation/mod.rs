//! Tests that exchange whole sites: no distribution is assumed, only that, had nothing changed, a site's two visits (or the
//! sites of two groups) could have come in any order.

mod arrangements;
mod compare;
mod strata;
mod sums;
#[cfg(test)]
mod tests;

pub use arrangements::{Arrangements, Effort, Exchange, MOST_EXACT, MOST_SITES};
pub use compare::{PermutationTest, Weighed, difference_of_means, difference_of_ratios, size_distance};
pub use strata::{SizeStratum, Stratum, weighted_difference_of_means, weighted_size_distance};
