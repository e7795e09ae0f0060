//! Sheltered sites for bad days: where to go instead where a zone needs calm weather.

use super::answer::BudgetAnswer;
use super::draw::Draw;
use super::prepared::Prepared;
use super::schedule::ScheduleRow;
use super::visits::{Visit, Visits};
use crate::measures::counted;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

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
    /// Whether it is kept for this visit alone; else it may be used up by a bad day before.
    pub is_own: bool,
}

impl BudgetAnswer {
    /// Where the site of a row needs calm weather.
    pub fn calm_visit(&self, row: &ScheduleRow) -> Option<&CalmVisit> {
        let key = (row.day, row.boat, &row.zone, row.site);
        self.calm_visits.iter().find(|visit| (visit.day, visit.boat, &visit.zone, visit.site) == key)
    }
}

/// Whether a site is exposed and its zone, or that of the shallow part of the place, needs calm weather.
pub(super) fn needs_calm(prepared: &Prepared, draw: &Draw, zone: usize, number: usize) -> bool {
    let of_zone = |zone: usize| prepared.expedition.zones[zone].needs_calm;
    let shallow = prepared.dives_of(zone).map(|of| of.shallow);
    (of_zone(zone) || shallow.is_some_and(of_zone)) && !draw.site(zone, number).sheltered
}

/// All visits to exposed sites of zones that need calm weather. As many as can be have a sheltered site of their own; of the
/// others each has one that no other visit of its day has.
pub fn calm_visits(prepared: &Prepared, visits: &Visits, draw: &Draw) -> Vec<CalmVisit> {
    let zones = &prepared.plan.study.zones;
    let all =
        || visits.boat_days.iter().enumerate().flat_map(|(index, day)| day.iter().map(move |visit| (index, *visit)));
    let exposed: Vec<(usize, Visit)> =
        all().filter(|(_, visit)| needs_calm(prepared, draw, visit.at.zone, visit.number)).collect();
    let sheltered: Vec<(usize, Visit)> =
        all().filter(|(_, visit)| draw.site(visit.at.zone, visit.number).sheltered).collect();
    let day_of = |(index, _): (usize, Visit)| visits.when(index).0;
    let able = |one: &(usize, Visit)| -> Vec<usize> {
        let fits = |place: &usize| {
            let other = sheltered[*place];
            day_of(other) > day_of(*one) && can_change(prepared, visits, draw, [*one, other])
        };
        (0..sheltered.len()).filter(fits).collect()
    };
    let able: Vec<Vec<usize>> = exposed.iter().map(able).collect();
    let days: Vec<usize> = exposed.iter().map(|of| day_of(*of)).collect();
    let of = |(&(index, visit), instead): (&(usize, Visit), Option<(usize, bool)>)| {
        let (day, boat) = visits.when(index);
        let site = draw.site(visit.at.zone, visit.number);
        CalmVisit {
            day: visits.days_gone + day,
            boat,
            zone: zones[visit.at.zone].name.clone(),
            site: visit.number + 1,
            site_name: site.name.clone(),
            instead: instead.map(|(place, is_own)| {
                let (later, other) = sheltered[place];
                Instead {
                    zone: zones[other.at.zone].name.clone(),
                    site: other.number + 1,
                    site_name: draw.site(other.at.zone, other.number).name.clone(),
                    planned_day: visits.days_gone + visits.when(later).0,
                    is_own,
                }
            }),
        }
    };
    exposed.iter().zip(stand_ins(&able, &days)).map(of).collect()
}

/// How many days of a plan need calm weather, as a warning.
pub(super) fn calm_days_line(calm: &[CalmVisit], visits: &Visits) -> Option<String> {
    let days: BTreeSet<usize> = calm.iter().map(|visit| visit.day).collect();
    let last = days.last()?;
    let instead = calm.iter().filter_map(|visit| visit.instead.as_ref());
    let sheltered: BTreeSet<(&str, usize)> = instead.map(|of| (of.zone.as_str(), of.site)).collect();
    Some(format!(
        "Calm weather is needed on {} of {} days of diving (the last is day {last}), early as far as zones stay in step. Sheltered \
         sites of later days to change with: {}, for {}.",
        days.len(),
        visits.days_dived(),
        sheltered.len(),
        counted(calm.len(), "exposed visit")
    ))
}

/// One of the places that each may have, and whether no other has it: as many as can be have one of their own; of the rest each
/// has the first that nobody of its day has.
fn stand_ins(able: &[Vec<usize>], days: &[usize]) -> Vec<Option<(usize, bool)>> {
    let mut holder: BTreeMap<usize, usize> = BTreeMap::new();
    for one in 0..able.len() {
        give(able, one, &mut holder, &mut BTreeSet::new());
    }
    let mut all: Vec<Option<(usize, bool)>> = vec![None; able.len()];
    holder.iter().for_each(|(&place, &one)| all[one] = Some((place, true)));
    let mut shared = BTreeSet::new();
    for one in 0..able.len() {
        if all[one].is_some() {
            continue;
        }
        let is_free = |place: &usize| {
            let has = |other: usize| days[other] == days[one] && all[other].is_some_and(|(of, _)| of == *place);
            !(0..able.len()).any(has)
        };
        let place = able[one].iter().copied().find(is_free);
        shared.extend(place);
        all[one] = place.map(|place| (place, false));
    }
    for (place, is_own) in all.iter_mut().flatten() {
        *is_own &= !shared.contains(place);
    }
    all
}

/// Gives one a place, if need be by giving another to who has it.
fn give(able: &[Vec<usize>], one: usize, holder: &mut BTreeMap<usize, usize>, tried: &mut BTreeSet<usize>) -> bool {
    for &place in &able[one] {
        if !tried.insert(place) {
            continue;
        }
        let other = holder.get(&place).copied();
        if other.is_none_or(|other| give(able, other, holder, tried)) {
            holder.insert(place, one);
            return true;
        }
    }
    false
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    /// The most that can have a place of their own, by trying.
    fn most(able: &[Vec<usize>], taken: &mut Vec<usize>) -> usize {
        let Some((first, rest)) = able.split_first() else { return 0 };
        let mut best = most(rest, taken);
        for &place in first {
            if !taken.contains(&place) {
                taken.push(place);
                best = best.max(1 + most(rest, taken));
                taken.pop();
            }
        }
        best
    }

    /// As many places as can be serve, nobody has one he may not have, and none serves two of a day.
    #[test]
    fn a_sheltered_site_stands_in_once_on_a_day() {
        let mut shared = 0;
        for seed in 0..200 {
            let number = |index: u64, below: f64| (Key::seed(seed).uniform(Purpose::Test, index) * below) as usize;
            let able: Vec<Vec<usize>> = (0..2 + number(0, 4.0) as u64)
                .map(|one| (0..5).filter(|&place| number(100 * (one + 1) + place as u64, 3.0) == 0).collect())
                .collect();
            let days: Vec<usize> = (0..able.len()).map(|one| one / 2).collect();
            let found = stand_ins(&able, &days);
            let used: BTreeSet<usize> = found.iter().flatten().map(|(place, _)| *place).collect();
            assert_eq!(used.len(), most(&able, &mut Vec::new()), "{able:?} {found:?}");
            for (one, of) in found.iter().enumerate() {
                let Some((place, is_own)) = of else { continue };
                let others = || (0..able.len()).filter(|&other| other != one);
                let has = |other: &usize| found[*other].is_some_and(|(of, _)| of == *place);
                assert!(able[one].contains(place) && *is_own != others().any(|other| has(&other)), "{found:?}");
                assert!(!others().filter(has).any(|other| days[other] == days[one]), "{found:?}");
                shared += usize::from(!is_own);
            }
        }
        assert!(shared > 20, "{shared}");
    }
}
