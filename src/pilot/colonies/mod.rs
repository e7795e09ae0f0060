//! Pilot tables of measured colonies: from one row a colony to sizes, dead parts and density, and to a reef that has them.
//!
//! ```text
//! table -> read (zones, sites, visits, belts) -> fit (size law, dead parts, counts of belts) -> reef
//! ```

mod between_sites;
mod fit;
mod read;
mod reef;
mod size_law;

pub use fit::{ColonyFit, ColonyFits, DeadClass, fit_colonies};
pub use read::{BeltColonies, ColoniesTaken, ColonyColumns, ColonyData, ColonyZone, Measured, read_colonies};
pub use reef::{COVER_LN_SD, ColonyReef, reef_of_colonies};
pub use size_law::SizeFit;
