mod columns;
mod error;
mod fit;
mod lines;
mod read;
mod sites;
mod warning;

pub use columns::{Columns, CoverColumn};
pub use error::PilotError;
pub use fit::{Component, PilotFit, fit_pilot};
pub use lines::SameMark;
pub use read::{PilotData, Reading, Visit, ZoneData, read_pilot};
pub use warning::PilotWarning;
