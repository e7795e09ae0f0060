//! Colonies counted and measured in belts.

use super::colony_site::ColonySite;
use super::layout::{Indicator, MeasuredBelt};
use super::sheet::Sheet;
use super::survey_site::{Scratch, ZoneSurvey, states_of_visit};
use crate::analysis::ColonyIndicator;
use crate::random::{Key, Purpose};
use crate::reef::{Visit, ZoneSite};
use crate::survey::coral_belt::{BeltFrame, CoralBelt, Measurements, OfSite};
use crate::survey::{MethodKind, Place};
use crate::theory::colonies::SiteValues;

/// What is true on a site of a number, in every state: of what coral belts give, and of everything on a map.
#[derive(Clone, Debug, PartialEq)]
pub enum KnownTruth {
    /// In proportion to the true cover: so much per cover.
    OfCover(Vec<f64>),
    /// The same on every site: sizes have one law everywhere, the presence of animals is one of belts, and of a mapped reef there is
    /// one.
    Everywhere(Vec<f64>),
    /// Means over colonies, by what sites differ in ([`ColonySite`]).
    OfColonies(SiteValues),
}

impl KnownTruth {
    pub fn at(&self, (cover, colonies): (f64, &ColonySite), state: usize) -> f64 {
        match self {
            KnownTruth::OfCover(per_cover) => per_cover[state] * cover,
            KnownTruth::Everywhere(values) => values[state],
            KnownTruth::OfColonies(values) => values.at(state, [colonies.ln_diameter, colonies.dead_parts]),
        }
    }

    /// What is the same on every site; else not a number.
    pub fn everywhere(&self, state: usize) -> f64 {
        self.at((f64::NAN, &ColonySite::default()), state)
    }
}

/// The key of the belts of one layout, which lie independently of tapes and other belts.
pub fn measured_key(key: Key, belt: usize) -> Key {
    key.child(Purpose::Placement, 3_000_000 + belt as u64)
}

impl ZoneSurvey<'_> {
    /// Reads all coral belts of a site at a visit.
    pub fn measure_colonies(
        &self,
        key: Key,
        site: &mut ZoneSite,
        visit: Visit,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        let mut places = std::mem::take(&mut scratch.places);
        let colonies = ColonySite::of(&self.zone.colony_variation, key, visit);
        for (b, belt) in self.layout.measured.iter().enumerate() {
            let MethodKind::CoralBelt { belt: rules, .. } = &self.study.methods[belt.method].kind else { continue };
            let lengths = vec![belt.length_m; belt.number];
            self.lay(measured_key(key, b), visit, (&lengths, belt.width_m), &mut places);
            for (unit, place) in places.iter().enumerate() {
                self.measure(belt, (rules, &colonies), place, site, visit, scratch);
                self.write_colonies(belt, unit, visit, sheet, scratch);
            }
        }
        scratch.places = places;
    }

    /// Walks a belt and writes down its colonies.
    fn measure(
        &self,
        belt: &MeasuredBelt,
        (rules, colonies): (&CoralBelt, &ColonySite),
        place: &Place,
        site: &mut ZoneSite,
        visit: Visit,
        scratch: &mut Scratch,
    ) {
        // Walked further than the belt by what a colony outside may reach into it.
        let margin = rules.edge.margin_m(self.zone.reef.sizes.max_m);
        let (start, length) = (place.at(-margin, 0.0), belt.length_m + 2.0 * margin);
        site.walk(&mut scratch.walk, (start, place.heading), length, (0.5 * belt.width_m + margin) as f32, visit);
        let frame = frame(belt, margin);
        match site {
            ZoneSite::Virtual(_) => {
                let of_site = OfSite {
                    dead: self.zone.partial_mortality,
                    larger: libm::exp(colonies.ln_diameter),
                    dead_odds: libm::exp(self.dead_log_odds * colonies.dead_parts),
                };
                let asked = (self.asked(belt), of_site);
                scratch.belt.read_some(rules, &frame, (&scratch.walk.colonies, visit), asked);
            }
            ZoneSite::Mapped(_) => scratch.belt.read_mapped(rules, &frame, &scratch.walk.colonies, visit),
        }
        if self.measures(belt).any(ColonyIndicator::is_of_condition) {
            scratch.belt.look(&self.zone.condition, visit);
        }
    }

    /// What must be measured in a belt for all that is read from it.
    fn asked(&self, belt: &MeasuredBelt) -> Measurements {
        self.measures(belt).map(ColonyIndicator::needs).fold(Measurements::NONE, Measurements::and)
    }

    /// What is told from a belt.
    fn measures(&self, belt: &MeasuredBelt) -> impl Iterator<Item = ColonyIndicator> {
        belt.columns.iter().filter_map(|&column| match self.layout.reading(column).indicator {
            Indicator::Colonies { measure, .. } => Some(measure),
            _ => None,
        })
    }

    fn write_colonies(&self, belt: &MeasuredBelt, unit: usize, visit: Visit, sheet: &mut Sheet, scratch: &Scratch) {
        let frame = frame(belt, 0.0);
        for &column in &belt.columns {
            let Indicator::Colonies { measure, .. } = self.layout.reading(column).indicator else { continue };
            if unit >= self.layout.columns[column].units {
                continue;
            }
            if let Some(place) = self.layout.sized_place(column) {
                let classes = &self.layout.sized[place].classes;
                for state in states_of_visit(visit, sheet.states()) {
                    let counts = sheet.sizes_mut(place, state, unit);
                    counts.clear();
                    let written = &scratch.belt.written;
                    let longest = written.in_state(state).map(|at| f64::from(written.longest_m[at]));
                    longest.for_each(|longest| counts.add_one(classes.class_of(longest)));
                }
                continue;
            }
            for state in states_of_visit(visit, sheet.states()) {
                sheet.set(column, state, unit, measure.of(&scratch.belt.written, &frame, state));
            }
        }
    }
}

fn frame(belt: &MeasuredBelt, from_m: f64) -> BeltFrame {
    BeltFrame { from_m: from_m as f32, length_m: belt.length_m as f32, width_m: belt.width_m as f32 }
}
