use super::begun::Begun;
use super::by_stretch::ByStretch;
use super::indicators::indicators;
use super::known::Known;
use super::later_crew::LaterCrew;
use super::less_sure::ZoneTasks;
use super::opens::Opens;
use super::place_dives::OnOneDive;
use super::tasks::{Tasks, Visit};
use crate::analysis::normal_quantile;
use crate::budget::{
    Crew, Day, DayPacking, DayTimes, Diver, Finish, Indicator, LostDays, Packing, Pair, Search, Table, ZoneDives,
};
use crate::design::{Expedition, Standby, ZoneDiving};
use crate::engine::Plan;
use crate::survey::Dimensions;
use std::sync::Arc;

/// An expedition ready for the search: what fits into dives and days, and what theory knows of each target.
#[derive(Clone)]
pub struct Prepared<'a> {
    pub plan: &'a Plan,
    pub expedition: &'a Expedition,
    pub known: &'a Known,
    /// Of each method of the study.
    pub dimensions: Vec<Dimensions>,
    pub tasks: Tasks,
    /// Those who can dive at the sites of each zone.
    pub crews: Vec<Crew>,
    /// The same by boat, and from some day for diving on where divers come or leave.
    pub teams: Vec<Team>,
    pub finish: Finish,
    pub tables: Vec<Arc<Table>>,
    /// Zones whose work is done on the same dives.
    pub together: Vec<OnOneDive>,
    pub indicators: Vec<Indicator>,
    pub day: Day,
    /// Zones in which some unit is packed for less spread, because else it would not fit.
    pub(super) less_sure_in: Vec<ZoneTasks>,
    /// Begun sites that are finished whatever else is planned.
    pub finishing: Vec<Begun>,
    /// On which days its sites can be reached.
    pub(super) opens: Opens,
    /// Last day of its plans: only those who are aboard until then count. `usize::MAX`: all who ever are.
    pub last_day: usize,
    /// Where its plans are made by stretches of the crew; the tables are for whichever crew all the same.
    pub(super) by_stretch: Option<ByStretch>,
    /// Where its plans end before a change: all crews.
    pub(super) later_crew: Option<Arc<LaterCrew>>,
}

/// Who of the team of a boat can dive at the sites of each zone, from some day for diving on; both from 1.
#[derive(Clone, Debug)]
pub struct Team {
    pub from_day: usize,
    pub boat: usize,
    pub crews: Vec<Crew>,
}

/// Team dives at one site that are looked at.
pub(super) const MOST_DIVES_AT_A_SITE: usize = 4;
/// In so many team dives of a site work may be done that comes first: once it has been dived at, fish have fled.
const DIVES_WITH_FIRST: usize = 1;

/// Why nothing can be planned at all.
#[derive(Clone, Debug, PartialEq)]
pub enum NothingFits {
    /// No pair may dive so deep.
    NoPair { zone: usize },
    /// A day is too short for one dive.
    NoDive,
    /// Nothing reads the indicator of a target.
    NotRead,
}

impl<'a> Prepared<'a> {
    /// Cost: a table for each zone (team dives x pairs x unit vectors x largest works of a pair).
    ///
    /// # Errors
    /// Where no pair may dive in a zone, no dive fits into a day, or a target is read by nothing.
    pub fn new(
        plan: &'a Plan,
        expedition: &'a Expedition,
        dimensions: Vec<Dimensions>,
        known: &'a Known,
    ) -> Result<Self, NothingFits> {
        Self::with(plan, expedition, (dimensions, known), |_, _| {})
    }

    /// The same, with what was seen of minutes of tasks and of what sites tell.
    ///
    /// # Errors
    /// As [`Prepared::new`].
    pub fn with(
        plan: &'a Plan,
        expedition: &'a Expedition,
        (dimensions, known): (Vec<Dimensions>, &'a Known),
        seen: impl FnOnce(&mut Tasks, &mut [Indicator]),
    ) -> Result<Self, NothingFits> {
        let mut tasks = Tasks::new(plan, expedition, &dimensions).ok_or(NothingFits::NotRead)?;
        let crews = crews(expedition, &expedition.pairs, &tasks);
        let team = |of: crate::design::Team| Team {
            from_day: of.from_day,
            boat: of.boat,
            crews: self::crews(expedition, &of.pairs, &tasks),
        };
        let teams: Vec<Team> = expedition.teams().into_iter().map(team).collect();
        for team in &teams {
            if let Some(zone) = team.crews.iter().position(|crew| crew.pairs.is_empty()) {
                return Err(NothingFits::NoPair { zone });
            }
        }
        let day = day(expedition);
        if day.most_dives() == 0 {
            return Err(NothingFits::NoDive);
        }
        // Both divers of a pair must be done.
        let finish = Finish { quantile: normal_quantile(expedition.finish_chance.sqrt()) };
        let mut indicators = indicators(plan, &expedition.targets, &tasks, known);
        seen(&mut tasks, &mut indicators);
        let mut prepared = Self {
            plan,
            expedition,
            known,
            indicators,
            dimensions,
            tasks,
            crews,
            teams,
            finish,
            tables: Vec::new(),
            together: Vec::new(),
            day,
            less_sure_in: Vec::new(),
            finishing: Vec::new(),
            opens: known.opens().clone(),
            last_day: usize::MAX,
            by_stretch: None,
            later_crew: None,
        };
        prepared.pack();
        Ok(prepared)
    }

    /// The tables of the zones, for whichever team may have to do the work.
    pub(super) fn pack(&mut self) {
        self.together = self.places_with_two_depths().into_iter().filter_map(|(_, of)| of.ok()).collect();
        let most_dives = self.most_dives_at_a_site();
        self.tables = (0..self.expedition.zones.len())
            .map(|zone| match self.dives_of(zone) {
                None => self.table_alone(zone),
                Some(of) if of.deep == zone => {
                    self.known.place_table(&self.two_depths_of_all(of, most_dives), &self.tasks.caps)
                }
                Some(_) => Arc::new(Table::on_other_dives(self.tasks.caps.clone())),
            })
            .collect();
    }

    /// This, and for each change of the crew the same with those who are aboard until then, for plans that end before it; then
    /// those of them that can be made by stretches, so that of plans alike one for whichever crew is kept.
    pub fn by_crew(self) -> Vec<Self> {
        let changes = self.changes().into_iter().filter(|&day| day > 1);
        let all = Arc::new(LaterCrew { teams: self.teams.clone(), tables: self.tables.clone() });
        let until = |change: usize| {
            let mut before = self.clone();
            before.later_crew = Some(all.clone());
            before.teams.retain(|team| team.from_day < change);
            before.last_day = change - 1;
            before.opens = before.opens.until(change - 1);
            before.pack();
            before
        };
        let ending: Vec<Self> = changes.map(until).collect();
        let mut all: Vec<Self> = std::iter::once(self).chain(ending).collect();
        let by_stretches: Vec<Self> = all.iter().filter_map(Self::by_stretches).collect();
        all.extend(by_stretches);
        all
    }

    /// How the work at a site of a zone is packed on the visit that is planned, by the first boat's team of the first day.
    pub fn packing(&self, zone: usize, most_dives: usize) -> Packing<'_> {
        self.packing_by(self.tasks.visit, &self.teams[0].crews[zone], zone, most_dives)
    }

    /// All that the work at a site may have to be done with: by whichever boat and crew, on either visit where it is not clear
    /// which takes more.
    pub(super) fn circumstances(&self) -> Vec<(Visit, &Team)> {
        let planned = self.tasks.visit;
        let other = self.tasks.other_may_cost_more().then(|| planned.other());
        let visits: Vec<Visit> = std::iter::once(planned).chain(other).collect();
        self.teams.iter().flat_map(|team| visits.iter().map(move |visit| (*visit, team))).collect()
    }

    /// Team dives at a site of a zone whose work is not done on the dives of another.
    pub(super) fn table_alone(&self, zone: usize) -> Arc<Table> {
        self.table_of(zone, |_| true)
    }

    /// The same by whichever of some teams.
    pub(super) fn table_of(&self, zone: usize, is_one: impl Fn(&Team) -> bool) -> Arc<Table> {
        let most_dives = self.most_dives_at_a_site();
        let circumstances = self.circumstances().into_iter().filter(|(_, team)| is_one(team));
        let packings: Vec<Packing> =
            circumstances.map(|(visit, team)| self.packing_by(visit, &team.crews[zone], zone, most_dives)).collect();
        self.known.table(&packings, &self.tasks.caps)
    }

    /// Team dives at one site that are looked at: what two days hold at the most.
    fn most_dives_at_a_site(&self) -> usize {
        MOST_DIVES_AT_A_SITE.min(2 * self.day.most_dives())
    }

    /// How the work of a visit is packed at a site of a zone for some crew.
    pub fn packing_by<'b>(&'b self, visit: Visit, crew: &'b Crew, zone: usize, most_dives: usize) -> Packing<'b> {
        Packing {
            tasks: self.tasks_in(zone, visit),
            crew,
            finish: self.finish,
            minutes: self.expedition.zones[zone].work_minutes(),
            dives_with_first: DIVES_WITH_FIRST,
            one_stays_up: self.expedition.standby == Standby::APairStaysUp,
            most_dives,
            line: self.tasks.line.as_ref(),
        }
    }

    /// Zones as the search sees them.
    pub fn zones(&self) -> Vec<ZoneDives<'_>> {
        let study = self.plan.study.zones.iter().zip(&self.expedition.zones).zip(&self.tables);
        let of = |((zone, diving), table)| -> ZoneDives<'_> {
            let zone: &crate::design::Zone = zone;
            let (diving, table): (&crate::design::ZoneDiving, &Arc<Table>) = (diving, table);
            ZoneDives {
                weight: zone.weight,
                least_sites: diving.least_sites as u16,
                most_sites: diving.most_sites as u16,
                table,
                same_sites_as: None,
            }
        };
        let mut zones: Vec<ZoneDives> = study.map(of).collect();
        for stratum in self.plan.shared_strata() {
            let first = stratum.iter().copied().min().unwrap_or(0);
            for &zone in stratum.iter().filter(|zone| **zone != first) {
                zones[zone].same_sites_as = Some(first);
            }
        }
        zones
    }

    pub fn search<'b>(&'b self, zones: &'b [ZoneDives<'b>]) -> Search<'b> {
        Search::new(zones, &self.indicators, self.day.clone(), self.expedition.boats.number)
            .priced(self.prices())
            .finishing(self.dives_to_finish())
            .ending_by(self.last_day)
            .in_stretches(self.by_stretch.as_ref().map(|of| of.stretches.clone()))
    }

    /// Team dives at each begun site that is finished.
    pub fn dives_to_finish(&self) -> Vec<usize> {
        self.finishing.iter().map(|begun| begun.told.team_dives).collect()
    }

    /// Pair-dives at all of them.
    pub fn pair_dives_to_finish(&self) -> usize {
        self.finishing.iter().map(|begun| begun.work.pair_dives).sum()
    }

    pub fn weights(&self) -> Vec<f64> {
        self.plan.study.zones.iter().map(|zone| zone.weight).collect()
    }

    /// Days of all boats for so many sites that take so many team dives each; `packing`: of this expedition's day.
    pub fn days(&self, packing: &mut DayPacking, sites: &[u16], dives: &[usize]) -> Option<usize> {
        let days = packing.days_with(&self.dives_to_finish(), sites, dives);
        days.map(|days| days.div_ceil(self.expedition.boats.number.max(1)))
    }

    /// Sites of a zone that are done and tell every indicator.
    pub fn done_sites(&self, zone: usize) -> usize {
        self.indicators.iter().map(|indicator| usize::from(indicator.done_sites(zone))).min().unwrap_or(0)
    }

    /// Days on which can be dived if none is lost.
    pub fn bookable_days(&self) -> usize {
        self.expedition.days.for_diving()
    }

    pub fn lost_days(&self) -> Option<LostDays> {
        self.expedition.days.lost.map(|lost| LostDays { share: lost.share, spell: lost.spell_days })
    }
}

/// For each zone those of some pairs who can dive there.
fn crews(expedition: &Expedition, pairs: &[(usize, usize)], tasks: &Tasks) -> Vec<Crew> {
    expedition.zones.iter().map(|zone| crew(expedition, pairs, tasks, zone)).collect()
}

/// The pairs whose two divers may go as deep as a zone.
fn crew(expedition: &Expedition, pairs: &[(usize, usize)], tasks: &Tasks, zone: &ZoneDiving) -> Crew {
    let divers = expedition.divers.iter().map(|diver| {
        let has = |skill: &String| diver.skills.contains(skill);
        let skills = tasks.skills.iter().enumerate().filter(|(_, skill)| has(skill));
        Diver { name: diver.name.clone(), skills: skills.fold(0, |all, (index, _)| all | 1 << index) }
    });
    let pairs = pairs.iter().filter(|&&pair| expedition.may_dive(zone, pair));
    Crew { divers: divers.collect(), pairs: pairs.map(|&(one, other)| Pair(one, other)).collect() }
}

fn day(expedition: &Expedition) -> Day {
    let boats = &expedition.boats;
    let by_clock = boats.clock.map(|clock| {
        let longest = expedition.zones.iter().fold(0.0, |longest: f64, zone| longest.max(zone.bottom_minutes));
        let times = DayTimes {
            day: clock.day,
            out_and_home: clock.out_and_home,
            run: longest + clock.around_a_dive,
            interval: clock.interval,
            between_sites: clock.between_sites,
        };
        Day::by_times(&times, boats.dives_a_day)
    });
    match (by_clock, boats.sites_a_day) {
        (Some(day), Some(sites)) => day.with_sites(sites),
        (Some(day), None) => day,
        (None, sites) => Day::fixed(boats.dives_a_day, sites.unwrap_or(boats.dives_a_day)),
    }
}
