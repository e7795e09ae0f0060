//! What lies at single points, and what is written down for it.

use super::layout::Indicator;
use super::survey_site::ZoneSurvey;
use crate::design::HARD_CORAL;
use crate::random::{Key, Normals, Purpose};
use crate::reef::map::MappedReef;
use crate::reef::{BottomSite, Visit, When, ZoneSite};
use crate::survey::Place;

/// Code of hard coral; a category has its place in the zone's list plus one.
pub const CORAL: u8 = 0;

/// Reads the class of points on one site.
pub struct ClassReader<'a> {
    there: There<'a>,
    matrix: Option<&'a [Vec<f64>]>,
}

/// Where the classes come from.
enum There<'a> {
    /// Colonies, and below them the tree of fields.
    Tree { bottom: BottomSite, normals: &'a Normals },
    /// The pixels of a mosaic, hard coral among them.
    Mosaic(&'a MappedReef),
}

impl<'a> ClassReader<'a> {
    /// `None` where nothing but hard coral is read, from colonies, and everything is written as it is.
    pub fn new(survey: &ZoneSurvey<'a>, key: Key, site: &ZoneSite<'a>) -> Option<Self> {
        let matrix = survey.study.observers.misidentification.as_deref();
        let site = match site {
            ZoneSite::Mapped(site) => {
                site.reef.mosaic(0)?;
                return Some(Self { there: There::Mosaic(site.reef), matrix });
            }
            ZoneSite::Virtual(site) => site,
        };
        let categories = survey.layout.readings.iter().any(|r| matches!(r.indicator, Indicator::Category(_)));
        if matrix.is_none() && !categories {
            return None;
        }
        let bottom = survey.bottom?.site_at(key, site.frame, site.place);
        Some(Self { there: There::Tree { bottom, normals: &site.reef.normals }, matrix })
    }

    /// What is written for a place of the site; `misread` is the key of this reading of this point.
    pub fn written(&self, covered: bool, place: (f64, f64), state: usize, misread: Key) -> u8 {
        let there = match &self.there {
            There::Mosaic(reef) => reef.mosaic(state).map_or(CORAL, |mosaic| mosaic.kind_at(place.0, place.1)),
            There::Tree { .. } if covered => CORAL,
            There::Tree { bottom, normals } => 1 + bottom.category_at(normals, place.0, place.1, when_of(state)) as u8,
        };
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

    /// The exact share of a part of a tape (from where, how long) over a class, where pixels tell it.
    pub fn share_of_line(&self, (code, state): (u8, usize), place: &Place, (from, length): (f64, f64)) -> Option<f64> {
        match &self.there {
            There::Mosaic(reef) if self.matrix.is_none() => {
                let mosaic = reef.mosaic(state)?;
                Some(mosaic.share_of_line(code, place.at(from, 0.0), place.heading, length))
            }
            _ => None,
        }
    }

    /// True covers of the categories on a virtual site, from its true cover of coral.
    pub fn truths(&self, coral: f64, state: usize) -> Vec<f64> {
        match &self.there {
            There::Tree { bottom, .. } => bottom.expected_covers(coral, when_of(state)),
            There::Mosaic(reef) => reef.mosaic(state).map_or(Vec::new(), |mosaic| mosaic.covers().split_off(1)),
        }
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
        Indicator::Animal { .. }
        | Indicator::Recruits { .. }
        | Indicator::Colonies { .. }
        | Indicator::Fish { .. }
        | Indicator::Own(_) => None,
    }
}

/// The key of one reading of one point: the state does not enter, so that worlds differ only where the bottom does.
pub fn misread_key(unit: Key, visit: Visit, point: usize) -> Key {
    unit.child(Purpose::Misread, 2 * point as u64 + u64::from(visit == Visit::Second))
}
