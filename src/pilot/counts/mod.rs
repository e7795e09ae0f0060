//! Pilot belts in which animals were counted: from a table to how counts vary, and to the scenario's animals.
//!
//! ```text
//! table -> read (zones, sites, visits, belts) -> fit (moments, k, intervals) -> animal (the law that gives them)
//! ```

mod animal;
mod fish;
mod fit;
mod moments;
mod read;
mod warning;

pub use animal::{AnimalNote, BeltsTaken, CalibratedAnimal, UsualSpreads, calibrate_animal};
pub use fish::{BiomassFit, FishFit, Schooling, fit_fish};
pub use fit::{Aggregation, CountFit, CountFits, Spread, fit_counts};
pub use read::{BeltArea, BeltCount, CountColumns, CountData, CountZone, CountedColumn, read_counts};
pub use warning::CountWarning;
