//! The search against every design one by one, its properties, and published allocations as special cases of it.

mod in_stretches;

use super::*;
use crate::analysis::Tail;
use crate::design::{First, WhoWaits};
use std::sync::Arc;

/// One task whose unit takes a minute of both divers: a site of n units takes n over the minutes of its zone, rounded up.
fn table(minutes: f64, cap: u8, most_dives: usize) -> Table {
    tables(&[(1.0, cap)], minutes, most_dives)
}

/// Tasks (minutes of both divers a unit, most units).
fn tables(tasks: &[(f64, u8)], minutes: f64, most_dives: usize) -> Table {
    let of = |&(unit, _): &(f64, u8)| Task {
        name: String::new(),
        unit: Minutes { mean: unit, cv: 0.0 },
        set_up: 0.0,
        takes: Takes::Both,
        skill: None,
        first: None,
    };
    let all: Vec<Task> = tasks.iter().map(of).collect();
    let diver = || Diver { name: String::new(), skills: 0 };
    let crew = Crew { divers: vec![diver(), diver()], pairs: vec![Pair(0, 1)] };
    let packing = Packing { most_dives, ..Packing::by_means(&all, &crew, minutes) };
    Table::new(&packing, Caps::new(tasks.iter().map(|task| task.1).collect()))
}

/// Something of which a site tells so much, whatever the degrees of freedom: the standard error is compared with the target.
fn error_at_most(target: f64, task: usize, sites: Vec<Vec<f64>>) -> Indicator {
    let units = sites[0].len();
    Indicator {
        name: String::new(),
        task,
        is_must: true,
        weight: 1.0,
        sites: sites.into_iter().map(|zone| zone.into_iter().map(SiteTells::one).collect()).collect(),
        floor: vec![0.0; units],
        target,
        need: Need::Constant(1.0),
        done: Vec::new(),
        places: Vec::new(),
    }
}

/// Only so many units tell anything.
fn only(units: usize, variance: f64) -> Vec<f64> {
    (0..=units).map(|n| if n == units { variance } else { f64::INFINITY }).collect()
}

/// Strata (their numbers of elements, SDs, costs) in which sites are shared out for a bound on the error of the mean; with the
/// correction for what there is, as the books have it. Units: so many at each site, in dives of these minutes.
fn allocation(strata: [(f64, f64, usize, f64); 3], units: u8, error: f64) -> Found {
    allocated(strata, units, error, false)
}

/// The same, with equal numbers where they shall be.
fn allocated(strata: [(f64, f64, usize, f64); 3], units: u8, error: f64, are_equal: bool) -> Found {
    let all: f64 = strata.iter().map(|of| of.0).sum();
    let tables: Vec<Table> = strata.iter().map(|of| table(of.3, units, of.2)).collect();
    let zones: Vec<ZoneDives> = strata
        .iter()
        .zip(&tables)
        .enumerate()
        .map(|(zone, (of, table))| ZoneDives {
            weight: of.0 / all,
            least_sites: 1,
            most_sites: 60,
            table,
            same_sites_as: (are_equal && zone > 0).then_some(0),
        })
        .collect();
    for (zone, of) in zones.iter().zip(&strata) {
        assert_eq!(zone.table.dives(&[units]), Some(of.2));
    }
    // What is taken off for sites that are there is the same whatever is surveyed.
    let taken_off: f64 = strata.iter().map(|of| of.0 * of.1 * of.1).sum::<f64>() / (all * all);
    let sites = strata.iter().map(|of| only(usize::from(units), of.1 * of.1)).collect();
    let indicators = [error_at_most((error * error + taken_off).sqrt(), 0, sites)];
    // A day of one dive: days are dives.
    let search = Search::new(&zones, &indicators, Day::fixed(1, 1), 1);
    let found = search.least(Hold::All).unwrap();
    assert!(found.margins[0] >= MET);
    found
}

/// Whether such numbers of sites leave no more than this error.
fn leaves(strata: [(f64, f64, usize, f64); 3], sites: [usize; 3], error: f64) -> bool {
    let all: f64 = strata.iter().map(|of| of.0).sum();
    let part = |(of, n): (&(f64, f64, usize, f64), usize)| (of.0 / all * of.1).powi(2) * (1.0 / n as f64 - 1.0 / of.0);
    strata.iter().zip(sites).map(part).sum::<f64>() <= error * error * (1.0 + 1e-12)
}

/// The least cost of all whole numbers, each tried, and all numbers that cost it.
fn cheapest(strata: [(f64, f64, usize, f64); 3], error: f64) -> (usize, Vec<[usize; 3]>) {
    let mut least = (usize::MAX, Vec::new());
    for sites in (1..=60usize.pow(3)).map(|all| [all % 60 + 1, all / 60 % 60 + 1, all / 3600 % 60 + 1]) {
        let cost = sites.iter().zip(strata).map(|(n, of)| n * of.2).sum();
        if cost <= least.0 && leaves(strata, sites, error) {
            if cost < least.0 {
                least = (cost, Vec::new());
            }
            least.1.push(sites);
        }
    }
    least
}

/// Thompson, Sampling, chapter 11, example 4: Neyman's allocation of 12 among strata of 150, 90 and 120 with SDs of 100, 200
/// and 300 is 3, 3 and 6 (2.61, 3.13, 6.26), proportional 5, 3 and 4. The search for the error of (3, 3, 6) needs no more.
#[test]
fn neyman_allocation_is_a_special_case() {
    let strata = [(150.0, 100.0), (90.0, 200.0), (120.0, 300.0)];
    let error = |sites: [f64; 3]| {
        let part = |(&(number, sd), sites): (&(f64, f64), f64)| (number / 360.0 * sd).powi(2) / sites;
        let whole: f64 = strata.iter().zip(sites).map(part).sum();
        (whole - strata.iter().map(|(number, sd)| number * sd * sd).sum::<f64>() / (360.0 * 360.0)).sqrt()
    };
    assert!(error([3.0, 3.0, 6.0]) < error([5.0, 3.0, 4.0]));
    let found = allocation(strata.map(|(number, sd)| (number, sd, 1, 1.0)), 1, error([3.0, 3.0, 6.0]) * (1.0 + 1e-9));
    assert_eq!((found.team_dives, found.sites.as_slice()), (12, &[3, 3, 6][..]));
}

/// Scheaffer, Mendenhall and Ott, Elementary Survey Sampling, examples 5.5 and 5.9 (from memory but for 5.5): strata of 155,
/// 62 and 93 with SDs of 5, 15 and 10, twice the error at most 2. Equal numbers: 57, 19 each. With costs of 9, 9 and 16: 58 in
/// the shares .32, .39, .29 (18, 23, 17), which cost 641; whole numbers within one of these cost 639.
#[test]
fn allocation_with_costs_is_a_special_case() {
    let strata = [(155.0, 5.0, 1, 144.0), (62.0, 15.0, 1, 144.0), (93.0, 10.0, 1, 144.0)];
    let equal = allocated(strata, 144, 1.0, true);
    assert_eq!((equal.team_dives, &equal.sites[..]), (57, &[19, 19, 19][..]));
    let strata = [(155.0, 5.0, 9, 16.0), (62.0, 15.0, 9, 16.0), (93.0, 10.0, 16, 9.0)];
    let found = allocation(strata, 144, 1.0);
    let (least, cheapest) = cheapest(strata, 1.0);
    assert_eq!((found.team_dives, least), (639, 639), "{found:?}");
    let is_printed = |sites: &[usize; 3]| sites.iter().zip([18, 23, 17]).all(|(&n, printed)| n.abs_diff(printed) <= 1);
    assert!(cheapest.iter().any(is_printed) && leaves(strata, [18, 23, 17], 1.0), "{cheapest:?}");
    // Never under the continuous optimum.
    assert!(least as f64 >= 57.418239 * (0.322581 * 9.0 + 0.387097 * 9.0 + 0.290323 * 16.0) - 0.01);
}

/// Strata of 112, 68 and 39 with variances of 2.25, 3.24 and 3.24 and costs of 9, 25 and 36, variance of the mean .1: 27, as
/// 16, 7 and 4 (a course on survey sampling, chapter 4.4.3; numbers from memory), which leave .0946 and cost 463. Two sites
/// less in the first leave .0999 and cost 445, the least of all whole numbers.
#[test]
fn allocation_with_unlike_costs_is_a_special_case() {
    let strata = [(112.0, 1.5, 9, 28.0), (68.0, 1.8, 25, 10.0), (39.0, 1.8, 36, 7.0)];
    let error = f64::sqrt(0.1);
    let found = allocation(strata, 250, error);
    let (least, cheapest) = cheapest(strata, error);
    assert_eq!((found.team_dives, least), (445, 445), "{found:?}");
    assert!(cheapest.contains(&[14, 7, 4]) && leaves(strata, [16, 7, 4], error), "{cheapest:?}");
    // The continuous optimum is 26.266 in these shares.
    let continuous = (16.40 * 9.0 + 7.17 * 25.0 + 3.43 * 36.0) * 26.265964 / 27.0;
    assert!(least as f64 > continuous - 1.0, "{continuous}");
}

/// Thompson, Sampling, chapter 11, example 1: mean of a stratified sample, its variance and Satterthwaite's degrees of freedom;
/// Scheaffer, example 5.2: twice the error is 2.81.
#[test]
fn variances_are_those_of_stratified_samples() {
    let of = |strata: [(f64, f64, f64); 3]| {
        let all: f64 = strata.iter().map(|of| of.0).sum();
        let sites = strata.iter().map(|&(number, n, variance)| vec![variance * (1.0 - n / number)]).collect();
        let indicator = error_at_most(1.0, 0, sites);
        let (weights, numbers) = (strata.map(|of| of.0 / all), strata.map(|of| of.1 as u16));
        indicator.variance(&weights, &numbers, 0)
    };
    let (variance, df) = of([(20.0, 5.0, 3.3), (9.0, 3.0, 4.0), (12.0, 4.0, 2.2)]);
    assert!((variance - 0.192029).abs() < 1e-6 && (df - 7.821472).abs() < 1e-6, "{variance} {df}");
    let (variance, _) =
        of([(155.0, 20.0, 5.95f64.powi(2)), (62.0, 8.0, 15.25f64.powi(2)), (93.0, 12.0, 9.36f64.powi(2))]);
    assert!((2.0 * variance.sqrt() - 2.807483).abs() < 1e-6, "{variance}");
}

/// One pair, 40 minutes, some tasks; whoever has their skills. The first diver has all.
fn of_a_pair(tasks: &[Task], caps: Vec<u8>) -> Table {
    let diver = |skills: u32| Diver { name: String::new(), skills };
    let crew = Crew { divers: vec![diver(1), diver(0)], pairs: vec![Pair(0, 1)] };
    let packing = Packing::by_means(tasks, &crew, 40.0);
    Table::new(&packing, Caps::new(caps))
}

fn of_one(minutes: f64, skill: Option<usize>, first: Option<f64>) -> Task {
    let first = first.map(|minutes| First { minutes, who_waits: WhoWaits::Buddy });
    Task { name: String::new(), unit: Minutes { mean: minutes, cv: 0.0 }, set_up: 0.0, takes: Takes::One, skill, first }
}

/// By hand: one zone whose variance is (.04 + .12 / n) / sites and shall be .01; lines of 10 minutes, eight a dive of a pair, three
/// dives and two sites a day. Six sites take a dive each (six lines would do, eight fit), three days; with 16 lines five sites
/// take ten dives.
#[test]
fn units_that_are_free_by_hand() {
    let table = of_a_pair(&[of_one(10.0, None, None)], vec![16]);
    assert_eq!([table.dives(&[8]), table.dives(&[9]), table.dives(&[16])], [Some(1), Some(2), Some(2)]);
    let zones = [ZoneDives { weight: 1.0, least_sites: 2, most_sites: 30, table: &table, same_sites_as: None }];
    let told = (0..=16).map(|n| 0.04 + 0.12 / f64::from(n)).collect();
    let indicators = [error_at_most(0.1, 0, vec![told])];
    let search = Search::new(&zones, &indicators, Day::fixed(3, 2), 1);
    let found = search.least(Hold::All).unwrap();
    assert_eq!((found.days, found.team_dives, &found.sites[..], &found.units[..]), (3, 6, &[6][..], &[8][..]));
    let margin = |sites: u16, units: usize| indicators[0].margin(&[1.0], &[sites], units);
    assert!(margin(6, 6) >= MET && margin(6, 5) < MET && margin(5, 16) >= MET && margin(5, 8) < MET);
    assert_eq!(search.design(&[16], &[5]).unwrap().team_dives, 10);
}

/// By hand: two zones of half the weight, variances of 4 and 1 a site, one dive a site, .2 in all: 11.25 sites if they could be
/// cut, 12 as they are, and of (8, 4), (7, 5) and (9, 3) the first leaves least.
#[test]
fn sites_of_two_zones_by_hand() {
    let table = table(1.0, 1, 1);
    let zones =
        [0, 1].map(|_| ZoneDives { weight: 0.5, least_sites: 2, most_sites: 30, table: &table, same_sites_as: None });
    let indicators = [error_at_most(f64::sqrt(0.2), 0, vec![only(1, 4.0), only(1, 1.0)])];
    let found = Search::new(&zones, &indicators, Day::fixed(1, 1), 1).least(Hold::All).unwrap();
    assert_eq!((found.team_dives, &found.sites[..]), (12, &[8, 4][..]));
    let variance = |sites: [u16; 2]| indicators[0].variance(&[0.5, 0.5], &sites, 1).0;
    for (sites, printed) in [([8, 4], 0.1875), ([7, 5], 0.1929), ([9, 3], 0.1944), ([7, 4], 0.2054), ([8, 3], 0.2083)] {
        assert!((variance(sites) - printed).abs() < 5e-5, "{sites:?}");
    }
}

/// By hand: a pair of whom one counts fish (8 minutes, on the first dive of a site only), lines of 10 minutes by either; variances
/// of (.03 + .10 / f) and (.02 + .12 / l) over sites, both to be .01: five fish belts and four lines on one dive at each of five
/// sites; three belts and five lines need seven, and two dives a site cost ten.
#[test]
fn fish_first_and_lines_by_hand() {
    let table = of_a_pair(&[of_one(8.0, Some(0), Some(0.0)), of_one(10.0, None, None)], vec![6, 17]);
    let on = |dives: usize, most: [(u8, u8); 5]| {
        for (fish, lines) in most {
            assert_eq!(table.dives(&[fish, lines]), Some(dives), "{fish} {lines}");
            assert_ne!(table.dives(&[fish, lines + 1]), Some(dives), "{fish} {lines}");
        }
    };
    on(1, [(0, 8), (1, 7), (2, 6), (3, 5), (5, 4)]);
    on(2, [(0, 16), (1, 15), (2, 14), (3, 13), (5, 12)]);
    assert_eq!(table.dives(&[6, 0]), None);
    let zones = [ZoneDives { weight: 1.0, least_sites: 2, most_sites: 30, table: &table, same_sites_as: None }];
    let told = |site: f64, unit: f64, most: u8| vec![(0..=most).map(|n| site + unit / f64::from(n)).collect()];
    let indicators = [error_at_most(0.1, 0, told(0.03, 0.10, 6)), error_at_most(0.1, 1, told(0.02, 0.12, 17))];
    let search = Search::new(&zones, &indicators, Day::fixed(3, 2), 1);
    let found = search.least(Hold::All).unwrap();
    assert_eq!((found.team_dives, &found.sites[..], &found.units[..]), (5, &[5][..], &[5, 4][..]));
    let fewest = |units: [u8; 2]| {
        let met = |sites: u16| search.design(&units, &[sites]).is_some_and(|of| of.margins.iter().all(|&m| m >= MET));
        (2..=30).find(|&sites| met(sites)).unwrap()
    };
    assert_eq!((fewest([3, 5]), fewest([5, 12])), (7, 5));
    assert_eq!(search.design(&[5, 12], &[5]).unwrap().team_dives, 10);
}

/// The cheapest sites and units of one zone for the error of a mean: a site costs `travel` dives and its units one each.
fn two_stage(travel: u8, most: u8, (between, within): (f64, f64), error: f64) -> Found {
    let table = tables(&[(1.0, travel), (1.0, most)], 1.0, usize::from(travel) + usize::from(most));
    let zones = [ZoneDives { weight: 1.0, least_sites: 1, most_sites: 200, table: &table, same_sites_as: None }];
    let told = (0..=most).map(|n| between + within / f64::from(n)).collect();
    let getting_there = only(usize::from(travel), 1e-9);
    let indicators = [error_at_most(1.0, 0, vec![getting_there]), error_at_most(error, 1, vec![told])];
    // A day of one dive: days are dives.
    Search::new(&zones, &indicators, Day::fixed(1, 1), 1).least(Hold::All).unwrap()
}

/// Two stages (Brus 2022, Spatial Sampling with R, chapter 7): SDs of 2 between and 3 within sites, 16 to get to a site and 1
/// a unit: 6 units a site; 9 sites of 6 units cost 198 and leave a variance of .6111, and within 200 nothing is better.
/// Optimum size of a cluster (Blair and Blair, Applied Survey Sampling, exercise 6.1; computed): square root of the ratio of
/// costs times (1 - rho) / rho. From mean squares (a course on sampling, lecture of 25 October 2024; computed).
#[test]
fn two_stage_optima_are_special_cases() {
    let found = two_stage(16, 12, (4.0, 9.0), f64::sqrt(0.611112));
    assert_eq!((found.team_dives, found.sites[0], found.units[1]), (198, 9, 6));
    // The optimum is flat: some hundred sites bring the units of a site to within a third of the continuous optimum.
    for (ratio, rho, optimum) in [(20, 0.05, 19.493589), (20, 0.25, 7.745967), (100, 0.05, 43.588989)] {
        let variance = (rho + (1.0 - rho) / optimum) / 120.0;
        let found = two_stage(ratio, 60, (rho, 1.0 - rho), variance.sqrt());
        let units = f64::from(found.units[1]);
        assert!((units / optimum - 1.0).abs() < 0.34, "{ratio} {rho}: {found:?}");
        // Nor is any other number of units cheaper.
        let sites = |units: f64| ((rho + (1.0 - rho) / units) / variance - 1e-9).ceil();
        let cost =
            |units: f64| if sites(units) > 200.0 { f64::INFINITY } else { sites(units) * (f64::from(ratio) + units) };
        let least = (1..=60).map(|n| cost(f64::from(n))).fold(f64::INFINITY, f64::min);
        assert_eq!(found.team_dives as f64, least);
    }
    for ((of_sites, within), optimum) in
        [((30.8204, 10.39), 0.580616), ((16.991, 23.68), 1.180542), ((1.2862, 38.76), 5.489561)]
    {
        assert!((f64::sqrt(within / of_sites) - optimum).abs() < 1e-4);
        let variance = of_sites + within / f64::max(optimum, 1.0);
        let found = two_stage(1, 12, (of_sites, within), f64::sqrt(variance / 100.0));
        assert!((f64::from(found.units[1]) - optimum).abs() < 1.6, "{found:?}");
    }
    // Kish's design effect of 20 units a site with a correlation of .05 is 1.95.
    let told = error_at_most(1.0, 0, vec![vec![0.05 + 0.95 / 20.0]]);
    assert!((told.variance(&[1.0], &[20], 0).0 * 400.0 - 1.95).abs() < 1e-12);
}

/// An invented instance by a number: two or three zones, two or three tasks, a crew of four.
struct Instance {
    /// Of two pairs, and of the first of them alone.
    tables: Vec<Table>,
    one_pair: Vec<Table>,
    weights: Vec<f64>,
    most_sites: Vec<u16>,
    indicators: Vec<Indicator>,
    sites_a_day: usize,
}

impl Instance {
    fn new(number: u64) -> Self {
        let mut state = number.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let mut between = move |low: f64, high: f64| {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            low + (high - low) * ((state >> 33) as f64 / (1u64 << 31) as f64)
        };
        let (zones, methods) = (2 + (number % 2) as usize, 2 + (number / 2 % 2) as usize);
        let tasks: Vec<Task> = (0..methods)
            .map(|method| Task {
                name: String::new(),
                unit: Minutes { mean: between(6.0, 14.0).round(), cv: 0.0 },
                set_up: 2.0,
                takes: Takes::One,
                skill: (method == 1).then_some(0),
                first: None,
            })
            .collect();
        let diver = |skills: u32| Diver { name: String::new(), skills };
        let crew = Crew { divers: vec![diver(1), diver(0), diver(1), diver(0)], pairs: vec![Pair(0, 1), Pair(2, 3)] };
        let one = Crew { pairs: vec![Pair(0, 1)], ..crew.clone() };
        let minutes: Vec<f64> = (0..zones).map(|_| between(26.0, 42.0).round()).collect();
        let tables_of = |crew: &Crew| -> Vec<Table> {
            let caps = || Caps::new([5, 4, 3][..methods].to_vec());
            minutes.iter().map(|&minutes| Table::new(&Packing::by_means(&tasks, crew, minutes), caps())).collect()
        };
        let (tables, one_pair) = (tables_of(&crew), tables_of(&one));
        let indicators = (0..methods)
            .map(|task| {
                let parts: Vec<(f64, f64)> = (0..zones).map(|_| (between(0.02, 0.08), between(0.1, 0.5))).collect();
                let of =
                    |&(site, unit): &(f64, f64)| (0..=5).map(|n| SiteTells::one(site + unit / f64::from(n))).collect();
                Indicator {
                    name: String::new(),
                    task,
                    is_must: task == 0,
                    weight: 1.0,
                    sites: parts.iter().map(of).collect(),
                    floor: vec![0.0; 6],
                    target: between(0.3, 0.55),
                    need: match task {
                        0 => Need::Table(NeedTable::of_power(0.05, Tail::Two, 0.8)),
                        // A power of its own.
                        2 => Need::Table(NeedTable::of_power(0.05, Tail::Two, 0.9)),
                        _ => Need::Table(NeedTable::of_half_width(0.95)),
                    },
                    done: Vec::new(),
                    places: Vec::new(),
                }
            })
            .collect();
        let weights = if zones == 2 { vec![0.4, 0.6] } else { vec![0.25, 0.45, 0.3] };
        Self {
            tables,
            one_pair,
            weights,
            most_sites: (0..zones).map(|_| between(6.0, 9.0) as u16).collect(),
            indicators,
            sites_a_day: 1 + (number % 3) as usize,
        }
    }

    fn zones(&self) -> Vec<ZoneDives<'_>> {
        let zones = self.weights.iter().zip(&self.most_sites).zip(&self.tables);
        zones
            .map(|((&weight, &most_sites), table)| ZoneDives {
                weight,
                least_sites: 3,
                most_sites,
                table,
                same_sites_as: None,
            })
            .collect()
    }

    fn day(&self) -> Day {
        Day::fixed(3, self.sites_a_day)
    }

    /// Every design there is, full or not.
    fn every(&self, mut each: impl FnMut(&[u8], &[u16], usize, usize, &[f64])) {
        let mut packing = DayPacking::new(&self.day());
        for units in self.tables[0].caps.all() {
            let dives: Option<Vec<usize>> = self.tables.iter().map(|table| table.dives(&units)).collect();
            let Some(dives) = dives.filter(|_| units.iter().all(|&n| n > 0)) else { continue };
            let mut sites = vec![3u16; self.weights.len()];
            loop {
                let days = packing.days_of_zones(&sites, &dives).unwrap();
                let all = sites.iter().zip(&dives).map(|(&n, &d)| usize::from(n) * d).sum();
                let margin = |of: &Indicator| of.margin(&self.weights, &sites, usize::from(units[of.task]));
                each(&units, &sites, days, all, &self.indicators.iter().map(margin).collect::<Vec<_>>());
                let Some(place) = (0..sites.len()).rev().find(|&z| sites[z] < self.most_sites[z]) else { break };
                sites[place] += 1;
                sites[place + 1..].fill(3);
            }
        }
    }
}

type Effort = (usize, usize, u16);

/// Whatever the bounds rule out, what is found is what looking at every design finds: least effort for all targets and for the
/// musts, and the best merit for each number of days. Own site sets are never under their bounds nor dearer than the common
/// plan.
#[test]
fn the_search_is_every_design_looked_at() {
    for number in 0..16 {
        let instance = Instance::new(number);
        let zones = instance.zones();
        let search = Search::new(&zones, &instance.indicators, instance.day(), 1);
        let mut least: [Option<Effort>; 2] = [None; 2];
        let mut best: Vec<Option<Merit>> = vec![None; 13];
        instance.every(|_, sites, days, dives, margins| {
            let takes = (days, dives, sites.iter().sum());
            for (place, holds) in [margins.iter().all(|&m| m >= MET), margins[0] >= MET].into_iter().enumerate() {
                if holds && least[place].is_none_or(|least| takes < least) {
                    least[place] = Some(takes);
                }
            }
            let merit = Merit::of(&instance.indicators, margins);
            for best in best.iter_mut().skip(days) {
                *best = (*best).max(Some(merit));
            }
        });
        let takes = |found: Option<Found>| found.map(|of| (of.days, of.team_dives, of.sites.iter().sum::<u16>()));
        let all = search.least(Hold::All);
        assert_eq!([takes(all.clone()), takes(search.least(Hold::Musts))], least, "{number}");
        let frontier = search.frontier(12);
        let ours: Vec<Option<Merit>> = frontier.iter().map(|found| found.as_ref().map(|found| found.merit)).collect();
        assert_eq!(ours, best[1..], "{number}");
        for (day, found) in frontier.iter().enumerate() {
            let found = found.as_ref();
            assert!(found.is_none_or(|found| found.days <= day + 1));
            // At the days of the least effort all targets are met.
            if let (Some(all), Some(found)) = (&all, found) {
                assert_eq!(day + 1 >= all.days, found.merit.0[..2] == [1000, 1000], "{number} {day}");
            }
        }
        if let (Some(all), Some(musts)) = (takes(all.clone()), takes(search.least(Hold::Musts))) {
            assert!(all >= musts);
        }
        if let Some(all) = &all {
            let own = search.own_sets(all).unwrap();
            let (ours, common) = ((own.days, own.team_dives), (all.days, all.team_dives));
            assert!(ours <= common && own.margins.iter().all(|&m| m >= MET), "{number}: {own:?}");
            assert!(own.days_at_least <= own.days && own.team_dives_at_least <= own.team_dives);
            for tie in search.near_ties((all, Beside::Least), 50, true) {
                assert!(tie.margins.iter().all(|&m| m >= MET) && tie.days <= all.days && !tie.is_less(all));
            }
        }
        // Without one of the targets nothing gets dearer; the order of the targets is of no consequence.
        let fewer = &instance.indicators[..instance.indicators.len() - 1];
        let with_fewer = Search::new(&zones, fewer, instance.day(), 1);
        if let Some(all) = takes(all.clone()) {
            assert!(takes(with_fewer.least(Hold::All)).is_some_and(|fewer| fewer.0 <= all.0), "{number}");
        }
        let turned: Vec<Indicator> = instance.indicators.iter().rev().cloned().collect();
        assert_eq!(takes(Search::new(&zones, &turned, instance.day(), 1).least(Hold::All)), takes(all));
    }
}

/// Beside the best use of the days stand all that make hardly less of them (what it meets is met, no weakest margin more than a
/// twentieth less), the best of those with the same sites and dives, best first; nothing else does.
#[test]
fn what_is_told_beside_the_best_use_of_the_days() {
    let mut told = 0;
    for number in 0..16 {
        let instance = Instance::new(number);
        let zones = instance.zones();
        let search = Search::new(&zones, &instance.indicators, instance.day(), 1);
        let days = 4 + number as usize % 5;
        let Some(best) = search.frontier(days).pop().flatten() else { continue };
        let ties = search.near_ties((&best, Beside::Best { days }), usize::MAX, true);
        let is_near = |merit: Merit| {
            let far = |of: usize| merit.0[of] as f64 >= 0.95 * best.merit.0[of] as f64 - 1e-9;
            (0..3).all(far) && (0..2).all(|of| best.merit.0[of] < 1000 || merit.0[of] == 1000)
        };
        assert!(ties.iter().all(|tie| tie.days <= days && is_near(tie.merit) && *tie != best), "{number}");
        assert!(ties.windows(2).all(|two| two[0].beats(&two[1])), "{number}");
        instance.every(|units, sites, takes, dives, margins| {
            let merit = Merit::of(&instance.indicators, margins);
            if takes <= days && is_near(merit) {
                let alike = |of: &&Found| of.sites == sites && of.team_dives == dives;
                let is_told = ties.iter().chain([&best]).filter(alike).any(|of| of.merit >= merit);
                assert!(is_told, "{number}: {units:?} {sites:?} {merit:?}");
            }
        });
        told += ties.len();
    }
    assert!(told > 20, "{told}");
}

/// The same bytes, and the same number of designs looked at, on any number of threads.
#[test]
fn threads_change_nothing() {
    for number in [1, 6, 11] {
        let instance = Instance::new(number);
        let zones = instance.zones();
        let with = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| {
                let search = Search::new(&zones, &instance.indicators, instance.day(), 1);
                let all = search.least(Hold::All);
                let ties = all.as_ref().map(|all| search.near_ties((all, Beside::Least), 6, true));
                let own = all.as_ref().map(|all| search.own_sets(all));
                (all, search.least(Hold::Musts), search.frontier(12), ties, own, search.looked_at())
            })
        };
        let one = with(1);
        assert!(one.5 > 0);
        assert_eq!(one, with(2));
        assert_eq!(one, with(5));
    }
}

/// The variance (not the margin) falls with sites and with units.
#[test]
fn variance_falls_with_sites_and_units() {
    let instance = Instance::new(3);
    let of = &instance.indicators[0];
    for units in 1..5 {
        for first in 3..8 {
            let sites = vec![first; instance.weights.len()];
            let mut more = sites.clone();
            more[0] += 1;
            let now = of.variance(&instance.weights, &sites, units).0;
            assert!(of.variance(&instance.weights, &more, units).0 < now);
            assert!(of.variance(&instance.weights, &sites, units + 1).0 < now);
        }
    }
}

/// Pair-dives that a site takes: so many as its minutes ask for, two for each further dive.
fn pair_dives(instance: &Instance, zone: usize, units: &[u8]) -> usize {
    let dives = instance.tables[zone].dives(units).unwrap_or(0);
    let all: usize = units.iter().map(|&units| usize::from(units)).sum();
    dives.max((zone + all).div_ceil(3)).min(2 * dives)
}

/// With prices: of all designs that meet the targets none costs less, or with effort first none of the same effort does,
/// full or not, whatever the bounds rule out.
#[test]
fn the_cheapest_is_the_cheapest_of_all_designs() {
    // Once, a day, a pair-dive, a unit of each task: usual ones, units dear, dives alone, days alone, nothing but once.
    let rates = [
        (500.0, 900.0, 20.0, [7.0, 4.0, 9.0]),
        (0.0, 50.0, 20.0, [60.0, 0.0, 45.0]),
        (0.0, 0.0, 20.0, [0.0; 3]),
        (10.0, 900.0, 0.0, [0.0; 3]),
        (10.0, 0.0, 0.0, [0.0; 3]),
    ];
    let mut cheaper = 0;
    for number in 0..10 {
        let instance = Instance::new(number);
        let zones = instance.zones();
        let (once, a_day, a_pair_dive, of_units) = rates[number as usize % rates.len()];
        let tasks = instance.tables[0].caps.tasks();
        let a_unit: Vec<f64> = of_units.into_iter().cycle().take(tasks).collect();
        let money = |units: &[u8], sites: &[u16], days: usize| {
            let of_units: f64 = units.iter().zip(&a_unit).map(|(&units, price)| f64::from(units) * price).sum();
            let of_site = |zone: usize| of_units + a_pair_dive * pair_dives(&instance, zone, units) as f64;
            let of_sites: f64 = sites.iter().enumerate().map(|(zone, &sites)| f64::from(sites) * of_site(zone)).sum();
            once + a_day * days as f64 + of_sites
        };
        // For all targets and for the musts: the least money, and the least effort with the least money of it.
        let mut least = [f64::INFINITY; 2];
        let mut of_least_effort: [Option<(Effort, f64)>; 2] = [None; 2];
        instance.every(|units, sites, days, dives, margins| {
            let holds = [margins.iter().all(|&m| m >= MET), margins[0] >= MET];
            if !holds[1] {
                return;
            }
            let (money, effort) = (money(units, sites, days), (days, dives, sites.iter().sum()));
            for place in (0..2).filter(|&place| holds[place]) {
                least[place] = least[place].min(money);
                let known = &mut of_least_effort[place];
                if known.is_none_or(|(least, of)| (effort, money) < (least, of)) {
                    *known = Some((effort, money));
                }
            }
        });
        for come_first in [true, false] {
            let prices = Prices {
                of_days: Arc::new(move |days| once + a_day * days as f64),
                opens: Arc::new(|_| 0),
                a_pair_dive,
                a_unit: a_unit.clone(),
                pair_dives: Arc::new(|_, zone, units| pair_dives(&instance, zone, units)),
                come_first,
            };
            let search = Search::new(&zones, &instance.indicators, instance.day(), 1).priced(Some(prices));
            for (place, hold) in [Hold::All, Hold::Musts].into_iter().enumerate() {
                let found = search.least(hold);
                let costs = found.as_ref().and_then(|found| search.money(found));
                let expected = if come_first {
                    Some(least[place]).filter(|money| money.is_finite())
                } else {
                    of_least_effort[place].map(|(_, money)| money)
                };
                let is_same = match (costs, expected) {
                    (Some(costs), Some(expected)) => (costs - expected).abs() < 1e-3,
                    (costs, expected) => costs == expected,
                };
                assert!(is_same, "{number} {hold:?} {come_first}: {costs:?} {expected:?}");
                let Some(found) = found else { continue };
                assert!((money(&found.units, &found.sites, found.days) - costs.unwrap()).abs() < 1e-9);
                let asked = instance.indicators.iter().zip(&found.margins);
                assert!(asked.into_iter().all(|(of, &margin)| !hold.asks(of) || margin >= MET));
                let effort = (found.days, found.team_dives, found.sites.iter().sum());
                if come_first {
                    cheaper += usize::from(of_least_effort[place].is_some_and(|(of, _)| of != effort));
                } else {
                    assert_eq!(Some(effort), of_least_effort[place].map(|(of, _)| of), "{number}");
                }
            }
        }
    }
    assert!(cheaper > 0, "least money is never but the least effort: the instances show nothing");
}

/// With so much money, and so many days: no design of all there are is better, but for the steps in which shares are told
/// apart.
#[test]
fn the_best_use_of_money_is_the_best_of_all_designs() {
    let (mut musts_short, mut all_met, mut none) = (0, 0, 0);
    for number in 0..12 {
        let instance = Instance::new(number);
        let zones = instance.zones();
        let (a_day, a_pair_dive) = [(900.0, 20.0), (50.0, 30.0), (0.0, 25.0)][number as usize % 3];
        let tasks = instance.tables[0].caps.tasks();
        let a_unit: Vec<f64> = [7.0, 0.0, 40.0].into_iter().cycle().take(tasks).collect();
        let prices = Prices {
            of_days: Arc::new(move |days| 100.0 + a_day * days as f64),
            opens: Arc::new(|_| 0),
            a_pair_dive,
            a_unit,
            pair_dives: Arc::new(|_, zone, units| pair_dives(&instance, zone, units)),
            come_first: false,
        };
        let search = Search::new(&zones, &instance.indicators, instance.day(), 1).priced(Some(prices));
        let Some(least) = search.least(Hold::All).or_else(|| search.least(Hold::Musts)) else { continue };
        let enough = search.money(&least).unwrap();
        for share in [0.2, 0.6, 0.9, 1.2] {
            let (money, most_days) = (share * enough, least.days + 1);
            let mut best: Option<Found> = None;
            instance.every(|units, sites, days, team_dives, margins| {
                let merit = Merit::of(&instance.indicators, margins);
                if days > most_days || best.as_ref().is_some_and(|best| merit <= best.merit) {
                    return;
                }
                let (units, sites, margins) = (units.to_vec(), sites.to_vec(), margins.to_vec());
                let found = Found { days, team_dives, sites, units, margins, merit };
                if search.money(&found).unwrap() <= money + 1e-6 {
                    best = Some(found);
                }
            });
            let found = search.best_for_money(money, most_days);
            let fewest = search.least_money(most_days).unwrap();
            assert_eq!(found.is_some(), fewest <= money + 1e-6, "{number} {share}: {fewest}");
            let (Some(best), Some(found)) = (&best, &found) else {
                assert_eq!(best.is_some(), found.is_some(), "{number} {share}");
                none += 1;
                continue;
            };
            assert!(search.money(found).unwrap() <= money + 1e-6 && found.days <= most_days);
            let ([must, should, all, _], of) = (best.merit.0, found.merit.0);
            assert!(of[0] >= must - 1, "{number} {share}: {of:?} {best:?}");
            assert!(of[0] > must || of[1] >= should - 1, "{number} {share}: {of:?} {best:?}");
            assert!(of[..2] != [must, should] || of[2] >= all - 20, "{number} {share}: {of:?} {best:?}");
            musts_short += usize::from(of[0] < 1000);
            all_met += usize::from(of[0] == 1000 && of[1] == 1000);
        }
    }
    assert!(musts_short > 0 && all_met > 0 && none > 0, "{musts_short} {all_met} {none}");
}
