//! Days after a change of the crew, for plans that end before it: where those who are aboard then do the same work at a site in as
//! many team dives, its visit may wait until then.

use super::plan::{TeamWork, ZoneSites};
use super::prepared::{Prepared, Team};
use crate::budget::Table;
use std::sync::Arc;

/// What holds whichever crew is aboard, beside a plan of those who are aboard until a change.
#[derive(Clone)]
pub struct LaterCrew {
    /// All teams, those of the plan first.
    pub teams: Vec<Team>,
    pub tables: Vec<Arc<Table>>,
}

impl Prepared<'_> {
    /// The last day on which a site of a zone with so many units can be visited: that of the crew, or any.
    pub(super) fn last_day_at(&self, zone: usize, units: &[u8]) -> usize {
        let does_the_same = |later: &LaterCrew| {
            // Both depths of a place would have to be packed anew together.
            self.dives_of(zone).is_none() && later.tables[zone].dives(units) == self.tables[zone].dives(units)
        };
        if self.later_crew.as_deref().is_some_and(does_the_same) { usize::MAX } else { self.last_day }
    }

    /// The sites of a plan with the work of later crews, where they can do it.
    pub(super) fn with_later_crews(&self, zones: &[ZoneSites], units: &[u8]) -> Vec<ZoneSites> {
        let mut all = zones.to_vec();
        let Some(later) = &self.later_crew else { return all };
        for (zone, of) in all.iter_mut().enumerate().filter(|(zone, _)| self.last_day_at(*zone, units) == usize::MAX) {
            let coming = later.teams.iter().filter(|team| team.from_day > self.last_day);
            of.other_work.extend(coming.map(|team| self.work_of_team(team, zone, units, of.team_dives)));
        }
        all
    }

    /// Who does so many units at a site of a zone.
    pub(super) fn work_of_team(&self, team: &Team, zone: usize, units: &[u8], team_dives: usize) -> TeamWork {
        let packing = self.packing_by(self.tasks.visit, &team.crews[zone], zone, team_dives);
        let work = self.known.work(&packing, units, team_dives);
        TeamWork { from_day: team.from_day, boat: team.boat, work: self.in_order(work) }
    }
}
