//! Plans by stretches of the crew: what is done before a change is planned for those who are aboard then, what is done after it for
//! those who come after. Units are the same at all sites; team dives at a site, and who does the work, are those of its stretch.

use super::prepared::{Prepared, Team};
use crate::budget::schedule::{SiteVisit, days};
use crate::budget::{DayPacking, Found, Split, Stretches, Table};
use serde::Serialize;
use std::sync::Arc;

/// The stretches of a crew as a plan goes by them.
#[derive(Clone)]
pub struct ByStretch {
    /// First day for diving of each, from 1.
    pub first_days: Vec<usize>,
    /// What the crews take.
    pub stretches: Arc<Stretches>,
}

/// Days of a plan on which one crew is aboard, both from 1.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanStretch {
    pub from_day: usize,
    pub to_day: usize,
    /// Aboard, of all boats.
    pub pairs: usize,
}

/// Sites of a zone that are done in a stretch, with what each takes (or would take) of its crew.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SitesInStretch {
    pub from_day: usize,
    pub to_day: usize,
    pub sites: usize,
    pub team_dives: usize,
    pub pair_dives: usize,
}

impl SitesInStretch {
    /// "on days 1 to 4"
    pub fn days_words(&self) -> String {
        days_words(self.from_day, self.to_day)
    }
}

impl PlanStretch {
    /// "on days 1 to 4"
    pub fn days_words(&self) -> String {
        days_words(self.from_day, self.to_day)
    }
}

fn days_words(from_day: usize, to_day: usize) -> String {
    if from_day == to_day { format!("on day {from_day}") } else { format!("on days {from_day} to {to_day}") }
}

impl Prepared<'_> {
    /// The same by stretches. `None` where the crews take the same at every site, and where that is not planned: with zones on one
    /// dive, with begun sites, with sites that can be reached on some days only or that wait for calm weather.
    pub(super) fn by_stretches(&self) -> Option<Self> {
        let first_days = self.changes();
        let expedition = self.expedition;
        let has_windows = expedition.sites.as_ref().is_some_and(|list| {
            let is_open = |site: &crate::design::ListedSite| site.window() == (1, usize::MAX);
            expedition.zones.iter().any(|zone| zone.needs_calm) || !list.sites.iter().all(is_open)
        });
        if first_days.len() < 2 || !self.together.is_empty() || !self.finishing.is_empty() || has_windows {
            return None;
        }
        let tables_of = |first_day: &usize| -> Vec<Arc<Table>> {
            let of_stretch = |team: &Team| team.from_day == *first_day;
            (0..self.tables.len()).map(|zone| self.table_of(zone, of_stretch)).collect()
        };
        let tables: Vec<Vec<Arc<Table>>> = first_days.iter().map(tables_of).collect();
        if tables.iter().all(|of| *of == self.tables) {
            return None;
        }
        // The last has no end: no plan goes past the days of the search.
        let lengths = first_days.windows(2).map(|two| two[1] - two[0]).chain([usize::MAX]);
        let stretches = Stretches::new(self.day.clone(), expedition.boats.number, lengths.zip(tables).collect());
        let by_stretch = Some(ByStretch { first_days, stretches: Arc::new(stretches) });
        Some(Self { by_stretch, later_crew: None, ..self.clone() })
    }

    /// First days of the stretches of its crew, from 1.
    pub(super) fn changes(&self) -> Vec<usize> {
        let mut first_days: Vec<usize> = self.teams.iter().map(|team| team.from_day).collect();
        first_days.dedup();
        first_days
    }

    /// Whether its plans are for whichever crew is aboard, and of any number of days.
    pub(super) fn is_of_all_days(&self) -> bool {
        self.last_day == usize::MAX && self.by_stretch.is_none()
    }

    /// The place of the stretch of a day for diving, from 1, among those that are planned by; 0 where none are.
    pub(super) fn stretch_of(&self, day: usize) -> usize {
        let of = |of: &ByStretch| of.first_days.iter().rposition(|first| *first <= day).unwrap_or(0);
        self.by_stretch.as_ref().map_or(0, of)
    }

    /// Days for diving before a stretch.
    pub(super) fn days_before(&self, stretch: usize) -> usize {
        self.by_stretch.as_ref().map_or(0, |of| of.first_days[stretch] - 1)
    }

    /// Stretches that are planned by; one where that is whichever crew is aboard.
    pub(super) fn number_of_stretches(&self) -> usize {
        self.by_stretch.as_ref().map_or(1, |of| of.first_days.len())
    }

    /// Team dives at a site of a zone with so many units, in a stretch.
    pub(super) fn dives_in(&self, stretch: usize, zone: usize, units: &[u8]) -> Option<usize> {
        match &self.by_stretch {
            Some(of) => Some(of.stretches.dives(units)?[stretch][zone]),
            None => self.tables[zone].dives(units),
        }
    }

    /// The same in each stretch.
    pub(super) fn dives_in_each(&self, zone: usize, units: &[u8]) -> Vec<Option<usize>> {
        (0..self.number_of_stretches()).map(|stretch| self.dives_in(stretch, zone, units)).collect()
    }

    fn split_of(&self, packing: &mut DayPacking, sites: &[u16], units: &[u8]) -> Option<Split> {
        let of = self.by_stretch.as_ref()?;
        Some(of.stretches.split(packing, sites, &of.stretches.dives(units)?))
    }

    /// Sites of each zone that are done in each stretch; all in one where that is whichever crew is aboard.
    pub(super) fn sites_by_stretch(&self, found: &Found) -> Vec<Vec<u16>> {
        let split = self.split_of(&mut DayPacking::new(&self.day), &found.sites, &found.units);
        split.map_or_else(|| vec![found.sites.clone()], |split| split.sites)
    }

    /// Days and team dives for so many sites of each zone with so many units; `packing`: of this expedition's day.
    pub(super) fn takes(&self, packing: &mut DayPacking, sites: &[u16], units: &[u8]) -> Option<(usize, usize)> {
        if self.by_stretch.is_some() {
            return self.split_of(packing, sites, units).map(|split| (split.days, split.team_dives));
        }
        let dives: Vec<usize> = self.tables.iter().map(|table| table.dives(units)).collect::<Option<_>>()?;
        let team_dives = dives.iter().zip(sites).map(|(dives, &sites)| dives * usize::from(sites)).sum();
        Some((self.days(packing, sites, &dives)?, team_dives))
    }

    /// The stretches on which something is done, with their places.
    pub(super) fn stretches_of_plan(&self, found: &Found) -> Vec<(usize, PlanStretch)> {
        let Some(of) = &self.by_stretch else { return Vec::new() };
        let split = self.sites_by_stretch(found);
        let is_used = |stretch: &usize| split[*stretch].iter().any(|&sites| sites > 0);
        let told = |stretch: usize| {
            let from_day = of.first_days[stretch];
            let next = of.first_days.get(stretch + 1).map_or(usize::MAX, |next| next - 1);
            let pairs = self.expedition.pairs_on_day(from_day).len();
            (stretch, PlanStretch { from_day, to_day: next.min(found.days), pairs })
        };
        (0..split.len()).filter(is_used).map(told).collect()
    }

    /// The visits of all boat-days, stretch after stretch, each in the order of an expedition of its own; `None` where they are for
    /// whichever crew is aboard.
    pub(super) fn visits_by_stretch(&self, found: &Found) -> Option<Vec<Vec<SiteVisit>>> {
        let of = self.by_stretch.as_ref()?;
        let dives = of.stretches.dives(&found.units)?;
        let boats = self.expedition.boats.number.max(1);
        let mut done = vec![0usize; found.sites.len()];
        let mut all: Vec<Vec<SiteVisit>> = Vec::new();
        for (stretch, sites) in self.sites_by_stretch(found).iter().enumerate() {
            if sites.iter().all(|&number| number == 0) {
                continue;
            }
            all.resize((of.first_days[stretch] - 1) * boats, Vec::new());
            let mut boat_days = days(&self.day, sites, &dives[stretch]);
            for visit in boat_days.iter_mut().flatten() {
                visit.site += done[visit.zone];
            }
            all.append(&mut boat_days);
            done.iter_mut().zip(sites).for_each(|(done, &number)| *done += usize::from(number));
        }
        Some(all)
    }
}
