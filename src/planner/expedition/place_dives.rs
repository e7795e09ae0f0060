//! Two depths of a place on one dive: which zones go together, and what their work takes.

use super::prepared::{Prepared, Team};
use super::tasks::Visit;
use crate::analysis::normal_quantile;
use crate::budget::{Finish, PairDive, PairOnDive, PairWork, PlaceDive, TwoDepths, waits_of_pairs};
use std::collections::BTreeMap;

/// A deep zone and the shallow one at its places whose work is done on the same dives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnOneDive {
    pub deep: usize,
    pub shallow: usize,
    pub moving_up: f64,
}

/// The most lists of work at both depths that are packed together: beyond, each depth has dives of its own.
const MOST_CELLS: usize = 5_000_000;

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
            _ if self.tasks.line.as_ref().is_some_and(|line| line.stays) => {
                Err("lines stay until the work at a site is done")
            }
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

    /// How the work at both depths is packed on the visit that is planned, by the first boat's team of the first day.
    pub(super) fn two_depths(&self, of: OnOneDive, most_dives: usize) -> TwoDepths<'_> {
        let mut place = self.two_depths_by(of, (self.tasks.visit, &self.teams[0]), most_dives);
        // Chances are those of the minutes as they spread, whatever is packed for.
        place.depths.iter_mut().for_each(|depth| depth.tasks = &self.tasks.tasks);
        place
    }

    /// All ways in which it may have to be packed, as at any site.
    pub(super) fn two_depths_of_all(&self, of: OnOneDive, most_dives: usize) -> Vec<TwoDepths<'_>> {
        let circumstances = self.circumstances();
        circumstances.into_iter().map(|circumstance| self.two_depths_by(of, circumstance, most_dives)).collect()
    }

    pub(super) fn two_depths_by<'b>(
        &'b self,
        of: OnOneDive,
        (visit, team): (Visit, &'b Team),
        most_dives: usize,
    ) -> TwoDepths<'b> {
        // Who may not dive to the deep part waits, as at any site of that depth.
        let crew = &team.crews[of.deep];
        let depths = [of.deep, of.shallow].map(|zone| self.packing_by(visit, crew, zone, most_dives));
        // Two divers, each done at two depths.
        let finish = Finish { quantile: normal_quantile(self.expedition.finish_chance.powf(0.25)) };
        TwoDepths { depths, moving_up: of.moving_up, finish }
    }

    /// Who of a team does so many units at both depths of a place.
    pub(super) fn place_work(&self, of: OnOneDive, team: &Team, units: &[u8]) -> Vec<PlaceDive> {
        let team_dives = self.tables[of.deep].dives(units).unwrap_or(0);
        let place = self.two_depths_by(of, (self.tasks.visit, team), team_dives);
        self.known.place_work(&place, units, team_dives)
    }

    /// What of that is done in one of the two zones.
    pub(super) fn work_at_depth(&self, of: OnOneDive, zone: usize, dives: &[PlaceDive]) -> Vec<PairDive> {
        let part = usize::from(zone == of.shallow);
        let at_depth =
            |dive: &PlaceDive| PairDive { team_dive: dive.team_dive, pair: dive.pair, work: dive.parts[part].clone() };
        dives.iter().map(at_depth).filter(|dive| dive.work.units().iter().any(|&n| n > 0)).collect()
    }

    /// What the dives of the pairs of a team dive at a site of a zone are planned with; `works`: of each what it does there, and at
    /// the shallow part of the place.
    pub(super) fn pairs_on_a_dive(&self, zone: usize, works: &[PartsOfPair]) -> Vec<PairOnDive> {
        let tasks = &self.tasks.tasks;
        let nothing = || vec![0; tasks.len()];
        let nothing = PairWork { one: nothing(), other: nothing(), both: nothing() };
        let parts: Vec<[&PairWork; 2]> = works.iter().map(|of| of.map(|work| work.unwrap_or(&nothing))).collect();
        // A begun place may be finished at its shallow part alone.
        if let Some(of) = self.dives_of(zone).filter(|of| of.deep == zone) {
            return self.two_depths(of, 1).pairs_on_a_dive(&parts);
        }
        let minutes = self.expedition.zones[zone].work_minutes();
        let works: Vec<&PairWork> = parts.iter().map(|of| of[0]).collect();
        let of_pair = |(work, wait): (&PairWork, f64)| PairOnDive {
            minutes: [minutes, 0.0],
            waits: [wait, 0.0],
            finished: self.finish.chance(tasks, (work, wait), minutes),
        };
        works.iter().copied().zip(waits_of_pairs(tasks, &works)).map(of_pair).collect()
    }

    /// The least chance with which a pair is done in time on the team dives at a site of a zone, each with its number.
    pub(super) fn least_finished<'w>(
        &self,
        zone: usize,
        dives: impl IntoIterator<Item = (usize, PartsOfPair<'w>)>,
    ) -> f64 {
        let mut by_dive: BTreeMap<usize, Vec<PartsOfPair>> = BTreeMap::new();
        for (number, parts) in dives {
            by_dive.entry(number).or_default().push(parts);
        }
        let pairs = by_dive.values().flat_map(|works| self.pairs_on_a_dive(zone, works));
        pairs.map(|pair| pair.finished).fold(1.0, f64::min)
    }
}

/// What a pair does on a dive at a site, and at the shallow part of a place.
pub(super) type PartsOfPair<'w> = [Option<&'w PairWork>; 2];
