//! The ways in which sites could have come out had nothing changed.

use crate::analysis::Degenerate;
use crate::random::{Key, Purpose, stream};
use rand::Rng;

/// The most sites that an arrangement can hold: one bit each.
pub const MOST_SITES: usize = 128;

/// The most arrangements that are ever listed.
pub const MOST_EXACT: u64 = 1 << 21;

/// When all arrangements are taken, and how many are drawn otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// All arrangements are taken where there are no more than this (at most [`MOST_EXACT`]).
    pub exact_up_to: u64,
    /// How many are drawn where there are more; 999 make p = 0.05 a whole number of them.
    pub random: u64,
}

impl Default for Effort {
    /// 8,192: thirteen pairs, or seven sites in each of two groups.
    fn default() -> Self {
        Self { exact_up_to: 8192, random: 999 }
    }
}

/// What may be exchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exchange {
    /// The two visits of each of so many sites, site by site.
    Visits { sites: usize },
    /// Which sites are in the first group and which in the second.
    Groups { first: usize, second: usize },
}

impl Exchange {
    /// How many arrangements there are, the one observed included.
    pub fn count(self) -> u128 {
        match self {
            Self::Visits { sites } => 1u128.checked_shl(sites as u32).unwrap_or(u128::MAX),
            Self::Groups { first, second } => choose(first + second, first),
        }
    }

    fn sites(self) -> usize {
        match self {
            Self::Visits { sites } => sites,
            Self::Groups { first, second } => first + second,
        }
    }

    /// The arrangement that was observed. A bit says, for visits, that a site's two visits change places; for groups, that
    /// the site is in the first.
    fn observed(self) -> u128 {
        match self {
            Self::Visits { .. } => 0,
            Self::Groups { first, .. } => lowest(first),
        }
    }

    fn checked(self) -> Result<Self, Degenerate> {
        let enough = match self {
            Self::Visits { sites } => sites >= 2,
            Self::Groups { first, second } => first >= 1 && second >= 1 && first + second >= 3,
        };
        match self.sites() {
            _ if !enough => Err(Degenerate::TooFew),
            sites if sites > MOST_SITES => Err(Degenerate::TooMany),
            _ => Ok(self),
        }
    }
}

/// All arrangements, or a sample of them: they depend on the numbers of sites only and are made once for many tests.
#[derive(Clone, Debug)]
pub struct Arrangements {
    exchange: Exchange,
    /// With the observed one if exact, without it if drawn.
    masks: Vec<u128>,
    exact: bool,
}

impl Arrangements {
    /// The key is used only where arrangements are drawn; it names them wherever and however often this is called.
    pub fn new(exchange: Exchange, effort: Effort, key: Key) -> Result<Self, Degenerate> {
        let exchange = exchange.checked()?;
        let exact = exchange.count() <= u128::from(effort.exact_up_to.min(MOST_EXACT));
        let masks = match exchange {
            Exchange::Visits { sites } if exact => (0..1u128 << sites).collect(),
            Exchange::Groups { first, second } if exact => subsets(first + second, first),
            _ => draw(exchange, effort.random, key),
        };
        if masks.is_empty() {
            return Err(Degenerate::TooFew);
        }
        Ok(Self { exchange, masks, exact })
    }

    pub fn exchange(&self) -> Exchange {
        self.exchange
    }

    /// Whether all arrangements are here.
    pub fn is_exact(&self) -> bool {
        self.exact
    }

    /// The number that p is a share of: all arrangements, or those drawn and the one observed.
    pub fn count(&self) -> u64 {
        self.masks.len() as u64 + u64::from(!self.exact)
    }

    /// No p below this can come out, so that a test at a smaller alpha never sees anything.
    ///
    /// Two-sided, the mirror image of an arrangement is as extreme as itself: visits always have one, groups have one when
    /// they are equal in number.
    pub fn least_p(&self, two_sided: bool) -> f64 {
        let mirrored = match self.exchange {
            Exchange::Visits { .. } => true,
            Exchange::Groups { first, second } => first == second,
        };
        let least = if self.exact && two_sided && mirrored { 2.0 } else { 1.0 };
        least / self.count() as f64
    }

    pub(super) fn observed(&self) -> u128 {
        self.exchange.observed()
    }

    pub(super) fn masks(&self) -> &[u128] {
        &self.masks
    }
}

/// The lowest `count` bits.
fn lowest(count: usize) -> u128 {
    if count >= 128 { u128::MAX } else { (1u128 << count) - 1 }
}

/// Binomial coefficient, exact until it no longer fits, then the largest number.
fn choose(from: usize, take: usize) -> u128 {
    let take = take.min(from - take) as u128;
    let mut count: u128 = 1;
    for i in 1..=take {
        // The product is always a multiple of i.
        match count.checked_mul(from as u128 - take + i) {
            Some(product) => count = product / i,
            None => return u128::MAX,
        }
    }
    count
}

/// All sets of `take` bits among the lowest `from`, in rising order (the next number with as many bits: Gosper's method,
/// HAKMEM 1972, item 175; from memory).
fn subsets(from: usize, take: usize) -> Vec<u128> {
    let (mut mask, last) = (lowest(take), lowest(take) << (from - take));
    let mut masks = vec![mask];
    while mask != last {
        let low = mask & mask.wrapping_neg();
        let ripple = mask + low;
        mask = ripple | (((ripple ^ mask) / low) >> 2);
        masks.push(mask);
    }
    masks
}

fn draw(exchange: Exchange, count: u64, key: Key) -> Vec<u128> {
    let mut random = stream(key.child(Purpose::Permutation, 0));
    let mut word = || random.next_u32();
    (0..count)
        .map(|_| match exchange {
            Exchange::Visits { sites } => (0..4).fold(0, |mask, _| (mask << 32) | u128::from(word())) & lowest(sites),
            Exchange::Groups { first, second } => random_subset(first + second, first, &mut word),
        })
        .collect()
}

/// A set of `take` of `from` bits, all sets equally likely (Floyd's method, in Bentley & Floyd 1987, Communications of the ACM
/// 30:754; from memory). The smaller side is drawn.
fn random_subset(from: usize, take: usize, word: &mut impl FnMut() -> u32) -> u128 {
    let fewer = take.min(from - take);
    let mut mask = 0u128;
    for last in from - fewer..from {
        // A whole number below last + 1; its bias is at most one part in 2^25.
        let place = (u64::from(word()) * (last as u64 + 1)) >> 32;
        let bit = 1u128 << place;
        mask |= if mask & bit == 0 { bit } else { 1 << last };
    }
    if fewer == take { mask } else { !mask & lowest(from) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    const KEY: Key = Key(5);

    #[test]
    fn all_arrangements_are_there_once() {
        for (first, second) in [(1, 2), (3, 3), (2, 7), (6, 1)] {
            let exchange = Exchange::Groups { first, second };
            let all = Arrangements::new(exchange, Effort::default(), KEY).unwrap();
            assert!(all.is_exact() && u128::from(all.count()) == exchange.count());
            let brute: Vec<u128> =
                (0..1u128 << (first + second)).filter(|mask| mask.count_ones() as usize == first).collect();
            assert_eq!(all.masks(), brute);
            assert!(all.masks().contains(&all.observed()));
        }
        let flips = Arrangements::new(Exchange::Visits { sites: 5 }, Effort::default(), KEY).unwrap();
        assert_eq!(flips.masks(), (0..32).collect::<Vec<u128>>());
    }

    #[test]
    fn counts_of_arrangements() {
        assert_eq!(Exchange::Groups { first: 10, second: 10 }.count(), 184_756);
        assert_eq!(Exchange::Groups { first: 30, second: 30 }.count(), 118_264_581_564_861_424);
        assert_eq!(Exchange::Visits { sites: 20 }.count(), 1_048_576);
        assert!(Exchange::Groups { first: 64, second: 64 }.count() > 1 << 120);
        assert_eq!(Exchange::Visits { sites: 128 }.count(), u128::MAX);
    }

    #[test]
    fn drawn_sets_are_equally_likely() {
        let effort = Effort { exact_up_to: 0, random: 40_000 };
        for (first, second) in [(2, 3), (3, 2)] {
            let drawn = Arrangements::new(Exchange::Groups { first, second }, effort, KEY).unwrap();
            let mut seen = BTreeMap::new();
            for mask in drawn.masks() {
                assert_eq!(mask.count_ones() as usize, first);
                *seen.entry(*mask).or_insert(0.0) += 1.0;
            }
            let chi_squared: f64 = seen.values().map(|count: &f64| (count - 4000.0).powi(2) / 4000.0).sum();
            assert!(seen.len() == 10 && chi_squared < 9.0 + 4.0 * 18f64.sqrt(), "{chi_squared}");
        }
        let flips = Arrangements::new(Exchange::Visits { sites: 100 }, effort, KEY).unwrap();
        for site in [0, 63, 64, 99] {
            let flipped = flips.masks().iter().filter(|mask| *mask >> site & 1 == 1).count() as f64;
            assert!((flipped - 20_000.0).abs() < 4.0 * 100.0, "site {site}: {flipped}");
        }
        assert!(flips.masks().iter().all(|mask| mask >> 100 == 0));
    }

    #[test]
    fn a_key_names_its_arrangements() {
        let exchange = Exchange::Groups { first: 30, second: 30 };
        let of = |key| Arrangements::new(exchange, Effort::default(), key).unwrap();
        assert_eq!(of(KEY).masks(), of(KEY).masks());
        assert_ne!(of(KEY).masks(), of(Key(6)).masks());
        assert_eq!((of(KEY).count(), of(KEY).is_exact()), (1000, false));
        // However much is asked for, what cannot be listed is drawn.
        let effort = Effort { exact_up_to: u64::MAX, random: 10 };
        assert!(!Arrangements::new(exchange, effort, KEY).unwrap().is_exact());
    }

    #[test]
    fn the_least_p_says_when_a_test_is_blind() {
        let least = |exchange, two| Arrangements::new(exchange, Effort::default(), KEY).unwrap().least_p(two);
        assert_eq!(least(Exchange::Visits { sites: 5 }, true), 1.0 / 16.0);
        assert_eq!(least(Exchange::Visits { sites: 5 }, false), 1.0 / 32.0);
        assert_eq!(least(Exchange::Groups { first: 3, second: 3 }, true), 0.1);
        assert_eq!(least(Exchange::Groups { first: 2, second: 4 }, true), 1.0 / 15.0);
        assert_eq!(least(Exchange::Visits { sites: 50 }, true), 0.001);
    }

    #[test]
    fn too_few_and_too_many_sites_are_refused() {
        let reason = |exchange| Arrangements::new(exchange, Effort::default(), KEY).unwrap_err();
        assert_eq!(reason(Exchange::Visits { sites: 1 }), Degenerate::TooFew);
        assert_eq!(reason(Exchange::Groups { first: 0, second: 5 }), Degenerate::TooFew);
        assert_eq!(reason(Exchange::Groups { first: 1, second: 1 }), Degenerate::TooFew);
        assert_eq!(reason(Exchange::Visits { sites: 129 }), Degenerate::TooMany);
    }
}
