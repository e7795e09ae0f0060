//! Every row of `tests/reference/distributions.csv` (values of scipy 1.17.1, made by
//! `tests/reference/make_distributions.py`).

use reefwright::analysis::*;

/// One row: a function, its arguments and scipy's value.
struct Row {
    name: String,
    arguments: [f64; 4],
    value: f64,
}

fn rows() -> Vec<Row> {
    let text = include_str!("reference/distributions.csv");
    let number = |cell: &str| cell.parse::<f64>().unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let arguments = [number(cells[1]), number(cells[2]), number(cells[3]), number(cells[4])];
            Row { name: cells[0].to_owned(), arguments, value: number(cells[5]) }
        })
        .collect()
}

/// Our value, the relative tolerance and the absolute floor, each with its reason.
fn ours(row: &Row) -> (f64, f64, f64) {
    let [a, b, c, d] = row.arguments;
    // Cumulative probabilities are met to 1e-12 relative also in tiny tails; only below 1e-100, where the logarithm of
    // the leading factor reaches hundreds and loses as many units in the last place, 2e-12 is granted.
    let cdf = if row.value < 1e-100 { 2e-12 } else { 1e-12 };
    // A quantile near 0 inherits the rounding of p about 1/2 (floor 1e-15).
    match row.name.as_str() {
        "norm_cdf" => (normal_cdf(a), cdf, 0.0),
        "norm_ppf" => (normal_quantile(a), 1e-10, 1e-15),
        "t_cdf" => (t_cdf(a, b), cdf, 0.0),
        "t_ppf" => (t_quantile(a, b), 1e-10, 1e-15),
        "chi2_cdf" => (chi_squared_cdf(a, b), cdf, 0.0),
        "chi2_sf" => (chi_squared_upper(a, b), cdf, 0.0),
        "f_cdf" => (f_cdf(a, b, c), cdf, 0.0),
        "beta_cdf" => (beta_cdf(a, b, c), cdf, 0.0),
        "beta_ppf" => (beta_quantile(a, b, c), 1e-10, 0.0),
        "bin_cdf" => (binomial_cdf(a, b, c), cdf, 0.0),
        "pois_cdf" => (poisson_cdf(a, b), cdf, 0.0),
        "nb_cdf" => (negative_binomial_cdf(a, b, c), cdf, 0.0),
        "ncx2_cdf" => (noncentral_chi_squared_cdf(a, b, c), 1e-9, 0.0),
        "ncf_cdf" => (noncentral_f_cdf(a, b, c, d), 1e-9, 0.0),
        // On the far side of 0 from the noncentrality two series cancel: absolute there.
        "nct_cdf" => (noncentral_t_cdf(a, b, c), 1e-9, if a * c < 0.0 { 1e-14 } else { 0.0 }),
        other => panic!("no function for {other}"),
    }
}

#[test]
fn every_row_of_the_reference_table_is_met() {
    let rows = rows();
    assert_eq!(rows.len(), 735);
    let mut missed = Vec::new();
    for row in &rows {
        let (value, relative, floor) = ours(row);
        let close = if row.value.is_nan() {
            // scipy has no answer in some far tails of noncentral t; there P(T < t) for t < 0 is at most P(T < 0).
            row.arguments[0] < 0.0 && 0.0 <= value && value <= normal_cdf(-row.arguments[2])
        } else {
            (value - row.value).abs() <= relative * row.value.abs() + floor
        };
        if !close {
            let off = value / row.value - 1.0;
            missed.push(format!("{} {:?}: {value:e}, scipy {:e}, off {off:e}", row.name, row.arguments, row.value));
        }
    }
    assert!(missed.is_empty(), "{} rows missed:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn noncentral_t_answers_where_the_noncentrality_is_large() {
    // scipy 1.17.1 returns NaN at the first of these; the tail is at most P(Z < -11.18) = 2.6e-29.
    let far = noncentral_t_cdf(-1.96, 1998.0, 11.18);
    assert!((0.0..=2.6e-29).contains(&far), "{far:e}");
    for (t, df, noncentrality) in [(1.96, 1998.0, 40.0), (12.7, 1.0, 60.0), (2.0, 1e6, 3.0), (3.0, 4.0, -70.0)] {
        let tails = noncentral_t_tails(t, df, noncentrality);
        assert!((tails.lower + tails.upper - 1.0).abs() < 1e-11, "{t} {df} {noncentrality}: {tails:?}");
    }
}

/// Computed: mpmath, 30 digits (row T18 of the published checks).
#[test]
fn noncentral_t_meets_values_of_thirty_digit_arithmetic() {
    for (t, df, noncentrality, value) in [
        (2.024394164, 38.0, 3.16227766016838, 0.131047198327),
        (2.306004, 8.0, 1.0, 0.858909234939),
        (-1.5, 5.0, 0.5, 0.039267674662),
        (4.0, 2.0, 1.0, 0.896321497905),
    ] {
        assert!((noncentral_t_cdf(t, df, noncentrality) - value).abs() < 1e-12, "{t} {df} {noncentrality}");
    }
}

#[test]
fn quantiles_invert_their_distributions_and_ends_are_exact() {
    for p in [1e-12, 1e-5, 0.025, 0.3, 0.5, 0.8, 0.999] {
        for df in [1.0, 1.7, 4.0, 35.5, 900.0] {
            assert!((t_cdf(t_quantile(p, df), df) / p - 1.0).abs() < 1e-12, "t {p} {df}");
            assert!((chi_squared_cdf(chi_squared_quantile(p, df), df) / p - 1.0).abs() < 1e-11, "chi2 {p} {df}");
            assert!((f_cdf(f_quantile(p, df, 7.3), df, 7.3) / p - 1.0).abs() < 1e-11, "f {p} {df}");
            assert!((f_upper(f_quantile(1.0 - p, 7.3, df), 7.3, df) / p - 1.0).abs() < 1e-4, "f upper {p} {df}");
            assert!((chi_squared_upper(chi_squared_upper_quantile(p, df), df) / p - 1.0).abs() < 1e-11);
        }
        for mean in [0.2, 3.0, 250.0] {
            let count = poisson_quantile(p, mean);
            assert!(poisson_cdf(count, mean) >= p && poisson_cdf(count - 1.0, mean) < p);
            let count = negative_binomial_quantile(p, 0.7, 0.7 / (0.7 + mean));
            assert!(negative_binomial_cdf(count, 0.7, 0.7 / (0.7 + mean)) >= p);
            assert!(negative_binomial_cdf(count - 1.0, 0.7, 0.7 / (0.7 + mean)) < p);
        }
        let count = binomial_quantile(p, 57.0, 0.31);
        assert!(binomial_cdf(count, 57.0, 0.31) >= p && binomial_cdf(count - 1.0, 57.0, 0.31) < p);
    }
    assert_eq!(t_quantile(0.0, 3.0), f64::NEG_INFINITY);
    assert_eq!(chi_squared_quantile(1.0, 3.0), f64::INFINITY);
    assert_eq!((binomial_cdf(-1.0, 5.0, 0.5), binomial_cdf(5.0, 5.0, 0.5)), (0.0, 1.0));
}

#[test]
fn infinite_degrees_of_freedom_give_the_limits() {
    let far = f64::INFINITY;
    assert_eq!(t_cdf(1.3, far), normal_cdf(1.3));
    assert_eq!(t_quantile(0.9, far), normal_quantile(0.9));
    assert!((f_quantile(0.9, 4.0, far) - chi_squared_quantile(0.9, 4.0) / 4.0).abs() < 1e-14);
    assert!((f_cdf(f_quantile(0.9, far, 6.0), far, 6.0) - 0.9).abs() < 1e-12);
    assert!((noncentral_f_upper(2.0, 3.0, far, 4.0) - noncentral_f_upper(2.0, 3.0, 1e9, 4.0)).abs() < 1e-7);
    assert_eq!(noncentral_t_cdf(2.0, far, 0.5), normal_cdf(1.5));
}

#[test]
fn arguments_outside_the_domain_give_nan_and_never_a_panic() {
    let bad = f64::NAN;
    for value in [
        t_cdf(1.0, 0.0),
        t_cdf(bad, 3.0),
        t_quantile(1.2, 3.0),
        t_quantile(0.5, bad),
        chi_squared_cdf(1.0, -1.0),
        chi_squared_quantile(0.3, 0.0),
        f_cdf(1.0, -2.0, 3.0),
        f_quantile(0.2, 3.0, bad),
        beta_cdf(0.3, 0.0, 1.0),
        beta_quantile(-0.1, 1.0, 1.0),
        binomial_cdf(2.0, 5.0, 1.5),
        poisson_cdf(2.0, -1.0),
        negative_binomial_cdf(2.0, 0.0, 0.5),
        noncentral_t_cdf(1.0, 3.0, far()),
        noncentral_f_cdf(1.0, 3.0, 4.0, -1.0),
        noncentral_chi_squared_cdf(1.0, 3.0, bad),
        normal_quantile(2.0),
    ] {
        assert!(value.is_nan());
    }
}

fn far() -> f64 {
    f64::INFINITY
}
