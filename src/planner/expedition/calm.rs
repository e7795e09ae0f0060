//! Sheltered sites for bad days: where to go instead where a zone needs calm weather.

use super::answer::BudgetAnswer;
use super::draw::Draw;
use super::prepared::Prepared;
use super::schedule::ScheduleRow;
use super::visits::{Visit, Visits};
use serde::Serialize;

/// A visit that needs calm weather, and the sheltered site of the plan that may take its place on that day (they change
/// days).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CalmVisit {
    pub day: usize,
    pub boat: usize,
    pub zone: String,
    pub site: usize,
    pub site_name: String,
    /// `None`: no sheltered site of a later day fits.
    pub instead: Option<Instead>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Instead {
    pub zone: String,
    pub site: usize,
    pub site_name: String,
    /// Day on which it is planned.
    pub planned_day: usize,
}

impl BudgetAnswer {
    /// Where the site of a row needs calm weather.
    pub fn calm_visit(&self, row: &ScheduleRow) -> Option<&CalmVisit> {
        let key = (row.day, row.boat, &row.zone, row.site);
        self.calm_visits.iter().find(|visit| (visit.day, visit.boat, &visit.zone, visit.site) == key)
    }
}

/// All visits to exposed sites of zones that need calm weather.
pub fn calm_visits(prepared: &Prepared, visits: &Visits, draw: &Draw) -> Vec<CalmVisit> {
    let zones = &prepared.plan.study.zones;
    let mut all = Vec::new();
    for (index, day) in visits.boat_days.iter().enumerate() {
        for visit in day {
            let site = draw.site(visit.at.zone, visit.number);
            let needs_calm = |zone: usize| prepared.expedition.zones[zone].needs_calm;
            let shallow = prepared.dives_of(visit.at.zone).map(|of| of.shallow);
            let needs = needs_calm(visit.at.zone) || shallow.is_some_and(needs_calm);
            if !needs || site.sheltered {
                continue;
            }
            let (day, boat) = visits.when(index);
            let instead = later(visits, index).find(|(later, other)| {
                draw.site(other.at.zone, other.number).sheltered
                    && can_change(prepared, visits, draw, [(index, *visit), (*later, *other)])
            });
            all.push(CalmVisit {
                day: visits.days_gone + day,
                boat,
                zone: zones[visit.at.zone].name.clone(),
                site: visit.number + 1,
                site_name: site.name.clone(),
                instead: instead.map(|(later, other)| Instead {
                    zone: zones[other.at.zone].name.clone(),
                    site: other.number + 1,
                    site_name: draw.site(other.at.zone, other.number).name.clone(),
                    planned_day: visits.days_gone + visits.when(later).0,
                }),
            });
        }
    }
    all
}

/// Visits of later days.
fn later(visits: &Visits, boat_day: usize) -> impl Iterator<Item = (usize, Visit)> + '_ {
    let after = visits.when(boat_day).0 * visits.boats;
    let days = visits.boat_days.iter().enumerate().skip(after);
    days.flat_map(|(index, day)| day.iter().map(move |visit| (index, *visit)))
}

/// Whether two visits can change days: both are whole, each day still holds its dives, and both sites can be reached then.
fn can_change(prepared: &Prepared, visits: &Visits, draw: &Draw, two: [(usize, Visit); 2]) -> bool {
    let [(one_day, one), (other_day, other)] = two;
    let is_whole = |visit: Visit| {
        let same = |of: &&Visit| (of.at.zone, of.number) == (visit.at.zone, visit.number);
        visits.boat_days.iter().flatten().filter(same).count() == 1
    };
    let holds = |day: usize, out: Visit, into: Visit| {
        let visits = &visits.boat_days[day];
        let dives: usize = visits.iter().map(|visit| visit.at.dives).sum();
        prepared.day.holds(visits.len(), dives - out.at.dives + into.at.dives)
    };
    let reaches = |visit: Visit, day: usize| {
        let (first, last) = draw.site(visit.at.zone, visit.number).window();
        (first..=last).contains(&(visits.days_gone + visits.when(day).0))
    };
    is_whole(one)
        && is_whole(other)
        && holds(one_day, one, other)
        && holds(other_day, other, one)
        && reaches(one, other_day)
        && reaches(other, one_day)
}
