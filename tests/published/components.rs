//! Variance components, Welch-Satterthwaite, worked t tests, stratified means.

use reefwright::analysis::{
    MeanSquare, Nested, OneWay, Part, Sample, TTest, difference_part, satterthwaite, t_quantile,
};

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} +- {tolerance}");
}

/// Digits of agreement, as NIST counts them.
fn digits(value: f64, certified: f64) -> f64 {
    -((value - certified) / certified).abs().max(1e-16).log10()
}

/// Groups of a NIST StRD analysis-of-variance file: data lines are "group value" after line 60.
fn nist(text: &str) -> Vec<Vec<f64>> {
    let mut groups: Vec<Vec<f64>> = Vec::new();
    for line in text.lines().skip(60) {
        let mut cells = line.split_whitespace();
        if let (Some(group), Some(value)) = (cells.next(), cells.next()) {
            let group: usize = group.parse().unwrap();
            groups.resize(groups.len().max(group), Vec::new());
            groups[group - 1].push(value.parse().unwrap());
        }
    }
    groups
}

/// The NIST StRD sets SmLs01 to SmLs09 as their files have them (checked against the files): nine treatments, the first
/// value of each 1.4, 1.3 or 1.5, then in turn a tenth less and a tenth more; leading digits put before the point.
fn simon_lesage(replicates: usize, leading: &str) -> Vec<Vec<f64>> {
    [4, 3, 5, 3, 5, 3, 5, 3, 5]
        .iter()
        .map(|&first| {
            (0..replicates)
                .map(|i| {
                    let tenth = if i == 0 {
                        first
                    } else if i % 2 == 1 {
                        first - 1
                    } else {
                        first + 1
                    };
                    format!("{leading}.{tenth}").parse().unwrap()
                })
                .collect()
        })
        .collect()
}

/// V1, V2: NIST StRD, certified values in the files beside this test.
#[test]
fn nist_instruments_and_silver() {
    let fit = OneWay::of(&nist(include_str!("../reference/nist/SiRstv.dat"))).unwrap();
    assert!(digits(fit.f(), 1.18046237440255) >= 9.0);
    assert!(digits(fit.between_groups.value, 1.27865654e-2) >= 9.0);
    assert!(digits(fit.within_groups.value, 1.0831828e-2) >= 9.0);
    assert!(digits(fit.r_squared(), 1.90999039051129e-1) >= 9.0);
    let fit = OneWay::of(&nist(include_str!("../reference/nist/AtmWtAg.dat"))).unwrap();
    assert!(digits(fit.f(), 15.9467335677930) >= 9.0);
    assert!(digits(fit.between_groups.value, 3.638341875e-9) >= 9.0);
    assert!(digits(fit.within_groups.value, 2.28155932971014e-10) >= 9.0);
}

/// V3: NIST StRD. Nine digits are wanted of the middle sets and four of the last, whose leading digits are lost when the
/// text becomes a number, whatever is done after.
#[test]
fn nist_leading_digits() {
    for (file, leading) in [
        (include_str!("../reference/nist/SmLs01.dat"), "1"),
        (include_str!("../reference/nist/SmLs04.dat"), "1000000"),
        (include_str!("../reference/nist/SmLs07.dat"), "1000000000000"),
    ] {
        assert_eq!(nist(file), simon_lesage(21, leading));
    }
    for (leading, wanted) in [("1", 13.0), ("1000000", 9.0), ("1000000000000", 4.0)] {
        for (replicates, certified) in [(21, 21.0), (201, 201.0), (2001, 2001.0)] {
            let fit = OneWay::of(&simon_lesage(replicates, leading)).unwrap();
            assert!(digits(fit.f(), certified) >= wanted, "{leading} {replicates}: {}", fit.f());
            assert!(digits(fit.within(), 0.01) >= wanted);
        }
    }
}

/// V4: Davies & Goldsmith 1972, Statistical Methods in Research and Production, section 6.4, yields of dyestuff (values
/// from memory; the last three computed).
#[test]
fn dyestuff() {
    let fit = OneWay::of(&[
        [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
        [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
        [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
        [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
        [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
        [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
    ])
    .unwrap();
    close(fit.between_groups.value, 11271.5, 1e-9);
    close(fit.within(), 2451.25, 1e-9);
    close(fit.between(), 1764.05, 1e-9);
    close(fit.f(), 4.598266, 5e-7);
    close(fit.same_group_correlation(), 0.418487, 5e-7);
    close(fit.of_mean().variance.sqrt(), 19.383412, 5e-7);
    assert!(fit.balanced && fit.per_group == 5.0);
}

/// V7: Davies & Goldsmith 1972, section 6.5, strength of paste by batch and cask (values from memory).
#[test]
fn pastes() {
    let strengths = "62.8 62.6 60.1 62.3 62.7 63.1 60 61.4 57.5 56.9 61.1 58.9 58.7 57.5 63.9 63.1 65.4 63.7 \
        57.1 56.4 56.9 58.6 64.7 64.5 55.1 55.1 54.7 54.2 58.8 57.5 63.4 64.9 59.3 58.1 60.5 60 \
        62.5 62.6 61 58.7 56.9 57.7 59.2 59.4 65.2 66 64.8 64.1 54.8 54.8 64 64 57.7 56.8 58.3 59.3 59.2 59.2 58.9 56.6";
    let fit = Nested::of(&nested(strengths, 3, 2)).unwrap();
    close(fit.mean, 60.053333, 5e-7);
    close(fit.tops.value, 27.489185, 5e-7);
    close(fit.middles.value, 17.545333, 5e-7);
    close(fit.rest(), 0.678, 5e-7);
    close(fit.top(), 1.657309, 5e-7);
    close(fit.middle(), 8.433667, 5e-7);
    close(fit.of_mean().variance.sqrt(), 0.676870, 5e-7);
}

/// V11: calcium of turnip greens by plant and leaf; Snedecor & Cochran 1967, Statistical Methods, page 286, as worked in the
/// SAS/STAT documentation of the NESTED procedure.
#[test]
fn turnip_greens() {
    let calcium = "3.28 3.09 3.52 3.48 2.88 2.80 2.46 2.44 1.87 1.92 2.19 2.19 \
        2.77 2.66 3.74 3.44 2.55 2.55 3.78 3.87 4.07 4.12 3.31 3.31";
    let fit = Nested::of(&nested(calcium, 3, 2)).unwrap();
    close(fit.tops.value, 2.520115, 1e-6);
    close(fit.middles.value, 0.328775, 1e-6);
    close(fit.rest(), 0.006654, 1e-6);
    close(fit.top(), 0.365223, 1e-6);
    close(fit.middle(), 0.161060, 1e-6);
    close(fit.total(), 0.532938, 1e-6);
    close(fit.f_of_tops(), 7.67, 5e-3);
    close(fit.p_of_tops(), 0.0097, 5e-5);
    close(fit.f_of_middles(), 49.41, 5e-3);
    close(100.0 * fit.top() / fit.total(), 68.5302, 1e-4);
    close(100.0 * fit.middle() / fit.total(), 30.2212, 1e-4);
    // Computed.
    close(fit.of_mean().variance, 0.105005, 1e-6);
}

fn nested(text: &str, middles: usize, values: usize) -> Vec<Vec<Vec<f64>>> {
    let numbers: Vec<f64> = text.split_whitespace().map(|cell| cell.parse().unwrap()).collect();
    numbers.chunks(middles * values).map(|top| top.chunks(values).map(<[f64]>::to_vec).collect()).collect()
}

/// V13: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, G.4.1 (from memory).
#[test]
fn welch_satterthwaite_of_the_guide_to_uncertainty() {
    let part = |percent: f64, df: f64| Part { variance: percent * percent, df };
    let sum = satterthwaite(&[part(0.25, 9.0), part(0.57, 4.0), part(0.82, 14.0)]);
    close(sum.variance.sqrt(), 1.029466, 5e-7);
    close(sum.df, 18.998742, 5e-7);
    close(t_quantile(0.975, sum.df.round()), 2.093024, 5e-7);
}

/// V15: Kutner, Nachtsheim, Neter & Li, Applied Linear Statistical Models, 5th edition, chapter 25 (from memory).
#[test]
fn satterthwaite_of_a_component() {
    let above = MeanSquare { value: 394.9, df: 4.0 };
    let below = MeanSquare { value: 73.3, df: 15.0 };
    let part = difference_part(above, below, 4.0);
    close(part.variance, 80.4, 1e-12);
    close(part.df, 2.628729, 5e-7);
}

/// S1: Thompson, Sampling, chapter 11, example 1: a stratified total and mean with Satterthwaite's degrees of freedom.
#[test]
fn stratified_mean_of_thompson() {
    let strata = [(20.0, 5.0, 1.6, 3.3), (9.0, 3.0, 2.8, 4.0), (12.0, 4.0, 0.6, 2.2)];
    let mut total = 0.0;
    let parts = strata.map(|(listed, count, mean, variance)| {
        total += listed * mean;
        Sample { count, mean, variance }.of_mean_of_list(listed).weighted(listed)
    });
    let sum = satterthwaite(&parts);
    close(total, 64.4, 1e-12);
    close(sum.variance, 322.8, 1e-9);
    // The book prints 1.5707.
    close(total / 41.0, 1.570_732, 5e-7);
    close(sum.weighted(1.0 / 41.0).variance, 0.192, 5e-4);
    close(sum.df, 7.82, 5e-3);
    // The book rounds the degrees of freedom to 8.
    let reach = t_quantile(0.975, 8.0) * sum.variance.sqrt();
    close(total - reach, 22.97, 5e-3);
    close(total + reach, 105.83, 5e-3);
}

/// T15: NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.3, mileage of cars (from memory).
#[test]
fn pooled_and_welch_tests_of_the_handbook() {
    let american = Sample { count: 249.0, mean: 20.14458, variance: 6.41470 * 6.41470 };
    let japanese = Sample { count: 79.0, mean: 30.48101, variance: 6.10771 * 6.10771 };
    let pooled = TTest::pooled(japanese, american).unwrap();
    close(pooled.statistic(0.0), -12.62059, 1e-4);
    assert_eq!(pooled.df(), 326.0);
    let common = pooled.error() / (1.0f64 / 249.0 + 1.0 / 79.0).sqrt();
    close(common, 6.34260, 1e-4);
    let welch = TTest::welch(japanese, american).unwrap();
    close(welch.statistic(0.0), -12.94627, 1e-4);
    close(welch.df(), 136.8750, 1e-4);
}
