//! Plans by stretches of the crew: before a change they are made for those who are aboard then, after it for those who come after.

mod common;

use common::bank;
use reefwright::budget::LostDays;
use reefwright::design::{DiverSpec, Expedition, ListedSite, SiteList};
use reefwright::planner::expedition::{BudgetAnswer, BudgetPlan, ScheduleRow, ZoneSites};
use reefwright::random::{Key, Purpose};
use reefwright::report::{BudgetReport, budget_files};
use reefwright::scenario::{Loaded, load_text};
use std::collections::{BTreeMap, BTreeSet};

/// Three pairs on the first four of nine days, two on the others.
const BANK: &str = r#"title = "Marl Bank"
statement_about = "all_such_reefs"
[[zone]]
name = "rim"
sites = 6
length_m = 5
width_m = 2.5
cover_percent = 30
[zone.dive]
depth_m = 8
bottom_minutes = 55
most_sites = 14
[[zone]]
name = "wall"
sites = 6
length_m = 5
width_m = 2.5
cover_percent = 20
[zone.dive]
depth_m = 20
bottom_minutes = 44
most_sites = 14
[[method.other]]
indicator = "rugosity"
unit = "cm"
mean = 140
between_sites = 20
site_year = 5
between_units = 38
units = "1..8"
lay_minutes = 2
read_minutes = 9
[[change]]
indicator = "rugosity"
from = 140
to = 122
[expedition]
days = 11
transit_days = 2
lost_days_percent = 10
dives_a_day = 2
sites_a_day = 2
standby = "crew"
pairs = [["Ines", "Odo"], ["Pia", "Ruan"], ["Bela", "Tam"]]
[[diver]]
name = "Ines"
depth_m = 35
[[diver]]
name = "Odo"
depth_m = 35
[[diver]]
name = "Pia"
depth_m = 35
[[diver]]
name = "Ruan"
depth_m = 35
[[diver]]
name = "Bela"
depth_m = 35
to_day = 4
[[diver]]
name = "Tam"
depth_m = 35
to_day = 4
[[target]]
indicator = "rugosity"
see = true
priority = "must"
"#;

fn loaded(text: &str) -> Loaded {
    load_text("bank.toml", text).unwrap_or_else(|error| panic!("{}", error.render()))
}

/// The same with two pairs all the time.
fn two_pairs() -> String {
    let (head, rest) = BANK.split_once("[[diver]]\nname = \"Bela\"").unwrap();
    let (_, targets) = rest.split_once("[[target]]").unwrap();
    format!("{head}[[target]]{targets}").replace(", [\"Bela\", \"Tam\"]", "")
}

/// By hand: six units are one dive of three pairs at the wall and two of two pairs, at the rim one of either. So the crew of three does
/// two sites of the wall on each of four days, and the crew of two a site of the rim on each dive after them. Two pairs throughout need
/// ten days for the same targets, which are not there; the plan by stretches needs eight of nine.
#[test]
fn what_three_pairs_can_do_is_done_while_they_are_aboard() {
    let loaded = loaded(BANK);
    let answer = bank::of_loaded(&loaded, (7, 64));
    let plan = answer.all.as_ref().unwrap();
    assert!(answer.schedules_all() && plan.days <= answer.bookable_days, "{plan:?}");
    let of_two = bank::of_loaded(&load_text("two.toml", &two_pairs()).unwrap(), (7, 64));
    let told = answer.stretches.as_ref().unwrap();
    let whichever = told.whichever.as_ref().unwrap();
    assert_eq!(Some((whichever.days, whichever.team_dives)), of_two.what_ifs[0].all);
    assert!(plan.days < whichever.days && whichever.days > answer.bookable_days, "{whichever:?}");
    // Crews, and what a site takes of them.
    let stretches: Vec<(usize, usize, usize)> =
        plan.stretches.iter().map(|of| (of.from_day, of.to_day, of.pairs)).collect();
    assert_eq!(stretches, [(1, 4, 3), (5, 8, 2)]);
    let at = |zone: usize| -> Vec<(usize, usize)> {
        plan.zones[zone].by_stretch.iter().map(|of| (of.sites, of.team_dives)).collect()
    };
    assert_eq!((plan.site_set[0].units, at(0), at(1)), (6, vec![(0, 1), (8, 1)], vec![(8, 1), (0, 2)]));
    assert_eq!((plan.days, plan.team_dives, plan.pair_dives), (8, 16, 8 * 3 + 8 * 2));
    keeps_to_the_plan(&answer, loaded.expedition.as_ref().unwrap());
    // Nobody who is aboard on days 1 to 4 is idle there.
    assert!(!answer.warnings.iter().any(|warning| warning.contains("no more than")), "{:#?}", answer.warnings);
    // What lost days do, by hand: where one of the first four is lost two sites of the wall are left, of two dives each.
    assert_eq!((told.change, told.days_with_one_lost), (5, 9));
    let share: f64 = 0.9;
    assert!((told.no_day_lost_before.unwrap() - share.powi(4)).abs() < 1e-12);
    // None of the first four lost and at most one of the five after it; or one of those and none of these, which is 3 + 6 days: too few.
    let by_hand = share.powi(4) * (share.powi(5) + 5.0 * 0.1 * share.powi(4));
    assert!((told.finished.unwrap() - by_hand).abs() < 1e-12, "{:?} {by_hand}", told.finished);
    let book = &answer.book[0];
    assert!((book.chance - by_hand).abs() < 1e-12);
    assert!(book.to_book.unwrap() > plan.days);
    let hand = &answer.season.as_ref().unwrap().in_hand;
    let done: Vec<&[u16]> = hand.iter().map(|day| &day.sites[..]).collect();
    assert_eq!((hand.len(), done[3], done[7]), (8, &[0, 8][..], &[8, 8][..]));
    // It is told, wherever a reader looks.
    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer.clone(), 7);
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let screen = words(&report.terminal(None));
    let files = budget_files(&report).unwrap();
    let file = |name: &str| {
        let (_, bytes) = files.iter().find(|(of, _)| of == name).unwrap_or_else(|| panic!("{name}"));
        words(&String::from_utf8_lossy(bytes))
    };
    for text in [&screen, &file("budget.html")] {
        assert!(text.contains("3 pairs on days 1 to 4, 2 pairs on days 5 to 8"), "{text}");
        assert!(text.contains("wall 8 sites of 1 team dive, then none of 2"), "{text}");
        assert!(text.contains("Cut short before day 5 it has too few sites of rim"), "{text}");
        assert!(
            text.contains("The plan for whichever crew is aboard, which counts on no day, takes 10 days"),
            "{text}"
        );
    }
    let json: serde_json::Value = serde_json::from_str(&report.json()).unwrap();
    assert_eq!(json["answer"]["stretches"][1]["from_day"], 5);
    assert_eq!(json["answer"]["sites"][1]["by_stretch"][0]["sites"], 8);
}

/// Where the third pair comes late, the same the other way round; where it stays nothing is by stretches.
#[test]
fn who_comes_late_is_planned_for_from_then_on() {
    let late = BANK.replace("to_day = 4", "from_day = 5");
    let loaded = loaded(&late);
    let answer = bank::of_loaded(&loaded, (7, 16));
    let plan = answer.all.as_ref().unwrap();
    let first = plan.stretches.first().unwrap();
    assert_eq!((first.from_day, first.to_day, first.pairs, plan.stretches[1].pairs), (1, 4, 2, 3));
    keeps_to_the_plan(&answer, loaded.expedition.as_ref().unwrap());
    let whichever = answer.stretches.as_ref().unwrap().whichever.as_ref().unwrap();
    assert!(plan.days < whichever.days, "{whichever:?}");
    let stays = bank::answer(&BANK.replace("to_day = 4\n", ""), 4).0;
    assert!(stays.stretches.is_none() && stays.all.as_ref().unwrap().stretches.is_empty());
}

/// Sites of a list that can be reached on any day have their names on the days of the stretches; where one can be reached on some days
/// only, or waits for calm weather, nothing is planned by stretches.
#[test]
fn sites_of_a_list_keep_their_days() {
    let loaded = loaded(BANK);
    let site = |number: usize| ListedSite {
        name: format!("site {number}"),
        zone: number % 2,
        depth_m: [8.0, 20.0][number % 2],
        ..ListedSite::default()
    };
    let mut with_list = loaded.expedition.clone().unwrap();
    with_list.sites = Some(SiteList { file: "sites.csv".into(), sites: (0..28).map(site).collect() });
    let answer = bank::planned(&loaded, &with_list, (7, 4)).unwrap();
    assert!(answer.stretches.is_some() && answer.all.as_ref().unwrap().days == 8);
    let visited: BTreeSet<&str> = answer.schedule.iter().filter_map(|row| row.site_name.as_deref()).collect();
    assert_eq!(visited.len(), 16);
    keeps_to_the_plan(&answer, &with_list);
    let mut with_window = with_list.clone();
    with_window.sites.as_mut().unwrap().sites[3].last_day = Some(6);
    let mut calm = with_list;
    calm.zones[0].needs_calm = true;
    for expedition in [with_window, calm] {
        let answer = bank::planned(&loaded, &expedition, (7, 4)).unwrap();
        assert!(answer.stretches.is_none() && answer.scheduled().unwrap().stretches.is_empty());
    }
}

/// Whoever goes on as planned goes on by stretches: after one day seven are left; after the change there is one crew.
#[test]
fn the_rest_goes_by_stretches_too() {
    let loaded = loaded(BANK);
    let answer = bank::of_loaded(&loaded, (7, 16));
    let rest_after = |days: usize| bank::rest(&loaded, &bank::field(&loaded, &answer, |row| row.day <= days), (7, 16));
    let rest = rest_after(1).rest;
    let plan = rest.all.as_ref().unwrap();
    let stretches: Vec<(usize, usize, usize)> =
        plan.stretches.iter().map(|of| (of.from_day, of.to_day, of.pairs)).collect();
    assert_eq!((plan.days, plan.team_dives, stretches), (7, 14, vec![(2, 4, 3), (5, 8, 2)]));
    let told = rest.stretches.as_ref().unwrap();
    assert_eq!((told.change, told.days_with_one_lost), (5, 8));
    assert!(told.whichever.as_ref().is_none_or(|of| of.days > 7));
    assert!((told.no_day_lost_before.unwrap() - 0.9f64.powi(3)).abs() < 1e-12);
    assert!((rest.book[0].chance - told.finished.unwrap()).abs() < 1e-12);
    assert_eq!(rest.schedule.iter().map(|row| row.day).collect::<BTreeSet<_>>(), (2..=8).collect());
    // All eight sites of the wall are done before the change, with those of the first day.
    let sites_of = |rows: &[ScheduleRow], zone: &str, last: usize| -> BTreeSet<usize> {
        rows.iter().filter(|row| row.zone == zone && row.day <= last).map(|row| row.site).collect()
    };
    let mut wall = sites_of(&answer.schedule, "wall", 1);
    wall.extend(sites_of(&rest.schedule, "wall", 4));
    assert_eq!(wall, (1..=8).collect());
    let units = |rows: &[ScheduleRow]| rows.iter().map(|row| row.units).sum::<usize>();
    assert_eq!(units(&rest.schedule), 14 * 6);
    let after = rest_after(4).rest;
    assert!(after.stretches.is_none() && after.all.as_ref().is_some_and(|all| all.days <= 4));
}

/// The schedule holds what the plan tells: all units of each site, on one day, by the crew of its stretch; nobody who is not aboard,
/// too deep or without the skill; no day more than it holds.
fn keeps_to_the_plan(answer: &BudgetAnswer, expedition: &Expedition) {
    let plan = answer.scheduled().unwrap();
    let rows = &answer.schedule;
    assert_eq!(rows.iter().map(|row| row.day).collect::<BTreeSet<_>>(), (1..=plan.days).collect());
    let mut sites: BTreeMap<(&str, usize), Vec<&ScheduleRow>> = BTreeMap::new();
    for row in rows {
        let diver = expedition.divers.iter().find(|diver| diver.name == row.diver).unwrap();
        let zone = expedition.zones.iter().zip(&plan.zones).find(|(_, zone)| zone.zone == row.zone).unwrap().0;
        assert!(diver.is_aboard(row.day) && diver.may_dive_to(zone.depth_m), "{row:?}");
        assert!(expedition.pairs_on_day(row.day).len() >= row.pair.min(1));
        sites.entry((row.zone.as_str(), row.site)).or_default().push(row);
    }
    for zone in &plan.zones {
        let of_zone: Vec<_> = sites.iter().filter(|((name, _), _)| *name == zone.zone).collect();
        assert_eq!(of_zone.len(), zone.sites);
        let numbers: BTreeSet<usize> = of_zone.iter().map(|((_, site), _)| *site).collect();
        assert_eq!(numbers, (1..=zone.sites).collect());
        for ((_, _), rows) in &of_zone {
            let units: usize = rows.iter().map(|row| row.units).sum();
            assert_eq!(units, plan.site_set.iter().map(|of| of.units).sum::<usize>(), "{rows:?}");
            assert!(rows.iter().all(|row| (row.day, row.boat) == (rows[0].day, rows[0].boat)), "{rows:?}");
        }
        for stretch in &zone.by_stretch {
            let here: Vec<_> =
                of_zone.iter().filter(|(_, rows)| (stretch.from_day..=stretch.to_day).contains(&rows[0].day)).collect();
            assert_eq!(here.len(), stretch.sites, "{zone:?}");
            for (_, rows) in here {
                let dives: BTreeSet<usize> = rows.iter().map(|row| row.team_dive).collect();
                assert!(dives.len() <= stretch.team_dives, "{rows:?}");
            }
        }
        let by_stretch: usize = zone.by_stretch.iter().map(|of| of.sites).sum();
        assert!(plan.stretches.is_empty() || by_stretch == zone.sites);
    }
    within_the_days(plan, rows, expedition);
}

fn within_the_days(plan: &BudgetPlan, rows: &[ScheduleRow], expedition: &Expedition) {
    let mut of_pairs: BTreeMap<(usize, usize, usize, usize), BTreeSet<&str>> = BTreeMap::new();
    for row in rows {
        of_pairs.entry((row.day, row.boat, row.team_dive, row.pair)).or_default().insert(&row.diver);
    }
    assert!(of_pairs.values().all(|divers| divers.len() == 2), "{of_pairs:?}");
    assert!(of_pairs.len() <= plan.pair_dives, "{} {}", of_pairs.len(), plan.pair_dives);
    let boat_days: BTreeSet<(usize, usize)> = rows.iter().map(|row| (row.day, row.boat)).collect();
    for (day, boat) in boat_days {
        let on_it = || rows.iter().filter(move |row| (row.day, row.boat) == (day, boat));
        let dives: BTreeSet<usize> = on_it().map(|row| row.team_dive).collect();
        let sites: BTreeSet<(&str, usize)> = on_it().map(|row| (row.zone.as_str(), row.site)).collect();
        assert!(dives.len() <= expedition.boats.dives_a_day, "day {day}");
        assert!(sites.len() <= expedition.boats.sites_a_day.unwrap_or(usize::MAX), "day {day}");
        // Nobody is on two dives at once.
        for dive in dives {
            let pairs = of_pairs.iter().filter(|((at, of, number, _), _)| (*at, *of, *number) == (day, boat, dive));
            let divers: Vec<&str> = pairs.flat_map(|(_, divers)| divers.iter().copied()).collect();
            assert_eq!(divers.iter().collect::<BTreeSet<_>>().len(), divers.len());
        }
    }
}

/// A crew drawn at random, of whom some come late or leave early, for one or two boats.
fn random_expedition(expedition: &Expedition, seed: u64) -> Expedition {
    let below = |index: u64, below: usize| (Key::seed(seed).uniform(Purpose::Test, index) * below as f64) as usize;
    let boats = 1 + below(1, 4) / 3;
    let pairs = 2 * boats + below(2, 3);
    let last = expedition.days.for_diving();
    let mut random = expedition.clone();
    random.divers.clear();
    for pair in 0..pairs {
        let of = 100 * (1 + pair as u64);
        // As many as there are boats are there all the time.
        let stays = pair < boats;
        let from_day = if stays || below(of, 3) > 0 { 1 } else { 2 + below(of + 1, 5) };
        let to_day =
            if stays || below(of + 2, 2) == 0 { None } else { Some((from_day + 1 + below(of + 3, 6)).min(last)) };
        for diver in 0..2 {
            // Sometimes only one of the two leaves.
            let to_day = if diver == 1 && below(of + 4, 4) == 0 { None } else { to_day };
            random.divers.push(DiverSpec {
                name: format!("diver {pair} {diver}"),
                skills: if diver == 0 || below(of + 5, 2) == 0 { vec!["reads".into()] } else { Vec::new() },
                depth_m: if stays || below(of + 6, 4) > 0 { Some(30.0) } else { Some(12.0) },
                from_day,
                to_day,
            });
        }
    }
    random.pairs = (0..pairs).map(|pair| (2 * pair, 2 * pair + 1)).collect();
    random.boats.number = boats;
    random.boats.dives_a_day = 2 + below(3, 2);
    random.boats.sites_a_day = Some(1 + below(4, 2));
    if below(5, 2) == 0 {
        random.methods.iter_mut().for_each(|work| work.skill = Some("reads".into()));
    }
    random
}

#[test]
fn what_is_planned_by_stretches_is_scheduled_as_it_is_told() {
    let loaded = loaded(BANK);
    let (mut by_stretch, mut shorter, mut two_boats, mut three, mut bounded) = (0, 0, 0, 0, 0);
    for seed in 0..120 {
        let expedition = random_expedition(loaded.expedition.as_ref().unwrap(), seed);
        if expedition.crew_changes().len() < 2 {
            continue;
        }
        let Ok(answer) = bank::planned(&loaded, &expedition, (seed, 4)) else { continue };
        let (Some(plan), Some(told)) = (answer.scheduled(), &answer.stretches) else { continue };
        keeps_to_the_plan(&answer, &expedition);
        by_stretch += 1;
        let whichever = told.whichever.as_ref();
        // What simulation did not confirm is left out of the plan that stands, and not of the one beside it.
        if answer.schedules_all() && answer.by_simulation.is_empty() {
            assert!(whichever.is_none_or(|of| (plan.days, plan.team_dives) <= (of.days, of.team_dives)), "{seed}");
        }
        shorter += usize::from(whichever.is_none_or(|of| plan.days < of.days));
        two_boats += usize::from(expedition.boats.number == 2);
        three += usize::from(plan.stretches.len() > 2);
        let finished = told.finished.unwrap();
        assert!((0.0..=1.0 + 1e-12).contains(&finished));
        // Lost days push sites to those who come after: where they do less, it takes no fewer days.
        let slower = |zone: &ZoneSites| zone.by_stretch.windows(2).all(|two| two[0].team_dives <= two[1].team_dives);
        if plan.stretches.len() == expedition.crew_changes().len() && plan.zones.iter().all(slower) {
            let lost = LostDays { share: 0.1, spell: None };
            assert!(finished <= lost.at_least(plan.days, answer.bookable_days) + 1e-12, "{seed}");
            bounded += 1;
        }
        if by_stretch == 36 {
            break;
        }
    }
    let seen = (by_stretch, shorter, two_boats, three, bounded);
    assert!(by_stretch >= 24 && shorter > 3 && two_boats > 2 && three > 2 && bounded > 3, "{seen:?}");
}
