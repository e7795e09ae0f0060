mod columns;
mod error;
mod fit;
mod lines;
<<<<<<< HEAD
=======
mod marks;
>>>>>>> stats
mod read;
mod sites;
mod warning;

pub use columns::{Columns, CoverColumn};
pub use error::PilotError;
<<<<<<< HEAD
pub use fit::{Component, PilotFit, fit_pilot};
pub use lines::SameMark;
=======
pub use fit::{Component, PilotFit, PilotFits, fit_pilot};
pub use marks::SameMark;
>>>>>>> stats
pub use read::{PilotData, Reading, Visit, ZoneData, read_pilot};
pub use warning::PilotWarning;
