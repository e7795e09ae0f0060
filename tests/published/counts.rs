//! Counts with more spread than Poisson, and shares with more than binomial.

use reefwright::analysis::counts::{
    BetaBinomial, LogRatioPlan, Marked, NegativeBinomial, Shares, TaylorLaw, Totals, moment_k, units_for_k,
};
use reefwright::analysis::presence::negative_binomial_zero;
use reefwright::analysis::{Sample, chi_squared_upper};

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} +- {tolerance}");
}

/// Red mites on 150 apple leaves: 70 leaves with none, 38 with one ... (Bliss & Fisher 1953, Biometrics 9:176, data as quoted in
/// several help pages).
fn mites() -> Vec<f64> {
    let leaves = [70, 38, 17, 10, 9, 3, 2, 1];
    leaves.iter().enumerate().flat_map(|(count, &leaves)| vec![count as f64; leaves]).collect()
}

/// N1: k = 1.02459 (Bliss & Fisher 1953, from memory); further digits, errors and likelihood computed.
/// N2: k by moments 1.167 (from memory); fitted frequencies computed.
#[test]
fn red_mites_on_apple_leaves() {
    let counts = mites();
    let sample = Sample::of(&counts);
    assert_eq!(counts.len(), 150);
    close(sample.mean, 1.146667, 1e-6);
    close(sample.variance, 2.273647, 1e-6);
    close(moment_k(sample.mean, sample.variance), 1.166697, 1e-6);
    let fit = NegativeBinomial::one(Totals::of_equal_effort(&counts, 1.0).unwrap()).unwrap();
    close(fit.densities[0], sample.mean, 1e-14);
    close(fit.k, 1.02459, 1e-5);
    close(fit.k, 1.024592, 1e-6);
    close(fit.k_error(), 0.2759, 5e-5);
    close(fit.alpha(), 0.975998, 1e-6);
    close(fit.alpha_error(), 0.262822, 2e-6);
    close(fit.log_likelihood, -222.437154, 1e-6);
    // The fitted number of leaves with none, one ..., from the ratios of successive probabilities.
    let (k, mean) = (fit.k, fit.densities[0]);
    let mut leaves = 150.0 * (1.0 + mean / k).powf(-k);
    for (count, expected) in [69.488, 37.600, 20.101, 10.703, 5.687, 3.018, 1.600, 0.848].into_iter().enumerate() {
        close(leaves, expected, 1.5e-3);
        leaves *= (k + count as f64) / (count as f64 + 1.0) * mean / (k + mean);
    }
}

/// The same leaves dealt out to two groups of one mean: the common k stays near, the log ratio is the ratio of means and its
/// error that of the closed form.
#[test]
fn two_groups_of_mites() {
    let counts = mites();
    let (first, second): (Vec<f64>, Vec<f64>) =
        (counts.iter().copied().step_by(2).collect(), counts.iter().copied().skip(1).step_by(2).collect());
    let of = |counts| Totals::of_equal_effort(counts, 1.0).unwrap();
    let fit = NegativeBinomial::two(of(&first), of(&second)).unwrap();
    let test = fit.log_ratio().unwrap();
    let plan = LogRatioPlan { first_mean: fit.densities[0], second_mean: fit.densities[1], k: fit.k };
    close(test.error(), plan.error(75.0), 1e-12);
    close(test.estimate(), libm::log(Sample::of(&second).mean / Sample::of(&first).mean), 1e-12);
    // One parameter more: the likelihood can only rise, and by little when the groups are alike.
    let one = NegativeBinomial::one(of(&counts)).unwrap();
    let gain = 2.0 * (fit.log_likelihood - one.log_likelihood);
    assert!(0.0 <= gain && chi_squared_upper(gain, 1.0) > 0.5, "{gain}");
}

/// N3: Elliott 1977 (formula from memory; the general form with D = standard error over mean in Downing 1989, Marine Biology
/// 103:231). Values computed.
#[test]
fn units_of_a_negative_binomial() {
    close(units_for_k(1.146667, 1.024592, 0.2), 46.202272, 1e-5);
    close(units_for_k(5.0, 1.0, 0.2), 30.0, 1e-12);
    close(units_for_k(2.0, 0.5, 0.25), 40.0, 1e-12);
    close(units_for_k(10.0, 2.0, 0.1), 60.0, 1e-12);
}

/// Belts of animals as clustered as long-spined urchins (k = .4): means of a belt, the share of belts without one, and belts for
/// a standard error of 20 and of 30 % of the mean (computed). However many there are, 63 belts are never enough for 20 %.
#[test]
fn belts_of_animals_as_clustered_as_urchins() {
    for (mean, empty, for_20, for_30) in [
        (0.1, 0.91, 313.0, 139.0),
        (0.5, 0.72, 113.0, 50.0),
        (1.0, 0.61, 88.0, 39.0),
        (3.0, 0.42, 71.0, 32.0),
        (10.0, 0.27, 65.0, 29.0),
    ] {
        close(negative_binomial_zero(mean, 0.4), empty, 0.006);
        let belts = |error: f64| (units_for_k(mean, 0.4, error) - 1e-9).ceil();
        assert_eq!((belts(0.2), belts(0.3)), (for_20, for_30), "mean {mean}");
    }
    close(units_for_k(f64::INFINITY, 0.4, 0.2), 62.5, 1e-12);
}

/// N4: Taylor 1961, Nature 189:732; Green 1970, Researches on Population Ecology 12:249 (formulas from memory). Values computed.
#[test]
fn power_law_and_stop_line() {
    let law = TaylorLaw { a: 2.0, b: 1.5 };
    for (units, total) in [(10.0, 102.4), (30.0, 34.133333)] {
        let stop = law.stop_total(units, 0.25).unwrap();
        close(stop, total, 1e-6);
        // At the line the units asked for are those that were done.
        close(law.units_for(stop / units, 0.25), units, 1e-9);
    }
}

/// N5: computed.
#[test]
fn two_groups_by_log_ratio() {
    let plan = LogRatioPlan { first_mean: 2.0, second_mean: 1.0, k: 0.5 };
    close(plan.error(60.0), 0.302765, 1e-6);
    close(plan.normal_power(60.0, 0.05), 0.629083, 1e-4);
    close(plan.replicates_for(0.8, 0.05), 89.850, 1e-3);
    close(plan.normal_power(plan.replicates_for(0.8, 0.05), 0.05), 0.8, 1e-9);
}

fn marked(pairs: &[(f64, f64)]) -> Vec<Marked> {
    pairs.iter().map(|&(marked, of)| Marked::new(marked, of).unwrap()).collect()
}

/// B1 and B2: seeds germinated in 20 pots, two kinds in two soils (SAS/STAT LOGISTIC documentation, example on overdispersion:
/// Pearson 66.7617, deviance 68.3465, 16 degrees of freedom; Williams' phi .075941, Williams 1982, from memory). Further
/// digits computed.
#[test]
fn pots_misfit_the_binomial_and_williams_mends_it() {
    let groups = [
        marked(&[(8.0, 16.0), (26.0, 51.0), (23.0, 45.0), (10.0, 39.0), (9.0, 36.0)]),
        marked(&[(23.0, 81.0), (10.0, 30.0), (17.0, 39.0), (8.0, 28.0), (23.0, 62.0)]),
        marked(&[(32.0, 51.0), (55.0, 72.0), (22.0, 41.0), (3.0, 12.0), (10.0, 13.0)]),
        marked(&[(46.0, 79.0), (15.0, 30.0), (32.0, 51.0), (53.0, 74.0), (12.0, 56.0)]),
    ];
    let shares = Shares::new(&groups.each_ref().map(Vec::as_slice)).unwrap();
    assert_eq!(shares.df(), 16.0);
    close(shares.pearson().unwrap(), 66.761950, 5e-7);
    close(shares.deviance(), 68.346474, 5e-7);
    let williams = shares.williams().unwrap();
    close(williams.phi, 0.075941, 1e-6);
    close(williams.phi, 0.0759411, 5e-8);
}

/// B3: 16 batches in three treatments (Crowder 1978, Applied Statistics 27:34, table 1, data as in Rdatasets): shares .142, .872,
/// .842, overall .614; further digits computed.
#[test]
fn batches_of_crowder() {
    let groups = [
        marked(&[(2.0, 43.0), (9.0, 51.0), (5.0, 44.0), (16.0, 71.0), (2.0, 24.0), (0.0, 7.0)]),
        marked(&[(17.0, 19.0), (43.0, 56.0), (79.0, 87.0), (50.0, 55.0), (9.0, 10.0)]),
        marked(&[(11.0, 13.0), (47.0, 62.0), (90.0, 104.0), (46.0, 51.0), (9.0, 11.0)]),
    ];
    let slices = groups.each_ref().map(Vec::as_slice);
    let pooled = Shares::new(&slices).unwrap().pooled();
    for (share, (published, computed)) in pooled.iter().zip([(0.142, 0.141667), (0.872, 0.872247), (0.842, 0.842324)]) {
        close(*share, published, 5e-4);
        close(*share, computed, 5e-7);
    }
    let all = slices.concat();
    close(Shares::new(&[&all]).unwrap().pooled()[0], 0.614407, 5e-7);
}

/// B4: 21 plates, two seeds and two root extracts (Crowder 1978, table 3; data as quoted there). The beta-binomial with a
/// common rho, the logit coefficients of seed, root and both, computed.
#[test]
fn plates_of_crowder() {
    let groups = [
        marked(&[(10.0, 39.0), (23.0, 62.0), (23.0, 81.0), (26.0, 51.0), (17.0, 39.0)]),
        marked(&[(5.0, 6.0), (53.0, 74.0), (55.0, 72.0), (32.0, 51.0), (46.0, 79.0), (10.0, 13.0)]),
        marked(&[(8.0, 16.0), (10.0, 30.0), (8.0, 28.0), (23.0, 45.0), (0.0, 4.0)]),
        marked(&[(3.0, 12.0), (22.0, 41.0), (15.0, 30.0), (32.0, 51.0), (3.0, 7.0)]),
    ];
    let shares = Shares::new(&groups.each_ref().map(Vec::as_slice)).unwrap();
    close(shares.pearson().unwrap(), 31.651145, 5e-7);
    close(shares.williams().unwrap().phi, 0.024938, 5e-7);
    let fit = BetaBinomial::fit(&shares).unwrap();
    close(fit.rho, 0.012361, 1e-6);
    close(fit.log_likelihood, -53.766763, 1e-6);
    // Groups: O75 bean, O75 cucumber, O73 bean, O73 cucumber; the coefficients count from O73 bean.
    let logits = fit.logits();
    let both = logits[1] - logits[0] - logits[3] + logits[2];
    let coefficients = [logits[2], logits[0] - logits[2], logits[3] - logits[2], both];
    for (coefficient, expected) in coefficients.into_iter().zip([-0.444560, -0.097391, 0.522143, 0.797925]) {
        close(coefficient, expected, 1e-6);
    }
}
