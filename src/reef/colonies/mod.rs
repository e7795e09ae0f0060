//! Colonies as things that can be counted and measured. The cover of the reef is a union of discs that may overlap; real
//! colonies do not. A disc is therefore a *visible colony* only where its centre lies under no disc of higher rank.
//!
//! With ranks drawn at random this leaves the sizes of visible colonies as they are drawn, makes their density the cover
//! over the mean area of a disc, and the sum of their areas the cover, in the mean (`theory::colonies`); lines and points
//! read the union of all discs as ever.
//!
//! Everything a colony has besides its disc (rank, shape, dead parts, condition) is a hash of its name, so that every
//! method finds the same colony, at both visits. Its condition alone is another one at each visit.

mod condition;
mod marks;
mod mortality;
#[cfg(test)]
mod slow;
mod survival;
mod visible;

pub use condition::{Condition, ConditionShares};
pub use marks::{
    AXIS_RATIO, ColonyShape, HEIGHT_RATIO, Mark, UniformRange, mark, mark_uniform, mean_stretch, shape_of,
};
pub use mortality::{
    DEAD_SHARE_PRECISION, DeadParts, DeadPartsTable, PartialMortality, RECENT_AMONG_DEAD, REFERENCE_M, log_odds,
};
pub use survival::SizeSurvival;
pub use visible::Visible;
