//! The search over designs: designs a second, beside a naive sweep of the same designs in the same run.

use reefwright::analysis::Tail;
use reefwright::budget::{
    Caps, Crew, Day, DayPacking, Diver, Hold, Indicator, Merit, Minutes, Need, NeedTable, Packing, Pair, Search,
    SiteTells, Table, Takes, Task, ZoneDives,
};
use reefwright::design::{First, WhoWaits};
use std::time::Instant;

/// An invented expedition: 6 divers in 3 pairs, 3 zones, 5 methods and indicators, 9 days for diving.
fn tasks() -> Vec<Task> {
    let all: [(&str, f64, Option<usize>, Option<f64>); 5] = [
        ("lines", 12.0, None, None),
        ("corals", 16.0, Some(1), None),
        ("recruits", 10.0, Some(1), None),
        ("invertebrates", 6.0, None, None),
        ("fish", 9.0, Some(0), Some(8.0)),
    ];
    let of = |(name, unit, skill, first): (&str, f64, Option<usize>, Option<f64>)| Task {
        name: name.into(),
        unit: Minutes { mean: unit, cv: 0.0 },
        set_up: 2.0,
        takes: Takes::One,
        skill,
        first: first.map(|minutes| First { minutes, who_waits: WhoWaits::All }),
    };
    all.map(of).to_vec()
}

fn indicators() -> Vec<Indicator> {
    let parts: [(f64, f64, f64); 5] =
        [(0.06, 0.002, 0.02), (0.29, 0.04, 0.16), (0.69, 0.16, 1.2), (0.45, 0.5, 0.9), (0.51, 0.1, 1.1)];
    parts
        .iter()
        .enumerate()
        .map(|(task, &(target, site, unit))| Indicator {
            name: String::new(),
            task,
            is_must: task < 2,
            weight: 1.0,
            sites: vec![(0..=12).map(|n| SiteTells::one(site + unit / f64::from(n))).collect(); 3],
            floor: vec![0.0; 13],
            target,
            need: Need::Table(if task == 3 {
                NeedTable::of_half_width(0.95)
            } else {
                NeedTable::of_power(0.05, Tail::Two, 0.8)
            }),
            done: Vec::new(),
            places: Vec::new(),
        })
        .collect()
}

fn main() {
    let tasks = tasks();
    let diver = |skills: u32| Diver { name: String::new(), skills };
    let crew = Crew { divers: [1, 0, 1, 2, 2, 2].map(diver).to_vec(), pairs: vec![Pair(0, 1), Pair(2, 3), Pair(4, 5)] };
    let since = Instant::now();
    let tables: Vec<Table> = [48.0, 42.0, 34.0]
        .into_iter()
        .map(|minutes| {
            let packing = Packing::by_means(&tasks, &crew, minutes);
            Table::new(&packing, Caps::new(vec![12, 9, 9, 9, 8]))
        })
        .collect();
    println!("tables of three zones: {:.2} s", since.elapsed().as_secs_f64());
    let zones: Vec<ZoneDives> = [(0.25, 12), (0.5, 24), (0.25, 10)]
        .into_iter()
        .zip(&tables)
        .map(|((weight, most_sites), table)| ZoneDives {
            weight,
            least_sites: 3,
            most_sites,
            table,
            same_sites_as: None,
        })
        .collect();
    let indicators = indicators();
    let since = Instant::now();
    let search = Search::new(&zones, &indicators, Day::fixed(3, 2), 1);
    println!("full site sets: {:.2} s, {} designs", since.elapsed().as_secs_f64(), search.designs());
    let timed = |what: &str, work: &dyn Fn()| {
        let (since, before) = (Instant::now(), search.looked_at());
        work();
        let (seconds, looked_at) = (since.elapsed().as_secs_f64(), search.looked_at() - before);
        println!("{what}: {seconds:.3} s, {looked_at} designs worked out, {:.0} a second", looked_at as f64 / seconds);
        seconds
    };
    timed("least effort for all targets", &|| assert!(search.least(Hold::All).is_some()));
    timed("least effort for the musts", &|| assert!(search.least(Hold::Musts).is_some()));
    let ours = timed("frontier of 14 days", &|| assert!(search.frontier(14)[13].is_some()));
    let least = search.least(Hold::All).unwrap();
    timed("own site sets", &|| assert!(search.own_sets(&least).is_some()));

    // Every unit vector and every number of sites, one after the other: as many as there is patience for.
    let since = Instant::now();
    let weights = [0.25, 0.5, 0.25];
    let (mut looked_at, mut best) = (0u64, None);
    let mut packing = DayPacking::new(&search.day);
    'all: for units in tables[0].caps.all() {
        let dives: Option<Vec<usize>> = tables.iter().map(|table| table.dives(&units)).collect();
        let Some(dives) = dives.filter(|_| units.iter().all(|&n| n > 0)) else { continue };
        for crest in 3..=12u16 {
            for slope in 3..=24u16 {
                for deep in 3..=10u16 {
                    let sites = [crest, slope, deep];
                    let days = packing.days_of_zones(&sites, &dives).unwrap();
                    looked_at += 1;
                    if days <= 14 {
                        let margin = |of: &Indicator| of.margin(&weights, &sites, usize::from(units[of.task]));
                        let margins: Vec<f64> = indicators.iter().map(margin).collect();
                        best = best.max(Some(Merit::of(&indicators, &margins)));
                    }
                    if looked_at == NAIVE {
                        break 'all;
                    }
                }
            }
        }
    }
    let naive = NAIVE as f64 / since.elapsed().as_secs_f64();
    let (covered, ratio) = (search.designs() as f64 / ours, search.designs() as f64 / ours / naive);
    println!("naive sweep: {naive:.0} designs a second, {best:?}");
    println!("the frontier settles {covered:.0} designs a second, {ratio:.0} times the naive sweep");
    assert!(search.designs() >= 100_000 && ours < 5.0, "100,000 designs must take under 5 seconds");
}

const NAIVE: u64 = 500_000;
