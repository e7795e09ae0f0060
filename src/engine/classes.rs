//! What lies at single points, and what is written down for it.

use super::layout::Indicator;
use super::survey_site::ZoneSurvey;
use crate::design::HARD_CORAL;
use crate::random::{Key, Normals, Purpose};
use crate::reef::{BottomSite, Frame, Visit, When};

/// Code of hard coral; a category has its place in the zone's list plus one.
pub const CORAL: u8 = 0;

/// Reads the class of points on one site.
pub struct ClassReader<'a> {
    bottom: BottomSite,
    normals: &'a Normals,
    matrix: Option<&'a [Vec<f64>]>,
}

impl<'a> ClassReader<'a> {
    /// `None` where nothing but hard coral is read and everything is written as it is.
    pub fn new(survey: &ZoneSurvey<'a>, key: Key, frame: Frame, normals: &'a Normals) -> Option<Self> {
        let matrix = survey.study.observers.misidentification.as_deref();
        let categories = survey.layout.readings.iter().any(|r| matches!(r.indicator, Indicator::Category(_)));
        if matrix.is_none() && !categories {
            return None;
        }
        let bottom = survey.bottom?.site(key, frame);
        Some(Self { bottom, normals, matrix })
    }

    /// What is written for a place of the site; `misread` is the key of this reading of this point.
    pub fn written(&self, covered: bool, place: (f64, f64), state: usize, misread: Key) -> u8 {
        let there = if covered { CORAL } else { 1 + self.class(place, state) };
        let Some(matrix) = self.matrix else { return there };
        let Some(row) = matrix.get(usize::from(there)) else { return there };
        let mut left = misread.uniform(Purpose::Misread, 0);
        for (written, chance) in row.iter().enumerate() {
            left -= chance;
            if left < 0.0 {
                return written as u8;
            }
        }
        there
    }

    fn class(&self, place: (f64, f64), state: usize) -> u8 {
        let when = when_of(state);
        self.bottom.category_at(self.normals, place.0, place.1, when) as u8
    }

    /// True covers of the categories on the site, from its true cover of coral.
    pub fn truths(&self, coral: f64, state: usize) -> Vec<f64> {
        self.bottom.expected_covers(coral, when_of(state))
    }
}

pub fn when_of(state: usize) -> When {
    match state {
        0 => When::First,
        _ => When::Second { world: state - 1 },
    }
}

/// The code that an indicator counts in a zone; `None` where the zone does not have it.
pub fn code_of(survey: &ZoneSurvey, indicator: &Indicator) -> Option<u8> {
    match indicator {
        Indicator::HardCoral => Some(CORAL),
        Indicator::Category(name) if name == HARD_CORAL => Some(CORAL),
        Indicator::Category(name) => {
            survey.zone.categories.iter().position(|category| &category.name == name).map(|k| 1 + k as u8)
        }
        Indicator::Animal { .. } | Indicator::Recruits { .. } | Indicator::Colonies { .. } | Indicator::Own(_) => None,
    }
}

/// The key of one reading of one point: the state does not enter, so that worlds differ only where the bottom does.
pub fn misread_key(unit: Key, visit: Visit, point: usize) -> Key {
    unit.child(Purpose::Misread, 2 * point as u64 + u64::from(visit == Visit::Second))
}
