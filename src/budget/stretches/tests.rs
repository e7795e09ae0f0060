//! Splits against every way there is, and their properties.

use super::*;
use crate::random::{Key, Purpose};

/// Of so many days each and a last one without an end, with no tables: splits are asked with dives.
fn stretches(day: &Day, boats: usize, days: &[usize]) -> Stretches {
    let of = |&days: &usize| (days, Vec::new());
    Stretches::new(day.clone(), boats, days.iter().chain(&[0]).map(of).collect())
}

fn split(day: &Day, boats: usize, days: &[usize], sites: &[u16], dives: &[Vec<usize>]) -> Split {
    stretches(day, boats, days).split(&mut DayPacking::new(day), sites, dives)
}

/// Every way to put sites on boat-days, site by site: the fewest days.
struct Slowly<'a> {
    day: &'a Day,
    boats: usize,
    /// First boat-day of each stretch, from 0.
    starts: Vec<usize>,
    dives: &'a [Vec<usize>],
    /// Sites and team dives of each boat-day.
    boat_days: Vec<(usize, usize)>,
    best: usize,
}

impl Slowly<'_> {
    fn place(&mut self, sites: &[usize], from: usize, used: usize) {
        let days = used.div_ceil(self.boats);
        if days >= self.best {
            return;
        }
        let Some((&zone, rest)) = sites.split_first() else {
            self.best = days;
            return;
        };
        for boat_day in from..self.boat_days.len() {
            let stretch = self.starts.iter().rposition(|start| *start <= boat_day).unwrap();
            let dives = self.dives[stretch][zone];
            let before = self.boat_days[boat_day];
            if !self.day.holds(before.0 + 1, before.1 + dives) {
                continue;
            }
            self.boat_days[boat_day] = (before.0 + 1, before.1 + dives);
            // Sites of one zone are alike: each goes no earlier than the one before.
            let next = if rest.first() == Some(&zone) { boat_day } else { 0 };
            self.place(rest, next, used.max(boat_day + 1));
            self.boat_days[boat_day] = before;
        }
    }
}

fn slowly(day: &Day, boats: usize, days: &[usize], sites: &[u16], dives: &[Vec<usize>]) -> usize {
    let number: usize = sites.iter().map(|&n| usize::from(n)).sum();
    let last = days.iter().sum::<usize>() + number;
    let starts = std::iter::once(0)
        .chain(days.iter().scan(0, |all, days| {
            *all += days * boats;
            Some(*all)
        }))
        .collect();
    let items: Vec<usize> =
        sites.iter().enumerate().flat_map(|(zone, &number)| vec![zone; usize::from(number)]).collect();
    let boat_days = vec![(0, 0); last * boats];
    let mut slow = Slowly { day, boats, starts, dives, boat_days, best: usize::MAX };
    slow.place(&items, 0, 0);
    slow.best
}

/// All splits one by one, of those in which no stretch before the last ends early: fewest days, then team dives.
fn of_all_splits(day: &Day, boats: usize, days: &[usize], left: &[u16], dives: &[Vec<usize>]) -> (usize, usize) {
    let of_own = |sites: &[u16]| DayPacking::new(day).days_of_zones(sites, &dives[0]).unwrap().div_ceil(boats);
    let all = (of_own(left), team_dives(left, &dives[0]));
    let Some((&own_days, later_days)) = days.split_first() else { return all };
    if all.0 <= own_days {
        return all;
    }
    let mut best = (usize::MAX, usize::MAX);
    let ways: usize = left.iter().map(|&number| usize::from(number) + 1).product();
    for mut way in 0..ways {
        let mut taken = Vec::new();
        for &number in left {
            taken.push((way % (usize::from(number) + 1)) as u16);
            way /= usize::from(number) + 1;
        }
        if of_own(&taken) == own_days {
            let rest: Vec<u16> = left.iter().zip(&taken).map(|(left, taken)| left - taken).collect();
            let later = of_all_splits(day, boats, later_days, &rest, &dives[1..]);
            best = best.min((own_days + later.0, team_dives(&taken, &dives[0]) + later.1));
        }
    }
    best
}

struct Instance {
    day: Day,
    boats: usize,
    days: Vec<usize>,
    sites: Vec<u16>,
    dives: Vec<Vec<usize>>,
}

fn instance(seed: u64, most_sites: usize) -> Instance {
    let mut place = 0;
    let mut below = |below: usize| {
        place += 1;
        (Key::seed(seed).uniform(Purpose::Test, place) * below as f64) as usize
    };
    let (zones, changes) = (1 + below(3), 1 + below(2));
    let most = 1 + below(3);
    let dives = (0..=changes).map(|_| (0..zones).map(|_| 1 + below(most)).collect()).collect();
    Instance {
        day: Day::fixed(most, 1 + below(most)),
        boats: 1 + below(2),
        days: (0..changes).map(|_| 1 + below(3)).collect(),
        sites: (0..zones).map(|_| below(most_sites / zones + 1) as u16).collect(),
        dives,
    }
}

#[test]
fn the_split_is_the_slow_search() {
    let mut changed = 0;
    for seed in 0..300 {
        let Instance { day, boats, days, sites, dives } = instance(seed, 7);
        let split = split(&day, boats, &days, &sites, &dives);
        assert_eq!(split.days, slowly(&day, boats, &days, &sites, &dives), "{seed} {days:?} {sites:?} {dives:?}");
        let of_all = of_all_splits(&day, boats, &days, &sites, &dives);
        assert_eq!((split.days, split.team_dives), of_all, "{seed} {days:?} {sites:?} {dives:?}");
        changed += usize::from(split.sites.iter().filter(|of| of.iter().any(|&n| n > 0)).count() > 1);
    }
    assert!(changed > 100, "{changed}");
}

/// What is told is what is done: every site once, each stretch within its days, all of them but the last full of days.
#[test]
fn a_split_holds_what_it_tells() {
    for seed in 0..400 {
        let Instance { day, boats, days, sites, dives } = instance(seed, 30);
        let split = split(&day, boats, &days, &sites, &dives);
        let mut packing = DayPacking::new(&day);
        let mut of =
            |stretch: usize, sites: &[u16]| packing.days_of_zones(sites, &dives[stretch]).unwrap().div_ceil(boats);
        let all: Vec<u16> = (0..sites.len()).map(|zone| split.sites.iter().map(|of| of[zone]).sum()).collect();
        assert_eq!(all, sites, "{seed}");
        let taken: usize = split.sites.iter().zip(&dives).map(|(sites, dives)| team_dives(sites, dives)).sum();
        assert_eq!(taken, split.team_dives);
        let last = split.sites.iter().rposition(|of| of.iter().any(|&n| n > 0));
        let in_days: usize = last.map_or(0, |last| {
            assert!((0..last).all(|stretch| of(stretch, &split.sites[stretch]) == days[stretch]), "{seed}");
            days[..last].iter().sum::<usize>() + of(last, &split.sites[last])
        });
        assert_eq!(in_days, split.days, "{seed}");
    }
}

/// Never more days than with the most dives of any crew throughout; as many where one crew is aboard; more sites, or a site
/// of a dive more, never take fewer.
#[test]
fn days_of_several_crews_lie_where_they_must() {
    let mut fewer = 0;
    for seed in 0..400 {
        let Instance { day, boats, days, sites, dives } = instance(seed, 24);
        let now = split(&day, boats, &days, &sites, &dives);
        let zones = 0..sites.len();
        let over = |of: fn(usize, usize) -> usize| -> Vec<usize> {
            zones.clone().map(|zone| dives.iter().map(|of| of[zone]).reduce(of).unwrap()).collect()
        };
        let throughout = |dives: &[usize]| DayPacking::new(&day).days_of_zones(&sites, dives).unwrap().div_ceil(boats);
        let (worst, best) = (throughout(&over(usize::max)), throughout(&over(usize::min)));
        assert!((best..=worst).contains(&now.days), "{seed} {best} {worst} {now:?}");
        fewer += usize::from(now.days < worst);
        let alone = split(&day, boats, &[], &sites, &dives[..1]);
        assert_eq!((alone.days, alone.sites), (throughout(&dives[0]), vec![sites.clone()]));
        for zone in zones.clone() {
            let mut more = sites.clone();
            more[zone] += 1;
            assert!(split(&day, boats, &days, &more, &dives).days >= now.days, "{seed}");
            for stretch in 0..dives.len() {
                let mut longer = dives.clone();
                if longer[stretch][zone] < day.most_dives() {
                    longer[stretch][zone] += 1;
                    assert!(split(&day, boats, &days, &sites, &longer).days >= now.days, "{seed}");
                }
            }
        }
    }
    assert!(fewer > 50, "{fewer}");
}

/// By hand: three dives and two sites a day; a site takes one dive of the crew of the first two days, two of the crew after it.
/// Four sites are done in the two days, the others one a day. Of two zones alike each has its share of the first days.
#[test]
fn days_by_hand() {
    let day = Day::fixed(3, 2);
    let of =
        |sites: &[u16], dives: [usize; 2]| split(&day, 1, &[2], sites, &dives.map(|dives| vec![dives; sites.len()]));
    assert_eq!(of(&[3], [1, 2]), Split { days: 2, team_dives: 3, sites: vec![vec![3], vec![0]] });
    assert_eq!(of(&[7], [1, 2]), Split { days: 5, team_dives: 10, sites: vec![vec![4], vec![3]] });
    assert_eq!(of(&[4, 4], [1, 2]), Split { days: 6, team_dives: 12, sites: vec![vec![2, 2], vec![2, 2]] });
    // Whoever comes later does more: one site a day, then two.
    assert_eq!(of(&[5], [2, 1]), Split { days: 4, team_dives: 7, sites: vec![vec![2], vec![3]] });
}
