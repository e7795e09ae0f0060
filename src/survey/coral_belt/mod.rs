//! The coral belt: every colony of a strip is counted and measured.

mod belt;
mod detection;
mod edge;
mod unseen;

pub use belt::{BeltReader, ColonyRecord, CoralBelt, Measurements, OfSite};
pub use detection::Detection;
pub use edge::{BeltFrame, EdgeRule};
pub use unseen::unseen_before;
