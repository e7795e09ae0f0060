//! How counts of belts vary between sites, in the years of a site, and within a site.

use super::moments::Ratios;
use super::read::{CountData, CountZone};
use super::warning::CountWarning;
use crate::analysis::counts::conditional_k;
use crate::analysis::{Interval, MeanSquare, Moments, chi_squared_interval, normal_quantile, t_quantile};
use crate::pilot::by_zone::by_zone;
use crate::pilot::error::PilotError;
use crate::pilot::visits::years_apart;
use serde::Serialize;

/// A relative standard deviation (1: as large as the mean), 0 where its variance came out negative, and where it may lie.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spread {
    pub share: f64,
    pub interval_80: Interval,
    pub interval_95: Interval,
}

/// k of `variance = mean + mean^2 / k` within a site and visit; infinite where counts vary no more than Poisson.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Aggregation {
    pub k: f64,
    pub interval_80: Interval,
    pub interval_95: Interval,
}

/// What a pilot of belts says of one kind of animal in one zone.
///
/// Estimates are ratios of moments (`pilot::counts::moments`), and k by conditional likelihood as well
/// ([`conditional_k`]). Intervals are those of the jackknife over sites on the logarithm of the ratio, with t on the number
/// of sites less one (k by likelihood: on ln k); those of spreads are never narrower than a chi-squared one of what site means
/// vary by in all, so that few animals, which show no spread, do not show that there is none.
/// With 25 sites as skewed as lognormal ones are, intervals of 95 % hold the truth nine times in ten, that of the spread of
/// sites eight times (`tests/pilot_counts.rs`): plan with its upper end.
#[derive(Clone, Debug, Serialize)]
pub struct CountFit {
    /// `None` when the pilot has no zones.
    pub zone: Option<String>,
    pub sites: usize,
    pub visits: usize,
    /// Mean years between consecutive visits, where their names tell years.
    pub years_apart: Option<f64>,
    /// Belts read, all visits together; and at one site and visit: mean, fewest, most.
    pub belts: usize,
    pub belts_per_site: f64,
    pub fewest_belts: usize,
    pub most_belts: usize,
    /// Mean area of a belt, m2.
    pub area_m2: f64,
    pub animals: f64,
    /// Mean of the site means, per 100 m2.
    pub density_per_100_m2: f64,
    pub density_80: Interval,
    pub density_95: Interval,
    /// Share of belts without any.
    pub empty_belts: f64,
    /// Sites in one visit (their years included). With fewer than two belts at every site: nothing, or what stays of them
    /// where there are several visits.
    pub between_sites: Option<Spread>,
    /// How far a site moves in a year; two visits or more.
    pub site_year: Option<Spread>,
    /// By moments; where a site has two belts.
    pub k_by_moments: Option<Aggregation>,
    /// By conditional maximum likelihood; where it has a top and belts of a site are of one size.
    pub k_by_likelihood: Option<Aggregation>,
    pub warnings: Vec<CountWarning>,
}

impl CountFit {
    /// The k to go on with: that of the likelihood, which is the more certain one, where moments do not speak against it
    /// (95 %); else that of moments, which has the variance right whatever the law. Infinite where nothing tells.
    pub fn k(&self) -> f64 {
        match (self.k_by_moments, self.k_by_likelihood) {
            (Some(moments), Some(likelihood)) if !moments.interval_95.holds(likelihood.k) => moments.k,
            (moments, likelihood) => likelihood.or(moments).map_or(f64::INFINITY, |found| found.k),
        }
    }
}

/// The zones of a pilot that could be fitted, and why others could not.
#[derive(Clone, Debug, Serialize)]
pub struct CountFits {
    pub zones: Vec<CountFit>,
    pub left_out: Vec<String>,
}

/// Fits every zone. A zone with too little data is left out; it is an error only when none is left.
pub fn fit_counts(data: &CountData) -> Result<CountFits, PilotError> {
    let (zones, left_out) = by_zone(&data.zones, |zone| fit_zone(data, zone))?;
    Ok(CountFits { zones, left_out })
}

fn fit_zone(data: &CountData, zone: &CountZone) -> Result<CountFit, PilotError> {
    let belts: Vec<_> = zone.cells.iter().flatten().flatten().copied().collect();
    let animals: f64 = belts.iter().map(|belt| belt.count).sum();
    let with_two = zone.cells.iter().filter(|site| site.iter().any(|cell| cell.len() >= 2)).count();
    if zone.sites.len() < 2 || with_two == 0 {
        let (file, zone_name) = (data.file.clone(), zone.name.clone());
        return Err(PilotError::TooFewBelts { file, zone: zone_name, sites: zone.sites.len(), with_two });
    }
    if animals == 0.0 {
        let column = data.counted.clone();
        return Err(PilotError::NoAnimals { file: data.file.clone(), zone: zone.name.clone(), column });
    }
    let ratios = Jackknifed::of(zone);
    let sizes: Vec<usize> = zone.cells.iter().flatten().map(Vec::len).filter(|belts| *belts > 0).collect();
    let number = belts.len() as f64;
    let (sites_df, years) = (zone.sites.len() as f64 - 1.0, zone.visits.len().max(2) as f64 - 1.0);
    let clumped = Some(libm::expm1(ratios.all.within).max(0.0)).filter(|clumped| clumped.is_finite());
    let visits = sizes.len() as f64;
    // What is weighed has no such chance of its own.
    let noise = if counts_whole(zone) { visits / animals + clumped.unwrap_or(0.0) * visits / number } else { 0.0 };
    let of_means = |df: f64| OfMeans { df, noise };
    let density = |confidence| ratios.interval(|r| r.ln_mean, confidence).map(|x| 100.0 * libm::exp(x));
    let mut fit = CountFit {
        zone: zone.name.clone(),
        sites: zone.sites.len(),
        visits: zone.visits.len(),
        years_apart: years_apart(&zone.visits),
        belts: belts.len(),
        belts_per_site: number / sizes.len() as f64,
        fewest_belts: sizes.iter().copied().min().unwrap_or(0),
        most_belts: sizes.iter().copied().max().unwrap_or(0),
        area_m2: belts.iter().map(|belt| belt.area_m2).sum::<f64>() / number,
        animals,
        density_per_100_m2: 100.0 * libm::exp(ratios.all.ln_mean),
        density_80: density(0.8),
        density_95: density(0.95),
        empty_belts: belts.iter().filter(|belt| belt.count == 0.0).count() as f64 / number,
        between_sites: ratios.spread(of_means(sites_df), |r| libm::expm1(r.one_visit)),
        site_year: ratios.spread(of_means(sites_df * years), |r| libm::exp(r.one_visit) - libm::exp(r.lasting)),
        k_by_moments: ratios.aggregation(),
        k_by_likelihood: likelihood(zone),
        warnings: Vec::new(),
    };
    fit.warnings = CountWarning::of(data.missing, zone, &fit);
    Ok(fit)
}

/// Degrees of freedom of the means of sites in a visit, and the relative variance that chance among their animals and belts
/// gives them.
#[derive(Clone, Copy)]
struct OfMeans {
    df: f64,
    noise: f64,
}

/// The ratios of all sites, and of all but each.
struct Jackknifed {
    all: Ratios,
    without: Vec<Ratios>,
}

impl Jackknifed {
    fn of(zone: &CountZone) -> Self {
        let without = (0..zone.sites.len()).map(|site| Ratios::without(&zone.cells, Some(site))).collect();
        Self { all: Ratios::without(&zone.cells, None), without }
    }

    fn interval(&self, of: impl Fn(&Ratios) -> f64, confidence: f64) -> Interval {
        let left: Vec<f64> = self.without.iter().map(&of).filter(|value| value.is_finite()).collect();
        let number = left.len() as f64;
        let value = of(&self.all);
        if number < 2.0 {
            return Interval { low: f64::NEG_INFINITY, high: f64::INFINITY };
        }
        let error = libm::sqrt(Moments::of(&left).variance() * (number - 1.0) * (number - 1.0) / number);
        let reach = t_quantile(0.5 + 0.5 * confidence, number - 1.0) * error;
        Interval { low: value - reach, high: value + reach }
    }

    /// A relative variance as a spread; its interval on the logarithm of 1 + the variance, and never narrower than that of the
    /// variance of site means less what chance among their animals makes of it.
    fn spread(&self, means: OfMeans, variance: impl Fn(&Ratios) -> f64) -> Option<Spread> {
        let found = variance(&self.all);
        let root = |variance: f64| libm::sqrt(variance.max(0.0));
        // Just above -1 where a difference of mean squares is so negative: nil all the same.
        let log = |ratios: &Ratios| libm::log1p(variance(ratios).max(-0.99));
        let interval = |confidence| {
            let Interval { low, high } = self.interval(log, confidence).map(libm::expm1);
            let OfMeans { df, noise } = means;
            // As if the variance were as little as it can be: none below nothing.
            let all = MeanSquare { value: (noise + found).max(0.0), df };
            let least = chi_squared_interval(all, confidence).map(|all| all - noise);
            Interval { low: root(low.min(least.low)), high: root(high.max(least.high)) }
        };
        let (interval_80, interval_95) = (interval(0.8), interval(0.95));
        found.is_finite().then(|| Spread { share: root(found), interval_80, interval_95 })
    }

    fn aggregation(&self) -> Option<Aggregation> {
        let k = |log_ratio: f64| if log_ratio > 0.0 { 1.0 / libm::expm1(log_ratio) } else { f64::INFINITY };
        let interval = |confidence| {
            let Interval { low, high } = self.interval(|r| r.within, confidence);
            Interval { low: k(high), high: k(low) }
        };
        let (interval_80, interval_95) = (interval(0.8), interval(0.95));
        self.all.within.is_finite().then(|| Aggregation { k: k(self.all.within), interval_80, interval_95 })
    }
}

/// Whether animals were counted, not weighed.
fn counts_whole(zone: &CountZone) -> bool {
    zone.cells.iter().flatten().flatten().all(|belt| belt.count.fract() == 0.0)
}

/// Cells whose belts are of one size; `None` for what is weighed.
fn likelihood(zone: &CountZone) -> Option<Aggregation> {
    if !counts_whole(zone) {
        return None;
    }
    let equal = |cell: &&Vec<super::read::BeltCount>| {
        cell.iter().all(|belt| (belt.area_m2 / cell[0].area_m2 - 1.0).abs() < 1e-9)
    };
    let counts = |cell: &Vec<super::read::BeltCount>| cell.iter().map(|belt| belt.count).collect();
    let sites: Vec<Vec<Vec<f64>>> =
        zone.cells.iter().map(|site| site.iter().filter(equal).map(counts).collect()).collect();
    let found = conditional_k(&sites).ok()?;
    let interval = |confidence: f64| {
        let reach = normal_quantile(0.5 + 0.5 * confidence) * found.log_k_error;
        Interval { low: found.k * libm::exp(-reach), high: found.k * libm::exp(reach) }
    };
    let even = Interval { low: 0.0, high: f64::INFINITY };
    let (interval_80, interval_95) = if found.k.is_finite() { (interval(0.8), interval(0.95)) } else { (even, even) };
    Some(Aggregation { k: found.k, interval_80, interval_95 })
}
