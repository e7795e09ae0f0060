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
        let of_plan: Vec<(usize, usize)> = zones.iter().map(|zone| (zone.team_dives, zone.pair_dives)).collect();
        let of_other = (0..zones.len()).map(|zone| self.dives_on(other, zone, found, zones[zone].team_dives));
        let of_other: Vec<(usize, usize)> = of_other.collect();
        let mut packing = DayPacking::new(&self.day);
        let mut told = |visit: Visit, is_planned: bool, at_a_site: &[(usize, usize)]| {
            let dives: Vec<usize> = at_a_site.iter().map(|(team, _)| *team).collect();
            let sum = |of: fn(&(usize, usize)) -> usize| {
                at_a_site.iter().zip(&found.sites).map(|(dives, &sites)| of(dives) * usize::from(sites)).sum()
            };
            VisitDives {
                visit,
                is_planned,
                days: self.days(&mut packing, &found.sites, &dives).unwrap_or(0),
                team_dives: sum(|dives| dives.0),
                pair_dives: sum(|dives| dives.1),
            }
        };
        vec![told(self.tasks.visit, true, &of_plan), told(other, false, &of_other)]
    }

    /// Team dives and pair-dives at a site of a zone on a visit, which takes so many team dives at most.
    fn dives_on(&self, visit: Visit, zone: usize, found: &Found, most_dives: usize) -> (usize, usize) {
        let (units, caps) = (&found.units, Caps::new(found.units.clone()));
        let team = &self.teams[0];
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
