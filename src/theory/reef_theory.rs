use super::clusters::Meeting;
use super::mapped::MapTheory;
use super::zone::{ZoneError, ZoneTheory};
use crate::design::{Study, Zone};
use crate::reef::ZoneReef;
use crate::survey::{Dimensions, MethodKind};

/// What is known of the reef of a zone without simulation: the law of a virtual reef in closed form, or a map.
#[derive(Clone, Debug)]
pub enum ReefTheory {
    Virtual(Box<ZoneTheory>),
    Mapped(MapTheory),
}

impl From<ZoneTheory> for ReefTheory {
    fn from(theory: ZoneTheory) -> Self {
        ReefTheory::Virtual(Box::new(theory))
    }
}

impl ReefTheory {
    pub fn new(study: &Study, zone: &Zone) -> Result<Self, ZoneError> {
        match &zone.map {
            Some(map) => Ok(ReefTheory::Mapped(MapTheory::new(study, zone, map))),
            None => ZoneTheory::new(study, zone).map(Self::from),
        }
    }

    /// The law; `None` of a map, which has none.
    pub fn law(&self) -> Option<&ZoneTheory> {
        match self {
            ReefTheory::Virtual(theory) => Some(theory),
            ReefTheory::Mapped(_) => None,
        }
    }

    /// The reef as it is read.
    pub fn reef(&self) -> ZoneReef {
        match self {
            ReefTheory::Virtual(theory) => ZoneReef::Virtual(theory.coral_reef()),
            ReefTheory::Mapped(theory) => ZoneReef::Mapped(theory.reef.clone()),
        }
    }

    /// The chance of meeting the animals or fish that an indicator counts; `None` for what is no such of the zone.
    pub fn meeting(
        &self,
        (study, zone): (&Study, &Zone),
        (kind, dimensions): (&MethodKind, Dimensions),
        indicator: &str,
    ) -> Option<Meeting> {
        match (self, study.fish_of(indicator)) {
            (ReefTheory::Virtual(law), Some(told)) => law.fish_meeting((study, zone), (kind, dimensions), &told),
            (ReefTheory::Virtual(law), None) => law.meeting(study, zone, indicator, dimensions),
            (ReefTheory::Mapped(map), _) => map.meeting(kind, dimensions, indicator),
        }
    }

    /// Keeps the first visit, the second without change, and one of the states with a change.
    pub fn keep_state(&mut self, state: usize) {
        match self {
            ReefTheory::Virtual(theory) => theory.keep_state(state),
            ReefTheory::Mapped(theory) => theory.keep_state(state),
        }
    }
}
