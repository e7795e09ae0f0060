//! Points on a reef: large invertebrates, recruits of corals. A pure function of keys, like the colonies.
//!
//! Animals live in *groups* (or alone, where the spec has no groups). The centres of groups are Poisson with a density
//! that is the product of a lognormal effect of the site and its year, and of patches (lognormal or gamma). A group has a Poisson number of animals, scattered normally about
//! its centre. The patches act on the centres, so that the counts are exactly those of Thomas clusters on a Cox
//! process, and all second moments have a closed form (`theory::clusters`).
//!
//! Between two visits
//! - the share `stays` of the groups (of the animals, where they live alone) is where it was, with the same animals. By
//!   default it is nil: animals have moved about, the second visit sees other places in the same patches. The rest is
//!   made up by new groups, a process of its own with as many in the mean;
//! - a group whose surroundings became worse by drift or by the year may be gone, where they became better there are more;
//! - an imposed loss takes animals one by one, each with the same chance (survival q); an imposed gain brings new groups.

mod field_over;
mod groups;
mod law;
mod lengths;
mod members;
mod patches;
mod site;
mod spec;
mod target;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod twin;
mod walk;

pub use field_over::FieldOver;
pub use law::{AnimalLaw, AnimalState};
pub use lengths::{LengthLaw, Sizes};
pub use patches::{AnimalPatches, PatchDensity, PatchLaw};
pub use site::{AnimalReef, AnimalSite};
pub use spec::{AnimalSpec, BetweenSites, Groups};
pub use walk::{Animal, AnimalWalk, StripPlace};
