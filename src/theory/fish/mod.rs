//! Counts of fish in closed form.

mod inflation;
mod swept;
#[cfg(test)]
mod swim_tests;

pub use inflation::{belt_inflation, counted_area_m2, entries_m2, one_heading_m2, point_inflation};
pub use swept::Counted;
