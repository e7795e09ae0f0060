//! Pilot surveys: from a table of lines to components of variation, and to the virtual reef whose theory gives them.
//!
//! ```text
//! table -> read (zones, sites, visits, lines) -> fit (components, intervals, warnings)
//!       -> calibrate (a reef whose lines and sites vary so) -> again (marks and years)
//! ```

mod again;
mod by_zone;
mod calibrate;
mod candidate;
/// Tables of measured colonies.
pub mod colonies;
mod columns;
/// Belts in which animals were counted.
pub mod counts;
mod digits;
mod doubts;
mod error;
/// What was done under water, from the sheet filled in on the boat.
pub mod field;
mod fit;
mod grid;
mod lines;
mod marks;
mod read;
mod reefs;
mod rows;
mod sites;
mod visits;
mod warning;

pub use again::{CalibratedVisits, CalibratedYears, Given, Marks, Years, ZoneToDate, calibrate_visits};
pub use calibrate::{CalibratedReef, LEAST_BETWEEN_SITES_SD, OutOfReach, ReefNote, calibrate_reef};
pub use candidate::Taken;
pub use columns::{Columns, CoverColumn, Named};
pub use doubts::TableDoubt;
pub use error::PilotError;
pub use fit::{Component, PilotFit, PilotFits, fit_pilot};
pub use marks::SameMark;
pub use read::{PilotData, Reading, ZoneData, read_pilot};
pub use reefs::{NoReef, PilotReefs, ZoneReef, reefs_of_pilot};
pub use rows::{column_names, separator_of, with_point};
pub use visits::Visit;
pub use warning::PilotWarning;
