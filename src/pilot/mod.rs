mod columns;
mod error;
mod fit;
mod lines;
mod marks;
mod read;
mod sites;
mod warning;

pub use columns::{Columns, CoverColumn};
pub use error::PilotError;
pub use fit::{Component, PilotFit, PilotFits, fit_pilot};
pub use marks::SameMark;
pub use read::{PilotData, Reading, Visit, ZoneData, read_pilot};
pub use warning::PilotWarning;
