//! The coral belt: every colony of a strip is counted and measured.

mod belt;
mod detection;
mod edge;
mod unseen;
mod written;

pub use belt::{BeltReader, CoralBelt, Measurements, OfSite};
pub use detection::Detection;
pub use edge::{BeltFrame, EdgeRule};
pub use unseen::unseen_before;
pub use written::Written;
