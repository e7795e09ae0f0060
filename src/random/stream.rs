use super::hash::Key;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// A generator for a key: ChaCha8, whose values are the same on every machine and in every version (`StdRng` promises
/// neither). For draws by a distribution; the reef itself is read from hashed keys.
pub fn stream(key: Key) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(key.0)
}
