<<<<<<< HEAD
//! Lines of one site: how much they vary at one visit, and how much of that stays at the next.

use super::read::ZoneData;
use crate::analysis::Interval;
use crate::analysis::{MeanSquare, Moments, normal_quantile};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
=======
//! Lines of one site: how much they vary at one visit.

use super::read::ZoneData;
use crate::analysis::{MeanSquare, Moments};
>>>>>>> stats

/// Variation of lines within site and visit, pooled over all cells with two lines or more.
#[derive(Clone, Copy, Debug)]
pub(super) struct WithinCells {
    /// Pooled variance and the degrees of freedom behind it.
    pub square: MeanSquare,
    /// Degrees of freedom that the spread of this variance between sites speaks for: fewer where some sites are patchier
    /// than others. Matched to the jackknife over sites (`2 W^2 / variance of W`), never more than those of `square`.
    pub matched_df: f64,
    /// Sites with a cell of two lines or more.
    pub sites: usize,
    /// Mean of `p (1 - p)` over the same cells, with the same weights.
    pub full_binomial: f64,
    /// Variance that counting adds if points are independent: mean of `x (1 - x) / (points - 1)`; `None` without points.
    pub counting: Option<f64>,
}

pub(super) fn within_cells(zone: &ZoneData) -> Option<WithinCells> {
    let mut of_sites: Vec<(f64, f64)> = Vec::new();
    let (mut full, mut counting) = (0.0, Moments::default());
    for site in &zone.cells {
        let (mut squares, mut df) = (0.0, 0.0);
        for cell in site.iter().filter(|cell| cell.len() >= 2) {
            let covers = Moments::of(&cell.iter().map(|reading| reading.cover).collect::<Vec<_>>());
            let own = cell.len() as f64 - 1.0;
            squares += own * covers.variance();
            df += own;
            // m (1 - m) is too small by the variance of the mean.
            full += own * (covers.mean() * (1.0 - covers.mean()) + covers.variance() / cell.len() as f64);
            for reading in cell {
                if let Some(points) = reading.points.filter(|&points| points >= 2.0) {
                    counting.push(reading.cover * (1.0 - reading.cover) / (points - 1.0));
                }
            }
        }
        if df > 0.0 {
            of_sites.push((squares, df));
        }
    }
    let (squares, df) = of_sites.iter().fold((0.0, 0.0), |sum, site| (sum.0 + site.0, sum.1 + site.1));
    (df > 0.0).then(|| WithinCells {
        square: MeanSquare { value: squares / df, df },
        matched_df: matched_df(&of_sites),
        sites: of_sites.len(),
        full_binomial: full / df,
        counting: (counting.count() > 0).then(|| counting.mean()),
    })
}

/// Degrees of freedom of a pooled variance by the jackknife over sites, given sum of squares and degrees of freedom of each.
fn matched_df(sites: &[(f64, f64)]) -> f64 {
    let (squares, df) = sites.iter().fold((0.0, 0.0), |sum, site| (sum.0 + site.0, sum.1 + site.1));
    let count = sites.len() as f64;
    if sites.len() < 5 || !(squares > 0.0) {
        return df;
    }
    let left: Vec<f64> = sites.iter().map(|site| (squares - site.0) / (df - site.1)).collect();
    let spread = Moments::of(&left).variance() * (count - 1.0) * (count - 1.0) / count;
    let pooled = squares / df;
    (2.0 * pooled * pooled / spread).clamp(1.0, df.max(1.0))
}
<<<<<<< HEAD

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
pub(super) struct Products {
    pub first: f64,
    pub second: f64,
    pub both: f64,
    pub df: f64,
    pub pairs: usize,
}

impl Products {
    fn plus(self, sign: f64, other: &Products) -> Products {
        Products {
            first: self.first + sign * other.first,
            second: self.second + sign * other.second,
            both: self.both + sign * other.both,
            df: self.df + sign * other.df,
            pairs: self.pairs + other.pairs,
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

/// Covariance of the same line between any two visits, its degrees of freedom, and the number of lines and visits behind.
#[derive(Clone, Copy, Debug)]
pub(super) struct StayingLines {
    pub covariance: f64,
    /// Lines less one, over sites; line readings free after site-visit and line means.
    pub df_lines: f64,
    pub df_rest: f64,
    pub visits_per_line: f64,
}

pub(super) fn staying_lines(zone: &ZoneData) -> Option<StayingLines> {
    let mut sum = Products::default();
    let (mut df_lines, mut df_rest, mut lines, mut readings) = (0.0, 0.0, 0.0, 0.0);
    for (site, cells) in zone.cells.iter().enumerate() {
        for second in 1..cells.len() {
            for first in 0..second {
                if let Some(own) = products(zone, site, first, second) {
                    sum = sum.plus(1.0, &own);
                }
            }
        }
        let names: BTreeSet<&str> = cells.iter().flatten().map(|reading| reading.line.as_str()).collect();
        let free: usize = cells.iter().map(|cell| cell.len().saturating_sub(1)).sum();
        let own = names.len().saturating_sub(1) as f64;
        df_lines += own;
        df_rest += (free as f64 - own).max(0.0);
        lines += names.len() as f64;
        readings += cells.iter().map(Vec::len).sum::<usize>() as f64;
    }
    (sum.df > 0.0).then(|| StayingLines {
        covariance: sum.both / sum.df,
        df_lines,
        df_rest,
        visits_per_line: readings / lines,
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
                own = own.plus(1.0, &pair);
                if let (Some(from), Some(to)) = (zone.visits[first].year, zone.visits[first + lag].year) {
                    years.push(to - from);
                }
            }
        }
        if own.df > 0.0 {
            of_sites.push(own);
        }
    }
    let sum = of_sites.iter().fold(Products::default(), |sum, site| sum.plus(1.0, site));
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
    let left: Vec<f64> = sites.iter().map(|site| z(sum.plus(-1.0, site))).filter(|z| z.is_finite()).collect();
    let count = left.len() as f64;
    let jackknife = (Moments::of(&left).variance() * (count - 1.0) * (count - 1.0) / count).sqrt();
    if jackknife > independent { jackknife } else { independent }
}

fn fisher(correlation: f64, error: f64, confidence: f64) -> Interval {
    let z = libm::atanh(correlation.clamp(-0.9999, 0.9999));
    let reach = normal_quantile(0.5 + 0.5 * confidence) * error;
    Interval { low: libm::tanh(z - reach), high: libm::tanh(z + reach) }
}
=======
>>>>>>> stats
