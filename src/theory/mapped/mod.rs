//! What one unit tells on a map: the exact mean and variance over all places where it may lie.
//!
//! On a mapped reef nothing is drawn but where units lie (and what is chance within one: points thrown into a photograph,
//! colonies that are missed). Two units laid without regard to each other then share nothing, and the moments of one are
//! averages over its starts. They are taken over an even sequence of some thousand starts, not a random one (`starts`),
//! with bottom looked at point by point; the simulation draws its starts by keys and reads chords, runs of pixels and sets of
//! points.

mod belts;
mod bottom;
mod frames;
mod quadrats;
mod starts;
mod sums;

use super::clusters::Meeting;
use super::unit_moments::{LayoutMoments, UnitMoments};
use super::zone::{same_marks, states_of};
use crate::design::{DENSITY_AREA_M2, HARD_CORAL, LARGEST_RECRUIT_M, PRESENCE, RECRUIT_DENSITY, Study, Zone, ZoneMap};
use crate::reef::map::{Loss, MappedReef};
use crate::survey::{Dimensions, Ground, MethodKind};
use std::sync::OnceLock;

/// The moments of every kind of unit of a study on one mapped reef; each is worked out when it is first asked for.
#[derive(Clone, Debug)]
pub struct MapTheory {
    pub reef: MappedReef,
    ground: Ground,
    /// SD of how far a unit at the same marks is laid from where it was, m per axis; nil of new places.
    relay_sd: Option<f64>,
    kinds: Vec<KindOfUnit>,
}

/// A method with one choice of dimensions, and what its units tell, by the name of the indicator.
#[derive(Clone, Debug)]
struct KindOfUnit {
    kind: MethodKind,
    told: OnceLock<Vec<(String, UnitMoments)>>,
}

impl MapTheory {
    pub fn new(study: &Study, zone: &Zone, map: &ZoneMap) -> Self {
        let losses: Vec<Loss> = study
            .changes
            .iter()
            .map(|change| match change.indicator.as_str() {
                HARD_CORAL => Loss::Coral { left: change.ratio() },
                RECRUIT_DENSITY => Loss::Small { below_m: LARGEST_RECRUIT_M, left: change.ratio() },
                name => Loss::Animals { name: name.to_owned(), left: change.ratio() },
            })
            .collect();
        let two = states_of(study) > 1;
        let kinds = study.methods.iter().flat_map(|method| {
            let of = |dimensions| KindOfUnit { kind: method.kind.only(dimensions), told: OnceLock::new() };
            method.kind.dimensions().into_iter().map(of)
        });
        let reef = match &map.later {
            Some((_, later)) if two => MappedReef::mapped_twice(map.map.clone(), later.clone(), study.changes.len()),
            _ => MappedReef::new(map.map.clone(), two.then_some(&losses[..])),
        };
        Self {
            reef,
            ground: study.ground(zone),
            relay_sd: (two && same_marks(study)).then_some(study.visits.relay_sd_m),
            kinds: kinds.collect(),
        }
    }

    /// Moments of an indicator as one unit of a method tells it. What the map does not have is never there.
    pub fn moments(&self, kind: &MethodKind, dimensions: Dimensions, indicator: &str) -> UnitMoments {
        let wanted = kind.only(dimensions);
        let states = self.reef.states();
        let Some(unit) = self.kinds.iter().find(|unit| unit.kind == wanted) else {
            return UnitMoments::never_there(states);
        };
        let told = unit.told.get_or_init(|| self.told_by(&wanted, dimensions));
        let found = told.iter().find(|(name, _)| name == indicator);
        found.map_or_else(|| UnitMoments::never_there(states), |(_, moments)| moments.clone())
    }

    /// The chance of meeting an animal in units of a method, at the first visit; `None` of what is no animal of the map.
    pub fn meeting(&self, kind: &MethodKind, dimensions: Dimensions, animal: &str) -> Option<Meeting> {
        let known = self.reef.colonies()?.animals.iter().any(|kind| kind.name == animal);
        let there = || self.moments(kind, dimensions, animal).truth[0] / DENSITY_AREA_M2;
        let occupied = || self.moments(kind, dimensions, &format!("{animal}{PRESENCE}")).mean[0];
        known.then(|| Meeting::of_one_reef(there(), occupied()))
    }

    fn told_by(&self, kind: &MethodKind, dimensions: Dimensions) -> Vec<(String, UnitMoments)> {
        let mut told = match kind {
            MethodKind::PointIntercept { .. }
            | MethodKind::LineIntercept { .. }
            | MethodKind::PhotoBelt { .. }
            | MethodKind::PhotoQuadrats { .. } => self.told_of_bottom(dimensions),
            MethodKind::CoralBelt { belt, classes_m, growth_m, .. } => {
                self.told_of_colonies(belt, (classes_m, *growth_m), dimensions)
            }
            MethodKind::InvertebrateBelt { .. } => self.told_of_animals(dimensions),
            MethodKind::RecruitQuadrats { .. } => self.told_of_recruits(dimensions),
            // A map tells nothing of fish.
            MethodKind::FishBelt { .. } | MethodKind::FishPointCount { .. } | MethodKind::Components(_) => Vec::new(),
        };
        let (length, width) = (dimensions.length_m().unwrap_or(0.0), dimensions.width_m());
        for (_, moments) in &mut told {
            moments.layout =
                LayoutMoments { most_units: self.ground.most_units(length, width), ..LayoutMoments::default() };
        }
        told
    }

    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        self.reef.keep_state(state);
        self.kinds.iter_mut().for_each(|unit| unit.told = OnceLock::new());
    }
}
