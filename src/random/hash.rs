/// Multipliers that turn lattice coordinates into keys (golden-ratio and xxHash64 primes): `k + i KEY_X + j KEY_Y`.
pub const KEY_X: u64 = 0x9E37_79B9_7F4A_7C15;
pub const KEY_Y: u64 = 0xC2B2_AE3D_27D4_EB4F;

/// A 64-bit finaliser (two rounds of xor-shift and multiply, constant 0xd6e8feb86659fd93 of Degski's public-domain
/// mixer): every output bit depends on every input bit.
#[inline(always)]
pub fn mix(mut h: u64) -> u64 {
    h ^= h >> 32;
    h = h.wrapping_mul(0xd6e8_feb8_6659_fd93);
    h ^= h >> 32;
    h = h.wrapping_mul(0xd6e8_feb8_6659_fd93);
    h ^ (h >> 32)
}

/// A uniform in (0, 1) from a hash: 53 bits, never 0 or 1.
#[inline(always)]
pub fn uniform(h: u64) -> f64 {
    ((h >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
}

/// Combines a key with lattice coordinates; symmetric in the sense that walking by columns or by rows gives the same
/// key. Pass the result through [`mix`].
#[inline(always)]
pub fn lattice_key(key: u64, i: i32, j: i32) -> u64 {
    key.wrapping_add((i as i64 as u64).wrapping_mul(KEY_X)).wrapping_add((j as i64 as u64).wrapping_mul(KEY_Y))
}

/// What a random number is for. Keys of different purposes never coincide, so that one more draw here shifts nothing
/// there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u64)]
pub enum Purpose {
    Trial = 1,
    Zone,
    Site,
    SiteEffect,
    SiteYearEffect,
    SiteChange,
    YearEffect,
    Turn,
    Shift,
    FieldNode,
    Colony,
    Renewal,
    Mark,
    Rank,
    Category,
    CategorySite,
    Placement,
    Shuffle,
    Relay,
    Observer,
    Misread,
    PhotoPoint,
    Components,
    ExtraSite,
    Confirmation,
    Picture,
    Test,
    PhotoFrame,
    /// Animals of one kind on a site: everything about them hangs below it.
    Animals,
    /// Groups of animals, and animals on their own.
    AnimalGroup,
    Permutation,
    /// Where a storm hits.
    Storm,
    /// Starts of the units of a real expedition.
    Starts,
    /// Which of the candidate sites of an expedition are visited.
    SiteDraw,
    /// Fish of one group on a site: everything about them hangs below it.
    Fish,
    /// How a site differs in what its colonies are like.
    ColonySite,
}

/// A key that names one source of randomness: (seed, trial, zone, site ...) each step hashed with its purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key(pub u64);

impl Key {
    pub fn seed(seed: u64) -> Self {
        Key(mix(seed ^ 0x5851_F42D_4C95_7F2D))
    }

    /// The key of item `index` for `purpose`, below this one.
    #[inline(always)]
    pub fn child(self, purpose: Purpose, index: u64) -> Key {
        let tagged = self.0 ^ (purpose as u64).wrapping_mul(0xA076_1D64_78BD_642F);
        Key(mix(mix(tagged).wrapping_add(index.wrapping_mul(KEY_X))))
    }

    /// The key of the item called `name` for `purpose`, below this one.
    pub fn child_of_name(self, purpose: Purpose, name: &str) -> Key {
        let start = self.child(purpose, name.len() as u64);
        name.bytes().fold(start, |key, byte| key.child(purpose, u64::from(byte)))
    }

    /// The uniform of item `index` for `purpose`.
    #[inline(always)]
    pub fn uniform(self, purpose: Purpose, index: u64) -> f64 {
        uniform(self.child(purpose, index).0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn keys_of_different_purpose_or_index_never_coincide() {
        let root = Key::seed(7);
        let purposes =
            [Purpose::Trial, Purpose::Site, Purpose::Turn, Purpose::FieldNode, Purpose::Colony, Purpose::Mark];
        let mut seen = BTreeSet::new();
        for purpose in purposes {
            for index in 0..20_000 {
                assert!(seen.insert(root.child(purpose, index).0), "{purpose:?} {index}");
            }
        }
    }

    #[test]
    fn uniforms_are_uniform() {
        let root = Key::seed(11);
        let n = 100_000;
        let mut bins = [0u32; 64];
        for i in 0..n {
            let u = root.uniform(Purpose::Test, i);
            assert!(0.0 < u && u < 1.0);
            bins[(u * 64.0) as usize] += 1;
        }
        let expected = n as f64 / 64.0;
        let chi2: f64 = bins.iter().map(|&b| (b as f64 - expected).powi(2) / expected).sum();
        // chi-squared with 63 degrees of freedom: 4 standard deviations above the mean.
        assert!(chi2 < 63.0 + 4.0 * (2.0f64 * 63.0).sqrt(), "{chi2}");
    }
}
