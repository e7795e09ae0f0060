//! Sites over visits: spread of sites, of years, and of sites within years, from the means of site and visit.
//!
//! Estimators of moments by pairs of visits. Over the sites that both visits of a pair have, the covariance of the two
//! means is the variance between sites, half the variance of their differences is that of site x year, and half the square
//! of the mean difference is that of years, each after taking off what the lines bring. For a full table with equal numbers
//! of lines this is the analysis of variance (tested); with sites or lines missing every pair still has the right
//! expectation, which weighted mean squares do not, and no distribution is assumed. Pairs are weighted by their sites less
//! one (years: by their sites).

use super::lines::WithinCells;
use super::marks::StayingLines;
use super::read::ZoneData;
use crate::analysis::{MeanSquare, Moments, Part, covariance, mean, satterthwaite};

/// A component as it comes (it may be negative) and the two mean squares whose difference it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Difference {
    pub above: MeanSquare,
    pub below: MeanSquare,
}

impl Difference {
    pub fn signed(&self) -> f64 {
        self.above.value - self.below.value
    }
}

#[derive(Clone, Copy, Debug)]
pub(super) struct OverVisits {
    pub between_sites: Difference,
    pub site_year: Difference,
    /// With three visits or more.
    pub year: Option<Difference>,
}

/// `None` when no two visits have two sites in common.
pub(super) fn over_visits(zone: &ZoneData, within: &WithinCells, staying: Option<&StayingLines>) -> Option<OverVisits> {
    let means = site_visit_means(zone);
    let pooled = pairs_of_visits(zone, &means, within, staying)?;
    let df = Degrees::of(&means)?;
    let lines_df = staying.map_or(within.matched_df, |staying| staying.df_rest.max(1.0));
    let site_year = Difference {
        above: MeanSquare { value: pooled.half_differences, df: df.site_year },
        below: MeanSquare { value: pooled.lines_in_differences, df: lines_df },
    };
    // The variance of a site's mean over its visits holds the site, its site x year averaged, and its lines.
    let averaged = Part { variance: pooled.half_differences / df.visits_per_site, df: df.site_year };
    let lines =
        Part { variance: pooled.lines_in_covariance, df: staying.map_or(f64::INFINITY, |s| s.df_lines.max(1.0)) };
    let rest = satterthwaite(&[averaged, lines]);
    let signed = pooled.covariance - pooled.lines_in_covariance;
    let between_sites = Difference {
        above: MeanSquare { value: (signed + rest.variance).max(0.0), df: df.sites },
        below: MeanSquare { value: (signed + rest.variance).max(0.0) - signed, df: rest.df },
    };
    let year = (zone.visits.len() >= 3).then_some(Difference {
        above: MeanSquare { value: pooled.half_mean_differences, df: df.visits },
        below: MeanSquare { value: pooled.noise_of_means, df: df.site_year },
    });
    Some(OverVisits { between_sites, site_year, year })
}

/// `means[site][visit]`: mean cover and number of lines.
fn site_visit_means(zone: &ZoneData) -> Vec<Vec<Option<(f64, f64)>>> {
    let cell_mean = |cell: &Vec<super::read::Reading>| {
        let count = cell.len() as f64;
        (count > 0.0).then(|| (cell.iter().map(|reading| reading.cover).sum::<f64>() / count, count))
    };
    zone.cells.iter().map(|site| site.iter().map(cell_mean).collect()).collect()
}

/// Weighted means over all pairs of visits.
#[derive(Default)]
struct Pooled {
    covariance: f64,
    lines_in_covariance: f64,
    half_differences: f64,
    lines_in_differences: f64,
    half_mean_differences: f64,
    noise_of_means: f64,
}

fn pairs_of_visits(
    zone: &ZoneData,
    means: &[Vec<Option<(f64, f64)>>],
    within: &WithinCells,
    staying: Option<&StayingLines>,
) -> Option<Pooled> {
    let mut sum = Pooled::default();
    let (mut weights, mut site_weights) = (0.0, 0.0);
    for second in 1..zone.visits.len() {
        for first in 0..second {
            let (mut firsts, mut seconds, mut differences) = (Vec::new(), Vec::new(), Vec::new());
            let (mut own_lines, mut shared_lines) = (Vec::new(), Vec::new());
            for (site, row) in means.iter().enumerate() {
                let (Some((x, lines_x)), Some((y, lines_y))) = (row[first], row[second]) else { continue };
                firsts.push(x);
                seconds.push(y);
                differences.push(y - x);
                own_lines.push(within.square.value * (1.0 / lines_x + 1.0 / lines_y));
                let common = common_lines(zone, site, first, second);
                shared_lines.push(staying.map_or(0.0, |staying| staying.covariance * common / (lines_x * lines_y)));
            }
            let sites = firsts.len() as f64;
            if sites < 2.0 {
                continue;
            }
            let weight = sites - 1.0;
            weights += weight;
            site_weights += sites;
            let spread = Moments::of(&differences);
            sum.covariance += weight * covariance(&firsts, &seconds);
            sum.lines_in_covariance += weight * mean(&shared_lines);
            sum.half_differences += weight * 0.5 * spread.variance();
            sum.lines_in_differences += weight * (0.5 * mean(&own_lines) - mean(&shared_lines));
            sum.half_mean_differences += sites * 0.5 * spread.mean() * spread.mean();
            sum.noise_of_means += 0.5 * spread.variance();
        }
    }
    (weights > 0.0).then(|| Pooled {
        covariance: sum.covariance / weights,
        lines_in_covariance: sum.lines_in_covariance / weights,
        half_differences: sum.half_differences / weights,
        lines_in_differences: (sum.lines_in_differences / weights).max(0.0),
        half_mean_differences: sum.half_mean_differences / site_weights,
        noise_of_means: sum.noise_of_means / site_weights,
    })
}

fn common_lines(zone: &ZoneData, site: usize, first: usize, second: usize) -> f64 {
    let cells = &zone.cells[site];
    let has = |line: &str| cells[second].iter().any(|reading| reading.line == line);
    cells[first].iter().filter(|reading| has(&reading.line)).count() as f64
}

/// Degrees of freedom of the table of sites and visits.
struct Degrees {
    sites: f64,
    visits: f64,
    site_year: f64,
    /// Harmonic mean over the sites seen twice or more.
    visits_per_site: f64,
}

impl Degrees {
    fn of(means: &[Vec<Option<(f64, f64)>>]) -> Option<Self> {
        let counts: Vec<f64> =
            means.iter().map(|row| row.iter().flatten().count() as f64).filter(|&visits| visits >= 2.0).collect();
        let visits = means.first()?.len() as f64;
        let sites = counts.len() as f64;
        let cells: f64 = counts.iter().sum();
        Some(Self {
            sites: (sites - 1.0).max(1.0),
            visits: (visits - 1.0).max(1.0),
            site_year: (cells - sites - visits + 1.0).max(1.0),
            visits_per_site: sites / counts.iter().map(|count| 1.0 / count).sum::<f64>(),
        })
    }
}
