//! From team dives to days: what fits into a day, and the fewest days for so many sites of so many dives.

use std::collections::BTreeMap;

/// Minutes of a day on the water, and of what fills it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayTimes {
    /// From leaving to being back.
    pub day: f64,
    pub out_and_home: f64,
    /// One team dive: kit up, bottom time, ascent and stop.
    pub run: f64,
    /// At the surface between two dives.
    pub interval: f64,
    pub between_sites: f64,
}

/// How many sites a day holds, and how many team dives with so many sites.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day {
    /// Most team dives with 1, 2 ... sites; falling.
    dives: Vec<usize>,
}

impl Day {
    /// By the clock; never more than `most_dives`.
    pub fn by_times(times: &DayTimes, most_dives: usize) -> Self {
        let minutes = |dives: usize, sites: usize| {
            let (dives, sites) = (dives as f64, sites as f64);
            times.out_and_home
                + dives * times.run
                + (dives - sites) * times.interval
                + (sites - 1.0) * times.interval.max(times.between_sites)
        };
        let with = |sites: usize| (sites..=most_dives).rev().find(|&dives| minutes(dives, sites) <= times.day + 1e-9);
        Self { dives: (1..=most_dives).map_while(with).collect() }
    }

    /// Up to so many sites with the same number of dives in all.
    pub fn fixed(most_dives: usize, most_sites: usize) -> Self {
        Self { dives: vec![most_dives; most_sites.min(most_dives)] }
    }

    pub fn most_sites(&self) -> usize {
        self.dives.len()
    }

    pub fn most_dives(&self) -> usize {
        self.dives.iter().copied().max().unwrap_or(0)
    }

    /// Whether a day holds so many sites with so many team dives in all.
    pub fn holds(&self, sites: usize, dives: usize) -> bool {
        (1..=self.dives.len()).contains(&sites) && dives <= self.dives[sites - 1]
    }

    /// At most so many sites a day.
    pub fn with_sites(&self, most: usize) -> Self {
        Self { dives: self.dives[..most.min(self.dives.len())].to_vec() }
    }
}

/// Fewest days, and days themselves, for sites that take so many team dives. A site that takes more dives than a day holds
/// fills whole days, and its rest is not cut again.
pub struct DayPacking {
    most_dives: usize,
    /// What a day may hold: how many pieces of 1, 2 ... dives (below a whole day).
    patterns: Vec<Vec<u16>>,
    known: BTreeMap<Vec<u16>, u32>,
}

impl DayPacking {
    pub fn new(day: &Day) -> Self {
        let most_dives = day.most_dives();
        let mut patterns = Vec::new();
        let mut pattern = vec![0; most_dives.saturating_sub(1)];
        list(day, 0, &mut pattern, &mut patterns);
        // What another pattern holds and more is never better.
        let all = patterns.clone();
        let inside = |one: &[u16], other: &[u16]| one != other && one.iter().zip(other).all(|(a, b)| a <= b);
        patterns.retain(|pattern| !all.iter().any(|other| inside(pattern, other)));
        Self { most_dives, patterns, known: BTreeMap::new() }
    }

    /// `sites[w]`: sites that take w + 1 team dives.
    pub fn days(&mut self, sites: &[usize]) -> Option<usize> {
        if self.most_dives == 0 {
            return sites.iter().all(|&number| number == 0).then_some(0);
        }
        let mut whole = 0;
        let mut pieces = vec![0u16; self.most_dives - 1];
        for (w, &number) in sites.iter().enumerate() {
            let dives = w + 1;
            whole += number * (dives / self.most_dives);
            if dives % self.most_dives > 0 {
                pieces[dives % self.most_dives - 1] += number as u16;
            }
        }
        Some(whole + self.of_pieces(&pieces) as usize)
    }

    /// The same for so many sites in each zone that take so many team dives each.
    pub fn days_of_zones(&mut self, sites: &[u16], dives: &[usize]) -> Option<usize> {
        let mut counts = vec![0; dives.iter().copied().max().unwrap_or(0)];
        for (&number, &dives) in sites.iter().zip(dives).filter(|(_, dives)| **dives > 0) {
            counts[dives - 1] += usize::from(number);
        }
        self.days(&counts)
    }

    /// The same with sites that are finished too, each in so many team dives.
    pub fn days_with(&mut self, begun: &[usize], sites: &[u16], dives: &[usize]) -> Option<usize> {
        if begun.is_empty() {
            return self.days_of_zones(sites, dives);
        }
        self.days_of_zones(&[&vec![1; begun.len()], sites].concat(), &[begun, dives].concat())
    }

    fn of_pieces(&mut self, pieces: &[u16]) -> u32 {
        let Some(largest) = pieces.iter().rposition(|&number| number > 0) else { return 0 };
        if let Some(&days) = self.known.get(pieces) {
            return days;
        }
        let with_largest: Vec<Vec<u16>> =
            self.patterns.iter().filter(|pattern| pattern[largest] > 0).cloned().collect();
        let mut best = u32::MAX;
        for pattern in with_largest {
            let left: Vec<u16> = pieces.iter().zip(&pattern).map(|(n, p)| n.saturating_sub(*p)).collect();
            best = best.min(self.of_pieces(&left).saturating_add(1));
        }
        self.known.insert(pieces.to_vec(), best);
        best
    }
}

fn list(day: &Day, size: usize, pattern: &mut Vec<u16>, all: &mut Vec<Vec<u16>>) {
    if size == pattern.len() {
        let sites: usize = pattern.iter().map(|&n| usize::from(n)).sum();
        let dives: usize = pattern.iter().enumerate().map(|(w, &n)| (w + 1) * usize::from(n)).sum();
        if sites > 0 && sites <= day.most_sites() && dives <= day.dives[sites - 1] {
            all.push(pattern.clone());
        }
        return;
    }
    for number in 0..=day.most_sites() {
        pattern[size] = number as u16;
        list(day, size + 1, pattern, all);
    }
    pattern[size] = 0;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts of sites of 1, 2 ... dives; dives a day; sites a day; days. Worked out by hand and by an item-wise search.
    #[test]
    fn days_of_known_cases() {
        let cases: [(&[usize], usize, usize, usize); 10] = [
            (&[4, 5, 0], 3, 2, 5),
            (&[4, 5, 0], 3, 1, 9),
            (&[4, 8, 0], 3, 2, 8),
            (&[12, 4, 0], 3, 2, 8),
            (&[12, 4, 0], 3, 3, 7),
            (&[0, 5, 0], 3, 2, 5),
            (&[7, 0, 3], 3, 3, 6),
            (&[3, 3, 3, 0], 4, 2, 5),
            (&[10, 0, 4, 0], 4, 3, 6),
            (&[5, 5, 5, 5], 4, 4, 13),
        ];
        for (sites, dives, most_sites, days) in cases {
            let mut packing = DayPacking::new(&Day::fixed(dives, most_sites));
            assert_eq!(packing.days(sites), Some(days), "{sites:?} {dives} {most_sites}");
        }
    }

    /// A site more, or a site of a dive more, never takes fewer days; a day that holds more never takes more.
    #[test]
    fn more_sites_never_take_fewer_days() {
        for (dives, most_sites) in [(1, 1), (2, 1), (2, 2), (3, 1), (3, 2), (3, 3), (4, 2), (4, 3)] {
            let mut packing = DayPacking::new(&Day::fixed(dives, most_sites));
            let mut roomier = DayPacking::new(&Day::fixed(dives + 1, most_sites + 1));
            for sites in (0..6usize.pow(3)).map(|all| [all % 6, all / 6 % 6, all / 36].map(|n| n as u16)) {
                // Zones of one, two and three dives a site.
                let days = |packing: &mut DayPacking, sites: &[u16; 3], dives: [usize; 3]| {
                    packing.days_of_zones(sites, &dives).unwrap()
                };
                let now = days(&mut packing, &sites, [1, 2, 3]);
                for zone in 0..3 {
                    let (mut more, mut longer) = (sites, [1, 2, 3]);
                    more[zone] += 1;
                    longer[zone] += 1;
                    assert!(days(&mut packing, &more, [1, 2, 3]) >= now, "{sites:?} {dives} {most_sites}");
                    assert!(days(&mut packing, &sites, longer) >= now, "{sites:?} {dives} {most_sites}");
                }
                assert!(days(&mut roomier, &sites, [1, 2, 3]) <= now, "{sites:?} {dives} {most_sites}");
            }
        }
    }

    /// Items put into days one by one, every way.
    fn slowly(day: &Day, items: &[usize]) -> usize {
        fn place(day: &Day, items: &[usize], days: &mut Vec<Vec<usize>>, best: &mut usize) {
            if days.len() >= *best {
                return;
            }
            let Some((&item, rest)) = items.split_first() else {
                *best = days.len();
                return;
            };
            for d in 0..days.len() {
                let dives: usize = days[d].iter().sum::<usize>() + item;
                if days[d].len() < day.most_sites() && dives <= day.dives[days[d].len()] {
                    days[d].push(item);
                    place(day, rest, days, best);
                    days[d].pop();
                }
            }
            days.push(vec![item]);
            place(day, rest, days, best);
            days.pop();
        }
        let mut best = items.len() + 1;
        place(day, items, &mut Vec::new(), &mut best);
        best
    }

    #[test]
    fn the_table_is_the_slow_search() {
        let mut state = 7u64;
        let mut random = |below: usize| {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 33) as usize % below
        };
        for _ in 0..60 {
            let dives = 2 + random(3);
            let day = Day { dives: (0..1 + random(dives)).map(|s| dives - s.min(random(2))).collect::<Vec<_>>() };
            let day = Day {
                dives: day
                    .dives
                    .iter()
                    .scan(usize::MAX, |least, &d| {
                        *least = (*least).min(d);
                        Some(*least)
                    })
                    .collect(),
            };
            let most = day.most_dives();
            let mut counts = vec![0; most];
            let items: Vec<usize> = (0..3 + random(5)).map(|_| 1 + random(most)).collect();
            items.iter().for_each(|&item| counts[item - 1] += 1);
            // A whole day holds one site of that many dives only where one site may have them.
            let mut sorted = items.clone();
            sorted.sort_by(|a, b| b.cmp(a));
            assert_eq!(DayPacking::new(&day).days(&counts), Some(slowly(&day, &sorted)), "{day:?} {items:?}");
        }
    }

    #[test]
    fn a_day_by_the_clock() {
        let times = DayTimes { day: 480.0, out_and_home: 60.0, run: 80.0, interval: 60.0, between_sites: 20.0 };
        // 60 + 3 x 80 + 2 x 60 = 420; a fourth dive would end at 560.
        assert_eq!(Day::by_times(&times, 4).dives, [3, 3, 3]);
        let far = DayTimes { between_sites: 130.0, ..times };
        assert_eq!(Day::by_times(&far, 4).dives, [3, 2]);
        assert_eq!(Day::by_times(&far, 2).dives, [2, 2]);
    }
}
