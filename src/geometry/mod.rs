/// Sets of points along one line, one bit a point.
pub mod bits;
mod disc;
mod union;

pub use disc::{chord, disc_overlap, lens};
pub use union::union_length;
