//! Two depths of a place on one dive: which zones go together, and what their work takes.

use super::prepared::Prepared;
use crate::analysis::normal_quantile;
use crate::budget::{Finish, PairDive, PairWork, PlaceDive, TwoDepths};

/// A deep zone and the shallow one at its places whose work is done on the same dives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnOneDive {
    pub deep: usize,
    pub shallow: usize,
    pub moving_up: f64,
}

/// The most lists of work at both depths that are packed together: beyond, each depth has dives of its own.
const MOST_CELLS: usize = 100_000;

impl Prepared<'_> {
    /// Zones that share places, each with its dives, or with why the two depths have dives of their own.
    pub(super) fn places_with_two_depths(&self) -> Vec<([usize; 2], Result<OnOneDive, &'static str>)> {
        let strata = self.plan.shared_strata().filter_map(|stratum| <[usize; 2]>::try_from(stratum).ok());
        strata.map(|zones| (zones, self.on_one_dive(zones))).collect()
    }

    fn on_one_dive(&self, [deep, shallow]: [usize; 2]) -> Result<OnOneDive, &'static str> {
        let cells = self.tasks.caps.cells();
        match self.expedition.zones[shallow].moving_up_minutes {
            None => Err("the minutes to move up are not told"),
            _ if self.teams.len() > 1 => Err("there are several boats, or divers who come or leave"),
            _ if self.tasks.line.is_some() => Err("methods share lines"),
            _ if self.tasks.tasks.iter().any(|task| task.first.is_some()) => Err("some work must come first at a site"),
            _ if self.tasks.other_visit.is_some() => Err("marks are set on one visit and found on the other"),
            _ if cells.saturating_mul(cells) > MOST_CELLS => Err(
                "the most units of all methods make more lists of work than can be packed for two depths (lower `units`)",
            ),
            Some(moving_up) => Ok(OnOneDive { deep, shallow, moving_up }),
        }
    }

    /// The zone whose work is done on the dives of another one, and that one; `None` where a zone has places of its own or
    /// dives of its own.
    pub(super) fn dives_of(&self, zone: usize) -> Option<OnOneDive> {
        self.together.iter().copied().find(|of| of.deep == zone || of.shallow == zone)
    }

    pub(super) fn two_depths(&self, of: OnOneDive, most_dives: usize) -> TwoDepths<'_> {
        let mut depths = [of.deep, of.shallow].map(|zone| self.packing(zone, most_dives));
        // Who may not dive to the deep part waits, as at any site of that depth.
        depths[1].crew = depths[0].crew;
        // Two divers, each done at two depths.
        let finish = Finish { quantile: normal_quantile(self.expedition.finish_chance.powf(0.25)) };
        TwoDepths { depths, moving_up: of.moving_up, finish }
    }

    /// Who does so many units at both depths of a place.
    pub(super) fn place_work(&self, of: OnOneDive, units: &[u8]) -> Vec<PlaceDive> {
        let team_dives = self.tables[of.deep].dives(units).unwrap_or(0);
        self.known.place_work(&self.two_depths(of, team_dives), units, team_dives)
    }

    /// What of that is done in one of the two zones.
    pub(super) fn work_at_depth(&self, of: OnOneDive, zone: usize, dives: &[PlaceDive]) -> Vec<PairDive> {
        let part = usize::from(zone == of.shallow);
        let at_depth =
            |dive: &PlaceDive| PairDive { team_dive: dive.team_dive, pair: dive.pair, work: dive.parts[part].clone() };
        dives.iter().map(at_depth).filter(|dive| dive.work.units().iter().any(|&n| n > 0)).collect()
    }

    /// Chance that a pair is done in time with what it does on a dive, deep part first.
    pub(super) fn in_time(&self, zone: usize, parts: [Option<&PairWork>; 2]) -> f64 {
        let tasks = &self.tasks.tasks;
        match self.dives_of(zone) {
            None => {
                let minutes = self.expedition.zones[zone].work_minutes();
                parts.into_iter().flatten().map(|work| self.finish.chance(tasks, work, minutes)).fold(1.0, f64::min)
            }
            Some(of) => {
                let nothing = || vec![0; tasks.len()];
                let nothing = PairWork { one: nothing(), other: nothing(), both: nothing() };
                self.two_depths(of, 1).chance(&parts.map(|work| work.unwrap_or(&nothing).clone()))
            }
        }
    }
}
