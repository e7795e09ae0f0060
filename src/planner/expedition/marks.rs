//! What each visit takes where units lie at the same marks again: marks are set once and found ever after.

use super::plan::ZoneSites;
use super::prepared::Prepared;
use super::tasks::Visit;
use crate::budget::{Caps, DayPacking, Found};
use serde::Serialize;

/// What one visit takes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VisitDives {
    pub visit: Visit,
    pub is_planned: bool,
    pub days: usize,
    pub team_dives: usize,
    pub pair_dives: usize,
}

impl Prepared<'_> {
    /// The visit that is planned, then the other; nothing where there are no marks.
    pub fn visits(&self, found: &Found, zones: &[ZoneSites]) -> Vec<VisitDives> {
        if self.tasks.other_visit.is_none() {
            return Vec::new();
        }
        let other = self.tasks.visit.other();
        let at_stretch = |stretch: usize| -> Vec<(usize, usize)> {
            let of_zone = |zone: usize, of: &ZoneSites| match self.by_stretch {
                None => (of.team_dives, of.pair_dives),
                Some(_) => (
                    self.dives_in(stretch, zone, &found.units).unwrap_or(0),
                    self.pair_dives(stretch, zone, &found.units),
                ),
            };
            zones.iter().enumerate().map(|(zone, of)| of_zone(zone, of)).collect()
        };
        let of_plan: Vec<_> = (0..self.number_of_stretches()).map(at_stretch).collect();
        let on_other = |(stretch, of): (usize, &Vec<(usize, usize)>)| {
            of.iter().enumerate().map(|(zone, of)| self.dives_on(other, (stretch, zone), found, of.0)).collect()
        };
        let of_other: Vec<Vec<(usize, usize)>> = of_plan.iter().enumerate().map(on_other).collect();
        vec![self.visit_with(self.tasks.visit, true, found, &of_plan), self.visit_with(other, false, found, &of_other)]
    }

    /// What the sites of a plan take with so many team dives and pair-dives at a site, by stretch and zone; each stays in its stretch.
    fn visit_with(
        &self,
        visit: Visit,
        is_planned: bool,
        found: &Found,
        at_a_site: &[Vec<(usize, usize)>],
    ) -> VisitDives {
        let mut packing = DayPacking::new(&self.day);
        let sites = self.sites_by_stretch(found);
        let each = || at_a_site.iter().zip(&sites).flat_map(|(dives, sites)| dives.iter().zip(sites));
        let sum = |of: fn(&(usize, usize)) -> usize| each().map(|(dives, &sites)| of(dives) * usize::from(sites)).sum();
        let mut days_of = |stretch: usize| {
            let dives: Vec<usize> = at_a_site[stretch].iter().map(|(team, _)| *team).collect();
            self.days(&mut packing, &sites[stretch], &dives).unwrap_or(0)
        };
        let last = sites.iter().rposition(|sites| sites.iter().any(|&number| number > 0)).unwrap_or(0);
        VisitDives {
            visit,
            is_planned,
            days: self.days_before(last) + days_of(last),
            team_dives: sum(|dives| dives.0),
            pair_dives: sum(|dives| dives.1),
        }
    }

    /// Team dives and pair-dives at a site of a zone on a visit, which takes so many team dives at most.
    fn dives_on(
        &self,
        visit: Visit,
        (stretch, zone): (usize, usize),
        found: &Found,
        most_dives: usize,
    ) -> (usize, usize) {
        let (units, caps) = (&found.units, Caps::new(found.units.clone()));
        let in_stretch = self.teams.iter().find(|team| self.stretch_of(team.from_day) == stretch);
        let team = in_stretch.unwrap_or(&self.teams[0]);
        match self.dives_of(zone) {
            Some(of) if of.shallow == zone => (0, 0),
            Some(of) => {
                let place = self.two_depths_by(of, (visit, team), most_dives);
                let table = self.known.place_table(std::slice::from_ref(&place), &caps);
                let dives = table.dives(units).unwrap_or(most_dives);
                (dives, self.known.place_work(&place, units, dives).len())
            }
            None => {
                let packing = self.packing_by(visit, &team.crews[zone], zone, most_dives);
                let table = self.known.table(std::slice::from_ref(&packing), &caps);
                let dives = table.dives(units).unwrap_or(most_dives);
                (dives, self.known.work(&packing, units, dives).len())
            }
        }
    }
}
