//! Recruits counted in quadrats along a tape, on bottom where they can live.

use super::classes::when_of;
use super::layout::Indicator;
use super::quadrat_line::{POINTS, QuadratLine};
use super::sheet::Sheet;
use super::survey_site::{Scratch, ZoneSurvey, states_of_visit};
use crate::design::{RecruitMeasure, Recruits};
use crate::random::{Key, Normals, Purpose};
use crate::reef::map::{MappedReef, MappedSite};
use crate::reef::{
    AnimalReef, AnimalSite, AnimalWalk, BottomSite, Colonies, Colony, MOST_STATES, SiteReef, StripPlace, Visit, Walk,
    ZoneSite,
};
use crate::survey::Place;

/// Tells recruits from the large animals of a site, whose numbers are small.
const RECRUITS: u64 = 1 << 32;

/// The key of the lines of one layout, which lie independently of tapes and belts.
pub fn quadrats_key(key: Key, line: usize) -> Key {
    key.child(Purpose::Placement, 4_000_000 + line as u64)
}

/// The recruits of the site in hand and the bottom they need.
struct RecruitSite<'a> {
    recruits: &'a Recruits,
    site: AnimalSite<'a>,
    normals: &'a Normals,
    /// The bottom, where there is a kind they cannot live on, and for each kind in its order whether it is such.
    bottom: Option<(BottomSite, Vec<bool>)>,
}

/// What is counted in one line of quadrats at a visit, in every state.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LineCounts {
    /// Recruits under 2 cm, and larger ones.
    pub under: u32,
    pub over: u32,
    /// Points of the grids of all quadrats at which recruits can live.
    pub free: u32,
}

impl<'s> ZoneSurvey<'s> {
    fn recruit_site(&self, key: Key, site: &SiteReef) -> Option<RecruitSite<'s>> {
        let (recruits, reef): (&Recruits, &AnimalReef) = (self.zone.recruits.as_ref()?, self.recruits?);
        let cannot: Vec<bool> =
            self.zone.categories.iter().map(|category| recruits.cannot_live_on.contains(&category.name)).collect();
        let bottom = self
            .bottom
            .filter(|_| cannot.contains(&true))
            .map(|bottom| (bottom.site_at(key, site.frame, site.place), cannot));
        let normals = &self.reef.coral()?.normals;
        let place = site.place.map(|place| (place, RECRUITS));
        Some(RecruitSite { recruits, site: AnimalSite::at_place(reef, (key, RECRUITS), place), bottom, normals })
    }

    /// Where the recruits of a virtual site are at a visit, in a state: those on bottom where they live and under no colony,
    /// which quadrats count. Read in strips of a metre across the site; cost: its recruits and colonies.
    pub fn recruits_there(&self, key: Key, site: &mut SiteReef, visit: Visit, state: usize) -> Vec<(f64, f64)> {
        let Some(recruits) = self.recruit_site(key, site) else { return Vec::new() };
        let (mut animals, mut walk) = (AnimalWalk::default(), Walk::default());
        let mut there = Vec::new();
        let (length, width_m) = (self.zone.length_m, self.zone.width_m);
        let steps = length.ceil().max(1.0);
        let length_m = length / steps;
        for step in 0..steps as usize {
            let start = (step as f64 * length_m, 0.5 * width_m);
            let direction = (1.0, 0.0);
            animals.read(&recruits.site, &StripPlace { start, direction, length_m, width_m }, visit);
            let line = site.frame_line(start, direction, length_m);
            walk.read(site, &line, 0.5 * width_m as f32, visit);
            let open = animals.animals.iter().filter(|recruit| recruit.alive >> state & 1 == 1).filter(|recruit| {
                let at = (recruit.along, recruit.across);
                walk.colonies.iter().all(|colony| over(&colony, at) >> state & 1 == 0)
            });
            let places = open.map(|recruit| (start.0 + recruit.along, start.1 + recruit.across));
            there.extend(places.filter(|place| self.can_live(&recruits, *place, state)));
        }
        there
    }

    /// Counts the recruits of a site at a visit.
    pub fn count_recruits(
        &self,
        key: Key,
        site: &mut ZoneSite,
        visit: Visit,
        sheet: &mut Sheet,
        scratch: &mut Scratch,
    ) {
        if self.layout.quadrats.is_empty() {
            return;
        }
        let recruits = match site {
            ZoneSite::Virtual(site) => self.recruit_site(key, site),
            ZoneSite::Mapped(_) => None,
        };
        let mut places = std::mem::take(&mut scratch.places);
        for (l, line) in self.layout.quadrats.iter().enumerate() {
            let lengths = vec![line.length_m; line.number];
            self.lay(quadrats_key(key, l), visit, (&lengths, line.quadrat_m), &mut places);
            for (unit, place) in places.iter().enumerate() {
                let counts = match (&mut *site, &recruits) {
                    (ZoneSite::Virtual(site), Some(recruits)) => {
                        self.count_line(line, place, (recruits, site), visit, scratch)
                    }
                    (ZoneSite::Virtual(_), None) => [LineCounts::default(); MOST_STATES],
                    (ZoneSite::Mapped(site), _) => self.count_mapped_line(line, place, site, visit, scratch),
                };
                self.write_recruits(line, unit, visit, &counts, sheet);
            }
        }
        scratch.places = places;
    }

    fn count_line(
        &self,
        line: &QuadratLine,
        place: &Place,
        (recruits, site): (&RecruitSite, &mut SiteReef),
        visit: Visit,
        scratch: &mut Scratch,
    ) -> [LineCounts; MOST_STATES] {
        let width_m = line.quadrat_m;
        let strip = StripPlace { start: place.start, direction: place.heading, length_m: line.length_m, width_m };
        scratch.animals.read(&recruits.site, &strip, visit);
        let states = states_of_visit(visit, self.states());
        let mut counts = [LineCounts::default(); MOST_STATES];
        let estimates_hard_bottom = self.estimates_hard_bottom(line);
        scratch.animals.animals.retain(|recruit| line.holds(recruit.along));
        // Where nothing is in the quadrats nobody looks for what lies over it.
        if scratch.animals.animals.is_empty() && !estimates_hard_bottom {
            return counts;
        }
        // The recruits of a line lie in a few groups: what is over them is looked up from the first to the last.
        let (from, to) = if estimates_hard_bottom {
            (0.0, line.length_m)
        } else {
            let along = scratch.animals.animals.iter().map(|recruit| recruit.along);
            along.fold((f64::INFINITY, 0.0), |(from, to): (f64, f64), along| (from.min(along), to.max(along)))
        };
        let frame_line = site.frame_line(place.at(from, 0.0), place.heading, to - from);
        scratch.walk.read(site, &frame_line, 0.5 * width_m as f32, visit);
        let colonies = &scratch.walk.colonies;
        let under = recruits.recruits.share_under_2_cm();
        let can_live = |at: (f64, f64), state: usize| self.can_live(recruits, place.at(at.0, at.1), state);
        for recruit in &scratch.animals.animals {
            let at = (recruit.along, recruit.across);
            let covered = colonies.iter().fold(0, |covered, colony| covered | over(&colony, (at.0 - from, at.1)));
            let there = recruit.alive & !covered;
            for state in states.clone().filter(|state| there >> state & 1 == 1 && can_live(at, *state)) {
                let is_under = RecruitMeasure::Under2Cm.counts(recruit.size, under);
                counts[state].under += u32::from(is_under);
                counts[state].over += u32::from(!is_under);
            }
        }
        if estimates_hard_bottom {
            cover_grid(line, colonies, &mut scratch.covered);
            for (at, covered) in line.grid().zip(&scratch.covered) {
                for state in states.clone().filter(|state| covered >> state & 1 == 0 && can_live(at, *state)) {
                    counts[state].free += 1;
                }
            }
        }
        counts
    }

    /// The recruits of a map are its smallest colonies, whatever lies over them: who mapped them saw them.
    fn count_mapped_line(
        &self,
        line: &QuadratLine,
        place: &Place,
        site: &MappedSite,
        visit: Visit,
        scratch: &mut Scratch,
    ) -> [LineCounts; MOST_STATES] {
        let half_width = 0.5 * line.quadrat_m as f32;
        let colonies = &mut scratch.walk.colonies;
        site.list((place.start, place.heading), line.length_m, half_width, visit, colonies);
        let states = states_of_visit(visit, self.states());
        let mut counts = [LineCounts::default(); MOST_STATES];
        let is_inside =
            |colony: &Colony| line.holds(f64::from(colony.along)) && (-half_width..half_width).contains(&colony.across);
        for colony in colonies.iter().filter(is_inside) {
            let diameter_m = 2.0 * f64::from(colony.radius);
            for state in states.clone().filter(|state| colony.alive >> state & 1 == 1) {
                counts[state].under += u32::from(RecruitMeasure::Under2Cm.counts_mapped(diameter_m));
                counts[state].over += u32::from(RecruitMeasure::Of2To4Cm.counts_mapped(diameter_m));
            }
        }
        if self.estimates_hard_bottom(line) {
            cover_grid(line, colonies, &mut scratch.covered);
            for covered in &scratch.covered {
                for state in states.clone().filter(|state| covered >> state & 1 == 0) {
                    counts[state].free += 1;
                }
            }
        }
        counts
    }

    /// Whether the kind of bottom at a place of the site, where no colony is, lets recruits live.
    fn can_live(&self, recruits: &RecruitSite, (x, y): (f64, f64), state: usize) -> bool {
        recruits.bottom.as_ref().is_none_or(|(bottom, cannot)| {
            let kind = bottom.category_at(recruits.normals, x, y, when_of(state));
            // What no category names can be lived on.
            !cannot.get(kind).copied().unwrap_or(false)
        })
    }

    fn estimates_hard_bottom(&self, line: &QuadratLine) -> bool {
        line.columns.iter().any(|&column| {
            matches!(
                self.layout.reading(column).indicator,
                Indicator::Recruits { measure: RecruitMeasure::OnHardBottom, .. }
            )
        })
    }

    fn write_recruits(
        &self,
        line: &QuadratLine,
        unit: usize,
        visit: Visit,
        counts: &[LineCounts; MOST_STATES],
        sheet: &mut Sheet,
    ) {
        for &column in &line.columns {
            let Indicator::Recruits { measure, .. } = self.layout.reading(column).indicator else { continue };
            if unit >= self.layout.columns[column].units {
                continue;
            }
            for state in states_of_visit(visit, sheet.states()) {
                let LineCounts { under, over, free } = counts[state];
                let value = match measure {
                    RecruitMeasure::Density => f64::from(under + over) / line.area_m2(),
                    RecruitMeasure::Under2Cm => f64::from(under) / line.area_m2(),
                    RecruitMeasure::Of2To4Cm => f64::from(over) / line.area_m2(),
                    RecruitMeasure::OnHardBottom if free == 0 => f64::NAN,
                    RecruitMeasure::OnHardBottom => {
                        let share = f64::from(free) / line.grid().count() as f64;
                        f64::from(under + over) / (line.area_m2() * share)
                    }
                };
                sheet.set(column, state, unit, value);
            }
        }
    }

    /// True densities of the site in the states of a visit; `coral` holds its true covers. The free share is that expected
    /// from the covers of the site, patches being chance.
    pub fn recruit_truths(
        &self,
        key: Key,
        site: &SiteReef,
        visit: Visit,
        coral: &[f64; MOST_STATES],
        sheet: &mut Sheet,
    ) {
        if self.layout.quadrats.is_empty() {
            return;
        }
        let states = states_of_visit(visit, sheet.states());
        let mut densities = [0.0; MOST_STATES];
        let mut recruits = self.recruit_site(key, site);
        if let Some(recruits) = &mut recruits {
            recruits.site.truth((self.zone.length_m, self.zone.width_m), states.clone(), &mut densities);
        }
        for (r, reading) in self.layout.readings.iter().enumerate() {
            let Indicator::Recruits { measure, .. } = reading.indicator else { continue };
            for state in states.clone() {
                let share = recruits.as_ref().map_or(0.0, |recruits| match measure {
                    RecruitMeasure::OnHardBottom => 1.0,
                    _ => recruits.recruits.share_of(measure) * recruits.free_share(coral[state], state),
                });
                sheet.set_truth(r, state, share * densities[state]);
            }
        }
    }

    pub(super) fn states(&self) -> usize {
        let of_map = || self.reef.mapped().map_or(0, MappedReef::states);
        self.reef.coral().map_or_else(of_map, |coral| coral.law.states.len())
    }
}

impl RecruitSite<'_> {
    fn free_share(&self, coral: f64, state: usize) -> f64 {
        let lost: f64 = self.bottom.as_ref().map_or(0.0, |(bottom, cannot)| {
            let covers = bottom.expected_covers(coral, when_of(state));
            covers.iter().zip(cannot).filter(|(_, cannot)| **cannot).map(|(cover, _)| cover).sum()
        });
        1.0 - coral - lost
    }
}

/// The states in which a living colony lies over a place along the tape and across it.
#[inline(always)]
fn over(colony: &Colony, (along, across): (f64, f64)) -> u16 {
    let (dx, dy) = (along as f32 - colony.along, across as f32 - colony.across);
    if dx * dx + dy * dy < colony.radius * colony.radius { colony.alive } else { 0 }
}

/// For every point of the grids of a line, in its order, the states in which a colony lies over it. A colony looks at the
/// quadrats that it reaches.
fn cover_grid(line: &QuadratLine, colonies: &Colonies, covered: &mut Vec<u16>) {
    covered.clear();
    covered.resize(line.quadrats * POINTS, 0);
    // A millimetre for the single precision of places.
    let quadrat = |along: f64| ((along / line.every_m).floor().max(0.0) as usize).min(line.quadrats);
    for colony in colonies.iter() {
        let (along, reach) = (f64::from(colony.along), f64::from(colony.radius) + 1e-3);
        let from = quadrat(along - reach - line.quadrat_m);
        let to = if along + reach < 0.0 { 0 } else { (quadrat(along + reach) + 1).min(line.quadrats) };
        for q in from..to {
            for (point, covered) in covered[q * POINTS..(q + 1) * POINTS].iter_mut().enumerate() {
                *covered |= over(&colony, line.point(q, point));
            }
        }
    }
}

#[cfg(test)]
#[path = "recruits_tests.rs"]
mod tests;
