//! Divers who come and leave on the way: who is aboard without the buddy is paired anew, in every number of a plan and on every day
//! of its schedule.

mod common;

use common::bank::{self, QUIET as BANK};
use reefwright::design::{DiverSpec, Expedition};
use reefwright::planner::expedition::{BudgetAnswer, ScheduleRow};
use reefwright::random::{Key, Purpose};
use reefwright::report::{BudgetReport, budget_files};
use reefwright::scenario::{Loaded, load_text};
use std::collections::BTreeSet;

type Two = (usize, usize);

/// A crew drawn at random for the zones of the bank: 8 and 20 m deep.
fn random_crew(expedition: &Expedition, seed: u64) -> Expedition {
    let below = |index: u64, below: usize| (Key::seed(seed).uniform(Purpose::Test, index) * below as f64) as usize;
    let number = 2 + below(0, 8);
    let diver = |place: usize| {
        let of = 100 * (1 + place as u64);
        let from_day = if below(of, 3) == 0 { 1 + below(of + 1, 6) } else { 1 };
        DiverSpec {
            name: format!("diver {place}"),
            skills: if below(of + 2, 2) == 0 { vec!["fish".into()] } else { Vec::new() },
            depth_m: [None, Some(5.0), Some(12.0), Some(30.0), Some(20.0)][below(of + 3, 5)],
            from_day,
            to_day: (below(of + 4, 2) == 0).then(|| from_day + below(of + 5, 10)),
        }
    };
    let mut crew = expedition.clone();
    crew.divers = (0..number).map(diver).collect();
    // In some order; the last ones are spares.
    let mut order: Vec<usize> = (0..number).collect();
    order.sort_by_key(|&place| below(5000 + place as u64, 1000));
    let pairs = 1 + below(1, number / 2);
    crew.pairs = order.chunks_exact(2).take(pairs).map(|two| (two[0], two[1])).collect();
    crew.boats.number = 1 + below(2, 2);
    crew.methods.iter_mut().for_each(|work| work.skill = (below(3, 2) == 0).then(|| "fish".into()));
    crew
}

fn has(pairs: &[Two], diver: usize) -> bool {
    pairs.iter().any(|&(one, other)| one == diver || other == diver)
}

/// All ways to pair some divers, some of them left over.
fn every_way(divers: &[usize], allowed: &dyn Fn(Two) -> bool) -> Vec<Vec<Two>> {
    let Some((&first, others)) = divers.split_first() else { return vec![Vec::new()] };
    let mut all = every_way(others, allowed);
    for &buddy in others.iter().filter(|&&buddy| allowed((first, buddy))) {
        let rest: Vec<usize> = others.iter().copied().filter(|&other| other != buddy).collect();
        let with = |mut way: Vec<Two>| {
            way.push((first, buddy));
            way
        };
        all.extend(every_way(&rest, allowed).into_iter().map(with));
    }
    all
}

/// On every day: nobody alone or twice, every pair of the expedition that is aboard, and of those who are left the most pairs that can
/// dive in the deepest zone and then in the other, found by trying every way. No boat has fewer pairs than it had without.
#[test]
fn whoever_is_aboard_is_paired() {
    let bank = load_text("bank.toml", BANK).unwrap().expedition.unwrap();
    let (mut anew_days, mut left_over, mut with_spare) = (0, 0, 0);
    for seed in 0..400 {
        let crew = random_crew(&bank, seed);
        let ever = crew.pairs_ever();
        assert_eq!(ever[..crew.pairs.len()], crew.pairs);
        let teams = crew.teams();
        for day in 1..=crew.days.for_diving() {
            let pairs = crew.pairs_on_day(day);
            let in_pairs: Vec<usize> = pairs.iter().flat_map(|pair| [pair.0, pair.1]).collect();
            assert_eq!(in_pairs.iter().collect::<BTreeSet<_>>().len(), in_pairs.len(), "{seed} {day}");
            assert!(in_pairs.iter().all(|&diver| crew.divers[diver].is_aboard(day)), "{seed} {day}");
            assert!(pairs.iter().all(|pair| ever.contains(pair)));
            let aboard = |diver: usize| crew.divers[diver].is_aboard(day);
            let whole: Vec<Two> = crew.pairs.iter().copied().filter(|pair| aboard(pair.0) && aboard(pair.1)).collect();
            assert_eq!(pairs[..whole.len()], whole, "{seed} {day}");
            let free: Vec<usize> = (0..crew.divers.len()).filter(|&of| aboard(of) && !has(&whole, of)).collect();
            let in_zones = |pairs: &[Two]| -> [usize; 2] {
                [1, 0].map(|zone| pairs.iter().filter(|pair| crew.may_dive(&crew.zones[zone], **pair)).count())
            };
            let allowed = |pair: Two| {
                let lost_a_buddy = has(&crew.pairs, pair.0) || has(&crew.pairs, pair.1);
                lost_a_buddy && in_zones(&[pair]) != [0, 0]
            };
            let anew = &pairs[whole.len()..];
            assert!(anew.iter().all(|&pair| allowed(pair)), "{seed} {day}");
            let most = every_way(&free, &allowed).iter().map(|way| in_zones(way)).max().unwrap();
            assert_eq!(in_zones(anew), most, "{seed} {day} {anew:?}");
            let over: Vec<usize> = free.into_iter().filter(|&of| !has(anew, of)).collect();
            assert_eq!(every_way(&over, &allowed).len(), 1, "{seed} {day}: {over:?} could dive together");
            // The boats share all of them, and each has those that it would have without.
            for boat in 1..=crew.boats.number {
                let team = teams.iter().rev().find(|of| of.boat == boat && of.from_day <= day).unwrap();
                let dealt: Vec<Two> = pairs.iter().copied().skip(boat - 1).step_by(crew.boats.number).collect();
                assert_eq!(team.pairs, dealt, "{seed} {day}");
                let without: Vec<Two> = whole.iter().copied().skip(boat - 1).step_by(crew.boats.number).collect();
                assert!(team.pairs.starts_with(&without), "{seed} {day}");
            }
            anew_days += usize::from(!anew.is_empty());
            left_over += usize::from(!over.is_empty());
            with_spare += usize::from(anew.iter().any(|pair| !has(&crew.pairs, pair.0) || !has(&crew.pairs, pair.1)));
        }
    }
    assert!(anew_days > 500 && left_over > 500 && with_spare > 100, "{anew_days} {left_over} {with_spare}");
}

/// Of those who lost their buddies each new pair has somebody with the skill, and a pair that dived together goes on doing so.
#[test]
fn skills_are_shared_by_the_new_pairs() {
    let mut crew = load_text("bank.toml", BANK).unwrap().expedition.unwrap();
    let diver = |name: &str, skilled: bool, to_day: Option<usize>| DiverSpec {
        name: name.into(),
        skills: if skilled { vec!["fish".into()] } else { Vec::new() },
        depth_m: Some(30.0),
        from_day: 1,
        to_day,
    };
    // The first four stay, their buddies leave after the third day.
    let stay = [true, true, false, false].map(|skilled| diver("stays", skilled, None));
    let leave = [true, true, true, true].map(|skilled| diver("leaves", skilled, Some(3)));
    crew.divers = stay.into_iter().chain(leave).collect();
    crew.pairs = (0..4).map(|place| (place, place + 4)).collect();
    crew.methods[0].skill = Some("fish".into());
    assert_eq!(crew.pairs_on_day(4), [(0, 2), (1, 3)]);
    // Work that takes two with the skill is done by two who have it.
    crew.methods[0].takes_both = true;
    assert_eq!(crew.pairs_on_day(4), [(0, 1), (2, 3)]);
    crew.methods[0].skill = None;
    assert_eq!(crew.pairs_on_day(4), [(0, 1), (2, 3)]);
    // Somebody who comes later is spare: those who dive together go on.
    crew.divers.insert(0, DiverSpec { from_day: 6, ..diver("comes", false, None) });
    crew.pairs = (1..5).map(|place| (place, place + 4)).collect();
    assert_eq!((crew.pairs_on_day(4), crew.pairs_on_day(6)), (vec![(1, 2), (3, 4)], vec![(1, 2), (3, 4)]));
}

/// The same crew, where both of a pair come and leave with the one who is aboard the shorter time: nobody is to be paired anew.
fn without_new_pairs(crew: &Expedition) -> Expedition {
    let mut without = crew.clone();
    for &(one, other) in &crew.pairs {
        let both = [&crew.divers[one], &crew.divers[other]];
        let from_day = both.iter().map(|of| of.from_day).max().unwrap();
        let to_day = both.iter().filter_map(|of| of.to_day).min();
        for diver in [one, other] {
            (without.divers[diver].from_day, without.divers[diver].to_day) = (from_day, to_day);
        }
    }
    without
}

fn planned(loaded: &Loaded, expedition: Expedition) -> Option<BudgetAnswer> {
    bank::planned(loaded, &expedition, (7, 4)).ok()
}

/// A plan with pairs made anew never takes more and never reaches less than one without.
#[test]
fn new_pairs_never_cost_anything() {
    let loaded = load_text(
        "bank.toml",
        &BANK.replace("standby = \"crew\"", "pairs = [[\"Ines\", \"Odo\"]]\nstandby = \"crew\""),
    );
    let loaded = loaded.unwrap();
    let (mut compared, mut better) = (0, 0);
    for seed in 0..400 {
        let mut crew = random_crew(loaded.expedition.as_ref().unwrap(), seed);
        // All may dive in both zones, so that something can be planned without new pairs too.
        crew.divers.iter_mut().for_each(|diver| diver.depth_m = None);
        let without = without_new_pairs(&crew);
        if crew.crew_changes() == without.crew_changes() || crew.divers.len() > 6 || compared == 6 {
            continue;
        }
        let Some(without) = planned(&loaded, without) else { continue };
        let with = planned(&loaded, crew).expect("what can be planned without can be with new pairs");
        compared += 1;
        let takes = |of: &BudgetAnswer| of.what_ifs[0].all.unwrap_or((usize::MAX, usize::MAX));
        assert!(takes(&with) <= takes(&without), "{seed}");
        let mut is_better = takes(&with) < takes(&without);
        for (with, without) in with.frontier.iter().zip(&without.frontier) {
            let reaches = |plan: &reefwright::planner::expedition::DayChance| {
                plan.plan.as_ref().map_or(0.0, |plan| plan.margins[0].margin)
            };
            // Plans are compared by steps of .02.
            assert!(reaches(with) > reaches(without) - 0.02, "{seed} {}", with.days);
            is_better |= reaches(with) > reaches(without) + 0.02;
        }
        better += usize::from(is_better);
    }
    assert!(compared == 6 && better > 0, "{compared} {better}");
}

/// The crew of the bank in three pairs, of which one of two leaves after the third day twice.
fn two_leave() -> String {
    let divers = ["Ines", "Odo", "Pia", "Ruan"].map(|name| format!("name = \"{name}\"\n"));
    let text = BANK.replace(&divers[1], &format!("{}to_day = 3\n", divers[1]));
    let text = text.replace(&divers[3], &format!("{}to_day = 3\n", divers[3]));
    text.replace("standby =", "pairs = [[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]\nstandby =")
}

fn dives_of<'a>(rows: &'a [ScheduleRow], name: &str) -> Vec<&'a ScheduleRow> {
    rows.iter().filter(|row| row.diver == name).collect()
}

/// Two whose buddies have left dive together from then on: on the days of the schedule, on the screen, on the page, on the sheet of
/// their first day; the work of each site is done, and nobody is ever alone.
#[test]
fn two_who_are_left_dive_together() {
    let text = two_leave();
    let (answer, loaded) = bank::answer(&text, 64);
    let all = answer.all.as_ref().unwrap();
    assert!(all.days > 3, "{}", all.days);
    let new_pair = &answer.new_pairs[..];
    assert_eq!((new_pair.len(), new_pair[0].from_day, new_pair[0].to_day, new_pair[0].pair), (1, 4, None, 3));
    assert_eq!(new_pair[0].divers, ["Ines", "Pia"]);
    let rows = &answer.schedule;
    for name in ["Ines", "Pia"] {
        let (before, after): (Vec<_>, Vec<_>) = dives_of(rows, name).into_iter().partition(|row| row.day <= 3);
        assert!(before.iter().all(|row| row.pair < 3) && after.iter().all(|row| row.pair == 3));
        assert!(!before.is_empty() && after.iter().map(|row| row.day).max() == Some(all.days));
    }
    for name in ["Odo", "Ruan"] {
        assert!(dives_of(rows, name).iter().all(|row| row.day <= 3));
    }
    for of_pair in rows.chunk_by(|one, other| {
        (one.day, one.boat, one.team_dive, one.pair) == (other.day, other.boat, other.team_dive, other.pair)
    }) {
        let divers: BTreeSet<&str> = of_pair.iter().map(|row| row.diver.as_str()).collect();
        assert_eq!(divers.len(), 2, "{of_pair:?}");
    }
    let units: usize = rows.iter().map(|row| row.units).sum();
    let sites: usize = all.zones.iter().map(|zone| zone.sites).sum();
    assert_eq!(units, sites * all.site_set[0].units);
    assert!(answer.turns.iter().all(|turns| turns.days_off == 0), "{:?}", answer.turns);
    // What is planned for whichever crew is what one pair can do, because lost days may move any site past the change; the plan by
    // stretches has two pairs on the first days.
    let alone = load_text("bank.toml", &BANK.replace("standby =", "pairs = [[\"Ines\", \"Pia\"]]\nstandby =")).unwrap();
    let alone = bank::of_loaded(&alone, (7, 4));
    let whichever = answer.stretches.as_ref().and_then(|of| of.whichever.as_ref());
    assert_eq!(whichever.map(|of| (of.days, of.team_dives)), alone.what_ifs[0].all);
    assert!(answer.what_ifs[0].all < alone.what_ifs[0].all);
    let told = "from day 4 on Ines dives with Pia (pair 3)";
    let report = BudgetReport::new(&loaded, loaded.expedition.as_ref().unwrap(), answer, 7);
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let files = budget_files(&report).unwrap();
    let file = |name: &str| -> String {
        let (_, bytes) = files.iter().find(|(of, _)| of == name).unwrap_or_else(|| panic!("{name}"));
        words(&String::from_utf8_lossy(bytes))
    };
    for text in [&words(&report.terminal(None)), &file("schedule.txt"), &file("budget.html")] {
        assert!(text.contains(told), "{text}");
    }
    assert!(file("budget.json").contains("\"new_pairs\""));
    let sheets = file("sheets.html");
    assert_eq!(sheets.matches("A new pair from today on: Ines and Pia (pair 3).").count(), 1);
}
