//! Rows 94, 98, 100, 102-107, 112 and 132-134: variances and power of a worked case. The latent field is
//! `sqrt(.08) site + sqrt(.04) line + sqrt(.88) F`, F exponential of scale 1 m; lines of 20 points every .5 m, 4 a site;
//! cover .3 falls to .24 by the threshold.
//!
//! The printed values of rows 94, 98 and 134 took the covariance of the same point on the same marks from a 40-node rule
//! (.16800004 where the exact value is min(.3, .24) - .3 x .24 = .168), so they are compared to 2e-6 of their value.

use crate::double::{Field, covariance_agrees, line, mean_agrees, normal, share_above, variance_agrees};
use crate::{nearly, printed};
use cdflib::StudentsT;
use cdflib::traits::ContinuousCdf;
use rand::Rng;
use reefwright::random::{Key, normal_cdf, stream};
use reefwright::theory::Rule;
use reefwright::theory::placement::variance_of_points;
use reefwright::theory::smooth::exponential;
use reefwright::theory::threshold::{covariance_of_two, share_on_site, threshold_of};

const SITE: f64 = 0.08;
const LINE: f64 = 0.04;
const FIELD: f64 = 1.0 - SITE - LINE;
const BEFORE: f64 = 0.30;
const AFTER: f64 = 0.24;
const LINES: f64 = 4.0;
const RULE_ERROR: f64 = 2e-6;

/// Covariance of the means of two readings of one line (or of itself), its field kept with this memory.
fn line_covariance(first: f64, second: f64, memory: f64) -> f64 {
    let c = |h: f64| covariance_of_two(first, second, SITE + LINE + FIELD * memory * exponential(h, 1.0));
    variance_of_points(c(0.0), 20, 0.5, c)
}

/// Covariance of the site means of two readings: what the site shares and what the same lines share, `memory` = `None` for
/// new lines.
fn site_covariance(first: f64, second: f64, memory: Option<f64>) -> f64 {
    let far = covariance_of_two(first, second, SITE);
    far + memory.map_or(0.0, |memory| (line_covariance(first, second, memory) - far) / LINES)
}

fn site_variance(cover: f64) -> f64 {
    site_covariance(cover, cover, Some(1.0))
}

fn difference_variance(memory: Option<f64>) -> f64 {
    site_variance(BEFORE) + site_variance(AFTER) - 2.0 * site_covariance(BEFORE, AFTER, memory)
}

#[test]
fn variances() {
    nearly(98, difference_variance(Some(1.0)), 0.0009069837, RULE_ERROR);
    printed(100, difference_variance(Some(0.8)), "0.0038434781");
    printed(102, difference_variance(None), "0.014412663");
    printed(103, site_variance(BEFORE), "0.017524871");
    printed(104, site_variance(BEFORE) / 10.0, "0.0017524871");
    printed(105, covariance_of_two(BEFORE, AFTER, SITE), "0.0087789947");
    printed(112, covariance_of_two(BEFORE, BEFORE, SITE), "0.0097834463");
}

/// `P(|t'| > critical)` of the noncentral t with `degrees` of freedom: the mean over the chi distribution of the estimated
/// spread. A slow twin of any cleverer series.
fn power_of_t(degrees: f64, shift: f64) -> f64 {
    let critical = StudentsT::new(degrees).inverse_cdf(0.975).unwrap();
    let rule = Rule::legendre(400);
    let density = |s: f64| s.powf(degrees - 1.0) * (-0.5 * degrees * s * s).exp();
    let total = rule.integrate(0.0, 6.0, density);
    let beyond = rule
        .integrate(0.0, 6.0, |s| density(s) * (normal_cdf(shift - critical * s) + normal_cdf(-shift - critical * s)));
    beyond / total
}

fn paired_power(sites: f64, memory: Option<f64>) -> f64 {
    power_of_t(sites - 1.0, (BEFORE - AFTER) / (difference_variance(memory) / sites).sqrt())
}

fn welch_power(sites: f64) -> f64 {
    let (first, second) = (site_variance(BEFORE) / sites, site_variance(AFTER) / sites);
    let degrees = (first + second).powi(2) * (sites - 1.0) / (first * first + second * second);
    power_of_t(degrees, (BEFORE - AFTER) / (first + second).sqrt())
}

#[test]
fn power_in_normal_theory() {
    nearly(94, paired_power(6.0, Some(1.0)), 0.96954469, RULE_ERROR);
    printed(106, paired_power(10.0, None), "0.29296397");
    printed(107, welch_power(10.0), "0.17124738");
    // Printed with the worked case, for other designs.
    printed(95, paired_power(6.0, Some(0.8)), "0.48217673");
    printed(96, paired_power(6.0, None), "0.17059958");
    printed(97, welch_power(6.0), "0.11557398");
}

/// Mean covers of one site at both visits on the same lines, and of new lines on the same site at the second visit.
struct SiteMeans {
    before: f64,
    same_lines: f64,
    faded_lines: f64,
    new_lines: f64,
}

fn simulated_site(field: &Field, random: &mut impl Rng) -> SiteMeans {
    let site = SITE.sqrt() * normal(random);
    let (before, after) = (threshold_of(BEFORE), threshold_of(AFTER));
    let mut means = SiteMeans { before: 0.0, same_lines: 0.0, faded_lines: 0.0, new_lines: 0.0 };
    for _ in 0..LINES as usize {
        let (old, other, innovation) = (field.draw(random), field.draw(random), field.draw(random));
        let (of_line, of_other) = (LINE.sqrt() * normal(random), LINE.sqrt() * normal(random));
        let latent = |line: f64, f: f64| site + line + FIELD.sqrt() * f;
        let same: Vec<f64> = old.iter().map(|&f| latent(of_line, f)).collect();
        let faded: Vec<f64> = old.iter().zip(&innovation).map(|(f, w)| latent(of_line, 0.8 * f + 0.6 * w)).collect();
        let new: Vec<f64> = other.iter().map(|&f| latent(of_other, f)).collect();
        means.before += share_above(&same, before) / LINES;
        means.same_lines += share_above(&same, after) / LINES;
        means.faded_lines += share_above(&faded, after) / LINES;
        means.new_lines += share_above(&new, after) / LINES;
    }
    means
}

fn simulated_sites(seed: u64, number: usize) -> Vec<SiteMeans> {
    let field = Field::new(&line(20, 0.5, 0.0), |h| exponential(h, 1.0));
    let mut random = stream(Key::seed(seed));
    (0..number).map(|_| simulated_site(&field, &mut random)).collect()
}

#[test]
fn variances_by_simulation() {
    let sites = simulated_sites(1098, 12_000);
    let differences =
        |after: fn(&SiteMeans) -> f64| -> Vec<f64> { sites.iter().map(|site| after(site) - site.before).collect() };
    variance_agrees(98, &differences(|site| site.same_lines), difference_variance(Some(1.0)));
    variance_agrees(100, &differences(|site| site.faded_lines), difference_variance(Some(0.8)));
    variance_agrees(102, &differences(|site| site.new_lines), difference_variance(None));
    let before: Vec<f64> = sites.iter().map(|site| site.before).collect();
    variance_agrees(103, &before, site_variance(BEFORE));
    let regions: Vec<f64> = before.chunks_exact(10).map(|ten| ten.iter().sum::<f64>() / 10.0).collect();
    variance_agrees(104, &regions, site_variance(BEFORE) / 10.0);
    let pairs: Vec<(f64, f64)> = sites.iter().map(|site| (site.before, site.new_lines)).collect();
    covariance_agrees(105, &pairs, covariance_of_two(BEFORE, AFTER, SITE));
    let mut random = stream(Key::seed(1112));
    let truths: Vec<f64> = (0..100_000).map(|_| share_on_site(BEFORE, SITE, normal(&mut random))).collect();
    variance_agrees(112, &truths, covariance_of_two(BEFORE, BEFORE, SITE));
}

/// Whether a paired t on site differences rejects at .05.
fn rejects(differences: &[f64], critical: f64) -> bool {
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n;
    let variance = differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (n - 1.0);
    mean * mean > critical * critical * variance / n
}

#[test]
fn power_by_simulation() {
    let sites = simulated_sites(1094, 18_000);
    let share = |number: usize, after: fn(&SiteMeans) -> f64| -> Vec<f64> {
        let critical = StudentsT::new(number as f64 - 1.0).inverse_cdf(0.975).unwrap();
        let differences: Vec<f64> = sites.iter().map(|site| after(site) - site.before).collect();
        differences.chunks_exact(number).map(|some| f64::from(rejects(some, critical))).collect()
    };
    // Row 94 is a documented disagreement: with nothing but loss on the same marks no difference is positive, the
    // distribution is one-sided, and the power is .9936 (error .0009 in the reference simulation), not the .9695 of
    // normal theory.
    let one_sided = share(6, |site| site.same_lines);
    mean_agrees(94, &one_sided, 0.993625);
    let power = one_sided.iter().sum::<f64>() / one_sided.len() as f64;
    assert!(power > paired_power(6.0, Some(1.0)) + 0.015, "{power}");
    // Where differences are two-sided normal theory is good to about .01 (the reference's own reading).
    for (row, number, exact) in [(106, 10, paired_power(10.0, None)), (96, 6, paired_power(6.0, None))] {
        let seen = share(number, |site| site.new_lines);
        let n = seen.len() as f64;
        let power = seen.iter().sum::<f64>() / n;
        assert!((power - exact).abs() < 0.01 + 4.0 * (power * (1.0 - power) / n).sqrt(), "row {row}: {power} {exact}");
    }
    let welch = welch_share(&sites, 10);
    let error = (welch * (1.0 - welch) / (sites.len() / 20) as f64).sqrt();
    assert!((welch - welch_power(10.0)).abs() < 0.01 + 4.0 * error, "row 107: {welch}");
}

/// Share of Welch tests that reject, between sites of one half of the list before and sites of the other half after.
fn welch_share(sites: &[SiteMeans], number: usize) -> f64 {
    let moments = |values: Vec<f64>| {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        (mean, values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0) / n)
    };
    let verdicts: Vec<bool> = sites
        .chunks_exact(2 * number)
        .map(|both| {
            let (first, v1) = moments(both[..number].iter().map(|site| site.before).collect());
            let (second, v2) = moments(both[number..].iter().map(|site| site.same_lines).collect());
            let degrees = (v1 + v2).powi(2) * (number as f64 - 1.0) / (v1 * v1 + v2 * v2);
            (first - second).abs() > StudentsT::new(degrees).inverse_cdf(0.975).unwrap() * (v1 + v2).sqrt()
        })
        .collect();
    verdicts.iter().filter(|&&verdict| verdict).count() as f64 / verdicts.len() as f64
}

#[test]
fn every_site_loses_exactly_a_fifth() {
    // Given the site effect the field and line effect keep their shares of what is left; mean over the effect by
    // 20-node Gauss-Hermite, as printed.
    let rule = Rule::normal(20);
    let within = |first: f64, second: f64| {
        let c = |h: f64| covariance_of_two(first, second, (LINE + FIELD * exponential(h, 1.0)) / (1.0 - SITE));
        variance_of_points(c(0.0), 20, 0.5, c)
    };
    let covariance = |first: f64, second: f64| {
        let mean = rule.expect(|effect| share_on_site(BEFORE, SITE, effect));
        rule.expect(|effect| {
            let cover = share_on_site(BEFORE, SITE, effect);
            within(first * cover, second * cover) + first * second * cover * cover
        }) - first * second * mean * mean
    };
    let (v1, c12, v2) = (covariance(1.0, 1.0), covariance(1.0, 0.8), covariance(0.8, 0.8));
    printed(132, v1, "0.040749144");
    printed(133, c12, "0.034988038");
    nearly(134, v1 + v2 - 2.0 * c12, 0.0035217346, RULE_ERROR);
    let field = Field::new(&line(20, 0.5, 0.0), |h| exponential(h, 1.0));
    let mut random = stream(Key::seed(1132));
    let pairs: Vec<(f64, f64)> = (0..40_000)
        .map(|_| {
            let cover = share_on_site(BEFORE, SITE, normal(&mut random));
            let of_line = (LINE / (1.0 - SITE)).sqrt() * normal(&mut random);
            let z: Vec<f64> =
                field.draw(&mut random).iter().map(|f| of_line + (FIELD / (1.0 - SITE)).sqrt() * f).collect();
            (share_above(&z, threshold_of(cover)), share_above(&z, threshold_of(0.8 * cover)))
        })
        .collect();
    let first: Vec<f64> = pairs.iter().map(|pair| pair.0).collect();
    variance_agrees(132, &first, v1);
    covariance_agrees(133, &pairs, c12);
    let differences: Vec<f64> = pairs.iter().map(|pair| pair.1 - pair.0).collect();
    variance_agrees(134, &differences, v1 + v2 - 2.0 * c12);
}
