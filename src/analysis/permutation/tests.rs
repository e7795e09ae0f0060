use super::*;
use crate::analysis::sizes::{SizeClasses, SizeCounts, Weighting};
use crate::analysis::{Degenerate, Tail};
use crate::random::{Key, Purpose};

const KEY: Key = Key(11);
const TAILS: [Tail; 3] = [Tail::Two, Tail::Lower, Tail::Upper];

fn visits(sites: usize) -> Arrangements {
    Arrangements::new(Exchange::Visits { sites }, Effort { exact_up_to: 1 << 16, random: 999 }, KEY).unwrap()
}

fn groups(first: usize, second: usize) -> Arrangements {
    let exchange = Exchange::Groups { first, second };
    Arrangements::new(exchange, Effort { exact_up_to: 1 << 20, random: 999 }, KEY).unwrap()
}

/// Fisher 1935, The Design of Experiments, section 21: Darwin's maize, differences of height of 15 pairs in eighths of an inch;
/// of 32,768 sums, 863 are as large as the 314 observed, both ways 1,726 (from memory).
#[test]
fn darwins_maize() {
    let differences = [49., -67., 8., 16., 6., 23., 28., 41., 14., 29., 56., 24., 75., 60., -48.];
    let before = [0.0; 15];
    let test = |tail| difference_of_means(&visits(15), tail, &before, &differences).unwrap();
    let upper = test(Tail::Upper);
    assert_eq!((upper.as_extreme, upper.arrangements, upper.exact), (863, 32_768, true));
    assert!((upper.statistic - 314.0 / 15.0).abs() < 1e-13);
    assert_eq!(test(Tail::Two).as_extreme, 1726);
    assert!((test(Tail::Two).p_value() - 0.052_673).abs() < 5e-7);
}

/// Ranks instead of values give the rank tests. Signed ranks -8 3 -9 -4 -7 -6 -5 2 -1: p = .0390625; midranks of 9 and 14
/// values: 116 of 10,000 random shuffles, 95 % interval .0095 to .0137 (Sawyer, RanksSims.txt of the course Math 408, Washington University, 2007). Ranks 8 7 5 4 against the rest
/// of eight: one-sided 4/70 (Lane, HyperStat, rank randomization tests).
#[test]
fn published_rank_tests() {
    let signed = [-8., 3., -9., -4., -7., -6., -5., 2., -1.];
    assert_eq!(difference_of_means(&visits(9), Tail::Two, &[0.0; 9], &signed).unwrap().p_value(), 0.039_062_5);
    let first = [1., 2.5, 2.5, 4., 5.5, 9.5, 12.5, 15.5, 15.5];
    let second = [5.5, 7., 9.5, 9.5, 9.5, 12.5, 15.5, 15.5, 18., 20., 20., 20., 22., 23.];
    let test = difference_of_means(&groups(9, 14), Tail::Two, &first, &second).unwrap();
    assert!(0.0095 < test.p_value() && test.p_value() < 0.0137, "{test:?}");
    let test = difference_of_means(&groups(4, 4), Tail::Lower, &[8., 7., 5., 4.], &[6., 3., 2., 1.]).unwrap();
    assert_eq!((test.as_extreme, test.arrangements), (4, 70));
}

/// All ways of sharing out, by bits, without tables: the statistic is computed from the two lists themselves.
fn brute<T: Copy>(
    first: &[T],
    second: &[T],
    paired: bool,
    tail: Tail,
    statistic: impl Fn(&[T], &[T]) -> f64,
) -> (u64, u64) {
    let all: Vec<T> = first.iter().chain(second).copied().collect();
    let observed = statistic(first, second);
    let (mut far, mut count) = (0, 0);
    let bits = if paired { first.len() } else { all.len() };
    for mask in 0..1u32 << bits {
        let set = |i: usize| mask >> i & 1 == 1;
        let (one, other): (Vec<T>, Vec<T>) = if paired {
            let side = |flip: bool| (0..bits).map(|i| if set(i) == flip { first[i] } else { second[i] }).collect();
            (side(false), side(true))
        } else if mask.count_ones() as usize == first.len() {
            let side = |inside: bool| (0..bits).filter(|&i| set(i) == inside).map(|i| all[i]).collect();
            (side(true), side(false))
        } else {
            continue;
        };
        let value = statistic(&one, &other);
        count += 1;
        far += u64::from(match tail {
            Tail::Two => value.abs() >= observed.abs() - 1e-9,
            Tail::Upper => value >= observed - 1e-9,
            Tail::Lower => value <= observed + 1e-9,
        });
    }
    (far, count)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn arrangements(paired: bool, first: usize, second: usize) -> Arrangements {
    if paired { visits(first) } else { groups(first, second) }
}

/// Values with ties, so that equal statistics must be told equal.
fn values(count: usize, index: u64) -> Vec<f64> {
    (0..count as u64).map(|i| (10.0 * KEY.uniform(Purpose::Test, 100 * index + i)).floor() / 10.0 + 1e4).collect()
}

#[test]
fn means_by_brute_force() {
    for (case, (paired, n1, n2)) in
        [(true, 7, 7), (true, 2, 2), (false, 4, 6), (false, 1, 5), (false, 5, 5)].into_iter().enumerate()
    {
        let (first, second) = (values(n1, 2 * case as u64), values(n2, 2 * case as u64 + 1));
        for tail in TAILS {
            let test = difference_of_means(&arrangements(paired, n1, n2), tail, &first, &second).unwrap();
            let slow = brute(&first, &second, paired, tail, |one, other| mean(other) - mean(one));
            assert_eq!((test.as_extreme, test.arrangements), slow, "case {case} {tail:?}");
            assert!((test.statistic - (mean(&second) - mean(&first))).abs() < 1e-9);
        }
    }
}

#[test]
fn ratios_by_brute_force_and_equal_weights_give_means() {
    let weighed = |count: usize, index: u64, equal: bool| -> Vec<Weighed> {
        let weight = |i: u64| if equal { 2.0 } else { (4.0 * KEY.uniform(Purpose::Test, 900 + i)).floor() };
        (values(count, index).iter().enumerate())
            .map(|(i, value)| Weighed {
                sum: (10.0 * (value - 1e4)).round() * weight(i as u64),
                weight: weight(i as u64),
            })
            .collect()
    };
    let ratio = |side: &[Weighed]| {
        side.iter().map(|site| site.sum).sum::<f64>() / side.iter().map(|site| site.weight).sum::<f64>()
    };
    for (paired, n1, n2) in [(true, 6, 6), (false, 4, 5)] {
        let (first, second) = (weighed(n1, 40, false), weighed(n2, 41, false));
        let arrangements = arrangements(paired, n1, n2);
        for tail in TAILS {
            let test = difference_of_ratios(&arrangements, tail, &first, &second).unwrap();
            let slow = brute(&first, &second, paired, tail, |one, other| ratio(other) - ratio(one));
            assert_eq!((test.as_extreme, test.arrangements), slow, "{tail:?}");
            let (first, second) = (weighed(n1, 40, true), weighed(n2, 41, true));
            let means = |sites: &[Weighed]| sites.iter().map(|site| site.sum / site.weight).collect::<Vec<f64>>();
            let equal = difference_of_ratios(&arrangements, tail, &first, &second).unwrap();
            let plain = difference_of_means(&arrangements, tail, &means(&first), &means(&second)).unwrap();
            assert_eq!(equal.as_extreme, plain.as_extreme);
        }
    }
}

/// Sizes of a site's colonies, some sites with few and one with none.
fn sizes(site: u64) -> Vec<f64> {
    let count = [4, 1, 0, 9, 3, 2, 6, 5, 3, 7, 2, 4][site as usize % 12];
    (0..count).map(|i| (1.0 + 20.0 * KEY.uniform(Purpose::Mark, 50 * site + i)).floor()).collect()
}

#[test]
fn size_distances_by_brute_force() {
    let all: Vec<Vec<f64>> = (0..11).map(sizes).collect();
    let classes = SizeClasses::of_every_size(all.iter().flatten()).unwrap();
    let sites: Vec<SizeCounts> = all.iter().map(|sizes| classes.counts(sizes)).collect();
    let references: Vec<&SizeCounts> = sites.iter().collect();
    for weighting in [Weighting::Colonies, Weighting::Sites] {
        let statistic = |one: &[&SizeCounts], other: &[&SizeCounts]| {
            let pool = |side: &[&SizeCounts]| {
                SizeCounts::pooled(&side.iter().map(|&site| site.clone()).collect::<Vec<_>>(), weighting)
            };
            match (pool(one), pool(other)) {
                (Some(one), Some(other)) => one.distance(&other).unwrap(),
                _ => f64::INFINITY,
            }
        };
        let test = size_distance(&groups(5, 6), Tail::Two, weighting, &sites[..5], &sites[5..]).unwrap();
        let slow = brute(&references[..5], &references[5..], false, Tail::Two, statistic);
        assert_eq!((test.as_extreme, test.arrangements), slow, "{weighting:?}");
        assert!((test.statistic - statistic(&references[..5], &references[5..])).abs() < 1e-12);
        // Pairs whose sites all have colonies.
        let (first, second) = (&references[3..7], &references[7..11]);
        let test = size_distance(&visits(4), Tail::Two, weighting, &sites[3..7], &sites[7..11]).unwrap();
        assert_eq!((test.as_extreme, test.arrangements), brute(first, second, true, Tail::Two, statistic));
    }
}

#[test]
fn size_distance_is_symmetric_directed_and_blind_to_the_scale_of_size() {
    let all: Vec<Vec<f64>> = (0..11).map(sizes).collect();
    let run = |change: fn(f64) -> f64, swap: bool, tail| {
        let all: Vec<Vec<f64>> = all.iter().map(|site| site.iter().map(|&size| change(size)).collect()).collect();
        let classes = SizeClasses::of_every_size(all.iter().flatten()).unwrap();
        let sites: Vec<SizeCounts> = all.iter().map(|sizes| classes.counts(sizes)).collect();
        let (first, second) = if swap { (&sites[5..10], &sites[..5]) } else { (&sites[..5], &sites[5..10]) };
        size_distance(&visits(5), tail, Weighting::Colonies, first, second).unwrap()
    };
    let plain = run(|size| size, false, Tail::Two);
    assert_eq!(plain, run(libm::log, false, Tail::Two));
    assert_eq!(plain.as_extreme, run(|size| size, true, Tail::Two).as_extreme);
    let (up, down) = (run(|size| size, false, Tail::Upper), run(|size| size, false, Tail::Lower));
    assert!((up.statistic.max(down.statistic) - plain.statistic).abs() < 1e-15);
    let (turned_up, turned_down) = (run(|size| -size, false, Tail::Upper), run(|size| -size, false, Tail::Lower));
    assert!((up.statistic - turned_down.statistic).abs() < 1e-12 && up.as_extreme == turned_down.as_extreme);
    assert!((down.statistic - turned_up.statistic).abs() < 1e-12 && down.as_extreme == turned_up.as_extreme);
    // All sizes larger at the second visit: the upper tail sees all of it, the lower nothing.
    let classes = SizeClasses::new(vec![5.0]).unwrap();
    let (small, large) = (vec![classes.counts(&[1.0, 2.0]); 5], vec![classes.counts(&[6.0]); 5]);
    let test = |tail| size_distance(&visits(5), tail, Weighting::Sites, &small, &large).unwrap();
    assert_eq!((test(Tail::Upper).statistic, test(Tail::Upper).as_extreme), (1.0, 1));
    assert_eq!((test(Tail::Lower).statistic, test(Tail::Lower).as_extreme), (0.0, 32));
}

/// A drawn sample of arrangements estimates the exact p within 4 errors.
#[test]
fn drawn_arrangements_estimate_the_exact_p() {
    let (first, second) = (values(8, 70), values(8, 71));
    for exchange in [Exchange::Visits { sites: 8 }, Exchange::Groups { first: 8, second: 8 }] {
        let of = |exact_up_to| {
            let arrangements = Arrangements::new(exchange, Effort { exact_up_to, random: 9_999 }, KEY).unwrap();
            difference_of_means(&arrangements, Tail::Two, &first, &second).unwrap()
        };
        let (exact, drawn) = (of(1 << 20), of(0));
        assert!(exact.exact && !drawn.exact && drawn.arrangements == 10_000);
        let p = exact.p_value();
        assert!((drawn.p_value() - p).abs() < 4.0 * (p * (1.0 - p) / 1e4).sqrt() + 1e-4, "{p} {}", drawn.p_value());
    }
}

#[test]
fn no_answer_has_a_name() {
    let means = |first: &[f64], second: &[f64]| difference_of_means(&visits(3), Tail::Two, first, second);
    let same = [1.1, 2.2, 3.3];
    assert_eq!(means(&same, &same).unwrap_err(), Degenerate::NothingVaries);
    assert_eq!(means(&same, &same[..2]).unwrap_err(), Degenerate::BadValue);
    assert_eq!(means(&same, &[1.0, f64::NAN, 2.0]).unwrap_err(), Degenerate::BadValue);
    assert_eq!(
        difference_of_means(&groups(3, 3), Tail::Two, &[0.1; 3], &[0.1; 3]).unwrap_err(),
        Degenerate::NothingVaries
    );
    let site = |sum, weight| Weighed { sum, weight };
    let ratios = |first, second| difference_of_ratios(&visits(2), Tail::Two, first, second).unwrap_err();
    let (empty, full) = ([site(0.0, 0.0); 2], [site(1.0, 2.0), site(2.0, 4.0)]);
    assert_eq!(ratios(&empty, &empty), Degenerate::AllZero);
    assert_eq!(ratios(&empty, &full), Degenerate::ZeroInOneGroup);
    assert_eq!(ratios(&full, &full), Degenerate::NothingVaries);
    let classes = SizeClasses::new(vec![5.0, 10.0]).unwrap();
    let (none, some) = (vec![classes.counts(&[]); 2], vec![classes.counts(&[6.0, 7.0]); 2]);
    let sizes = |first: &[SizeCounts], second: &[SizeCounts]| {
        size_distance(&visits(2), Tail::Two, Weighting::Sites, first, second).unwrap_err()
    };
    assert_eq!(sizes(&none, &none), Degenerate::AllZero);
    assert_eq!(sizes(&some, &some), Degenerate::NothingVaries);
    let half = vec![classes.counts(&[1.0]), classes.counts(&[])];
    assert_eq!(sizes(&none, &half), Degenerate::AllZero, "no site has colonies at both visits");
}
