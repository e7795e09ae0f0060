//! Invented budgets for tests of words and looks: a usual one, and one with more of everything than most have.

use super::report::BudgetReport;
use crate::design::{Asks, Expedition, Scheduled};
use crate::planner::expedition::{
    BUDDY, Blocked, BookDays, BudgetAnswer, BudgetPlan, Choice, Crossing, Cylinders, DayChance, InHand, Joint,
    JointChances, Margin, MarginIf, MeasureFirst, NearTie, Nearest, Odds, OwnSiteSets, ReaderUnits, ScheduleRow,
    Searched, Season, SharedAlpha, SiteTasks, SpreadInZone, Stair, StairMargin, StairStep, Start, Turns, WhatIf,
    WhatIfKind, ZoneSites,
};
use crate::scenario::{Loaded, load_text};

/// How much there is of everything.
struct Size {
    zones: usize,
    methods: usize,
    days: usize,
    divers: usize,
    dives_at_a_site: usize,
}

/// Three zones, five methods, nine days, six divers.
pub fn usual() -> BudgetReport {
    made(&Size { zones: 3, methods: 5, days: 9, divers: 6, dives_at_a_site: 1 }, true)
}

/// Five zones, eight targets, sixty days, twelve divers, long names.
pub fn crowded() -> BudgetReport {
    made(&Size { zones: 5, methods: 8, days: 60, divers: 12, dives_at_a_site: 2 }, true)
}

/// Nothing fits into the days.
pub fn hopeless() -> BudgetReport {
    made(&Size { zones: 2, methods: 2, days: 2, divers: 4, dives_at_a_site: 1 }, false)
}

const ZONES: [&str; 5] =
    ["crest", "fore slope", "deep terrace of the windward side", "lagoon bommies", "back reef and channel mouths"];
const OWN: [(&str, &str); 5] = [
    ("rugosity", "cm"),
    ("herbivore_biomass_on_the_windward_side", "kg/ha"),
    ("disease_prevalence", ""),
    ("water_clarity", "m"),
    ("richness", "taxa"),
];
const SIMULATED: [(&str, &str); 3] = [
    ("point_intercept", "units = \"1..12\""),
    ("coral_belt", "units = \"1..6\"\nwork = { skill = \"corals\" }"),
    ("invertebrate_belt", "units = \"1..8\""),
];

fn scenario(size: &Size) -> String {
    let mut text = "title = \"Tern Banks <2031> & after\"\nstatement_about = \"all_such_reefs\"\n".to_owned();
    for (zone, name) in ZONES.iter().take(size.zones).enumerate() {
        text += &format!(
            "[[zone]]\nname = \"{name}\"\nsites = [4, 30]\ncover_percent = {}\n[zone.dive]\ndepth_m = {}\nbottom_minutes = {}\n\
             most_sites = 30\n[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 12\n",
            30 - 3 * zone,
            5 + 3 * zone,
            60 - 4 * zone
        );
    }
    for (method, keys) in SIMULATED.iter().take(size.methods) {
        text += &format!("[[method.{method}]]\n{keys}\n");
    }
    for (indicator, unit) in OWN.iter().take(size.methods.saturating_sub(3)) {
        text += &format!(
            "[[method.other]]\nindicator = \"{indicator}\"\nunit = \"{unit}\"\nmean = 100\nbetween_sites = 12\nsite_year = 4\n\
             between_units = 20\nunits = \"1..6\"\nlay_minutes = 1\nread_minutes = 8\n"
        );
    }
    text += &format!(
        "[[change]]\nfrom = {}\nto = {}\n[expedition]\ndays = {}\ntransit_days = 2\nlost_days_percent = 20\nbad_spell_days = 3\n\
         dives_a_day = {}\nsites_a_day = 2\nstandby = \"crew\"\n",
        28,
        22,
        size.days + 2,
        2 * size.dives_at_a_site
    );
    for diver in 0..size.divers {
        text += &format!("[[diver]]\nname = \"{}\"\nskills = [\"corals\"]\ndepth_m = 40\n", name(diver));
    }
    for (target, priority) in targets(size) {
        text += &format!("[[target]]\nindicator = \"{target}\"\n{priority}\n");
    }
    text
}

fn name(diver: usize) -> &'static str {
    ["Ana", "Eli", "Ben", "Cato", "Dita", "Fay", "Maximiliane", "Hon", "Ines", "Jon", "Kip", "Lea"][diver % 12]
}

fn targets(size: &Size) -> Vec<(&'static str, &'static str)> {
    let all = [
        ("hard_coral", "see = true\npriority = \"must\""),
        ("colony_density", "cv_percent = 20\npriority = \"must\""),
        ("slate_urchin", "cv_percent = 30"),
    ];
    let own = OWN.iter().map(|(indicator, _)| (*indicator, "half_width = 15"));
    all.into_iter().chain(own).take(size.methods).collect()
}

fn loaded(size: &Size) -> (Loaded, Expedition) {
    let text = scenario(size);
    let loaded = load_text("banks.toml", &text).unwrap_or_else(|error| panic!("{text}\n{}", error.render()));
    let expedition = loaded.expedition.clone().unwrap();
    (loaded, expedition)
}

fn made(size: &Size, fits: bool) -> BudgetReport {
    let (loaded, expedition) = loaded(size);
    let needed = if fits { size.days - 1 } else { size.days + 9 };
    let plan = |days: usize| plan(size, &expedition, days, needed);
    let all = plan(needed);
    let frontier = (1..=size.days).map(|days| DayChance {
        days,
        plan: (fits && 3 * days > size.days).then(|| plan(days)),
        chance: Some(1.0 - 0.5 * days as f64 / size.days as f64),
    });
    let effort = |days: i64| Some((needed.saturating_add_signed(days as isize), 2 * needed));
    let why = "crest: one of coral belt does not fit into a dive, it takes 44 minutes to be done in time and there are \
               40 for work";
    let what_if = |what: &str, days: Option<i64>| WhatIf {
        what: what.into(),
        all: days.and_then(effort),
        musts: days.and_then(|days| effort(days - 1)),
        kind: if what.starts_with("without") { WhatIfKind::Target } else { WhatIfKind::Capacity },
        why: days.is_none().then(|| why.into()),
        money_for_all: None,
        money_for_musts: None,
        expeditions: None,
        without_musts: false,
        moves_nothing: None,
    };
    let mut what_ifs = vec![
        what_if("as it is", Some(0)),
        what_if("one pair fewer", Some(4)),
        what_if("2 dives a day", Some(1)),
        what_if("3 sites a day", Some(-2)),
        what_if("one site a day", None),
    ];
    what_ifs.extend(
        ZONES.iter().take(size.zones).map(|zone| what_if(&format!("5 minutes less on the bottom, {zone}"), Some(0))),
    );
    what_ifs.extend(
        targets(size)
            .iter()
            .map(|(target, _)| what_if(&format!("without the target on {}", target.replace('_', " ")), Some(-1))),
    );
    what_ifs.push(WhatIf {
        kind: WhatIfKind::Occasions,
        expeditions: Some(2),
        ..what_if("2 expeditions in each period, a year apart", Some(-2))
    });
    let odds = |needs: usize| Odds {
        needs,
        alone: 0.44,
        in_spells: 0.56,
        to_book_alone: Some(needs + 4),
        to_book_in_spells: Some(needs + 7),
    };
    let book = |plan: &str, needs: usize| BookDays {
        plan: plan.into(),
        needs,
        chance: 0.56,
        wanted: 0.9,
        to_book: Some(needs + 5),
        to_book_for_both: None,
        odds: odds(needs),
        money: None,
    };
    let in_hand = (1..=needed).map(|days| InHand {
        days,
        sites: vec![2 * days as u16; size.zones],
        margins: if days > 1 { vec![days as f64 / needed as f64] } else { Vec::new() },
        weakest_must: (days > 1).then_some(days as f64 / needed as f64),
        weakest: (days > 1).then_some(0.9 * days as f64 / needed as f64),
        chance: Some(0.9),
        chance_at_both_visits: Some(0.81),
    });
    let season = Season {
        in_hand: in_hand.collect(),
        choices: vec![Choice {
            units: vec![3; size.methods],
            sites_for_musts: vec![3; size.zones],
            sites_for_all: Vec::new(),
            musts: Some(odds(needed - 1)),
            all: None,
        }],
        spell_days: Some(3.0),
        spell_is_assumed: true,
    };
    let cylinders = Cylinders {
        not_enough: Vec::new(),
        caution: crate::budget::gas::GAS_CAUTION,
        fills: 48,
        most_a_day: 12,
        minutes: ZONES.iter().take(size.zones).map(|zone| ((*zone).to_owned(), 33.0)).collect(),
    };
    let answer = BudgetAnswer {
        calendar: Vec::new(),
        pairing: None,
        bookable_days: size.days,
        days_lost: 0,
        visit_under_way: None,
        today: Default::default(),
        musts: Some(plan(needed - 1)),
        best: fits.then(|| plan(size.days)),
        frontier: frontier.collect(),
        near_ties: vec![NearTie {
            days: needed,
            team_dives: 2 * needed,
            sites: vec![4; size.zones],
            units: vec![3; size.methods],
            weakest: 1.0,
            dimensions: vec![String::new(); size.methods],
            places: None,
            holds: true,
            money: None,
        }],
        near_best: Vec::new(),
        what_ifs,
        about_occasions: "Several expeditions: a year apart, the mean over the visits compared.".into(),
        stretches: None,
        book: vec![book("all targets", needed), book("the musts", needed - 1)],
        not_planned: Vec::new(),
        told_by: Vec::new(),
        new_pairs: Vec::new(),
        ways_not_compared: 0,
        schedule: if fits { schedule(size, &all) } else { Vec::new() },
        flight: None,
        starts: if fits { starts(&all) } else { Vec::new() },
        warnings: vec!["The published limit was applied to each dive as if it were the first.".into()],
        warnings_of_diving: 1,
        not_scheduled: None,
        interrupted: false,
        reading_columns: Vec::new(),
        stairs: if fits { stairs(&all) } else { Vec::new() },
        season: fits.then_some(season),
        cylinders: fits.then_some(cylinders),
        sites: Vec::new(),
        access: None,
        calm_visits: Vec::new(),
        laid_ahead: Vec::new(),
        crossing: Vec::new(),
        turns: Vec::new(),
        not_spoken_of: Vec::new(),
        begun: Vec::new(),
        for_money: None,
        asked_to_schedule: Scheduled::AllTargets,
        all: Some(all),
        searched: Searched { combinations: 1, designs: 120_000, worked_out: 30_000, left_out: None },
        by_simulation: Vec::new(),
        blocked: Vec::new(),
        margin_ifs: Vec::new(),
        measure_first: Vec::new(),
        own_site_sets: None,
    };
    BudgetReport::new(&loaded, &expedition, answer, 7)
}

/// Adds what the search and the people of a plan may tell besides.
pub fn with_search(report: &mut BudgetReport) {
    let zones: Vec<String> = report.scenario.zones.iter().map(|zone| zone.name.clone()).collect();
    let answer = &mut report.answer;
    let plan = answer.all.clone().unwrap();
    let margins: Vec<f64> = plan.margins.iter().map(|margin| margin.margin).collect();
    let blocked = |what: &str| Blocked {
        what: what.into(),
        why: vec!["richness: no number of sites or units reduces it.".into()],
        without: vec!["richness".into()],
        nearest: Some(Nearest {
            days: 7,
            team_dives: 15,
            sites: zones.iter().map(|zone| (zone.clone(), 3)).collect(),
            site_set: plan.site_set.iter().map(|task| (task.method.clone(), 2)).collect(),
        }),
    };
    answer.blocked = vec![blocked("all targets"), blocked("the musts")];
    answer.by_simulation = vec!["one site more on the crest, because hard coral was seen too rarely.".into()];
    let margin_if = |what: &str, kind: WhatIfKind| MarginIf {
        what: what.into(),
        kind,
        days: plan.days,
        team_dives: plan.team_dives,
        margins: margins.clone(),
        achieved: margins.clone(),
        money: None,
    };
    answer.margin_ifs =
        vec![margin_if("as planned", WhatIfKind::AsItIs), margin_if("one site more, crest", WhatIfKind::Sites)];
    answer.measure_first = vec![MeasureFirst {
        indicator: "hard_coral".into(),
        must: true,
        component: "how far reefs move between years".into(),
        smaller: Some(1.2),
        as_it_is: 1.0,
        larger: Some(0.8),
    }];
    answer.own_site_sets = Some(OwnSiteSets {
        days: plan.days - 1,
        team_dives: plan.team_dives - 1,
        days_at_least: plan.days - 1,
        team_dives_at_least: plan.team_dives - 2,
        zones: zones.iter().map(|zone| (zone.clone(), 4, vec![3; plan.site_set.len()])).collect(),
        margins,
    });
    answer.crossing = vec![Crossing {
        method: "point_intercept".into(),
        divers: vec![ReaderUnits { diver: "Ana".into(), units: vec![6; zones.len()] }],
        zones,
        apart: 0.3,
    }];
    answer.turns = vec![Turns { diver: "Ana".into(), dives: 8, on_board: 1, days_off: 0 }];
}

fn plan(size: &Size, expedition: &Expedition, days: usize, needed: usize) -> BudgetPlan {
    let share = days as f64 / needed as f64;
    let margins = expedition.targets.iter().enumerate().map(|(index, target)| {
        let margin = share.powf(0.4 + 0.1 * index as f64) * (1.01 + 0.09 * index as f64);
        let asked = match target.asks {
            Asks::SeeChange(_) => 0.06,
            Asks::HalfWidth(asked) | Asks::Cv(asked) => asked,
        };
        let sees = matches!(target.asks, Asks::SeeChange(_));
        Margin {
            indicator: target.indicator.clone(),
            must: target.must,
            asks: target.asks,
            power_asked: sees.then(|| target.power.unwrap_or(0.8)),
            change: sees.then_some((0.28, 0.22)),
            margin,
            seen: sees.then_some(((0.8 * margin).min(0.99), 0.01)),
            false_alarm: Some((0.051, 0.004)),
            half_width: matches!(target.asks, Asks::HalfWidth(_)).then_some(asked / margin),
            cv: matches!(target.asks, Asks::Cv(_)).then_some(asked / margin),
            not_by_units: Some(0.2 + 0.08 * index as f64),
            seen_by_sites: sees.then_some([0.81, 0.66, 0.9]),
            achieved_by_sites: (!sees).then_some([1.0, 1.2, 0.9].map(|times| times * asked / margin)),
            target: asked,
            achieved: asked / margin,
            half_width_error: Some(0.004 * asked),
            cv_error: Some(0.01 * asked),
            written_over_there: None,
            spreads: vec![SpreadInZone { between_sites: 0.07, between_units: 0.05 }; expedition.zones.len()],
        }
    });
    let zones = ZONES.iter().take(size.zones).enumerate().map(|(zone, name)| ZoneSites {
        other_work: Vec::new(),
        zone: (*name).to_owned(),
        sites: 2 * days / size.zones + usize::from(zone == 0),
        team_dives: size.dives_at_a_site,
        team_dives_at_least: 1,
        pair_dives: size.divers / 2 * size.dives_at_a_site,
        work: Vec::new(),
        finished: 0.93,
        by_stretch: Vec::new(),
        on_dives_of: None,
    });
    let zones: Vec<ZoneSites> = zones.collect();
    let methods = SIMULATED.iter().map(|(method, _)| *method).chain(OWN.iter().map(|(indicator, _)| *indicator));
    let tasks = methods.take(size.methods).enumerate().map(|(index, method)| SiteTasks {
        method: method.to_owned(),
        units: 6 - index % 4,
        needs: 5 - index % 4,
        fits: 6 - index % 4 + usize::from(index == 1),
        dimensions: String::new(),
        colonies: None,
    });
    BudgetPlan {
        next_costs: Vec::new(),
        visits: Vec::new(),
        days,
        free_days: 0,
        team_dives: 2 * days * size.dives_at_a_site,
        pair_dives: days * size.dives_at_a_site * size.divers,
        sites_around: [0.75, 1.25]
            .map(|times| zones.iter().map(|zone| (times * zone.sites as f64).round().max(2.0) as usize).collect()),
        zones,
        site_set: tasks.collect(),
        margins: margins.collect(),
        places: None,
        joint: Some(joint()),
        stretches: Vec::new(),
        cost: None,
    }
}

fn joint() -> JointChances {
    let of = |tests: usize, chance: f64| Joint {
        tests,
        chance: (chance, 0.02),
        if_independent: 0.9 * chance,
        bounds: (0.8 * chance, 0.9),
    };
    JointChances {
        musts_seen: Some(of(2, 0.74)),
        all_seen: Some(of(3, 0.64)),
        any_false_alarm: Some(of(3, 0.11)),
        drawn_independently: vec!["rugosity".into()],
        shared_alpha: Some(SharedAlpha { tests: 3, alpha: 0.05 / 3.0, seen: vec![("hard_coral".into(), 0.82, 0.63)] }),
    }
}

/// Two sites a day, zones in turn, divers with one or two tasks, some with none.
fn schedule(size: &Size, plan: &BudgetPlan) -> Vec<ScheduleRow> {
    let mut rows = Vec::new();
    for visit in 0..2 * plan.days {
        let zone = visit % size.zones;
        for dive in 0..size.dives_at_a_site {
            for diver in 0..size.divers {
                let row = |task: &str, units: usize| ScheduleRow {
                    finished: 0.95,
                    leave_out_first: units > 1,
                    day: visit / 2 + 1,
                    boat: 1,
                    team_dive: (visit % 2) * size.dives_at_a_site + dive + 1,
                    depth_m: 5.0 + 3.0 * zone as f64,
                    bottom_minutes: 60.0 - 4.0 * zone as f64,
                    zone: ZONES[zone].to_owned(),
                    site: visit / size.zones + 1,
                    site_name: None,
                    pair: diver / 2 + 1,
                    diver: name(diver).to_owned(),
                    task: task.to_owned(),
                    units,
                    unit_numbers: (1..=units).collect(),
                    minutes_asked: 9.0 * units as f64 + 2.0,
                    dimensions: String::new(),
                };
                let task = |index: usize| &plan.site_set[index % plan.site_set.len()].method;
                match (diver + dive) % 6 {
                    5 => rows.push(ScheduleRow { minutes_asked: 0.0, ..row(BUDDY, 0) }),
                    one => {
                        rows.push(row(task(one), 2));
                        rows.push(row(task(one + 3), 1));
                    }
                }
            }
        }
    }
    rows
}

fn starts(plan: &BudgetPlan) -> Vec<Start> {
    let sites = plan.zones.iter().flat_map(|zone| (1..=zone.sites).map(move |site| (zone.zone.clone(), site)));
    let of_site = |(zone, site): (String, usize)| {
        plan.site_set.iter().take(3).flat_map(move |task| {
            let (zone, method, units) = (zone.clone(), task.method.clone(), task.units);
            (1..=units + 2).map(move |unit| Start {
                zone: zone.clone(),
                site,
                site_name: None,
                method: method.clone(),
                unit,
                is_spare: unit > units,
                along_m: 7.3 * unit as f64,
                across_m: 2.1 * unit as f64,
                heading_degrees: 0.0,
                dimensions: String::new(),
            })
        })
    };
    sites.flat_map(of_site).collect()
}

fn stairs(plan: &BudgetPlan) -> Vec<Stair> {
    let of = |(index, task): (usize, &SiteTasks)| Stair {
        method: task.method.clone(),
        planned: task.units,
        comes_first: index == 1,
        steps: (1..=3 * task.units)
            .map(|units| StairStep {
                units,
                team_dives: plan
                    .zones
                    .iter()
                    .enumerate()
                    .map(|(zone, _)| Some(1 + (units + zone) / (task.units + 2)).filter(|&dives| dives < 4))
                    .collect(),
                days: Some(plan.days + units.saturating_sub(task.units)),
                margins: vec![StairMargin {
                    indicator: plan.margins[index].indicator.clone(),
                    margin: (units as f64 / task.units as f64).sqrt(),
                    achieved: 0.06,
                }],
            })
            .collect(),
    };
    plan.site_set.iter().enumerate().map(of).collect()
}
