//! Variance components of a pilot survey.

use super::error::PilotError;
use super::lines::{WithinCells, within_cells};
use super::marks::{SameMark, StayingLines, same_mark_correlations, staying_lines};
use super::read::{PilotData, ZoneData};
use super::sites::{Difference, OverVisits, over_visits};
use super::visits::years_apart;
use super::warning::PilotWarning;
use crate::analysis::{Interval, MeanSquare, Moments, OneWay, chi_squared_interval, difference_interval};
use crate::pilot::by_zone::by_zone;
use serde::Serialize;

/// A standard deviation in shares of cover, kept at 0 when its variance came out negative, and where it may lie.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Component {
    pub sd: f64,
    pub interval_80: Interval,
    pub interval_95: Interval,
}

impl Component {
    fn of(variance: f64, interval: impl Fn(f64) -> Interval) -> Self {
        let root = |confidence: f64| interval(confidence).map(|x| x.max(0.0).sqrt());
        Self { sd: variance.max(0.0).sqrt(), interval_80: root(0.8), interval_95: root(0.95) }
    }
}

/// What a pilot survey says about one zone. Everything is in shares of cover (0 to 1).
///
/// Model: cover of a line = mean + site + year + site x year + line in site (on the same marks only) + rest. Two levels
/// (one visit) by unbalanced analysis of variance ([`OneWay`]); several visits by moments over pairs of visits
/// (`pilot::sites` says why). Intervals of components by the modified large-sample method, of the lines by chi-squared with
/// degrees of freedom lowered where sites differ in patchiness. Both are for roughly normal values; with few sites they are
/// wide, and rightly so. With a table full of holes the tests find 76-83 % of truths in the 80 % intervals and 92-97 % in
/// those of 95 %.
#[derive(Clone, Debug, Serialize)]
pub struct PilotFit {
    /// `None` when the pilot has no zones.
    pub zone: Option<String>,
    pub sites: usize,
    pub visits: usize,
    /// Mean years between consecutive visits, where their names tell years.
    pub years_apart: Option<f64>,
    /// Readings of lines, all visits together.
    pub lines: usize,
    /// Lines at one site and visit: mean, fewest, most.
    pub lines_per_site: f64,
    pub fewest_lines: usize,
    pub most_lines: usize,
    /// Mean of the site means, and one standard error of it as a mean of sites like these.
    pub mean: f64,
    pub mean_error: f64,
    /// Between sites, lines taken out. With one visit it holds the site x year part as well.
    pub between_sites: Component,
    /// How sites change from visit to visit beyond the common change; two visits or more.
    pub site_year: Option<Component>,
    /// How the mean of all sites differs between visits, a trend included; three visits or more.
    pub year: Option<Component>,
    /// Between lines of one site at one visit, counting included.
    pub between_lines: Component,
    /// The part of it that stays with the mark; same marks and two visits or more.
    pub line_in_site: Option<Component>,
    pub points_per_line: Option<f64>,
    /// Independent points that would vary as lines do: `p (1 - p)` over the variance between lines. The interval is that of
    /// the variance.
    pub effective_points_per_line: f64,
    pub effective_points_80: Interval,
    pub effective_points_95: Interval,
    /// The part of `between_lines` that counting points would bring if points were independent (SD); evenly spaced points
    /// bring less.
    pub counting_sd: Option<f64>,
    /// Between consecutive visits; `None` unless lines lie on the same marks.
    pub same_mark_correlation: Option<SameMark>,
    /// By the number of visits apart.
    pub correlation_by_lag: Vec<SameMark>,
    pub warnings: Vec<PilotWarning>,
}

/// The zones of a pilot that could be fitted, and why others could not.
#[derive(Clone, Debug, Serialize)]
pub struct PilotFits {
    pub zones: Vec<PilotFit>,
    /// One message for each zone left out.
    pub left_out: Vec<String>,
}

/// Fits every zone of a pilot. A zone with too little data is left out; it is an error only when none is left.
pub fn fit_pilot(data: &PilotData) -> Result<PilotFits, PilotError> {
    let (zones, left_out) = by_zone(&data.zones, |zone| fit_zone(data, zone))?;
    Ok(PilotFits { zones, left_out })
}

fn fit_zone(data: &PilotData, zone: &ZoneData) -> Result<PilotFit, PilotError> {
    let within = within_cells(zone);
    let too_few = || PilotError::TooFew {
        file: data.file.clone(),
        zone: zone.name.clone(),
        sites: zone.sites.len(),
        with_two: within.as_ref().map_or(0, |within| within.sites),
    };
    let within = within.filter(|_| zone.sites.len() >= 2).ok_or_else(too_few)?;
    let staying = if data.same_marks { staying_lines(zone) } else { None };
    let over = over_visits(zone, &within, staying.as_ref());
    let between_sites = match &over {
        Some(over) => of_difference(&over.between_sites),
        None => between_sites_of_single_visits(zone, &within).ok_or_else(too_few)?,
    };
    let counts: Vec<usize> = zone.cells.iter().flatten().map(Vec::len).filter(|&lines| lines > 0).collect();
    let lines: usize = counts.iter().sum();
    let site_means = Moments::of(&site_means(zone));
    let correlation_by_lag = if data.same_marks { same_mark_correlations(zone) } else { Vec::new() };
    let effective = effective_points(&within);
    let mut fit = PilotFit {
        zone: zone.name.clone(),
        sites: zone.sites.len(),
        visits: zone.visits.len(),
        years_apart: years_apart(&zone.visits),
        lines,
        lines_per_site: lines as f64 / counts.len() as f64,
        fewest_lines: counts.iter().copied().min().unwrap_or(0),
        most_lines: counts.iter().copied().max().unwrap_or(0),
        mean: site_means.mean(),
        mean_error: site_means.mean_measured().error,
        between_sites,
        site_year: over.as_ref().map(|over| of_difference(&over.site_year)),
        year: over.as_ref().and_then(|over| over.year.as_ref()).map(of_difference),
        between_lines: Component::of(within.square.value, |confidence| lines_interval(&within, confidence)),
        line_in_site: staying.as_ref().map(|staying| staying_component(staying, &within)),
        points_per_line: points_per_line(zone),
        effective_points_per_line: within.full_binomial / within.square.value,
        effective_points_80: effective(0.8),
        effective_points_95: effective(0.95),
        counting_sd: within.counting.map(f64::sqrt),
        same_mark_correlation: correlation_by_lag.first().copied(),
        correlation_by_lag,
        warnings: Vec::new(),
    };
    fit.warnings = warnings(data, zone, &fit, &within, over.as_ref());
    Ok(fit)
}

fn of_difference(difference: &Difference) -> Component {
    Component::of(difference.signed(), |confidence| difference_interval(difference.above, difference.below, confidence))
}

/// Without sites in common between visits: analysis of variance of the one visit, or sites within visits pooled.
fn between_sites_of_single_visits(zone: &ZoneData, within: &WithinCells) -> Option<Component> {
    let of_visit = |visit: usize| -> Vec<Vec<f64>> {
        let lines = |site: &Vec<Vec<super::read::Reading>>| site[visit].iter().map(|reading| reading.cover).collect();
        zone.cells.iter().map(lines).filter(|cell: &Vec<f64>| !cell.is_empty()).collect()
    };
    if zone.visits.len() == 1 {
        let fit = OneWay::of(&of_visit(0))?;
        return Some(Component::of(fit.between_signed(), |confidence| fit.between_interval(confidence)));
    }
    let (mut spread, mut lines, mut df) = (0.0, 0.0, 0.0);
    for visit in 0..zone.visits.len() {
        let cells = of_visit(visit);
        if cells.len() >= 2 {
            let own = cells.len() as f64 - 1.0;
            let means: Vec<f64> = cells.iter().map(|cell| crate::analysis::mean(cell)).collect();
            let inverse = cells.iter().map(|cell| 1.0 / cell.len() as f64).sum::<f64>() / cells.len() as f64;
            spread += own * crate::analysis::variance(&means);
            lines += own * within.square.value * inverse;
            df += own;
        }
    }
    (df > 0.0).then(|| {
        of_difference(&Difference {
            above: MeanSquare { value: spread / df, df },
            below: MeanSquare { value: lines / df, df: within.matched_df },
        })
    })
}

fn lines_interval(within: &WithinCells, confidence: f64) -> Interval {
    chi_squared_interval(MeanSquare { value: within.square.value, df: within.matched_df }, confidence)
}

fn staying_component(staying: &StayingLines, within: &WithinCells) -> Component {
    let rest = (within.square.value - staying.covariance).max(0.0) / staying.visits_per_line;
    of_difference(&Difference {
        above: MeanSquare { value: (staying.covariance + rest).max(0.0), df: staying.df_lines.max(1.0) },
        below: MeanSquare {
            value: (staying.covariance + rest).max(0.0) - staying.covariance,
            df: staying.df_rest.max(1.0),
        },
    })
}

fn effective_points(within: &WithinCells) -> impl Fn(f64) -> Interval {
    let within = *within;
    move |confidence| {
        let variance = lines_interval(&within, confidence);
        Interval { low: within.full_binomial / variance.high, high: within.full_binomial / variance.low }
    }
}

/// Each site's mean over its visits, every visit counting once.
fn site_means(zone: &ZoneData) -> Vec<f64> {
    let cell_mean =
        |cell: &Vec<super::read::Reading>| cell.iter().map(|reading| reading.cover).sum::<f64>() / cell.len() as f64;
    zone.cells
        .iter()
        .map(|site| Moments::of(&site.iter().filter(|cell| !cell.is_empty()).map(cell_mean).collect::<Vec<_>>()).mean())
        .collect()
}

fn points_per_line(zone: &ZoneData) -> Option<f64> {
    let points: Vec<f64> = zone.cells.iter().flatten().flatten().filter_map(|reading| reading.points).collect();
    (!points.is_empty()).then(|| crate::analysis::mean(&points))
}

fn warnings(
    data: &PilotData,
    zone: &ZoneData,
    fit: &PilotFit,
    within: &WithinCells,
    over: Option<&OverVisits>,
) -> Vec<PilotWarning> {
    let mut list = Vec::new();
    let mut when = |condition: bool, warning: PilotWarning| {
        if condition {
            list.push(warning);
        }
    };
    when(data.missing > 0, PilotWarning::MissingRows { rows: data.missing });
    when(data.not_whole > 0, PilotWarning::HitsNotWhole { rows: data.not_whole });
    when(data.perhaps_shares, PilotWarning::PerhapsShares);
    let Interval { low, high } = fit.between_sites.interval_80;
    when(fit.sites < 10, PilotWarning::FewSites { sites: fit.sites, low, high });
    let Interval { low, high } = fit.between_lines.interval_80;
    when(fit.lines < 70, PilotWarning::FewLines { lines: fit.lines, low, high });
    when(fit.visits == 1, PilotWarning::OneVisit);
    when(fit.visits > 1 && over.is_none(), PilotWarning::NoCommonSites);
    when(fit.visits == 2 && over.is_some(), PilotWarning::TwoVisits);
    let components = [
        ("the spread between sites", Some(fit.between_sites)),
        ("the part of a site's own years", fit.site_year),
        ("the part of years shared by all sites", fit.year),
        ("the part of lines that stays with the mark", fit.line_in_site),
    ];
    for (component, found) in components {
        when(found.is_some_and(|found| found.interval_80.low == 0.0), PilotWarning::NilComponent { component });
    }
    when(within.square.value == 0.0, PilotWarning::LinesDoNotVary);
    when(data.same_marks && zone.visits.len() > 1 && fit.correlation_by_lag.is_empty(), PilotWarning::MarksDoNotMatch);
    let counted = within.counting.is_some_and(|counting| within.square.value < 0.8 * counting);
    when(counted && within.square.value > 0.0, PilotWarning::LinesTooEven);
    list
}
