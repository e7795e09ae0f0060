use super::coral::{CoralAsked, CoralError, CoralPairs, calibrate};
use super::curve::Curve;
use super::intensity::LogNormal;
use super::pairs::{PairOfUnits, Unit};
use super::placement::{smeared, variance_of_intercept, variance_of_points, variance_of_random_points};
use super::shape::{Kernels, Shape};
use super::unit_moments::UnitMoments;
use crate::design::{HARD_CORAL, Places, Question, Sites, Study, Zone};
use crate::reef::{CoralLaw, CoralReef};
use crate::survey::Dimensions;

/// The closed forms of one zone: its calibrated corals and their covariances.
#[derive(Clone, Debug)]
pub struct ZoneTheory {
    pub law: CoralLaw,
    pub shape: Shape,
    /// For each change of the study: the SD between sites that the law implies by itself.
    pub implied_change_sd: Vec<f64>,
    /// Covariance of coral at two points, by distance, in each state; and from the first visit to each state.
    within: Vec<Curve>,
    across: Vec<Curve>,
    /// The same across visits, smeared by the tape's displacement.
    relaid: Vec<Curve>,
    site: (f64, f64),
}

/// What the law is asked for a zone of a study.
pub fn coral_asked(study: &Study, zone: &Zone) -> CoralAsked {
    let two = study.question.visits() == 2;
    CoralAsked {
        spec: zone.reef,
        cover: zone.cover,
        between_sites_sd: zone.between_sites_sd,
        site_year_sd: if two { zone.site_year_sd } else { 0.0 },
        site: (zone.length_m, zone.width_m),
        field_memory: study.visits.field_memory(),
        same_colonies: study.visits.same_colonies(),
        changes: study
            .changes
            .iter()
            .map(|change| {
                if change.indicator == HARD_CORAL {
                    (zone.cover * change.ratio(), change.differs_between_sites_sd)
                } else {
                    (zone.cover, None)
                }
            })
            .collect(),
    }
}

impl ZoneTheory {
    pub fn new(study: &Study, zone: &Zone) -> Result<Self, CoralError> {
        let shape = Shape::new(&zone.reef, &Kernels::of_cells(&zone.reef));
        Self::with_shape(study, zone, shape)
    }

    /// The same from a shape that is at hand (it depends on the reef's spec alone and is the dearest part).
    pub fn with_shape(study: &Study, zone: &Zone, shape: Shape) -> Result<Self, CoralError> {
        let asked = coral_asked(study, zone);
        let calibration = calibrate(&asked, &shape)?;
        let law = calibration.law;
        let states = states_of(study);
        let pairs = CoralPairs { law: &law, shape: &shape };
        let reach = libm::hypot(zone.length_m, zone.width_m);
        let bare = |state: usize| pairs.bare(state);
        let within: Vec<Curve> =
            (0..states).map(|s| Curve::new(reach, KNOTS, |h| pairs.bare_within(s, h) - bare(s) * bare(s))).collect();
        let across: Vec<Curve> = (0..states)
            .map(|s| match s {
                0 => within[0].clone(),
                _ => Curve::new(reach, KNOTS, |h| pairs.bare_across(s, h) - bare(0) * bare(s)),
            })
            .collect();
        let relaid = match study.visits.places {
            Places::SameMarks if states > 1 => {
                across.iter().map(|curve| smeared(curve, study.visits.relay_sd_m)).collect()
            }
            _ => Vec::new(),
        };
        Ok(Self {
            law,
            shape,
            implied_change_sd: calibration.implied_change_sd,
            within,
            across,
            relaid,
            site: (zone.length_m, zone.width_m),
        })
    }

    /// The virtual reef that follows this law.
    pub fn coral_reef(&self) -> CoralReef {
        let variance = self.law.patch_variance_over_a_point;
        CoralReef::new(self.law.clone(), |ln_u| {
            1.0 - self.shape.intensity.bare(LogNormal { mean: libm::exp(ln_u), variance })
        })
    }

    /// Moments of hard-coral cover read by one unit.
    pub fn coral_moments(&self, dimensions: Dimensions) -> UnitMoments {
        let unit = unit_of(dimensions);
        let pair = PairOfUnits::new(self.site, unit);
        let variance = |curve: &Curve, at_zero: f64| match dimensions {
            Dimensions::PointIntercept { spacing_m, .. } => {
                variance_of_points(at_zero, dimensions.points().unwrap_or(1), spacing_m, |h| curve.at(h))
            }
            Dimensions::LineIntercept { length_m } => variance_of_intercept(length_m, |h| curve.at(h)),
            Dimensions::PhotoBelt { length_m, width_m, points } => {
                variance_of_random_points(at_zero, points, (length_m, width_m), |h| curve.at(h))
            }
            Dimensions::Components => f64::NAN,
        };
        let states = self.within.len();
        let of_within = |s: usize| variance(&self.within[s], self.within[s].at(0.0));
        let same_marks = (0..states)
            .map(|s| match self.relaid.get(s) {
                // The points of a photo belt are thrown anew at each visit.
                Some(curve) if s > 0 => match dimensions {
                    Dimensions::PhotoBelt { length_m, width_m, .. } => {
                        super::placement::variance_of_rectangle(length_m, width_m, |h| curve.at(h))
                    }
                    _ => variance(curve, curve.at(0.0)),
                },
                _ => f64::NAN,
            })
            .collect();
        UnitMoments {
            mean: self.law.states.iter().map(|state| state.cover).take(states).collect(),
            variance: (0..states).map(of_within).collect(),
            pair: (0..states).map(|s| pair.mean(|h| self.within[s].at(h))).collect(),
            same_marks,
            across: (0..states).map(|s| pair.mean(|h| self.across[s].at(h))).collect(),
            one_sided: false,
        }
    }
}

const KNOTS: usize = 360;

/// Number of states of a study: the first visit, and the second (or the other group) without and under each change.
pub fn states_of(study: &Study) -> usize {
    if study.question == Question::Status { 1 } else { 2 + study.changes.len() }
}

/// Whether the two visits (or groups) see the same sites.
pub fn same_sites(study: &Study) -> bool {
    study.question.visits() == 2 && study.visits.sites == Sites::Same
}

/// Whether the tapes of the second visit lie at the marks of the first.
pub fn same_marks(study: &Study) -> bool {
    same_sites(study) && study.visits.places == Places::SameMarks
}

fn unit_of(dimensions: Dimensions) -> Unit {
    match dimensions {
        Dimensions::PointIntercept { length_m, spacing_m } => {
            Unit::Points { length_m, number: dimensions.points().unwrap_or(1), spacing_m }
        }
        Dimensions::LineIntercept { length_m } => Unit::Line { length_m },
        Dimensions::PhotoBelt { length_m, width_m, .. } => Unit::Strip { length_m, width_m },
        Dimensions::Components => Unit::Line { length_m: 0.0 },
    }
}

impl ZoneTheory {
    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        fn keep<T: Clone>(all: &mut Vec<T>, state: usize) {
            if all.len() > state {
                *all = vec![all[0].clone(), all[1].clone(), all[state].clone()];
            }
        }
        keep(&mut self.law.states, state);
        keep(&mut self.within, state);
        keep(&mut self.across, state);
        keep(&mut self.relaid, state);
        self.implied_change_sd = vec![self.implied_change_sd[state - 2]];
    }
}
