mod origin;

pub use origin::{Assumption, Origin};
