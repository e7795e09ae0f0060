mod hash;
mod normals;
mod stream;

pub use hash::{KEY_X, KEY_Y, Key, Purpose, lattice_key, mix, uniform};
pub use normals::{Normals, normal_cdf, normal_from_uniform, normal_tails};
pub use stream::stream;
