//! Precision of means and proportions, two-stage sampling, and the error of simulations.

use reefwright::measures::{Rate, trials_for, trials_for_mean};
use reefwright::theory::{
    TwoStage, best_units_by_correlation, best_units_by_mean_squares, count_for_all_categories, count_for_proportion,
    count_for_relative_precision, design_effect,
};

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} +- {tolerance}");
}

/// P7: Brus 2022, Spatial Sampling with R, chapter 12: 97 units. P8: Cochran 1977, section 4.4 (from memory): 384, of which
/// 385 is the whole number that reaches it; and Brus 2022, chapter 12. Further digits computed.
#[test]
fn precision_of_a_mean_and_of_a_proportion() {
    let n = count_for_relative_precision(0.5, 0.1, 0.95);
    close(n, 96.036471, 1e-6);
    assert_eq!(n.ceil(), 97.0);
    close(count_for_proportion(0.5, 0.05, 0.95), 384.145882, 1e-6);
    close(count_for_proportion(0.2, 0.10, 0.95), 61.463341, 1e-6);
}

/// P9, P10: Thompson 1987, The American Statistician 41:42-46, table 1 (constants as copied in the package `march`; counts
/// and worst numbers of categories from memory). The row of alpha 0.0005 is misprinted there (3.33530 for 3.35304, which its own
/// count agrees with) and left out; the last row is printed 4.11209 where the formula gives 4.11203.
#[test]
fn all_categories_at_once_of_thompson() {
    for (alpha, constant, count, categories) in [
        (0.5, 0.44129, 177, 4),
        (0.4, 0.50729, 203, 4),
        (0.3, 0.60123, 241, 3),
        (0.2, 0.74739, 299, 3),
        (0.1, 1.00635, 403, 3),
        (0.05, 1.27359, 510, 3),
        (0.025, 1.55963, 624, 2),
        (0.02, 1.65872, 664, 2),
        (0.01, 1.96986, 788, 2),
        (0.005, 2.28514, 915, 2),
        (0.001, 3.02892, 1212, 2),
        (0.0001, 4.11209, 1645, 2),
    ] {
        let worst = count_for_all_categories(alpha);
        close(worst.count_times_square, constant, if alpha == 0.0001 { 1e-4 } else { 1e-5 });
        assert_eq!((worst.count(0.05), worst.categories), (count, categories), "alpha {alpha}");
    }
}

/// S8: Kish 1965, Survey Sampling (formula).
#[test]
fn design_effect_of_kish() {
    close(design_effect(20.0, 0.05), 1.95, 1e-12);
    close(400.0 / design_effect(20.0, 0.05), 205.128205, 1e-6);
}

/// S9: inputs of Blair & Blair, Applied Survey Sampling, exercise 6.1; S10: inputs of a lecture of 25 October 2024 at
/// trobinj.github.io/stat422; answers computed.
#[test]
fn best_units_a_site() {
    for (site, unit, correlation, best) in [
        (2000.0, 100.0, 0.05, 19.493589),
        (2000.0, 100.0, 0.25, 7.745967),
        (2000.0, 20.0, 0.05, 43.588989),
        (4000.0, 20.0, 0.05, 61.644140),
    ] {
        close(best_units_by_correlation(site, unit, correlation), best, 1e-6);
    }
    for (between, within, best) in [(1551.41, 10.39, 0.580616), (873.23, 23.68, 1.180542), (103.07, 38.76, 5.489561)] {
        close(best_units_by_mean_squares(1.0, between, within, 50.0), best, 1e-6);
    }
    assert!(best_units_by_mean_squares(1.0, 10.0, 12.0, 50.0).is_infinite());
}

/// S11: formulas of Brus 2022, Spatial Sampling with R, chapter 7; numbers computed.
#[test]
fn best_division_of_a_budget() {
    let stage = TwoStage { between_sites: 4.0, within_sites: 9.0, cost_of_site: 16.0, cost_of_unit: 1.0 };
    let best = stage.best(200.0);
    close(best.units, 6.0, 1e-12);
    close(best.sites, 9.090909, 1e-6);
    close(best.variance, 0.605, 1e-12);
    let whole = stage.best_whole(200.0, 100).unwrap();
    assert_eq!((whole.sites, whole.units), (9, 6));
    close(whole.variance, 0.611111, 1e-6);
    close(stage.variance(8.0, 9.0), 0.625, 1e-12);
    close(stage.variance(10.0, 4.0), 0.625, 1e-12);
    // By hand, in minutes: 90 to reach a site, 10 a line, 1800 in all, variances of 25 and 100: 12 sites of 6 lines.
    let stage = TwoStage { between_sites: 25.0, within_sites: 100.0, cost_of_site: 90.0, cost_of_unit: 10.0 };
    close(stage.best_units(), 6.0, 1e-12);
    let (best, whole) = (stage.best(1800.0), stage.best_whole(1800.0, 100).unwrap());
    close(best.sites, 12.0, 1e-9);
    assert_eq!((whole.sites, whole.units), (12, 6));
    close(whole.variance, 3.47222, 5e-6);
    close(whole.variance.sqrt(), 1.86339, 5e-6);
    for (units, variance) in [(5.0, 3.5000), (7.0, 3.4921)] {
        close(stage.variance(1800.0 / (90.0 + 10.0 * units), units), variance, 5e-5);
    }
}

/// M1, M2, M4: Morris, White & Crowther 2019, Statistics in Medicine 38:2074, sections 5.2, 5.4 and 7.1.
#[test]
fn error_of_a_simulation() {
    assert_eq!(trials_for(0.95, 0.005), 1900);
    assert_eq!(trials_for(0.5, 0.005), 10_000);
    assert_eq!(trials_for_mean(0.2, 0.005), 1600);
    close(100.0 * Rate::new(1520, 1600).error(), 0.54, 0.005);
    close(100.0 * Rate::new(800, 1600).error(), 1.25, 1e-9);
    close(Rate::new(800, 1000).error(), 0.01265, 5e-6);
    assert_eq!(trials_for(0.8, 0.01), 1600);
}
