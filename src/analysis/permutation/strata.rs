//! Two groups of sites in several strata: sites are exchanged within their own stratum only.

use super::arrangements::{Arrangements, Exchange};
use super::compare::{PermutationTest, Sides, furthest};
use super::sums::MaskedSums;
use crate::analysis::Degenerate;
use crate::analysis::critical::Tail;
use crate::analysis::sizes::{SizeCounts, Weighting};

/// Two groups of sites of one stratum.
#[derive(Clone, Copy, Debug)]
pub struct Stratum<'a> {
    pub first: &'a [f64],
    pub second: &'a [f64],
    /// Of the stratum in the mean over strata.
    pub weight: f64,
    /// Drawn ones, as many in every stratum and independent between them: those of one number make up one arrangement of
    /// all sites.
    pub arrangements: &'a Arrangements,
}

/// The weighted mean over strata of the difference of group means, second less first.
pub fn weighted_difference_of_means(strata: &[Stratum], tail: Tail) -> Result<PermutationTest, Degenerate> {
    let draws = strata.first().ok_or(Degenerate::TooFew)?.arrangements.masks().len();
    let mut statistics = vec![0.0; draws];
    let (mut observed, mut size, mut varies) = (0.0, 0.0, false);
    for stratum in strata {
        let Stratum { first, second, weight, arrangements } = *stratum;
        let fits = arrangements.exchange() == Exchange::Groups { first: first.len(), second: second.len() };
        if !fits || arrangements.is_exact() || arrangements.masks().len() != draws {
            return Err(Degenerate::BadValue);
        }
        let values = || first.iter().chain(second);
        if !values().all(|value| value.is_finite()) {
            return Err(Degenerate::BadValue);
        }
        // Without the common part sums keep their digits.
        let rows: Vec<f64> = values().map(|value| value - first[0]).collect();
        varies |= rows.iter().any(|row| *row != 0.0);
        size += weight * values().fold(0.0, |largest: f64, value| largest.max(value.abs()));
        let (sums, total) = (MaskedSums::new(1, &rows), rows.iter().sum::<f64>());
        let (n1, n2) = (first.len() as f64, second.len() as f64);
        let difference = |mask: u128| {
            let chosen = sums.single(mask);
            weight * ((total - chosen) / n2 - chosen / n1)
        };
        observed += difference(arrangements.observed());
        statistics.iter_mut().zip(arrangements.masks()).for_each(|(sum, mask)| *sum += difference(*mask));
    }
    if !varies {
        return Err(Degenerate::NothingVaries);
    }
    let slack = 1e-12 * size;
    let as_far = |value: &&f64| match tail {
        Tail::Two => value.abs() >= observed.abs() - slack,
        Tail::Upper => **value >= observed - slack,
        Tail::Lower => **value <= observed + slack,
    };
    Ok(PermutationTest {
        statistic: observed,
        as_extreme: 1 + statistics.iter().filter(as_far).count() as u64,
        arrangements: 1 + draws as u64,
        exact: false,
    })
}

/// Size distributions of two groups of sites of one stratum.
#[derive(Clone, Copy, Debug)]
pub struct SizeStratum<'a> {
    pub first: &'a [SizeCounts],
    pub second: &'a [SizeCounts],
    /// Of the stratum in the mean over strata.
    pub weight: f64,
    /// As of a [`Stratum`].
    pub arrangements: &'a Arrangements,
}

/// The largest distance of two distribution functions of size, each the weighted mean over strata of the mean over its sites
/// that have colonies. An arrangement that leaves a group of a stratum without colonies counts as far out.
pub fn weighted_size_distance(strata: &[SizeStratum], tail: Tail) -> Result<PermutationTest, Degenerate> {
    let (draws, width) = match strata.first() {
        Some(SizeStratum { first: [site, ..], arrangements, .. }) => (arrangements.masks().len(), site.classes()),
        _ => return Err(Degenerate::TooFew),
    };
    let (mut observed, mut curves, mut varies) = (vec![0.0; width], vec![0.0; draws * width], false);
    for stratum in strata {
        let SizeStratum { first, second, weight, arrangements } = *stratum;
        let fits = arrangements.exchange() == Exchange::Groups { first: first.len(), second: second.len() };
        let is_alike = first.iter().chain(second).all(|site| site.classes() == width);
        if !fits || !is_alike || arrangements.is_exact() || arrangements.masks().len() != draws {
            return Err(Degenerate::BadValue);
        }
        let rows = |sites: &[SizeCounts]| sites.iter().flat_map(|site| site.cumulative(Weighting::Sites)).collect();
        let sides = Sides::new(arrangements, width, rows(first), rows(second))?;
        varies |= !sides.one_class_holds_all();
        let add = |mask: u128, curve: &mut [f64]| {
            let there = sides.compare(mask, f64::INFINITY, |one, other| {
                let (of_first, of_second) = (weight / one[width - 1], weight / other[width - 1]);
                let apart = one.iter().zip(other).map(|(one, other)| one * of_first - other * of_second);
                curve.iter_mut().zip(apart).for_each(|(sum, apart)| *sum += apart);
                0.0
            });
            if there.is_infinite() {
                // Far out in both directions.
                curve[0] = f64::INFINITY;
                curve[width - 1] = f64::NEG_INFINITY;
            }
        };
        add(arrangements.observed(), &mut observed);
        curves.chunks_mut(width).zip(arrangements.masks()).for_each(|(curve, mask)| add(*mask, curve));
    }
    if !varies {
        return Err(Degenerate::NothingVaries);
    }
    let statistic = furthest(observed.iter().copied(), tail);
    let as_far = |curve: &&[f64]| furthest(curve.iter().copied(), tail) >= statistic - 1e-12;
    Ok(PermutationTest {
        statistic,
        as_extreme: 1 + curves.chunks(width).filter(as_far).count() as u64,
        arrangements: 1 + draws as u64,
        exact: false,
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Effort, difference_of_means, size_distance};
    use super::*;
    use crate::analysis::sizes::SizeClasses;
    use crate::random::{Key, Purpose, stream};
    use rand::{Rng, RngExt};

    const DRAWN: Effort = Effort { exact_up_to: 0, random: 999 };

    fn arrangements(sites: usize, seed: u64) -> Arrangements {
        Arrangements::new(Exchange::Groups { first: sites, second: sites }, DRAWN, Key::seed(seed)).unwrap()
    }

    #[test]
    fn one_stratum_is_the_plain_comparison() {
        let (first, second) = ([1.0, 4.0, 2.0, 7.0, 3.0], [5.0, 9.0, 4.0, 8.0, 6.0]);
        let drawn = arrangements(5, 3);
        for tail in [Tail::Two, Tail::Upper, Tail::Lower] {
            let stratum = Stratum { first: &first, second: &second, weight: 1.0, arrangements: &drawn };
            let plain = difference_of_means(&drawn, tail, &first, &second).unwrap();
            assert_eq!(weighted_difference_of_means(&[stratum], tail), Ok(plain));
        }
    }

    #[test]
    fn strata_that_differ_do_not_ring_and_a_difference_within_them_is_seen() {
        let (trials, mut alarms, mut seen) = (400, 0, 0);
        for trial in 0..trials {
            let mut random = stream(Key::seed(11).child(Purpose::Test, trial));
            let mut group = |level: f64| -> Vec<f64> { (0..5).map(|_| level + random.random::<f64>()).collect() };
            let sites = [[group(0.0), group(0.0)], [group(50.0), group(50.0)]];
            let drawn = [arrangements(5, 2 * trial), arrangements(5, 2 * trial + 1)];
            let rejects = |changed: Option<usize>| {
                let moved: [Vec<f64>; 2] = [0, 1]
                    .map(|s| sites[s][1].iter().map(|v| v + if changed == Some(s) { 1.5 } else { 0.0 }).collect());
                let strata = [0, 1].map(|s| Stratum {
                    first: &sites[s][0],
                    second: &moved[s],
                    weight: 0.5,
                    arrangements: &drawn[s],
                });
                weighted_difference_of_means(&strata, Tail::Two).unwrap().rejects(0.05)
            };
            alarms += u64::from(rejects(None));
            seen += u64::from(rejects(Some(1)));
        }
        let rate = crate::measures::Rate::new(alarms, trials);
        assert!(rate.value() <= 0.05 + 4.0 * rate.error(), "{rate:?}");
        assert!(seen > 8 * trials / 10, "{seen}");
    }

    /// Sites of so many colonies about a middle, in classes of 1.
    fn sized(random: &mut impl Rng, sites: usize, middle: f64) -> Vec<SizeCounts> {
        let classes = SizeClasses::new((1..12).map(f64::from).collect()).unwrap();
        let mut site = || -> Vec<f64> { (0..9).map(|_| middle + 4.0 * random.random::<f64>()).collect() };
        (0..sites).map(|_| classes.counts(&site())).collect()
    }

    #[test]
    fn one_stratum_of_sizes_is_the_plain_distance() {
        let mut random = stream(Key::seed(12));
        let (first, second) = (sized(&mut random, 5, 2.0), sized(&mut random, 5, 3.0));
        let drawn = arrangements(5, 3);
        for tail in [Tail::Two, Tail::Upper, Tail::Lower] {
            let stratum = SizeStratum { first: &first, second: &second, weight: 1.0, arrangements: &drawn };
            let strata = weighted_size_distance(&[stratum], tail).unwrap();
            let plain = size_distance(&drawn, tail, Weighting::Sites, &first, &second).unwrap();
            assert!((strata.statistic - plain.statistic).abs() < 1e-12);
            assert_eq!((strata.as_extreme, strata.arrangements), (plain.as_extreme, plain.arrangements));
        }
    }

    /// Zones of small and of large colonies do not ring; colonies that are larger in the second group of one of them are seen,
    /// in the right direction.
    #[test]
    fn sizes_that_differ_between_strata_do_not_ring_and_a_shift_within_them_is_seen() {
        let (trials, mut alarms, mut seen, mut seen_smaller) = (300, 0, 0, 0);
        for trial in 0..trials {
            let mut random = stream(Key::seed(13).child(Purpose::Test, trial));
            let drawn = [arrangements(5, 2 * trial), arrangements(5, 2 * trial + 1)];
            let small = [sized(&mut random, 5, 0.0), sized(&mut random, 5, 0.0)];
            let large = [sized(&mut random, 5, 7.0), sized(&mut random, 5, 7.0)];
            let grown = sized(&mut random, 5, 1.5);
            let rejects = |second: &[SizeCounts], tail| {
                let strata = [(&small[0], second, 0), (&large[0], large[1].as_slice(), 1)]
                    .map(|(first, second, s)| SizeStratum { first, second, weight: 0.5, arrangements: &drawn[s] });
                u64::from(weighted_size_distance(&strata, tail).unwrap().rejects(0.05))
            };
            alarms += rejects(&small[1], Tail::Two);
            seen += rejects(&grown, Tail::Upper);
            seen_smaller += rejects(&grown, Tail::Lower);
        }
        let rate = crate::measures::Rate::new(alarms, trials);
        assert!(rate.value() <= 0.05 + 4.0 * rate.error() && rate.value() > 0.05 - 4.0 * rate.error(), "{rate:?}");
        assert!(seen > 8 * trials / 10 && seen_smaller < trials / 20, "{seen} {seen_smaller}");
    }

    #[test]
    fn sizes_that_cannot_be_compared_are_refused() {
        let drawn = arrangements(2, 1);
        let of = |first: &[SizeCounts], second: &[SizeCounts]| {
            weighted_size_distance(&[SizeStratum { first, second, weight: 1.0, arrangements: &drawn }], Tail::Two)
        };
        let site = |counts: &[f64]| SizeCounts::new(counts.to_vec()).unwrap();
        let (empty, alike) = ([site(&[0.0, 0.0]), site(&[0.0, 0.0])], [site(&[3.0, 0.0]), site(&[1.0, 0.0])]);
        assert_eq!(of(&empty, &empty), Err(Degenerate::AllZero));
        assert_eq!(of(&empty, &alike), Err(Degenerate::ZeroInOneGroup));
        assert_eq!(of(&alike, &alike), Err(Degenerate::NothingVaries));
        assert_eq!(of(&alike, &alike[..1]), Err(Degenerate::BadValue));
        assert_eq!(of(&alike, &[site(&[1.0]), site(&[1.0])]), Err(Degenerate::BadValue));
        assert_eq!(weighted_size_distance(&[], Tail::Two), Err(Degenerate::TooFew));
        // A group whose colonies are all at one site: most arrangements leave a group without, which is far out.
        let (one, other) = ([site(&[2.0, 1.0]), site(&[0.0, 0.0])], [site(&[0.0, 2.0]), site(&[0.0, 0.0])]);
        let test = of(&one, &other).unwrap();
        assert!(test.p_value() > 0.5, "{test:?}");
    }

    #[test]
    fn what_cannot_be_compared_is_refused() {
        let (drawn, exact) = (arrangements(3, 1), Exchange::Groups { first: 3, second: 3 });
        let exact = Arrangements::new(exact, Effort::default(), Key::seed(1)).unwrap();
        let of = |first, second, arrangements| {
            weighted_difference_of_means(&[Stratum { first, second, weight: 1.0, arrangements }], Tail::Two)
        };
        let (flat, bad) = ([2.0; 3], [2.0, f64::NAN, 1.0]);
        assert_eq!(of(&flat, &flat, &drawn), Err(Degenerate::NothingVaries));
        assert_eq!(of(&flat, &bad, &drawn), Err(Degenerate::BadValue));
        assert_eq!(of(&flat, &flat, &exact), Err(Degenerate::BadValue));
        assert_eq!(of(&flat, &flat[..2], &drawn), Err(Degenerate::BadValue));
        assert_eq!(weighted_difference_of_means(&[], Tail::Two), Err(Degenerate::TooFew));
    }
}
