//! Calibration: from what a scenario says of a zone's corals to the parameters of the law, by closed form.

use super::deaths::{DeathsOutOfReach, Left, LeftInPlace, deaths_to};
use super::intensity::{BareSeries, LogNormal, shared_intensity};
use super::placement::distance_density;
use super::quadrature::{Rule, root};
use super::shape::Shape;
use crate::design::ColonyDeaths;
use crate::reef::{CoralLaw, CoralState, Deaths, ReefSpec};
use std::sync::LazyLock;
use thiserror::Error;

/// What a zone and the visits ask of the law.
#[derive(Clone, Debug)]
pub struct CoralAsked {
    pub spec: ReefSpec,
    /// Mean cover at the first visit.
    pub cover: f64,
    /// SD of the true cover of whole sites in one visit.
    pub between_sites_sd: f64,
    /// How much the true cover of a site moves from year to year when nothing happens: SD of a year's deviation, so that
    /// one year's difference has this times the root of two. The drift of the along-reef field over a year is part of it.
    pub site_year_sd: f64,
    /// Size of a site, m.
    pub site: (f64, f64),
    /// Correlation of the fields between the visits, and over one year.
    pub field_memory: f64,
    pub yearly_memory: f64,
    pub same_colonies: f64,
    pub changes: Vec<CoralChange>,
}

/// What is asked of one change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoralChange {
    /// Cover at the second visit.
    pub cover: f64,
    /// SD between sites of the true change, where it was asked.
    pub differs_sd: Option<f64>,
    /// How colonies die, where not all have the same chance.
    pub deaths: Option<ColonyDeaths>,
}

impl CoralChange {
    /// A change to this cover that is the same for all colonies and sites.
    pub fn to(cover: f64) -> Self {
        Self { cover, differs_sd: None, deaths: None }
    }
}

/// Why the law cannot be what was asked; values are covers (shares).
#[derive(Clone, Debug, PartialEq, Error)]
pub enum CoralError {
    #[error("the along-reef variation of this reef alone gives whole sites an SD of {0:.4}, more than was asked")]
    SpreadBelowFloor(f64),
    #[error("sites of this mean cover cannot differ so much on this reef: the largest SD within reach is {0:.4}")]
    SpreadOutOfReach(f64),
    #[error("the site-by-year SD can be at most the SD between sites of one visit less the along-reef part, {0:.4}")]
    SiteYearOutOfReach(f64),
    #[error("the change cannot differ so much between sites: the largest SD within reach is {0:.4}")]
    ChangeSpreadOutOfReach(f64),
    #[error("{why}")]
    Deaths { change: usize, why: DeathsOutOfReach },
    #[error("the variance of ln density would be {0:.2}; the largest this reef can be computed with is 4")]
    TooPatchy(f64),
}

/// A calibrated law together with what was found on the way.
#[derive(Clone, Debug)]
pub struct CoralCalibration {
    pub law: CoralLaw,
    /// For each change: the SD between sites of the true change that the law implies without any further spread. Where
    /// less was asked, this is what the reef does.
    pub implied_change_sd: Vec<f64>,
}

/// The covariance over pairs of points of a site, averaged, that defines the truth of whole sites.
struct SiteTruth<'a> {
    shape: &'a Shape,
    /// Distances of two random points of the site and their probabilities.
    pairs: Vec<(f64, f64)>,
}

impl SiteTruth<'_> {
    /// `Cov(truth of a site in state 1, in state 2)` where ln intensity shares `constant` everywhere and `along_share`
    /// of the along-reef field, and no colony has a better chance than another.
    fn covariance(&self, first: LogNormal, second: LogNormal, constant: f64, along_share: f64) -> f64 {
        let (first, second) = (self.shape.intensity.series(1.0, first), self.shape.intensity.series(1.0, second));
        let both = |shared: f64, _| first.both_bare(&second, shared);
        self.mean(constant, along_share, both) - first.bare() * second.bare()
    }

    /// The same within a state that has its deaths.
    fn covariance_after(&self, left: &Left, second: LogNormal, constant: f64) -> f64 {
        let series = left.series(&self.shape.intensity, second);
        let bare = left.bare(&series);
        self.mean(constant, 1.0, |shared, h| left.both_bare(&series, shared, h)) - bare * bare
    }

    /// The same between the first visit and that state.
    fn covariance_until(&self, left: &Left, first: LogNormal, second: LogNormal, constant: f64) -> f64 {
        let (first, second) = (self.shape.intensity.series(1.0, first), left.series(&self.shape.intensity, second));
        let both = |shared: f64, _| left.both_bare_with(&first, &second, shared);
        self.mean(constant, 1.0, both) - first.bare() * left.bare(&second)
    }

    /// Mean over pairs of points, from what they share of ln intensity and their distance.
    fn mean(&self, constant: f64, along_share: f64, both_bare: impl Fn(f64, f64) -> f64) -> f64 {
        let at = |h: f64| both_bare(constant + along_share * self.shape.along(h), h);
        self.pairs.iter().map(|&(h, weight)| weight * at(h)).sum()
    }
}

/// Solves the law for what is asked.
pub fn calibrate(asked: &CoralAsked, shape: &Shape) -> Result<CoralCalibration, CoralError> {
    let truth = SiteTruth { shape, pairs: site_pairs(asked.site.0, asked.site.1) };
    let field_variance = shape.patch(0.0) + shape.along(0.0);
    let at = |cover: f64, variance: f64| -> Result<LogNormal, CoralError> {
        let mean = shape.intensity.mean_for_cover(cover, variance).ok_or(CoralError::TooPatchy(variance))?;
        Ok(LogNormal { mean, variance })
    };
    let spread = |site_total: f64| -> Result<f64, CoralError> {
        let u = at(asked.cover, field_variance + site_total)?;
        Ok(truth.covariance(u, u, site_total, 1.0))
    };
    let site_total = solve_spread(asked.between_sites_sd, 4.0 - field_variance, spread)?;
    let first = at(asked.cover, field_variance + site_total)?;
    let total = truth.covariance(first, first, site_total, 1.0);
    let site_year = solve_site_year(asked.site_year_sd, site_total, |site| {
        total - truth.covariance(first, first, site, asked.yearly_memory)
    })?;
    let site = site_total - site_year;

    let mut states = vec![CoralState::even(asked.cover, first.mean); 2];
    let mut implied_change_sd = Vec::new();
    let persistent = truth.covariance(first, first, site, 1.0);
    for (number, change) in asked.changes.iter().enumerate() {
        // The second visit before its deaths, and those.
        let second = |extra: f64| -> Result<(LogNormal, Option<Deaths>), CoralError> {
            let variance = first.variance + extra;
            let Some(deaths) = &change.deaths else { return Ok((at(change.cover, variance)?, None)) };
            let before = LogNormal { mean: first.mean, variance };
            let deaths = deaths_to(change.cover, deaths, &shape.discs, (&shape.intensity, before));
            Ok((before, Some(deaths.map_err(|why| CoralError::Deaths { change: number, why })?)))
        };
        let change_variance = |extra: f64| -> Result<f64, CoralError> {
            let (second, deaths) = second(extra)?;
            let left = Left::new(deaths.as_ref(), &shape.discs);
            let own = truth.covariance_after(&left, second, site + extra);
            let cross = truth.covariance_until(&left, first, second, site);
            Ok((own + persistent - 2.0 * cross).max(0.0))
        };
        let implied = change_variance(0.0)?.sqrt();
        implied_change_sd.push(implied);
        let extra = match change.differs_sd {
            Some(sd) if sd > implied => {
                let highest = (4.0 - first.variance).max(0.0);
                let reachable = change_variance(highest)?.sqrt();
                root(0.0, highest, 1e-12, |extra| change_variance(extra).map_or(f64::NAN, |v| v - sd * sd))
                    .ok_or(CoralError::ChangeSpreadOutOfReach(reachable))?
            }
            _ => 0.0,
        };
        let (before, deaths) = second(extra)?;
        states.push(CoralState { cover: change.cover, mean_intensity: before.mean, change_sd: extra.sqrt(), deaths });
    }
    let law = CoralLaw {
        spec: asked.spec,
        mean_area_m2: shape.discs.mean_area,
        site_sd: site.sqrt(),
        site_year_sd: site_year.sqrt(),
        field_memory: asked.field_memory,
        same_colonies: asked.same_colonies,
        states,
        patch_variance_over_a_point: shape.patch(0.0),
    };
    Ok(CoralCalibration { law, implied_change_sd })
}

/// The variance of ln density that all of a site shares in one visit, for the SD asked.
fn solve_spread(sd: f64, highest: f64, spread: impl Fn(f64) -> Result<f64, CoralError>) -> Result<f64, CoralError> {
    let floor = spread(0.0)?;
    if sd * sd < floor {
        // A spread that equals the floor to rounding is the floor.
        return if sd * sd > floor * (1.0 - 1e-6) { Ok(0.0) } else { Err(CoralError::SpreadBelowFloor(floor.sqrt())) };
    }
    let reachable = spread(highest)?;
    root(0.0, highest, 1e-12, |v| spread(v).map_or(f64::NAN, |found| found - sd * sd))
        .ok_or(CoralError::SpreadOutOfReach(reachable.sqrt()))
}

/// The part of that variance that belongs to the site's year; `lost(site)` is the variance of the truth that goes in a
/// year when only `site` persists.
fn solve_site_year(sd: f64, site_total: f64, lost: impl Fn(f64) -> f64) -> Result<f64, CoralError> {
    // The drift of a year alone may move the sites as much as was asked, or more; no further effect is then added.
    if sd * sd <= lost(site_total) {
        return Ok(0.0);
    }
    let most = lost(0.0);
    if sd * sd > most {
        return Err(CoralError::SiteYearOutOfReach(most.max(0.0).sqrt()));
    }
    let site = root(0.0, site_total, 1e-12, |site| lost(site) - sd * sd);
    site.map(|site| site_total - site).ok_or(CoralError::SiteYearOutOfReach(most.max(0.0).sqrt()))
}

/// Distances between two uniform points of a rectangle with their probabilities: quadrature of the distance density
/// (piecewise form from memory, checked against the two-dimensional integral), split at its kinks.
pub fn site_pairs(length: f64, width: f64) -> Vec<(f64, f64)> {
    let (a, b) = (length.max(width), length.min(width));
    let diagonal = libm::hypot(a, b);
    static RULE: LazyLock<Rule> = LazyLock::new(|| Rule::legendre(24));
    let mut pairs = Vec::new();
    for (low, high) in [(0.0, b), (b, a), (a, diagonal)] {
        if high - low < 1e-12 {
            continue;
        }
        for (x, w) in RULE.pairs() {
            // x^2 (3 - 2x) removes the square-root ends.
            let r = low + (high - low) * x * x * (3.0 - 2.0 * x);
            let jacobian = (high - low) * 6.0 * x * (1.0 - x);
            pairs.push((r, w * jacobian * distance_density(r, a, b)));
        }
    }
    let total: f64 = pairs.iter().map(|(_, weight)| weight).sum();
    pairs.iter_mut().for_each(|(_, weight)| *weight /= total);
    pairs
}

/// The two-point law of one zone's corals: how often two points are bare together, in one state or across two.
pub struct CoralPairs<'a> {
    law: &'a CoralLaw,
    shape: &'a Shape,
    points: Vec<Point>,
}

/// A point in one state.
struct Point {
    /// The intensity over it, before deaths.
    u: LogNormal,
    left: Left,
    /// For each kind of place the series of the intensity left.
    whole: Vec<BareSeries>,
}

impl<'a> CoralPairs<'a> {
    pub fn new(law: &'a CoralLaw, shape: &'a Shape) -> Self {
        let fields = shape.patch(0.0) + shape.along(0.0);
        let along = law.spec.along.sd * law.spec.along.sd;
        let points = law.states.iter().enumerate().map(|(state, of)| {
            let u = LogNormal { mean: of.mean_intensity, variance: fields + law.slow_variance(state) - along };
            let left = Left::new(of.deaths.as_ref(), &shape.discs);
            Point { u, whole: left.series(&shape.intensity, u), left }
        });
        Self { law, shape, points: points.collect() }
    }

    /// P(both bare) at distance `h` in one state.
    pub fn bare_within(&self, state: usize, h: f64) -> f64 {
        let Point { u, left, whole } = &self.points[state];
        let change = self.law.states[state].change_sd;
        let constant = self.law.site_sd.powi(2) + self.law.site_year_sd.powi(2) + change * change;
        let covariance = self.shape.patch(h) + self.shape.along(h) + constant;
        let discs = &self.shape.discs;
        if discs.overlap(h) == 0.0 {
            return left.both_bare(whole, covariance, h);
        }
        let places = left.places();
        let pair = |(k, l, chance): (usize, usize, f64)| {
            let half = 0.25 * (places[k].overlap(discs, h) + places[l].overlap(discs, h));
            // Two near points of which one was hit: more would be common than one of them has left, were patches not large
            // against colonies. Such pairs are rare.
            let own = |place: usize| self.shape.intensity.series((places[place].intensity - half).max(0.0), *u);
            chance
                * if k == l {
                    let one = own(k);
                    one.both_bare(&one, covariance)
                } else {
                    own(k).both_bare(&own(l), covariance)
                }
        };
        left.pairs(h).map(pair).sum()
    }

    /// P(bare at a point at the first visit and at distance `h` in `state` of the second).
    pub fn bare_across(&self, state: usize, h: f64) -> f64 {
        let law = self.law;
        let (first, second) = (&self.points[0], &self.points[state]);
        let covariance = law.field_memory * (self.shape.patch(h) + self.shape.along(h)) + law.site_sd * law.site_sd;
        let discs = &self.shape.discs;
        if discs.overlap(h) == 0.0 {
            return second.left.both_bare_with(&first.whole[0], &second.whole, covariance);
        }
        let fields = self.shape.patch(0.0) + self.shape.along(0.0);
        let change = law.states[state].change_sd;
        let difference = 2.0 * fields * (1.0 - law.field_memory) + 2.0 * law.site_year_sd.powi(2) + change * change;
        let shared = law.same_colonies * shared_intensity(first.u.mean, second.u.mean, difference);
        let place = |place: &LeftInPlace| {
            let half_overlap = 0.5 * shared * place.overlap(discs, h);
            let one = self.shape.intensity.series(1.0 - half_overlap / first.u.mean, first.u);
            let two = self.shape.intensity.series(place.intensity - half_overlap / second.u.mean, second.u);
            place.share * one.both_bare(&two, covariance)
        };
        second.left.places().iter().map(place).sum()
    }

    /// P(bare at a point here in `state`, and at a point of another zone in a state there), whose ln intensities have this
    /// covariance. What strikes in patches strikes each zone by itself.
    pub fn bare_elsewhere(&self, state: usize, (other, there): (&CoralPairs, usize), covariance: f64) -> f64 {
        let (one, two) = (&self.points[state], &other.points[there]);
        let kinds = one.left.places().iter().zip(&one.whole);
        kinds.map(|(place, own)| place.share * two.left.both_bare_with(own, &two.whole, covariance)).sum()
    }

    /// P(both bare) of two random points of a site in one state, were patches and colonies drawn anew at each: what the
    /// truth of whole sites has in common. `pairs` are the site's distances, [`site_pairs`].
    pub fn truth_within(&self, state: usize, pairs: &[(f64, f64)]) -> f64 {
        let law = self.law;
        let change = law.states[state].change_sd;
        let constant = law.site_sd.powi(2) + law.site_year_sd.powi(2) + change * change;
        let Point { left, whole, .. } = &self.points[state];
        let both = |h: f64| left.both_bare(whole, self.shape.along(h) + constant, h);
        pairs.iter().map(|&(h, weight)| weight * both(h)).sum()
    }

    /// The same between the first visit and a state of the second.
    pub fn truth_across(&self, state: usize, pairs: &[(f64, f64)]) -> f64 {
        let law = self.law;
        let (first, second) = (&self.points[0].whole[0], &self.points[state]);
        let shared = |h: f64| law.field_memory * self.shape.along(h) + law.site_sd * law.site_sd;
        let both = |h: f64| second.left.both_bare_with(first, &second.whole, shared(h));
        pairs.iter().map(|&(h, weight)| weight * both(h)).sum()
    }

    /// P(both bare) across the visits where the second visit saw other sites: independent.
    pub fn bare(&self, state: usize) -> f64 {
        1.0 - self.law.states[state].cover
    }
}
