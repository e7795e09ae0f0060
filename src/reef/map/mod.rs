//! A reef that somebody mapped: a picture whose pixels are classified, or a list of colonies (and animals) with their
//! places. It is read as a virtual reef is, but there is one of it, and nothing on it is left to chance.

mod colony_map;
mod mosaic;
mod place_grid;
mod states;

pub use colony_map::{ColonyMap, MapItems, MappedDisc};
pub use mosaic::{MOST_KINDS, Mosaic};
pub use states::{Loss, MappedReef, MappedSite};

/// The map of one site.
#[derive(Clone, Debug, PartialEq)]
pub enum ReefMap {
    Mosaic(Mosaic),
    Colonies(ColonyMap),
}

impl ReefMap {
    /// Length (along x) and width (along y), m.
    pub fn size_m(&self) -> (f64, f64) {
        match self {
            ReefMap::Mosaic(mosaic) => mosaic.size_m(),
            ReefMap::Colonies(map) => map.size_m(),
        }
    }

    /// The list of colonies, where it is one.
    pub fn colonies(&self) -> Option<&ColonyMap> {
        match self {
            ReefMap::Mosaic(_) => None,
            ReefMap::Colonies(map) => Some(map),
        }
    }

    /// Share of the map under hard coral.
    pub fn coral_cover(&self) -> f64 {
        match self {
            ReefMap::Mosaic(mosaic) => mosaic.covers()[0],
            ReefMap::Colonies(map) => map.cover(|_| true),
        }
    }
}
