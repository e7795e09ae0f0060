//! Counts of fish in closed form.

mod bias;
mod lengths;
mod power;
mod rarity;
mod schools;

pub use bias::{BiasAsked, BiasCause, BiasPart, BiasParts, LookedAt};
pub use lengths::{WrittenFish, written_fish};
pub use power::lognormal_units;
pub use rarity::{chance_to_meet, units_to_meet};
pub use schools::{
    SchoolMoments, chance_of_none, negative_binomial_k, pairs_in_belt, pairs_in_disc, school_moments,
    seen_pairs_in_belt, seen_pairs_in_disc, thinned, variance_over_mean,
};
