//! Power and sample size of t and F tests.

use reefwright::analysis::{CriticalT, Tail, binomial_cdf, normal_quantile};
use reefwright::theory::{
    Arm, anova_power, crossing, one_sample_power, one_sample_size, pooled_power_exact, smallest_that_stays_above,
    two_sample_power, two_sample_size, welch_power_exact,
};

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} +- {tolerance}");
}

/// The unrounded size of each of two samples.
fn two_sample_root(change: f64, alpha: f64, tail: Tail, power: f64) -> f64 {
    crossing(2.0, 1e6, power, |n| two_sample_power(n, change, 1.0, alpha, tail)).unwrap()
}

/// T1 to T3: reference output of base R's `stats` (wch/r-source, tests/Examples/stats-Ex.Rout.save). R leaves out the tail
/// on the wrong side, here 2e-7, and its root is good to 1e-5.
#[test]
fn two_samples_of_base_r() {
    close(two_sample_power(20.0, 1.0, 1.0, 0.05, Tail::Two), 0.8689528, 1e-6);
    close(two_sample_root(1.0, 0.05, Tail::Two, 0.9), 22.02110, 1e-4);
    close(two_sample_root(1.0, 0.05, Tail::Upper, 0.9), 17.84713, 2e-5);
    // Computed, both tails.
    close(two_sample_power(20.0, 1.0, 1.0, 0.05, Tail::Two), 0.8689530, 5e-8);
    close(two_sample_root(1.0, 0.05, Tail::Two, 0.9), 22.021088, 1e-6);
}

/// T4 to T7: Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, 2nd edition, table 2.4.1, from a copy of
/// the table; alpha 0.01 and 0.10: Cohen 1992, Psychological Bulletin 112:155, table 2 (from memory). The tables round to
/// nearest, so the smallest size may be one more; the roots beside them are computed (statsmodels 0.15.0).
#[test]
fn two_samples_of_cohen() {
    // Difference in standard deviations, printed size, computed root.
    type Row = (f64, u64, f64);
    let tables: [(f64, f64, &[Row]); 4] = [
        (
            0.05,
            0.80,
            &[
                (0.1, 1571, 1570.733),
                (0.2, 393, 393.406),
                (0.3, 175, 175.385),
                (0.4, 99, 99.080),
                (0.5, 64, 63.766),
                (0.6, 45, 44.586),
                (0.7, 33, 33.025),
                (0.8, 26, 25.525),
            ],
        ),
        (
            0.05,
            0.90,
            &[
                (0.1, 2102, 2102.445),
                (0.2, 526, 526.333),
                (0.3, 234, 234.463),
                (0.4, 132, 132.311),
                (0.5, 85, 85.031),
                (0.6, 59, 59.352),
                (0.7, 44, 43.870),
                (0.8, 34, 33.826),
            ],
        ),
        (0.01, 0.80, &[(0.2, 586, 585.609), (0.5, 95, 95.104), (0.8, 38, 38.188)]),
        (0.10, 0.80, &[(0.2, 310, 309.790), (0.5, 50, 50.148), (0.8, 20, 20.032)]),
    ];
    for (alpha, power, rows) in tables {
        for &(change, printed, computed) in rows {
            let root = two_sample_root(change, alpha, Tail::Two, power);
            close(root, computed, 0.001);
            assert_eq!(root.round() as u64, printed);
            let size = two_sample_size(change, 1.0, alpha, Tail::Two, power).unwrap();
            assert!(size.abs_diff(printed) <= 1, "{change}: {size}, printed {printed}");
        }
    }
    assert_eq!(two_sample_size(0.5, 1.0, 0.05, Tail::Two, 0.8), Some(64));
    close(two_sample_power(63.0, 0.5, 1.0, 0.05, Tail::Two), 0.795168, 1e-6);
    close(two_sample_power(64.0, 0.5, 1.0, 0.05, Tail::Two), 0.801460, 1e-6);
}

/// T8: 34 pairs, 27 one-sided (standard values, from memory; roots computed).
#[test]
fn pairs() {
    let root = |tail| crossing(2.0, 1e6, 0.8, |n| one_sample_power(n, 0.5, 1.0, 0.05, tail)).unwrap();
    close(root(Tail::Two), 33.367129, 1e-6);
    close(root(Tail::Upper), 26.137504, 1e-6);
    assert_eq!(one_sample_size(0.5, 1.0, 0.05, Tail::Two, 0.8), Some(34));
    assert_eq!(one_sample_size(-0.5, 1.0, 0.05, Tail::Lower, 0.8), Some(27));
}

/// T9: Brus 2022, Spatial Sampling with R, chapter 12: t needs two units more than the normal approximation.
#[test]
fn one_sample_of_brus() {
    let z = normal_quantile(0.95) + normal_quantile(0.8);
    let by_normal = (4.0 * z).powi(2).ceil() as u64;
    let by_t = one_sample_size(1.0, 4.0, 0.05, Tail::Upper, 0.8).unwrap();
    assert_eq!((by_normal, by_t), (99, 101));
}

/// Reef fish of the Kona coast (design page of a monitoring programme, alpha .05, beta .10): mean, SD and least detectable difference
/// per 100 m2 of three species. Its differences are .40 SD in all rows; the number of belts behind them is not stated: by the normal
/// law 133 in each of two groups, or 66 pairs, give them (computed).
#[test]
fn fish_of_the_kona_coast() {
    let z = normal_quantile(0.975) + normal_quantile(0.9);
    for (mean, sd, least, percent) in [(0.86, 1.03, 0.41, 47.0), (0.85, 1.81, 0.72, 85.0), (2.09, 1.30, 0.52, 25.0)] {
        close(sd * z * (2.0f64 / 133.0).sqrt(), least, 0.005);
        close(100.0 * least / mean, percent, 1.0);
        // By t with the SD estimated there is one pair of belts more, or two pairs.
        let of = (0.3975 * sd, sd);
        let sizes =
            [two_sample_size(of.0, of.1, 0.05, Tail::Two, 0.9), one_sample_size(of.0, of.1, 0.05, Tail::Two, 0.9)];
        let [two, pairs] = sizes.map(|size| size.unwrap() as f64);
        assert!((133.0..=135.0).contains(&two) && (66.0..=69.0).contains(&pairs), "{two} {pairs}");
    }
}

/// T10: Guenther 1981, The American Statistician 35:243; T11: "sixteen s squared over d squared", Lehr 1992, Statistics in
/// Medicine 11:1099 (both from memory): approximations that the exact size must lie near.
#[test]
fn rules_of_thumb() {
    let z = normal_quantile(0.975);
    let both = |power: f64| (z + normal_quantile(power)).powi(2);
    let guenther = 2.0 * both(0.8) / 0.25 + z * z / 4.0;
    close(guenther, 63.751403, 1e-6);
    close(guenther, two_sample_root(0.5, 0.05, Tail::Two, 0.8), 0.02);
    close(2.0 * both(0.8) / 16.0, 1.0, 0.02);
    close(2.0 * both(0.9) / 21.0, 1.0, 0.02);
    let sixteen = 16.0 / 0.04;
    assert!((sixteen / two_sample_root(0.2, 0.05, Tail::Two, 0.8) - 1.0).abs() < 0.02);
}

/// T12 to T14: reference output of base R's `stats`, as above.
#[test]
fn analysis_of_variance_of_base_r() {
    close(anova_power(4, 5.0, 1.0, 3.0, 0.05), 0.3535594, 1e-6);
    let root = |between: f64, within: f64, power: f64| {
        crossing(1.1, 1e4, power, |n| anova_power(4, n, between, within, 0.05)).unwrap()
    };
    close(root(1.0, 3.0, 0.8), 11.92613, 5e-5);
    // Means 120, 130, 140, 150.
    close(root(500.0 / 3.0, 500.0, 0.9), 15.18834, 5e-5);
}

/// T16, T17 (computed, by another quadrature): power of Welch's test, and the size of Welch's and of the pooled test when
/// the smaller or the larger sample varies more; the sizes come from simulation, with errors near 1e-4.
#[test]
fn welch_power_and_size() {
    let critical = CriticalT::new(0.05, Tail::Two);
    let arms = |n1: f64, n2: f64, s1: f64, s2: f64| (Arm { count: n1, sd: s1 }, Arm { count: n2, sd: s2 });
    for (n1, n2, s1, s2, change, power) in [
        (10.0, 20.0, 3.0, 1.0, 2.0, 0.459389),
        (20.0, 10.0, 3.0, 1.0, 2.0, 0.736310),
        (8.0, 24.0, 2.0, 1.0, 2.0, 0.667419),
        (64.0, 64.0, 1.0, 1.0, 0.5, 0.801376),
    ] {
        let (first, second) = arms(n1, n2, s1, s2);
        close(welch_power_exact(first, second, change, &critical), power, 2e-6);
    }
    for (n1, n2, welch, pooled) in [(10.0, 20.0, 0.05097, 0.1464), (20.0, 10.0, 0.0499, 0.0132)] {
        let (first, second) = arms(n1, n2, 3.0, 1.0);
        close(welch_power_exact(first, second, 0.0, &critical), welch, 5e-4);
        close(pooled_power_exact(first, second, 0.0, &critical), pooled, 5e-4);
    }
}

/// P6: Brus 2022, chapter 12: power of the exact binomial test of 0.2 against 0.3 at alpha 0.10, one-sided, falls below 0.8
/// again at 89, 90, 93, 94 and 97, so 88 is not enough.
#[test]
fn the_saw_tooth_of_an_exact_binomial_test() {
    let power = |n: u64| {
        let n = n as f64;
        // The least count that is significant: P(X >= count) <= alpha under 0.2.
        let mut count = 0.0;
        while 1.0 - binomial_cdf(count - 1.0, n, 0.2) > 0.1 {
            count += 1.0;
        }
        1.0 - binomial_cdf(count - 1.0, n, 0.3)
    };
    assert!((1..88).all(|n| power(n) < 0.8));
    close(power(88), 0.817127, 1e-6);
    let short: Vec<u64> = (88..160).filter(|&n| power(n) < 0.8).collect();
    assert_eq!(short, [89, 90, 93, 94, 97]);
    assert_eq!(smallest_that_stays_above(2, 1000, 0.8, power), Some(98));
}
