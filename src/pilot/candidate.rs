//! A reef on trial: what lines read on it would vary by, in theory.

use super::calibrate::OutOfReach;
use crate::analysis::ColonyIndicator;
use crate::design::{
    HARD_CORAL, Observers, Question, Scope, Sides, SiteScale, Study, TestKind, TestSpec, Visits, Zone,
};
use crate::reef::ReefSpec;
use crate::survey::coral_belt::CoralBelt;
use crate::survey::{Dimensions, MethodKind, MethodSpec, UnitMinutes};
use crate::theory::{CoralError, Kernels, Shape, UnitMoments, ZoneError, ZoneTheory};
use serde::Serialize;

/// How the lines of a pilot were read, and on sites of which size (metres).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Taken {
    pub dimensions: Dimensions,
    pub site_length_m: f64,
    pub site_width_m: f64,
}

impl Taken {
    /// Length and width of a site.
    pub fn site(&self) -> (f64, f64) {
        (self.site_length_m, self.site_width_m)
    }
}

/// A reef with the part of its theory that does not depend on cover.
pub(super) struct Candidate {
    pub spec: ReefSpec,
    pub cover: f64,
    shape: Shape,
    taken: Taken,
}

/// What one visit to a candidate gives (variances of shares).
#[derive(Clone, Copy, Debug)]
pub(super) struct OneVisit {
    /// SD between whole sites with which the pair of lines comes nearest to what was asked.
    pub between_sites_sd: f64,
    /// Variance between lines of one site, counting included.
    pub within: f64,
    /// Covariance of two lines of one site.
    pub pair: f64,
}

impl OneVisit {
    /// Whether sites of this reef differ by more than was asked, however little they differ for good.
    pub fn is_above(&self, pair: f64) -> bool {
        self.pair > pair * (1.0 + TOLERANCE)
    }
}

/// Relative accuracy of variances that are solved for.
pub(super) const TOLERANCE: f64 = 1e-4;

impl Candidate {
    pub fn new(spec: ReefSpec, cover: f64, taken: Taken) -> Self {
        let shape = Shape::new(&spec, &Kernels::of_cells(&spec));
        Self { spec, cover, shape, taken }
    }

    /// The spread of whole sites with which two lines of one site share the covariance `pair`; where the reef varies by
    /// more along its length alone, the least there is.
    pub fn with_pair(&self, pair: f64) -> Result<OneVisit, OutOfReach> {
        // Lines of a site share what the site has and a little more, hardly depending on how much sites differ: the
        // difference, taken off again and again, converges in a few steps.
        let mut between = pair;
        let mut at_floor = false;
        let mut found = None;
        for _ in 0..12 {
            match self.one_visit(between.max(0.0).sqrt()) {
                Ok(visit) => {
                    found = Some(visit);
                    if at_floor || (visit.pair / pair - 1.0).abs() < 0.1 * TOLERANCE {
                        break;
                    }
                    between += pair - visit.pair;
                }
                Err(CoralError::SpreadBelowFloor(floor)) => {
                    // The least spread, a hair above the floor so that rounding does not fall below it.
                    between = (floor * (1.0 + 1e-7)).powi(2);
                    let least = self.one_visit(between.sqrt()).map_err(|_| OutOfReach::SitesTooFar { most: floor })?;
                    found = Some(least);
                    at_floor = least.pair >= pair;
                    if at_floor {
                        break;
                    }
                    between += pair - least.pair;
                }
                Err(CoralError::SpreadOutOfReach(most)) => return Err(OutOfReach::SitesTooFar { most }),
                Err(_) => return Err(OutOfReach::TooPatchyToCompute),
            }
        }
        found.ok_or(OutOfReach::TooPatchyToCompute)
    }

    fn one_visit(&self, between_sites_sd: f64) -> Result<OneVisit, CoralError> {
        let study = study(Question::Status, NO_VISITS, self.taken.dimensions);
        let moments = self.moments(&study, between_sites_sd, 0.0)?;
        Ok(OneVisit { between_sites_sd, within: moments.variance[0] - moments.pair[0], pair: moments.pair[0] })
    }

    /// Moments of a line at two visits between which nothing happens but the usual.
    pub fn two_visits(
        &self,
        between_sites_sd: f64,
        site_year_sd: f64,
        visits: Visits,
    ) -> Result<UnitMoments, CoralError> {
        self.moments(
            &study(Question::BetweenTheseVisits, visits, self.taken.dimensions),
            between_sites_sd,
            site_year_sd,
        )
    }

    fn moments(&self, study: &Study, between_sites_sd: f64, site_year_sd: f64) -> Result<UnitMoments, CoralError> {
        let zone = Zone {
            sites: vec![2],
            between_sites_sd,
            site_year_sd,
            ..Zone::bare(self.spec, (self.taken.site_length_m, self.taken.site_width_m), self.cover)
        };
        let theory = match ZoneTheory::with_shape(study, &zone, self.shape.clone()) {
            Ok(theory) => theory,
            Err(ZoneError::Coral(error)) => return Err(error),
            // A zone without other kinds of bottom has no errors of them; were there one, this reef cannot be used.
            Err(ZoneError::Bottom(_) | ZoneError::Animal { .. } | ZoneError::Fish { .. } | ZoneError::Recruits(_)) => {
                return Err(CoralError::TooPatchy(f64::NAN));
            }
        };
        Ok(match self.taken.dimensions {
            dimensions @ Dimensions::CoralBelt { .. } => self.as_cover(theory.colony_moments(
                study,
                (&CoralBelt::default(), dimensions),
                ColonyIndicator::Density,
            )),
            dimensions => theory.moments(study, &zone, HARD_CORAL, dimensions),
        })
    }

    /// Numbers of colonies as the cover that they make: visible colonies times the mean area of a disc are the cover, in
    /// every site.
    fn as_cover(&self, mut moments: UnitMoments) -> UnitMoments {
        let area = self.shape.discs.mean_area;
        moments.mean.iter_mut().for_each(|mean| *mean *= area);
        for values in [&mut moments.variance, &mut moments.pair, &mut moments.same_marks, &mut moments.across] {
            values.iter_mut().for_each(|value| *value *= area * area);
        }
        moments
    }
}

/// Not looked at with one visit.
const NO_VISITS: Visits = Visits {
    years_apart: 1.0,
    sites: crate::design::Sites::Same,
    places: crate::design::Places::NewPlaces,
    relay_sd_m: 0.0,
    renewal_per_year: 0.0,
    drift_years: 1.0,
};

/// A study without changes: only the reef and the visits matter to moments, and whether colonies are counted.
fn study(question: Question, visits: Visits, dimensions: Dimensions) -> Study {
    let belts = match dimensions {
        Dimensions::CoralBelt { length_m, width_m } => vec![MethodSpec {
            kind: MethodKind::CoralBelt {
                length_m: vec![length_m],
                width_m: vec![width_m],
                belt: CoralBelt::default(),
                classes_m: vec![],
                growth_m: 0.01,
            },
            units: vec![1],
            minutes: UnitMinutes { lay: 0.0, read: 0.0, ashore: None },
        }],
        _ => Vec::new(),
    };
    Study {
        title: String::new(),
        scope: Scope::AllSuchReefs,
        question,
        test: TestSpec { kind: TestKind::PairedT, scale: SiteScale::Plain, alpha: 0.05, sides: Sides::Two, seen: 0.8 },
        visits,
        observers: Observers::perfect(),
        zones: Vec::new(),
        changes: Vec::new(),
        methods: belts,
        placement: Default::default(),
        also_report: Vec::new(),
    }
}
