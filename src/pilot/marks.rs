//! The same marked lines at several visits: how much of their differences stays.

use super::read::{Reading, ZoneData};
use crate::analysis::{Interval, Moments, normal_quantile};
use serde::Serialize;
use std::collections::BTreeMap;

/// Correlation of the deviations of the same line, from its site's mean at the visit, between two visits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SameMark {
    /// 1 for consecutive visits.
    pub visits_apart: usize,
    /// Mean years between them, where the visits have years.
    pub years_apart: Option<f64>,
    pub correlation: f64,
    /// Pairs of readings of one line.
    pub pairs: usize,
    /// By Fisher's z (Fisher 1921, Metron 1:3; from memory) on the free deviations, or by the jackknife over sites where
    /// that is wider.
    pub interval_80: Interval,
    pub interval_95: Interval,
}

/// Sums of squares and products of paired deviations, and their degrees of freedom.
#[derive(Clone, Copy, Debug, Default)]
struct Products {
    first: f64,
    second: f64,
    both: f64,
    df: f64,
    pairs: usize,
}

impl Products {
    fn plus(&self, other: &Products) -> Products {
        Products {
            first: self.first + other.first,
            second: self.second + other.second,
            both: self.both + other.both,
            df: self.df + other.df,
            pairs: self.pairs + other.pairs,
        }
    }

    fn without(&self, other: &Products) -> Products {
        Products {
            first: self.first - other.first,
            second: self.second - other.second,
            both: self.both - other.both,
            df: self.df - other.df,
            pairs: self.pairs - other.pairs,
        }
    }

    fn correlation(&self) -> f64 {
        self.both / (self.first * self.second).sqrt()
    }
}

/// Products of the lines that one site has in common at two visits; deviations from the means of these lines.
fn products(zone: &ZoneData, site: usize, first: usize, second: usize) -> Option<Products> {
    let cells = &zone.cells[site];
    let later: BTreeMap<&str, f64> =
        cells[second].iter().map(|reading| (reading.line.as_str(), reading.cover)).collect();
    let pairs: Vec<(f64, f64)> = cells[first]
        .iter()
        .filter_map(|reading| later.get(reading.line.as_str()).map(|&cover| (reading.cover, cover)))
        .collect();
    if pairs.len() < 2 {
        return None;
    }
    let count = pairs.len() as f64;
    let mean = |pick: fn(&(f64, f64)) -> f64| pairs.iter().map(pick).sum::<f64>() / count;
    let (mean_first, mean_second) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let mut sums = Products { df: count - 1.0, pairs: pairs.len(), ..Products::default() };
    for (x, y) in pairs {
        sums.first += (x - mean_first) * (x - mean_first);
        sums.second += (y - mean_second) * (y - mean_second);
        sums.both += (x - mean_first) * (y - mean_second);
    }
    Some(sums)
}

/// Covariance of the same line between any two visits, and the degrees of freedom behind it.
#[derive(Clone, Copy, Debug)]
pub(super) struct StayingLines {
    pub covariance: f64,
    /// Lines read twice or more, less one, over sites; their readings free after site-visit and line means.
    pub df_lines: f64,
    pub df_rest: f64,
    /// Harmonic mean over these lines.
    pub visits_per_line: f64,
}

pub(super) fn staying_lines(zone: &ZoneData) -> Option<StayingLines> {
    let mut sum = Products::default();
    let (mut df_lines, mut df_rest, mut lines, mut inverse) = (0.0, 0.0, 0.0, 0.0);
    for (site, cells) in zone.cells.iter().enumerate() {
        for second in 1..cells.len() {
            for first in 0..second {
                if let Some(own) = products(zone, site, first, second) {
                    sum = sum.plus(&own);
                }
            }
        }
        // Only lines that were read twice or more say what stays.
        let mut times: BTreeMap<&str, f64> = BTreeMap::new();
        for reading in cells.iter().flatten() {
            *times.entry(reading.line.as_str()).or_default() += 1.0;
        }
        times.retain(|_, visits| *visits >= 2.0);
        let of_cell =
            |cell: &Vec<Reading>| cell.iter().filter(|reading| times.contains_key(reading.line.as_str())).count();
        let free: usize = cells.iter().map(|cell| of_cell(cell).saturating_sub(1)).sum();
        let own = times.len().saturating_sub(1) as f64;
        df_lines += own;
        df_rest += (free as f64 - own).max(0.0);
        lines += times.len() as f64;
        inverse += times.values().map(|visits| 1.0 / visits).sum::<f64>();
    }
    (sum.df > 0.0).then(|| StayingLines {
        covariance: sum.both / sum.df,
        df_lines,
        df_rest,
        visits_per_line: lines / inverse,
    })
}

/// Correlations by the number of visits between, from 1 on; lags without three free deviations are left out.
pub(super) fn same_mark_correlations(zone: &ZoneData) -> Vec<SameMark> {
    (1..zone.visits.len()).filter_map(|lag| same_mark_correlation(zone, lag)).collect()
}

fn same_mark_correlation(zone: &ZoneData, lag: usize) -> Option<SameMark> {
    let (mut of_sites, mut years) = (Vec::new(), Moments::default());
    for site in 0..zone.sites.len() {
        let mut own = Products::default();
        for first in 0..zone.visits.len() - lag {
            if let Some(pair) = products(zone, site, first, first + lag) {
                own = own.plus(&pair);
                if let (Some(from), Some(to)) = (zone.visits[first].year, zone.visits[first + lag].year) {
                    years.push(to - from);
                }
            }
        }
        if own.df > 0.0 {
            of_sites.push(own);
        }
    }
    let sum = of_sites.iter().fold(Products::default(), |sum, site| sum.plus(site));
    let correlation = sum.correlation();
    if !(sum.df >= 3.0) || !correlation.is_finite() {
        return None;
    }
    let error = error_of_z(&of_sites, &sum);
    Some(SameMark {
        visits_apart: lag,
        years_apart: (years.count() > 0).then(|| years.mean()),
        correlation,
        pairs: sum.pairs,
        interval_80: fisher(correlation, error, 0.8),
        interval_95: fisher(correlation, error, 0.95),
    })
}

/// Standard error of `atanh(r)`: `1 / sqrt(df - 2)` for independent pairs of deviations (df + 1 pairs less three), or the
/// jackknife over sites where that is larger.
fn error_of_z(sites: &[Products], sum: &Products) -> f64 {
    let independent = 1.0 / (sum.df - 2.0).max(1.0).sqrt();
    if sites.len() < 5 {
        return independent;
    }
    let z = |products: Products| libm::atanh(products.correlation().clamp(-0.9999, 0.9999));
    let left: Vec<f64> = sites.iter().map(|site| z(sum.without(site))).filter(|z| z.is_finite()).collect();
    let count = left.len() as f64;
    let jackknife = (Moments::of(&left).variance() * (count - 1.0) * (count - 1.0) / count).sqrt();
    if jackknife > independent { jackknife } else { independent }
}

fn fisher(correlation: f64, error: f64, confidence: f64) -> Interval {
    let z = libm::atanh(correlation.clamp(-0.9999, 0.9999));
    let reach = normal_quantile(0.5 + 0.5 * confidence) * error;
    Interval { low: libm::tanh(z - reach), high: libm::tanh(z + reach) }
}
