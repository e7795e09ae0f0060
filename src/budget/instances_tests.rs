//! Five random instances with known answers, worked out apart from this program, and every design of them.

use super::expedition_tests::{half_width, power, task};
use super::*;

/// Variances between sites, between the years of a site and between units.
type Parts = (f64, f64, f64);

/// What one random instance is: minutes a unit and set-up of lines, fish and recruits; whether there is a second pair; zones
/// (weight, most sites, minutes of work); for each indicator its target and (site, year, unit) by zone; sites a day.
struct Instance {
    minutes: &'static [(f64, f64)],
    two_pairs: bool,
    zones: [(f64, u16, f64); 2],
    told: &'static [(f64, [Parts; 2])],
    sites_a_day: usize,
}

const INSTANCES: [Instance; 5] = [
    Instance {
        minutes: &[(9.0, 3.0), (7.0, 2.0), (5.0, 2.0)],
        two_pairs: true,
        zones: [(0.3, 9, 40.0), (0.7, 9, 30.0)],
        told: &[
            (0.46, [(0.064, 0.0057, 0.434), (0.115, 0.0241, 0.101)]),
            (0.49, [(0.158, 0.0107, 0.478), (0.185, 0.0058, 0.11)]),
            (0.32, [(0.191, 0.0145, 0.187), (0.113, 0.0057, 0.189)]),
        ],
        sites_a_day: 2,
    },
    Instance {
        minutes: &[(14.0, 0.0), (7.0, 0.0)],
        two_pairs: false,
        zones: [(0.6, 8, 36.0), (0.4, 10, 30.0)],
        told: &[
            (0.60, [(0.141, 0.0195, 0.163), (0.115, 0.0148, 0.389)]),
            (0.47, [(0.192, 0.0186, 0.278), (0.09, 0.0059, 0.111)]),
        ],
        sites_a_day: 2,
    },
    Instance {
        minutes: &[(9.0, 3.0), (11.0, 0.0), (7.0, 2.0)],
        two_pairs: true,
        zones: [(0.6, 10, 30.0), (0.4, 10, 30.0)],
        told: &[
            (0.49, [(0.186, 0.0167, 0.32), (0.079, 0.0229, 0.316)]),
            (0.35, [(0.11, 0.0265, 0.193), (0.073, 0.0281, 0.256)]),
            (0.29, [(0.167, 0.009, 0.483), (0.056, 0.0245, 0.429)]),
        ],
        sites_a_day: 3,
    },
    Instance {
        minutes: &[(9.0, 2.0), (7.0, 2.0)],
        two_pairs: false,
        zones: [(0.5, 6, 30.0), (0.5, 9, 40.0)],
        told: &[
            (0.39, [(0.188, 0.025, 0.406), (0.083, 0.0184, 0.211)]),
            (0.40, [(0.066, 0.0104, 0.471), (0.174, 0.0252, 0.42)]),
        ],
        sites_a_day: 2,
    },
    Instance {
        minutes: &[(12.0, 2.0), (12.0, 2.0), (10.0, 2.0)],
        two_pairs: false,
        zones: [(0.3, 7, 40.0), (0.7, 6, 30.0)],
        told: &[
            (0.40, [(0.067, 0.0167, 0.199), (0.132, 0.0193, 0.105)]),
            (0.50, [(0.092, 0.0279, 0.406), (0.074, 0.0249, 0.156)]),
            (0.38, [(0.069, 0.005, 0.449), (0.081, 0.0104, 0.493)]),
        ],
        sites_a_day: 2,
    },
];

/// Fewest team dives by putting the units one by one into the dives of the divers, every way.
fn dives_slowly(tasks: &[Task], crew: &Crew, minutes: f64, units: &[u8]) -> Option<usize> {
    let divers: Vec<usize> = crew.pairs.iter().flat_map(|pair| [pair.0, pair.1]).collect();
    fn place(
        tasks: &[Task],
        crew: &Crew,
        minutes: f64,
        left: &mut Vec<u8>,
        slots: &mut Vec<(usize, usize, Vec<u8>)>,
        from: (usize, usize),
    ) -> bool {
        let Some(task) = left.iter().position(|&n| n > 0) else { return true };
        let first = if from.0 == task { from.1 } else { 0 };
        for slot in first..slots.len() {
            let (dive, diver, _) = slots[slot];
            let able = tasks[task].skill.is_none_or(|skill| crew.divers[diver].skills >> skill & 1 == 1);
            if !able || tasks[task].first.is_some() && dive > 0 {
                continue;
            }
            slots[slot].2[task] += 1;
            left[task] -= 1;
            let fits = Finish { quantile: 0.0 }.needs(tasks, &slots[slot].2) <= minutes + 1e-9;
            if fits && place(tasks, crew, minutes, left, slots, (task, slot)) {
                return true;
            }
            slots[slot].2[task] -= 1;
            left[task] += 1;
        }
        false
    }
    (1..=3).find(|&dives| {
        let mut slots: Vec<_> = (0..dives)
            .flat_map(|dive| divers.iter().map(move |&diver| (dive, diver)))
            .map(|(dive, diver)| (dive, diver, vec![0; units.len()]))
            .collect();
        place(tasks, crew, minutes, &mut units.to_vec(), &mut slots, (usize::MAX, 0))
    })
}

/// What trying every design there is gives.
struct Every {
    number: usize,
    /// Days, team dives and sites of the least effort for all targets and for the musts.
    least: [Option<(usize, usize, u16)>; 2],
    /// The best merit in 1, 2 ... 10 days.
    best: Vec<Option<Merit>>,
}

/// Two zones with two sites at least, one unit of each task at least.
fn every_design(indicators: &[Indicator], tables: &[Table], zones: &[(f64, u16, f64); 2], day: &Day) -> Every {
    let weights = zones.map(|zone| zone.0);
    let mut packing = DayPacking::new(day);
    let mut every = Every { number: 0, least: [None; 2], best: vec![None; 10] };
    for units in tables[0].caps.all().filter(|units| units.iter().all(|&n| n > 0)) {
        let dives: Option<Vec<usize>> = tables.iter().map(|table| table.dives(&units)).collect();
        for sites in (2..=zones[0].1).flat_map(|one| (2..=zones[1].1).map(move |other| [one, other])) {
            let Some(dives) = &dives else { continue };
            every.number += 1;
            let days = packing.days_of_zones(&sites, dives).unwrap();
            let all = sites.iter().zip(dives).map(|(&n, &d)| usize::from(n) * d).sum();
            let margin = |of: &Indicator| of.margin(&weights, &sites, usize::from(units[of.task]));
            let margins: Vec<f64> = indicators.iter().map(margin).collect();
            let takes = (days, all, sites.iter().sum());
            for (least, hold) in every.least.iter_mut().zip([Hold::All, Hold::Musts]) {
                let holds = indicators.iter().zip(&margins).all(|(of, &margin)| !hold.asks(of) || margin >= MET);
                if holds && least.is_none_or(|least| takes < least) {
                    *least = Some(takes);
                }
            }
            let merit = Merit::of(indicators, &margins);
            for best in every.best.iter_mut().skip(days - 1) {
                *best = (*best).max(Some(merit));
            }
        }
    }
    every
}

/// As printed: a kit, its margins, and sites.
type Printed<'a> = (&'a [u8], &'a [f64], [[u16; 2]; 3]);

#[test]
fn random_instances_against_every_design() {
    // Days and team dives, sites, units and margins of the least effort for all targets; days, dives and sites of that for the
    // musts; sites, and merit, for 3, 6 and 10 days.
    type Least = Option<((usize, usize), [u16; 2])>;
    let sets: [Printed; 5] = [
        (&[6, 4, 4], &[1.680, 1.421, 1.016], [[2, 4], [4, 8], [9, 9]]),
        (&[2, 4], &[1.169, 1.081], [[3, 3], [8, 4], [8, 10]]),
        (&[3, 4, 4], &[1.560, 1.040, 1.029], [[6, 3], [10, 8], [10, 10]]),
        (&[4, 4], &[], [[3, 3], [6, 6], [6, 9]]),
        (&[1, 2, 3], &[1.008, 1.023, 1.039], [[3, 3], [6, 6], [7, 6]]),
    ];
    let number_of_designs = [6144, 1512, 7776, 960, 1440];
    let printed: [(Least, Least, [[i64; 4]; 3]); 5] = [
        (
            Some(((5, 10), [4, 6])),
            Some(((3, 6), [2, 4])),
            [[1000, 646, 640, -642], [1000, 1000, 1160, 1220], [1000, 1000, 1380, 1718]],
        ),
        (
            Some(((4, 8), [5, 3])),
            Some(((3, 6), [3, 3])),
            [[1000, 582, 580, -419], [1000, 1000, 1460, 798], [1000, 1000, 1560, 1144]],
        ),
        (
            Some(((5, 14), [9, 5])),
            Some(((2, 6), [3, 3])),
            [[1000, 743, 740, -454], [1000, 1000, 1140, 955], [1000, 1000, 1180, 1061]],
        ),
        (None, Some(((4, 12), [4, 4])), [[807, 375, 360, -1194], [1000, 876, 860, 84], [1000, 970, 960, 245]]),
        (
            Some(((6, 18), [6, 6])),
            Some(((4, 8), [3, 5])),
            [[804, 333, 320, -2156], [1000, 1000, 1000, 68], [1000, 1000, 1000, 101]],
        ),
    ];
    for (number, (instance, (least, musts, frontier))) in INSTANCES.iter().zip(printed).enumerate() {
        let kinds = [("lines", None, None), ("fish", Some(0), Some(0.0)), ("recruits", None, None)];
        let tasks: Vec<Task> = instance
            .minutes
            .iter()
            .zip(kinds)
            .map(|(&(unit, set_up), (name, skill, first))| task(name, unit, set_up, skill, first))
            .collect();
        let diver = |skills: u32| Diver { name: String::new(), skills };
        let mut crew = Crew { divers: vec![diver(1), diver(2)], pairs: vec![Pair(0, 1)] };
        if instance.two_pairs {
            crew.divers.extend([diver(1), diver(0)]);
            crew.pairs.push(Pair(2, 3));
        }
        let caps: Vec<u8> = [6, 4, 4][..tasks.len()].to_vec();
        let tables: Vec<Table> = instance
            .zones
            .iter()
            .map(|&(_, _, minutes)| {
                let packing = Packing::by_means(&tasks, &crew, minutes);
                let table = Table::new(&packing, Caps::new(caps.clone()));
                for units in table.caps.all() {
                    if units.iter().any(|&n| n > 0) {
                        let dives = table.dives(&units);
                        assert_eq!(dives, dives_slowly(&tasks, &crew, minutes, &units), "{number} {units:?}");
                        assert!(dives.is_none_or(|dives| dives >= fewest_by_minutes(&packing, &units)));
                    }
                }
                table
            })
            .collect();
        let indicators: Vec<Indicator> = instance
            .told
            .iter()
            .enumerate()
            .map(|(i, (target, parts))| {
                let rho = if i == 0 { 0.5 } else { 0.0 };
                let of = |(site, year, unit): (f64, f64, f64), n: u8| match i {
                    2 => site + unit / f64::from(n),
                    _ => 2.0 * year + 2.0 * unit * (1.0 - rho) / f64::from(n),
                };
                Indicator {
                    name: String::new(),
                    task: i,
                    is_must: i == 0,
                    weight: 1.0,
                    floor: vec![0.0; 13],
                    target: *target,
                    sites: parts.iter().map(|&part| (0..=6).map(|n| SiteTells::one(of(part, n))).collect()).collect(),
                    need: if i == 2 { half_width() } else { power() },
                    done: Vec::new(),
                    places: Vec::new(),
                }
            })
            .collect();
        let zones: Vec<ZoneDives> = instance
            .zones
            .iter()
            .zip(&tables)
            .map(|(&(weight, most_sites, _), table)| ZoneDives {
                weight,
                least_sites: 2,
                most_sites,
                table,
                same_sites_as: None,
            })
            .collect();
        let search = Search::new(&zones, &indicators, Day::fixed(3, instance.sites_a_day), 1);
        for (hold, printed) in [(Hold::All, least), (Hold::Musts, musts)] {
            let found = search.least(hold);
            let told = found.as_ref().map(|f| ((f.days, f.team_dives), [f.sites[0], f.sites[1]]));
            println!("{number} {hold:?} {found:?}");
            assert_eq!(told.map(|t| t.0), printed.map(|p| p.0), "{number}");
            if let (Some(told), Some(printed)) = (told, printed) {
                assert_eq!(told.1, printed.1, "{number}");
            }
            if let Some(found) = found.filter(|_| hold == Hold::All) {
                assert_eq!(found.units, sets[number].0, "{number}");
                for (margin, printed) in found.margins.iter().zip(sets[number].1) {
                    assert!((margin - printed).abs() < 0.002, "{number}: {:?}", found.margins);
                }
            }
        }
        let ours = search.frontier(10);
        for (days, printed) in [3, 6, 10].into_iter().zip(frontier) {
            let found = ours[days - 1].as_ref().unwrap();
            println!("{number} {days} {found:?}");
            assert_eq!(
                found.sites,
                sets[number].2[[3, 6, 10].iter().position(|of| *of == days).unwrap()],
                "{number} {days}"
            );
            if days == 6 {
                assert_eq!(found.units, sets[number].0, "{number}");
            }
            // A need between two knots moves the last digits.
            for ((ours, printed), most) in found.merit.0.iter().zip(printed).zip([2, 2, 0, 4]) {
                assert!((ours - printed).abs() <= most, "{number} {days}: {:?} {printed:?}", found.merit);
            }
        }
        // Every design, one by one: nothing takes less, nothing makes more of so many days.
        let day = Day::fixed(3, instance.sites_a_day);
        let every = every_design(&indicators, &tables, &instance.zones, &day);
        assert_eq!(every.number, number_of_designs[number], "{number}");
        let takes = |hold| search.least(hold).map(|found| (found.days, found.team_dives, found.sites.iter().sum()));
        assert_eq!([takes(Hold::All), takes(Hold::Musts)], every.least, "{number}");
        let ours_by_day: Vec<Option<Merit>> =
            ours.iter().map(|found| found.as_ref().map(|found| found.merit)).collect();
        assert_eq!(ours_by_day, every.best, "{number}");
        assert!(
            ours.windows(2)
                .all(|pair| pair[0].as_ref().is_none_or(|a| pair[1].as_ref().is_some_and(|b| b.merit >= a.merit)))
        );
    }
}
