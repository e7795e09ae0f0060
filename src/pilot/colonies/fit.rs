//! What measured colonies say: sizes, dead parts, and the numbers of belts.

use super::between_sites::colony_variation;
use super::read::{ColoniesTaken, ColonyData, ColonyZone, Measured};
use super::size_law::{SizeFit, Sized, cut, levelled, median_and_ln_sd};
use crate::analysis::{Interval, Moments, t_quantile};
use crate::design::ColonyVariation;
use crate::pilot::by_zone::by_zone;
use crate::pilot::counts::{BeltCount, CountData, CountFit, CountZone, fit_counts};
use crate::pilot::error::PilotError;
use crate::reef::SMALLEST_DIAMETER_M;
use crate::reef::colonies::{PartialMortality, REFERENCE_M, log_odds};
use crate::theory::colonies::counting_area;
use crate::theory::root;
use serde::Serialize;

/// What a pilot of measured colonies says of one zone.
#[derive(Clone, Debug, Serialize)]
pub struct ColonyFit {
    /// `None` when the pilot has no zones.
    pub zone: Option<String>,
    pub sites: usize,
    pub visits: usize,
    pub belts: usize,
    pub colonies: usize,
    /// The law of measured diameters: of the disc with the area of the ellipse, or of the largest diameter alone where no
    /// second was measured.
    pub measured: SizeFit,
    /// The same of the living part: the disc with the area of the ellipse less its dead parts. These are the discs of cover.
    pub living: SizeFit,
    /// Median of the largest diameter as written, m.
    pub median_longest_m: f64,
    /// Share of colonies with dead parts and their mean dead share, by classes of the largest diameter; empty where no dead
    /// parts were told.
    pub dead: Vec<DeadClass>,
    /// Rise of the log odds of having dead parts with every doubling of the largest diameter, and one standard error.
    pub dead_per_doubling: Option<(f64, f64)>,
    /// The law of dead parts that virtual colonies follow; where the pilot tells none, or too few, that of open records.
    pub partial_mortality: PartialMortality,
    /// How the colonies of its sites, and of their years, differ beyond chance.
    pub colony_variation: ColonyVariation,
    /// Mean living share of a colony; of sites like these, with one standard error.
    pub live_share: Option<(f64, f64)>,
    /// Colonies counted for each that belongs to the belt by its centre: what the edge rule makes of the number.
    pub edge_factor: f64,
    /// Colonies per m2 by their centres, and its interval of 80 %; where the area of belts is known.
    pub density_per_m2: Option<(f64, Interval)>,
    /// How the numbers of belts vary; where the area of belts is known and a site has two belts.
    pub counts: Option<CountFit>,
}

/// Dead parts in one class of the largest diameter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DeadClass {
    pub from_m: f64,
    /// Infinite for the last.
    pub to_m: f64,
    pub colonies: usize,
    pub with_dead_parts: f64,
    pub mean_dead: f64,
}

#[derive(Clone, Debug, Serialize)]
pub struct ColonyFits {
    pub zones: Vec<ColonyFit>,
    pub left_out: Vec<String>,
}

/// Limits of the classes in which dead parts are told, m.
const CLASSES_M: [f64; 5] = [0.0, 0.1, 0.2, 0.4, 0.8];

/// Fits every zone. A zone with too few colonies is left out; it is an error only when none is left.
pub fn fit_colonies(data: &ColonyData, taken: &ColoniesTaken) -> Result<ColonyFits, PilotError> {
    let (zones, left_out) = by_zone(&data.zones, |zone| {
        fit_zone(data, zone, taken).ok_or_else(|| PilotError::TooFewColonies {
            file: data.file.clone(),
            zone: zone.name.clone(),
            colonies: zone.colonies().count(),
        })
    })?;
    Ok(ColonyFits { zones, left_out })
}

fn fit_zone(data: &ColonyData, zone: &ColonyZone, taken: &ColoniesTaken) -> Option<ColonyFit> {
    let of_sites: Vec<Vec<Measured>> =
        zone.cells.iter().map(|site| site.iter().flatten().flatten().copied().collect()).collect();
    let all: Vec<Measured> = of_sites.iter().flatten().copied().collect();
    let roundness = roundness(&all);
    let diameter = |colony: &Measured| equal_disc(colony, roundness);
    let living = |colony: &Measured| diameter(colony) * libm::sqrt((1.0 - dead_of(colony)).max(1e-4));
    // Sizes are cut where the ruler writes the least colony; second diameters shift that a little.
    let least_m = (taken.least_m - 0.5 * taken.ruler_m).max(SMALLEST_DIAMETER_M) * roundness.unwrap_or(1.0);
    let partial_mortality = partial_mortality(&all).unwrap_or_default();
    let colony_variation = colony_variation(zone, &partial_mortality);
    let sites_differ = colony_variation.ln_diameter.between_sites > 0.0;
    let law =
        |of: &dyn Fn(&Measured) -> f64| size_fit(zone, (of, sites_differ), least_m.max(SMALLEST_DIAMETER_M), taken);
    let longest: Vec<f64> = all.iter().map(|colony| colony.longest_m).collect();
    let weights: Vec<f64> = all.iter().map(|colony| edge_weight(taken, diameter(colony))).collect();
    let edge_factor = all.len() as f64 / weights.iter().sum::<f64>();
    let counts = counts(data, zone, taken);
    let density = counts.as_ref().map(|fit| {
        let per_m2 = |per_100_m2: f64| per_100_m2 / 100.0 / edge_factor;
        (per_m2(fit.density_per_100_m2), fit.density_80.map(per_m2))
    });
    let sizes: Vec<usize> = zone.cells.iter().flatten().map(Vec::len).collect();
    Some(ColonyFit {
        zone: zone.name.clone(),
        sites: zone.sites.len(),
        visits: zone.visits.len(),
        belts: sizes.iter().map(|&belts| if belts == 0 { 0 } else { taken.belts.unwrap_or(belts).max(belts) }).sum(),
        colonies: all.len(),
        measured: law(&diameter)?,
        living: law(&living)?,
        median_longest_m: crate::analysis::sizes::median(&longest)?,
        dead: dead_classes(&all),
        dead_per_doubling: dead_per_doubling(&of_sites),
        partial_mortality,
        colony_variation,
        live_share: live_share(&of_sites),
        edge_factor,
        density_per_m2: density,
        counts,
    })
}

/// Root of the mean ratio of the second diameter to the largest; `None` where no second was measured.
fn roundness(colonies: &[Measured]) -> Option<f64> {
    let logs: Vec<f64> =
        colonies.iter().filter_map(|colony| Some(libm::log(colony.across_m? / colony.longest_m))).collect();
    (!logs.is_empty()).then(|| libm::exp(0.5 * crate::analysis::mean(&logs)))
}

/// Diameter of the disc with the area of the ellipse; a colony without a second diameter is as round as the others are.
fn equal_disc(colony: &Measured, roundness: Option<f64>) -> f64 {
    match colony.across_m {
        Some(across) => libm::sqrt(colony.longest_m * across),
        None => colony.longest_m * roundness.unwrap_or(1.0),
    }
}

/// The dead share of a colony: as told, or what colonies of its size have in the mean (`reef::colonies::mortality`).
fn dead_of(colony: &Measured) -> f64 {
    const USUAL: PartialMortality = PartialMortality::USUAL;
    let usual = || USUAL.share_with_dead_parts(colony.longest_m) * USUAL.mean_dead_share_where_any(colony.longest_m);
    colony.dead.unwrap_or_else(usual)
}

/// Area of the belt over that in which the edge rule counts a colony of this diameter (m).
fn edge_weight(taken: &ColoniesTaken, diameter_m: f64) -> f64 {
    let Some(belt) = taken.belt_m else { return 1.0 };
    let area = counting_area(taken.edge, belt, 0.5 * diameter_m);
    // A colony that should not have been counted counts as the largest that should.
    belt.0 * belt.1 / area.max(0.01 * belt.0 * belt.1)
}

/// The law of sizes of a zone. What sites differ by is told apart ([`ColonyFit::colony_variation`]), so that it is not in the
/// spread of sizes too.
fn size_fit(
    zone: &ColonyZone,
    (of, sites_differ): (&dyn Fn(&Measured) -> f64, bool),
    least_m: f64,
    taken: &ColoniesTaken,
) -> Option<SizeFit> {
    let sized = |colony: &Measured| {
        let diameter_m = of(colony);
        Sized { diameter_m, weight: edge_weight(taken, diameter_m) }
    };
    let cell = |belts: &Vec<Vec<Measured>>| -> Vec<Sized> {
        belts.iter().flatten().map(sized).filter(|sized| sized.diameter_m > least_m).collect()
    };
    let of_sites: Vec<Vec<Vec<Sized>>> = zone.cells.iter().map(|site| site.iter().map(cell).collect()).collect();
    // One law of all, or that within cells.
    let cells = |without: Option<usize>| -> Vec<Vec<Sized>> {
        let sites = of_sites.iter().enumerate().filter(|(site, _)| Some(*site) != without);
        let cells: Vec<Vec<Sized>> = sites.flat_map(|(_, cells)| cells).cloned().collect();
        if sites_differ { levelled(&cells) } else { vec![cells.concat()] }
    };
    let all = cells(None);
    let max_m = cut(&all)?;
    let (median_m, ln_sd) = median_and_ln_sd(&all, (least_m, max_m), taken.ruler_m)?;
    let without = |site: usize| median_and_ln_sd(&cells(Some(site)), (least_m, max_m), taken.ruler_m);
    let left: Vec<(f64, f64)> = (0..of_sites.len()).filter_map(without).collect();
    let ln_medians: Vec<f64> = left.iter().map(|fit| libm::log(fit.0)).collect();
    let ln_sds: Vec<f64> = left.iter().map(|fit| fit.1).collect();
    let (ln_median_error, ln_sd_error) = (jackknife(&ln_medians), jackknife(&ln_sds));
    Some(SizeFit { median_m, ln_sd, max_m, ln_median_error, ln_sd_error })
}

/// One standard error from the values with each site left out; NaN with one site.
fn jackknife(left: &[f64]) -> f64 {
    let number = left.len() as f64;
    libm::sqrt(Moments::of(left).variance() * (number - 1.0) * (number - 1.0) / number)
}

fn dead_classes(colonies: &[Measured]) -> Vec<DeadClass> {
    let ends = CLASSES_M.iter().copied().skip(1).chain([f64::INFINITY]);
    let classes = CLASSES_M.iter().copied().zip(ends).filter_map(|(from_m, to_m)| {
        let of_class = colonies.iter().filter(|colony| from_m <= colony.longest_m && colony.longest_m < to_m);
        let dead: Vec<f64> = of_class.filter_map(|colony| colony.dead).collect();
        let number = dead.len() as f64;
        (number > 0.0).then(|| DeadClass {
            from_m,
            to_m,
            colonies: dead.len(),
            with_dead_parts: dead.iter().filter(|dead| **dead > 0.0).count() as f64 / number,
            mean_dead: dead.iter().sum::<f64>() / number,
        })
    });
    classes.collect()
}

/// Logistic regression of having dead parts on the binary logarithm of the largest diameter, by Newton's steps; its error by
/// the jackknife over sites. `None` without dead parts or where they part by size without overlap.
fn dead_per_doubling(of_sites: &[Vec<Measured>]) -> Option<(f64, f64)> {
    let slope = |left_out: Option<usize>| {
        let sites = of_sites.iter().enumerate().filter(|(site, _)| Some(*site) != left_out);
        logistic(&has_dead_parts(sites.flat_map(|(_, colonies)| colonies))).map(|(_, slope)| slope)
    };
    let found = slope(None)?;
    let left: Vec<f64> = (0..of_sites.len()).filter_map(|site| slope(Some(site))).collect();
    Some((found, jackknife(&left)))
}

/// Binary logarithm of the diameter over the reference, and whether there are dead parts (0 or 1).
fn has_dead_parts<'a>(colonies: impl Iterator<Item = &'a Measured>) -> Vec<(f64, f64)> {
    let told =
        |colony: &Measured| Some((libm::log2(colony.longest_m / REFERENCE_M), f64::from(u8::from(colony.dead? > 0.0))));
    colonies.filter_map(told).collect()
}

/// The law of dead parts that these colonies show, to the digits worth writing. The share of recent ones stays the usual one:
/// columns of dead parts are added up. `None` where they show none.
fn partial_mortality(colonies: &[Measured]) -> Option<PartialMortality> {
    let (at, rise) = logistic(&has_dead_parts(colonies.iter()))?;
    let dead = |colony: &&Measured| colony.dead.is_some_and(|dead| dead > 0.0);
    let partly: Vec<&Measured> = colonies.iter().filter(dead).collect();
    let mean = partly.iter().filter_map(|colony| colony.dead).sum::<f64>() / partly.len() as f64;
    // Colonies of all sizes together have the mean dead share that was written.
    let too_much = |dead_log_odds: f64| {
        let law = PartialMortality { dead_log_odds, ..PartialMortality::USUAL };
        let all = partly.iter().map(|colony| law.mean_dead_share_where_any(colony.longest_m)).sum::<f64>();
        all / partly.len() as f64 - mean
    };
    let dead_log_odds = root(-8.0, 8.0, 1e-9, too_much)?;
    let law = PartialMortality { log_odds: at, rise_per_doubling: rise, dead_log_odds, ..PartialMortality::USUAL };
    let (colonies, dead) = law.at_reference();
    // To a thousandth, and never all or none.
    let tidy = |share: f64| log_odds(((1e3 * share).round() / 1e3).clamp(1e-3, 1.0 - 1e-3));
    let rise_per_doubling = ((100.0 * rise).round() / 100.0).clamp(-3.0, 3.0);
    Some(PartialMortality { log_odds: tidy(colonies), rise_per_doubling, dead_log_odds: tidy(dead), ..law })
}

/// Log odds at nil, and their rise.
fn logistic(told: &[(f64, f64)]) -> Option<(f64, f64)> {
    let (mut at, mut slope) = (0.0, 0.0);
    for _ in 0..50 {
        let (mut g0, mut g1, mut h00, mut h01, mut h11) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for &(x, dead) in told {
            let chance = 1.0 / (1.0 + libm::exp(-(at + slope * x)));
            let weight = chance * (1.0 - chance);
            g0 += dead - chance;
            g1 += (dead - chance) * x;
            h00 += weight;
            h01 += weight * x;
            h11 += weight * x * x;
        }
        let determinant = h00 * h11 - h01 * h01;
        if !(determinant > 1e-9) {
            return None;
        }
        let step = ((h11 * g0 - h01 * g1) / determinant, (h00 * g1 - h01 * g0) / determinant);
        at += step.0;
        slope += step.1;
        if step.0.abs() + step.1.abs() < 1e-10 {
            return Some((at, slope));
        }
    }
    None
}

/// Mean over sites of the mean living share of their colonies.
fn live_share(of_sites: &[Vec<Measured>]) -> Option<(f64, f64)> {
    let of_site = |colonies: &Vec<Measured>| {
        let live: Vec<f64> = colonies.iter().filter_map(|colony| Some(1.0 - colony.dead?)).collect();
        (!live.is_empty()).then(|| crate::analysis::mean(&live))
    };
    let means = Moments::of(&of_sites.iter().filter_map(of_site).collect::<Vec<_>>());
    (means.count() > 0).then(|| (means.mean(), means.mean_measured().error))
}

/// The numbers of colonies of belts, as counts of animals are fitted. Belts that the table does not have were empty, where
/// it was told how many there are.
fn counts(data: &ColonyData, zone: &ColonyZone, taken: &ColoniesTaken) -> Option<CountFit> {
    let (length, width) = taken.belt_m?;
    let cell = |belts: &Vec<Vec<Measured>>| {
        let mut counts: Vec<f64> = belts.iter().map(|belt| belt.len() as f64).collect();
        if !counts.is_empty() {
            counts.resize(taken.belts.unwrap_or(0).max(counts.len()), 0.0);
        }
        counts.into_iter().map(|count| BeltCount { count, area_m2: length * width }).collect()
    };
    let zone = CountZone {
        name: zone.name.clone(),
        sites: zone.sites.clone(),
        visits: zone.visits.clone(),
        cells: zone.cells.iter().map(|site| site.iter().map(cell).collect()).collect(),
    };
    let (file, rows) = (data.file.clone(), data.rows);
    let data =
        CountData { file, counted: "colonies".to_owned(), zones: vec![zone], rows, missing: 0, doubts: Vec::new() };
    fit_counts(&data).ok().map(|mut fits| fits.zones.remove(0))
}

impl ColonyFit {
    /// Whether what sites differ by in size is told apart from the law of sizes, which is then that within sites.
    pub fn sites_are_apart(&self) -> bool {
        self.colony_variation.ln_diameter.between_sites > 0.0
    }
}

impl SizeFit {
    /// Interval of the median, on its logarithm, with t on the number of sites less one.
    pub fn median_interval(&self, sites: usize, confidence: f64) -> Interval {
        let reach = t_quantile(0.5 + 0.5 * confidence, (sites as f64 - 1.0).max(1.0)) * self.ln_median_error;
        Interval { low: self.median_m * libm::exp(-reach), high: self.median_m * libm::exp(reach) }
    }
}
