/// Sets of points along one line, one bit a point.
pub mod bits;
mod disc;
mod rectangle;
mod segment;
mod union;

pub use disc::{chord, disc_overlap, lens};
pub use rectangle::{Point, Rectangle};
pub use segment::segment_distance;
pub use union::union_length;
