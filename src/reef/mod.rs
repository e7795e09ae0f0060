mod animals;
mod bottom;
mod cells;
/// Colonies that can be counted and measured.
pub mod colonies;
mod colony;
mod coral_law;
mod deaths;
mod fast;
/// Fish that swim in schools.
pub mod fish;
mod lattice;
mod layers;
mod listed;
pub(crate) mod machine;
/// Reefs that somebody mapped.
pub mod map;
mod named;
mod occupied;
mod remembered;
mod same_place;
mod site;
mod spec;
mod strip;
mod strip_field;
mod strip_shares;
#[cfg(test)]
mod test_laws;
#[cfg(test)]
mod twin;
mod walk;
mod zone_reef;

pub use animals::{
    Animal, AnimalLaw, AnimalPatches, AnimalReef, AnimalSite, AnimalSpec, AnimalState, AnimalWalk, BetweenSites,
    FieldOver, Groups, LengthLaw, PatchDensity, PatchLaw, Sizes, StripPlace,
};
pub use bottom::{Bottom, BottomSite, Stage, When, threshold_of, threshold_on_site};
pub use colony::{Colonies, Colony};
pub use coral_law::{CoralLaw, CoralState};
pub use deaths::Deaths;
pub use lattice::{Frame, LatticeField, OCTAVES, octave_shares, spline_weights};
pub use layers::{Layer, layers};
pub use named::NamedReef;
pub use same_place::SamePlace;
pub use site::{CoralReef, MOST_STATES, SiteReef};
pub use spec::{Category, Patchiness, ReefSpec, SMALLEST_DIAMETER_M, SizeLaw};
pub use strip::FrameLine;
pub use walk::{Visit, Walk};
pub use zone_reef::{ZoneReef, ZoneSite};
