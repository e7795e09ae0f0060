//! A set of points is a slice of words, 64 points a word, point `i` in bit `i % 64` of word `i / 64`. Bits past the last
//! point stay 0. Slices rather than an owning type, so that the sets of many lines can lie in one vector.

/// Words needed for `points` points.
pub const fn words_for(points: usize) -> usize {
    points.div_ceil(64)
}

/// Adds the points `first ..= last`.
#[inline]
pub fn set_range(words: &mut [u64], first: usize, last: usize) {
    let (first_word, last_word) = (first / 64, last / 64);
    let from_first = u64::MAX << (first % 64);
    let to_last = u64::MAX >> (63 - last % 64);
    if first_word == last_word {
        words[first_word] |= from_first & to_last;
        return;
    }
    words[first_word] |= from_first;
    words[first_word + 1..last_word].fill(u64::MAX);
    words[last_word] |= to_last;
}

/// Adds one point.
#[inline]
pub fn set(words: &mut [u64], point: usize) {
    words[point / 64] |= 1 << (point % 64);
}

#[inline]
pub fn get(words: &[u64], point: usize) -> bool {
    words[point / 64] >> (point % 64) & 1 == 1
}

/// How many points the set holds.
#[inline]
pub fn count(words: &[u64]) -> u32 {
    words.iter().map(|word| word.count_ones()).sum()
}

/// Every `stride`-th point from `first` on, `number` of them: the points of a coarser or shorter line on the finest and
/// longest one. Made once for each choice of dimensions; counting is then one mask and one population count a word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progression {
    first_word: usize,
    masks: Vec<u64>,
    number: usize,
}

impl Progression {
    /// `stride` is at least 1.
    pub fn new(first: usize, stride: usize, number: usize) -> Self {
        assert!(stride >= 1);
        if number == 0 {
            return Self { first_word: 0, masks: Vec::new(), number };
        }
        let first_word = first / 64;
        let last = first + (number - 1) * stride;
        let mut masks = vec![0; last / 64 - first_word + 1];
        for k in 0..number {
            set(&mut masks, first + k * stride - 64 * first_word);
        }
        Self { first_word, masks, number }
    }

    /// How many of its points are in the set.
    #[inline]
    pub fn count(&self, words: &[u64]) -> u32 {
        let under = &words[self.first_word..self.first_word + self.masks.len()];
        under.iter().zip(&self.masks).map(|(word, mask)| (word & mask).count_ones()).sum()
    }

    /// The points it has.
    pub fn number(&self) -> usize {
        self.number
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn ranges_and_progressions_agree_with_a_vector_of_flags(
            ranges in prop::collection::vec((0usize..300, 0usize..300), 0..12),
            first in 0usize..100,
            stride in 1usize..20,
            number in 0usize..11,
        ) {
            let mut words = vec![0; words_for(300)];
            let mut flags = vec![false; 300];
            for (a, b) in ranges {
                set_range(&mut words, a.min(b), a.max(b));
                flags[a.min(b)..=a.max(b)].fill(true);
            }
            for (i, &flag) in flags.iter().enumerate() {
                prop_assert_eq!(get(&words, i), flag);
            }
            prop_assert_eq!(count(&words) as usize, flags.iter().filter(|&&flag| flag).count());
            let progression = Progression::new(first, stride, number);
            let slow = (0..number).filter(|k| flags[first + k * stride]).count();
            prop_assert_eq!(progression.count(&words) as usize, slow);
            prop_assert_eq!(progression.number(), number);
        }
    }

    #[test]
    fn the_ends_of_words_are_reached() {
        let mut words = vec![0; words_for(192)];
        set_range(&mut words, 63, 128);
        assert_eq!(words, [1 << 63, u64::MAX, 1]);
        set(&mut words, 191);
        assert!(get(&words, 191) && !get(&words, 190) && !get(&words, 62));
    }
}
