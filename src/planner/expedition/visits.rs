//! Which site on which day: the order of the draw, as far as the days on which sites can be reached allow.

use super::calm::needs_calm;
use super::calm_days::Ordered;
use super::draw::Draw;
use super::exchanges::improve;
use super::plan::ZoneSites;
use super::prepared::Prepared;
use crate::budget::schedule::{SiteVisit, days_after};
use crate::budget::{Day, Found};
use crate::design::ListedSite;

/// A visit with its site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visit {
    pub at: SiteVisit,
    /// Place of its site in the order of its zone, from 0.
    pub number: usize,
    /// Which of the begun sites is finished; `None`: a new site.
    pub begun: Option<usize>,
}

/// All visits, boat-day by boat-day (the boats of a day one after the other).
pub struct Visits {
    pub boat_days: Vec<Vec<Visit>>,
    pub boats: usize,
    /// Days of the expedition before the first of these.
    pub days_gone: usize,
    /// Zone, number and day of the expedition (from 1) of those that cannot be reached on their day.
    pub outside: Vec<(usize, usize, usize)>,
    /// Zone and number of those for which days are left free, because they can be reached later only.
    pub waited_for: Vec<(usize, usize)>,
    /// Whether sheltered sites were kept for the last days of their zone.
    pub keeps_sheltered: bool,
}

impl Visits {
    /// Day and boat, from 1, of a boat-day.
    pub fn when(&self, boat_day: usize) -> (usize, usize) {
        (boat_day / self.boats + 1, boat_day % self.boats + 1)
    }

    /// Day of the expedition with the last visit.
    pub fn last_day(&self) -> usize {
        self.days_gone + self.boat_days.len().div_ceil(self.boats)
    }

    /// Days of the expedition before the last of these on which nothing is done.
    pub fn free_days(&self) -> Vec<usize> {
        let days = self.boat_days.chunks(self.boats).enumerate();
        let free = days.filter(|(_, boats)| boats.iter().all(Vec::is_empty));
        free.map(|(day, _)| self.days_gone + day + 1).collect()
    }

    /// Days on which anything is done.
    pub fn days_dived(&self) -> usize {
        self.last_day() - self.days_gone - self.free_days().len()
    }

    /// Days of the expedition on which one more team dive can be made at one more site.
    pub fn with_room(&self, day: &Day) -> Vec<usize> {
        let holds = |visits: &[Visit]| {
            let dives: usize = visits.iter().map(|visit| visit.at.dives).sum();
            day.holds(visits.len() + 1, dives + 1)
        };
        let of =
            |(boat_day, visits): (usize, &Vec<Visit>)| holds(visits).then(|| self.days_gone + self.when(boat_day).0);
        let mut all: Vec<usize> = self.boat_days.iter().enumerate().filter_map(of).collect();
        all.dedup();
        all
    }

    /// Boat-day of the first visit to a site.
    pub fn first(&self, zone: usize, number: usize) -> Option<usize> {
        let is_it = |visit: &Visit| (visit.at.zone, visit.number) == (zone, number);
        self.boat_days.iter().position(|day| day.iter().any(is_it))
    }
}

/// The sites to come where some are done, zone by zone by their numbers in the draw (from 1), and how many days are gone.
#[derive(Clone, Copy)]
pub struct ToCome<'a> {
    pub left: &'a [Vec<usize>],
    pub days_gone: usize,
}

/// Days as the budget orders them, exchanged only where some site could not be reached on its day.
pub fn visits(
    prepared: &Prepared,
    found: &Found,
    zones: &[ZoneSites],
    (draw, to_come): (Option<&Draw>, Option<ToCome>),
) -> Visits {
    let to_finish = prepared.dives_to_finish();
    let of_new: Vec<usize> = zones.iter().map(|zone| zone.team_dives).collect();
    let boats = prepared.expedition.boats.number.max(1);
    let days_gone = to_come.map_or(0, |of| of.days_gone);
    let mut plan = prepared
        .visits_by_stretch(found)
        .unwrap_or_else(|| days_after(&prepared.day, &to_finish, &found.sites, &of_new));
    // Visits to begun sites have the numbers of zones that follow the last one.
    let begun = |at: &SiteVisit| at.zone.checked_sub(zones.len()).map(|begun| (begun, &prepared.finishing[begun]));
    let depth = |at: &SiteVisit| prepared.expedition.zones[begun(at).map_or(at.zone, |(_, of)| of.zone)].depth_m;
    let of_begun = |at: SiteVisit| {
        begun(&at).map(|(begun, of)| {
            let number = of.told.site - 1;
            Visit { at: SiteVisit { zone: of.zone, site: number, ..at }, number, begun: Some(begun) }
        })
    };
    // The deeper site of a day first.
    let deeper_first = |plan: &mut Vec<Vec<SiteVisit>>| {
        plan.iter_mut().for_each(|day| day.sort_by(|one, other| depth(other).total_cmp(&depth(one))));
    };
    let calm = prepared.expedition.zones.iter().any(|zone| zone.needs_calm);
    let Some(draw) = draw else {
        deeper_first(&mut plan);
        let number = |at: &SiteVisit| to_come.map_or(at.site, |of| of.left[at.zone][at.site] - 1);
        let visit = |at: SiteVisit| of_begun(at).unwrap_or_else(|| Visit { number: number(&at), at, begun: None });
        let boat_days = plan.into_iter().map(|day| day.into_iter().map(visit).collect()).collect();
        return Visits {
            boat_days,
            boats,
            days_gone,
            outside: Vec::new(),
            waited_for: Vec::new(),
            keeps_sheltered: false,
        };
    };
    // What is done on the dives of another zone has no visits of its own.
    let visited = |zone: usize| if of_new[zone] > 0 { usize::from(found.sites[zone]) } else { 0 };
    let numbers = |zone: usize| match to_come {
        Some(of) => of.left[zone].iter().take(visited(zone)).map(|number| number - 1).collect(),
        None => draw.planned(zone, visited(zone)),
    };
    // The days of a plan are those of its crew, but for sites where whoever comes after it does the same.
    let last = |zone: usize| prepared.last_day_at(zone, &found.units);
    let new_sites =
        (0..zones.len()).map(|zone| Places::new((draw, zone), numbers(zone), (calm, days_gone), last(zone)));
    let one_begun = prepared.finishing.iter();
    let one_begun =
        one_begun.map(|of| Places::new((draw, of.zone), vec![of.told.site - 1], (calm, days_gone), prepared.last_day));
    let mut places: Vec<Places> = new_sites.chain(one_begun).collect();
    for (zone, places) in places.iter_mut().enumerate() {
        let of_zone = zone.checked_sub(zones.len()).map_or(zone, |begun| prepared.finishing[begun].zone);
        places.needs_calm = places.numbers.iter().map(|&number| needs_calm(prepared, draw, of_zone, number)).collect();
    }
    let unreached = |plan: &[Vec<SiteVisit>]| -> usize {
        let of = |(zone, places): (usize, &Places)| {
            places.windows.len() - most_reached(&slots(plan, zone, boats), &places.windows)
        };
        places.iter().enumerate().map(of).sum()
    };
    let dives = [of_new.as_slice(), &to_finish].concat();
    improve(&prepared.day, &mut plan, &dives, unreached);
    let there = prepared.bookable_days();
    let opens = places.iter().flat_map(|places| places.windows.iter().map(|window| window.0)).collect();
    wait(&prepared.day, &mut plan, &dives, (boats, there), opens, unreached);
    if calm {
        let sites: Vec<usize> = (0..zones.len()).map(visited).collect();
        let ordered = Ordered { day: &prepared.day, dives: &dives, sites: &sites, boats };
        ordered.gather(&mut plan, |plan| calm_days(plan, &places, boats), unreached);
    }
    deeper_first(&mut plan);
    let chosen: Vec<Vec<usize>> =
        places.iter().enumerate().map(|(zone, places)| chosen(&slots(&plan, zone, boats), &places.windows)).collect();
    let mut outside = Vec::new();
    for (zone, places) in places.iter().enumerate() {
        let of_zone = zone.checked_sub(zones.len()).map_or(zone, |begun| prepared.finishing[begun].zone);
        for (slot, &place) in slots(&plan, zone, boats).iter().zip(&chosen[zone]) {
            if !fits(*slot, places.windows[place]) {
                outside.push((of_zone, places.numbers[place], days_gone + slot.0));
            }
        }
    }
    // Those that are visited after a free day and could not have been before it.
    let first_free = plan.chunks(boats).position(|boats| boats.iter().all(Vec::is_empty)).map(|day| day + 1);
    let mut waited_for = Vec::new();
    for (zone, places) in places.iter().enumerate() {
        let of_zone = zone.checked_sub(zones.len()).map_or(zone, |begun| prepared.finishing[begun].zone);
        for (slot, &place) in slots(&plan, zone, boats).iter().zip(&chosen[zone]) {
            if first_free.is_some_and(|free| slot.0 > free && places.windows[place].0 > free) {
                waited_for.push((of_zone, places.numbers[place]));
            }
        }
    }
    // Sites of a zone are counted anew in the order of the days.
    let mut met: Vec<usize> = vec![0; zones.len()];
    let mut visit = |at: SiteVisit| {
        of_begun(at).unwrap_or_else(|| {
            if at.first_dive == 0 {
                met[at.zone] += 1;
            }
            Visit { at, number: places[at.zone].numbers[chosen[at.zone][met[at.zone] - 1]], begun: None }
        })
    };
    let mut boat_days: Vec<Vec<Visit>> = Vec::new();
    for day in plan {
        boat_days.push(day.into_iter().map(&mut visit).collect());
    }
    let keeps_sheltered = calm && places.iter().any(|places| places.has_sheltered);
    Visits { boat_days, boats, days_gone, outside, waited_for, keeps_sheltered }
}

/// The sites of a zone that are visited, in the order in which they are wanted.
struct Places {
    /// In the order of the draw.
    numbers: Vec<usize>,
    /// In days to come, of which the next is 1.
    windows: Vec<(usize, usize)>,
    needs_calm: Vec<bool>,
    has_sheltered: bool,
}

impl Places {
    /// Where calm weather is needed somewhere, sheltered sites wait for bad days. `last_day`: of days to come.
    fn new(
        (draw, zone): (&Draw, usize),
        mut numbers: Vec<usize>,
        (calm, days_gone): (bool, usize),
        last_day: usize,
    ) -> Self {
        let to_come = |(first, last): (usize, usize)| {
            (first.saturating_sub(days_gone), last.saturating_sub(days_gone).min(last_day))
        };
        let site = |number: &usize| -> &ListedSite { draw.site(zone, *number) };
        if calm {
            numbers.sort_by_key(|number| site(number).sheltered);
        }
        Self {
            windows: numbers.iter().map(|number| to_come(site(number).window())).collect(),
            has_sheltered: numbers.iter().any(|number| site(number).sheltered),
            needs_calm: Vec::new(),
            numbers,
        }
    }
}

/// Of each day, whether calm weather is needed on it.
fn calm_days(plan: &[Vec<SiteVisit>], places: &[Places], boats: usize) -> Vec<bool> {
    let mut days = vec![false; plan.len().div_ceil(boats)];
    for (zone, places) in places.iter().enumerate() {
        let slots = slots(plan, zone, boats);
        for (slot, place) in slots.iter().zip(chosen(&slots, &places.windows)) {
            if places.needs_calm[place] {
                days[slot.0 - 1..slot.1].fill(true);
            }
        }
    }
    days
}

/// First and last day, from 1, of each site of a zone in the order of the days.
fn slots(plan: &[Vec<SiteVisit>], zone: usize, boats: usize) -> Vec<(usize, usize)> {
    let mut slots: Vec<(usize, usize)> = Vec::new();
    for (index, day) in plan.iter().enumerate() {
        for visit in day.iter().filter(|visit| visit.zone == zone) {
            let day = index / boats + 1;
            match slots.last_mut() {
                Some(slot) if visit.first_dive > 0 => slot.1 = day,
                _ => slots.push((day, day)),
            }
        }
    }
    slots
}

fn fits(slot: (usize, usize), window: (usize, usize)) -> bool {
    window.0 <= slot.0 && slot.1 <= window.1
}

/// The most sites that can be reached on the days of the slots: each day takes the site whose time ends first, which is the
/// best there is, because what fits a site is a run of slots.
fn most_reached(slots: &[(usize, usize)], windows: &[(usize, usize)]) -> usize {
    let mut left: Vec<(usize, usize)> = windows.to_vec();
    let mut reached = 0;
    for &slot in slots {
        let able = (0..left.len()).filter(|&place| fits(slot, left[place]));
        if let Some(place) = able.min_by_key(|&place| left[place].1) {
            left.swap_remove(place);
            reached += 1;
        }
    }
    reached
}

/// A site for each slot: as many as can be are reached on their day, and of all such ways the first in the order of the
/// sites.
fn chosen(slots: &[(usize, usize)], windows: &[(usize, usize)]) -> Vec<usize> {
    if slots.iter().all(|slot| windows.iter().all(|window| fits(*slot, *window))) {
        return (0..slots.len()).collect();
    }
    let mut left: Vec<usize> = (0..windows.len()).collect();
    let mut best = most_reached(slots, windows);
    let mut all = Vec::new();
    for (index, &slot) in slots.iter().enumerate() {
        let reaches = |place: usize| usize::from(fits(slot, windows[left[place]]));
        let place = (0..left.len()).find(|&place| {
            let rest: Vec<(usize, usize)> =
                left.iter().filter(|&&of| of != left[place]).map(|&of| windows[of]).collect();
            reaches(place) + most_reached(&slots[index + 1..], &rest) == best
        });
        let place = place.unwrap_or(0);
        best -= reaches(place).min(best);
        all.push(left.remove(place));
    }
    all
}

/// Leaves days free where that lets more sites be reached: as few as there can be at the end, and then exchanged with others.
/// `opens`: first days on which sites can be reached, from the next day (1) on.
fn wait(
    day: &Day,
    plan: &mut Vec<Vec<SiteVisit>>,
    dives: &[usize],
    (boats, there): (usize, usize),
    opens: Vec<usize>,
    unreached: impl Fn(&[Vec<SiteVisit>]) -> usize,
) {
    let mut missed = unreached(plan);
    let days = plan.len().div_ceil(boats);
    // A site that takes several days begins on the day on which it can be reached.
    let longest = dives.iter().map(|dives| dives.div_ceil(day.most_dives().max(1))).max().unwrap_or(1).max(1);
    let mut ends: Vec<usize> = opens.into_iter().flat_map(|open| open..open.saturating_add(longest)).collect();
    ends.push(there);
    ends.retain(|end| (days + 1..=there).contains(end));
    ends.sort_unstable();
    ends.dedup();
    for end in ends {
        if missed == 0 {
            break;
        }
        let mut longer = plan.clone();
        longer.resize(end * boats, Vec::new());
        improve(day, &mut longer, dives, &unreached);
        let now = unreached(&longer);
        if now < missed {
            (*plan, missed) = (longer, now);
        }
    }
    while plan.last().is_some_and(Vec::is_empty) {
        plan.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Key, Purpose};

    /// All ways tried one after the other.
    fn most_by_trying(slots: &[(usize, usize)], windows: &[(usize, usize)]) -> usize {
        let Some((first, rest)) = slots.split_first() else { return 0 };
        (0..windows.len())
            .map(|place| {
                let mut left = windows.to_vec();
                let window = left.remove(place);
                usize::from(fits(*first, window)) + most_by_trying(rest, &left)
            })
            .max()
            .unwrap_or(0)
    }

    #[test]
    fn as_many_sites_are_reached_as_can_be() {
        let mut unreached = 0;
        for seed in 0..300 {
            let number = |index: u64, below: f64| (Key::seed(seed).uniform(Purpose::Test, index) * below) as usize;
            let sites = 2 + number(0, 4.0);
            let mut slots: Vec<(usize, usize)> =
                (0..sites as u64).map(|slot| (1 + number(10 + slot, 5.0), 0)).collect();
            slots.sort_unstable();
            slots.iter_mut().for_each(|slot| slot.1 = slot.0);
            let windows: Vec<(usize, usize)> = (0..sites as u64)
                .map(|site| {
                    let first = 1 + number(20 + site, 5.0);
                    (first, first + number(30 + site, 3.0))
                })
                .collect();
            let chosen = chosen(&slots, &windows);
            let reached = slots.iter().zip(&chosen).filter(|(slot, place)| fits(**slot, windows[**place])).count();
            assert_eq!(reached, most_by_trying(&slots, &windows), "{slots:?} {windows:?}");
            unreached += sites - reached;
            let mut all = chosen.clone();
            all.sort_unstable();
            assert!(all.into_iter().eq(0..sites));
        }
        assert!(unreached > 20, "{unreached}");
        // Without windows the order is that of the draw.
        assert_eq!(chosen(&[(1, 1), (2, 2), (3, 3)], &[(1, 9); 3]), [0, 1, 2]);
        // One that can be reached on the first day only takes it.
        assert_eq!(chosen(&[(1, 1), (2, 2), (3, 3)], &[(1, 9), (1, 9), (1, 1)]), [2, 0, 1]);
    }

    /// Two sites of one day each, of which one can be reached from the fifth day on: days before it stay free, no more than
    /// there are, and none without need.
    #[test]
    fn days_are_left_free_where_a_site_can_be_reached_later_only() {
        let visit = |site: usize| SiteVisit { zone: 0, site, first_dive: 0, dives: 1 };
        let packed = vec![vec![visit(0)], vec![visit(1)]];
        let waited = |boats: usize, there: usize, windows: [(usize, usize); 2]| {
            let mut plan = packed.clone();
            let unreached = |plan: &[Vec<SiteVisit>]| 2 - most_reached(&slots(plan, 0, boats), &windows);
            improve(&Day::fixed(1, 1), &mut plan, &[1], unreached);
            wait(&Day::fixed(1, 1), &mut plan, &[1], (boats, there), windows.map(|of| of.0).to_vec(), unreached);
            (plan.iter().map(Vec::len).collect::<Vec<_>>(), unreached(&plan))
        };
        assert_eq!(waited(1, 9, [(1, 9), (5, 9)]), (vec![1, 0, 0, 0, 1], 0));
        assert_eq!(waited(1, 9, [(4, 4), (5, 9)]), (vec![0, 0, 0, 1, 1], 0));
        assert_eq!(waited(1, 4, [(1, 9), (5, 9)]), (vec![1, 1], 1));
        assert_eq!(waited(1, 9, [(1, 9), (2, 9)]), (vec![1, 1], 0));
        // Boats have their days one after the other.
        assert_eq!(waited(2, 9, [(1, 9), (3, 9)]), (vec![1, 0, 0, 0, 1], 0));
    }
}
