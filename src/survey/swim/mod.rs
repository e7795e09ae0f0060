//! Fish that swim while a diver counts, drawn exactly and never the whole sea: what is inside the counted shape at the
//! start, and what comes in through its edge (`Swim`).

mod count;
mod crossing;
mod draw;
mod rule;
mod shape;
mod walk;

pub use count::{DEFAULT_WINDOW_M, FishCount, WayBack};
pub use crossing::MeanSpeeds;
pub use draw::{Swim, Swum};
pub use rule::{CountingRule, Watch, Watched};
pub use shape::{Leg, Shape};
