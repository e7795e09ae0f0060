//! Counts of fish in closed form.

mod asked;
mod bias;
mod group;
mod habitat;
mod inflation;
mod lengths;
mod meeting;
mod moments;
mod patches;
mod power;
mod rarity;
mod remembered;
mod schools;
mod still;
mod swept;
#[cfg(test)]
mod swim_tests;
mod values;

pub use asked::fish_asked;
pub use bias::{BiasAsked, BiasCause, BiasOf, BiasPart, BiasParts, LookedAt};
pub use group::GroupCounts;
pub use habitat::SiteCoral;
pub use inflation::{belt_inflation, counted_area_m2, entries_m2, one_heading_m2, point_inflation};
pub use lengths::{WrittenFish, written_fish};
pub use moments::FishShare;
pub use patches::PatchKernels;
pub use power::lognormal_units;
pub use rarity::{chance_to_meet, units_to_meet};
pub use remembered::{Swimmers, counted_of};
pub use schools::{chance_of_none, negative_binomial_k, pairs_in_belt, pairs_in_disc, thinned, variance_over_mean};
pub use swept::Counted;
pub use values::{ValueMoments, value_moments};
