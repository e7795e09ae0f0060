//! Lines of one site: how much they vary at one visit.

use super::read::ZoneData;
use crate::analysis::{MeanSquare, Moments};

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
