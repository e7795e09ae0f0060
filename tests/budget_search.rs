//! The whole search of an expedition: the order in which things are written changes nothing, many dimensions are cut to what
//! is looked at, and a finalist that simulation does not confirm is replaced.

mod common;

use common::bank;
use reefwright::planner::expedition::{BudgetAnswer, BudgetPlan};
use reefwright::scenario::load_text;
use std::collections::BTreeMap;

fn answer(text: &str, trials: u64) -> BudgetAnswer {
    let loaded = load_text("shoal.toml", text).unwrap_or_else(|error| panic!("{}", error.render()));
    bank::of_loaded(&loaded, (5, trials))
}

const HEAD: &str = "title = \"Rook Shoal\"\nstatement_about = \"all_such_reefs\"\n";
const DAYS: &str = "[expedition]\ndays = 16\ntransit_days = 2\nlost_days_percent = 10\ndives_a_day = 3\nsites_a_day = 2\n\
    standby = \"crew\"\npairs = [[\"Ines\", \"Odo\"], [\"Pia\", \"Ruan\"]]\n";

fn zone(name: &str, depth_m: f64, minutes: f64, weight: f64) -> String {
    format!(
        "[[zone]]\nname = \"{name}\"\nsites = 6\ncover_percent = 30\nweight = {weight}\n[zone.dive]\ndepth_m = {depth_m}\n\
         bottom_minutes = {minutes}\nmost_sites = 10\n"
    )
}

fn method(indicator: &str, between: [f64; 2], read: f64, skill: &str) -> String {
    format!(
        "[[method.other]]\nindicator = \"{indicator}\"\nunit = \"cm\"\nmean = 140\nbetween_sites = {}\nsite_year = 5\n\
         between_units = {}\nunits = \"1..5\"\nlay_minutes = 2\nread_minutes = {read}\n{skill}",
        between[0], between[1]
    )
}

fn diver(name: &str, skills: &str) -> String {
    format!("[[diver]]\nname = \"{name}\"\ndepth_m = 35\nskills = [{skills}]\n")
}

/// Sites by zone, units by method, and what is achieved by target.
fn by_name(plan: &BudgetPlan) -> (BTreeMap<String, usize>, BTreeMap<String, usize>, BTreeMap<String, i64>) {
    (
        plan.zones.iter().map(|zone| (zone.zone.clone(), zone.sites)).collect(),
        plan.site_set.iter().map(|task| (task.method.clone(), task.units)).collect(),
        plan.margins.iter().map(|of| (of.indicator.clone(), (1e9 * of.margin).round() as i64)).collect(),
    )
}

/// Divers, methods, zones and targets in another order are the same expedition: the same effort, the same margins, the same
/// plan by its names.
#[test]
fn the_order_of_divers_methods_and_zones_is_nothing() {
    let zones = [zone("rim", 8.0, 55.0, 0.5), zone("wall", 20.0, 44.0, 0.3), zone("lagoon", 4.0, 60.0, 0.2)];
    let skilled = "[method.other.work]\nskill = \"shells\"\n";
    let methods = [
        method("rugosity", [20.0, 18.0], 9.0, ""),
        method("shells", [16.0, 30.0], 6.0, skilled),
        method("sponges", [24.0, 22.0], 7.0, ""),
    ];
    let divers = [diver("Ines", "\"shells\""), diver("Odo", ""), diver("Pia", "\"shells\""), diver("Ruan", "")];
    let targets: Vec<String> = [("rugosity", 126, "must"), ("shells", 124, "should"), ("sponges", 122, "should")]
        .iter()
        .map(|(name, to, priority)| {
            format!(
                "[[change]]\nindicator = \"{name}\"\nfrom = 140\nto = {to}\n[[target]]\nindicator = \"{name}\"\nsee = true\n\
                 priority = \"{priority}\"\n"
            )
        })
        .collect();
    let text = |order: [usize; 3], of_divers: [usize; 4]| {
        let in_order = |parts: &[String]| order.map(|place| parts[place].clone()).concat();
        let people: String = of_divers.map(|place| divers[place].clone()).concat();
        [HEAD, &in_order(&zones), &in_order(&methods), DAYS, &people, &in_order(&targets)].concat()
    };
    let first = answer(&text([0, 1, 2], [0, 1, 2, 3]), 20);
    let plans = |of: &BudgetAnswer| [of.all.clone(), of.musts.clone(), of.best.clone()];
    for (order, of_divers) in [([2, 0, 1], [3, 1, 0, 2]), ([1, 2, 0], [2, 3, 0, 1])] {
        let other = answer(&text(order, of_divers), 20);
        assert_eq!(first.searched.designs, other.searched.designs);
        for (what, (one, two)) in ["all", "musts", "best"].iter().zip(plans(&first).into_iter().zip(plans(&other))) {
            let (one, two) = (one.unwrap(), two.unwrap());
            assert_eq!((one.days, one.team_dives), (two.days, two.team_dives), "{what} {order:?}");
            assert_eq!(by_name(&one), by_name(&two), "{what} {order:?}");
        }
        let efforts = |of: &BudgetAnswer| {
            let days = of.frontier.iter().map(|day| day.plan.as_ref().map(|plan| (plan.days, plan.team_dives)));
            days.collect::<Vec<_>>()
        };
        assert_eq!(efforts(&first), efforts(&other), "{order:?}");
    }
}

/// With a day less than all targets need: days are told up to those that would do, the last beyond what there is; the best use of the
/// days has others beside it that make hardly less of them, and plans for all targets stand beside theirs.
#[test]
fn a_day_too_few_is_told_with_what_it_would_buy() {
    let text = bank::QUIET.replace("to = 126", "to = 130");
    let enough = bank::answer(&text, 20).0;
    let needed = enough.all.as_ref().unwrap().days;
    assert!(enough.near_best.is_empty() && enough.frontier.len() == enough.bookable_days);
    let short = bank::answer(&text.replace("days = 22", &format!("days = {}", needed + 1)), 20).0;
    assert_eq!((short.bookable_days, short.frontier.len()), (needed - 1, needed));
    let last = short.frontier.last().unwrap();
    assert!(last.plan.as_ref().unwrap().margins.iter().all(|of| of.margin >= 1.0 - 1e-9), "{last:?}");
    assert_eq!(last.chance, Some(0.0));
    let best = short.best.as_ref().unwrap();
    assert_eq!(short.frontier[needed - 2].plan.as_ref().map(by_name), Some(by_name(best)));
    assert!(!short.near_best.is_empty());
    let weakest = |plan: &BudgetPlan| plan.margins.iter().map(|of| of.margin).fold(f64::INFINITY, f64::min);
    for tie in &short.near_best {
        assert!(tie.days < needed && tie.weakest >= 0.9 * weakest(best), "{tie:?}");
    }
    assert_eq!(short.near_ties, enough.near_ties);
}

/// Dimensions that make more than 100 combinations are cut from the ends of their lists, which is said; what is left is
/// searched whole.
#[test]
fn more_than_a_hundred_combinations_are_cut_and_said() {
    let zone = "[[zone]]\nname = \"rim\"\nsites = 6\ncover_percent = 30\n[zone.dive]\ndepth_m = 8\nbottom_minutes = 55\n\
        most_sites = 6\n";
    // Longer units are slower and more precise: none covers another.
    let methods = "[[method.point_intercept]]\nlength_m = [5, 7, 9, 11, 13, 15]\nspacing_m = 0.25\nunits = \"1..2\"\n\
        [[method.coral_belt]]\nlength_m = [5, 7, 9, 11, 13, 15]\nwidth_m = 1\nunits = \"1..2\"\n\
        [[method.invertebrate_belt]]\nlength_m = [5, 7, 9, 11, 13, 15]\nwidth_m = 1\nunits = \"1..2\"\n";
    let animal = "[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 12\n";
    let targets = "[[change]]\nfrom = 30\nto = 18\n[[target]]\nindicator = \"hard_coral\"\nsee = true\n[[target]]\n\
        indicator = \"colony_density\"\nsee = true\n[[target]]\nindicator = \"slate_urchin\"\ncv_percent = 45\n";
    let people = [diver("Ines", ""), diver("Odo", ""), diver("Pia", ""), diver("Ruan", "")].concat();
    let text = [HEAD, zone, animal, methods, DAYS, &people, targets].concat();
    let answer = answer(&text, 20);
    let searched = &answer.searched;
    assert!((50..=100).contains(&searched.combinations), "{searched:?}");
    let said = searched.left_out.as_ref().expect("what was not looked at is said");
    assert!(said.contains("more than 100 combinations"), "{said}");
    assert!(answer.warnings.contains(said), "{:?}", answer.warnings);
    assert!(answer.all.or(answer.best).is_some());
}

/// Readings below a floor are written as the floor: the formula does not know it (told in its documentation), so that what it
/// finds sees the change too seldom. Simulation replaces it by a plan of more effort that holds.
#[test]
fn a_finalist_that_simulation_does_not_confirm_is_replaced() {
    let method = "[[method.other]]\nindicator = \"grazers\"\nunit = \"kg\"\nmean = 100\nscale = \"ln\"\nFLOOR\
        between_sites = 0.35\nsite_year = 0.1\nbetween_units = 0.6\nunits = \"1..6\"\nlay_minutes = 2\nread_minutes = 9\n";
    let targets = "[[change]]\nindicator = \"grazers\"\nfrom = 100\nto = 65\n[[target]]\nindicator = \"grazers\"\n\
        see = true\npriority = \"must\"\n";
    let people = [diver("Ines", ""), diver("Odo", ""), diver("Pia", ""), diver("Ruan", "")].concat();
    let text = |floor: &str| {
        let zone = zone("rim", 8.0, 55.0, 1.0).replace("most_sites = 10", "most_sites = 24");
        [HEAD, &zone, &method.replace("FLOOR", floor), DAYS, &people, targets].concat()
    };
    // The formula is the same for both.
    let (without, with) = (answer(&text(""), 1000), answer(&text("floor = 85\n"), 1000));
    assert!(without.by_simulation.is_empty(), "{:?}", without.by_simulation);
    let (formula, confirmed) = (without.all.unwrap(), with.all.unwrap());
    let takes = |plan: &BudgetPlan| (plan.days, plan.team_dives, plan.zones[0].sites, plan.site_set[0].units);
    assert!(takes(&confirmed) > takes(&formula), "{:?} {:?}", takes(&confirmed), takes(&formula));
    let (seen, error) = confirmed.margins[0].seen.unwrap();
    assert!(seen + 2.0 * error >= 0.8, "{seen} {error}");
    let said = with.by_simulation.join(" ");
    assert!(said.contains("the change of grazers is seen in"), "{said}");
    assert!(said.contains("For all targets stands the next that simulation confirms"), "{said}");
    // What is scheduled is what was confirmed, and the first row of the what-ifs is the formula's own least.
    let units: usize = with.schedule.iter().map(|row| row.units).sum();
    assert_eq!(units, confirmed.zones[0].sites * confirmed.site_set[0].units);
    assert_eq!(with.what_ifs[0].all, Some((formula.days, formula.team_dives)));
}

/// A target that asks for another power than the study is what the same target is where the whole study asks for it: the same
/// effort, margins, simulated rates and what blocks it, and more than at the power of the study. Beside it the others stay at
/// the power of the study.
#[test]
fn a_power_of_its_own_is_that_of_a_study_that_asks_for_it() {
    let target = "[[target]]\nindicator = \"rugosity\"\nsee = true\npriority = \"must\"\n";
    let people = [diver("Ines", ""), diver("Odo", ""), diver("Pia", ""), diver("Ruan", "")].concat();
    let text = |test: &str, own: &str, to: f64| {
        let change = format!("[[change]]\nindicator = \"rugosity\"\nfrom = 140\nto = {to}\n");
        let zone = zone("rim", 8.0, 55.0, 1.0).replace("most_sites = 10", "most_sites = 24");
        [HEAD, test, &zone, &method("rugosity", [20.0, 18.0], 9.0, ""), &change, DAYS, &people, target, own].concat()
    };
    let (seen, own) = ("[test]\nseen = 0.9\n", "power = 0.9\n");
    let [usual, whole, by_itself] =
        [("", ""), (seen, ""), ("", own)].map(|(test, own)| answer(&text(test, own, 128.0), 600));
    let takes =
        |of: &BudgetAnswer| of.all.as_ref().map(|plan| (plan.days, plan.team_dives, plan.zones[0].sites)).unwrap();
    assert!(takes(&by_itself) > takes(&usual), "{:?} {:?}", takes(&by_itself), takes(&usual));
    assert_eq!(by_itself.what_ifs[0], whole.what_ifs[0]);
    assert_eq!(takes(&by_itself), takes(&whole));
    let plans = |of: &BudgetAnswer| (of.all.clone().unwrap(), of.musts.clone().unwrap(), of.best.clone().unwrap());
    assert_eq!(format!("{:?}", plans(&by_itself)), format!("{:?}", plans(&whole)));
    let margin = &by_itself.all.as_ref().unwrap().margins[0];
    let (often, error) = margin.seen.unwrap();
    assert!(margin.power_asked == Some(0.9) && often + 2.0 * error >= 0.9, "{often} {error}");
    // Seen .9 of the time is what the what-if of the usual plan tells, and is no what-if any more.
    let what_if = |of: &BudgetAnswer| of.what_ifs.iter().find(|what| what.what.starts_with("changes seen")).cloned();
    assert_eq!(what_if(&usual).unwrap().all, by_itself.what_ifs[0].all);
    assert!(what_if(&by_itself).is_none() && what_if(&whole).is_none());
    // Out of reach in the same words.
    let [whole, by_itself] = [(seen, ""), ("", own)].map(|(test, own)| answer(&text(test, own, 138.0), 20));
    assert!(by_itself.all.is_none() && !by_itself.blocked.is_empty());
    assert_eq!(by_itself.blocked, whole.blocked);

    // Two targets, one with its own power: each margin is that of its own power.
    let shells = method("shells", [16.0, 30.0], 6.0, "");
    let both = |test: &str, own: &str| {
        let text = text(test, own, 128.0);
        let change = "[[change]]\nindicator = \"shells\"\nfrom = 140\nto = 124\n[[target]]\nindicator = \"shells\"\nsee = true\n";
        let loaded = load_text("shoal.toml", &format!("{text}{change}{shells}"))
            .unwrap_or_else(|error| panic!("{}", error.render()));
        bank::of_loaded(&loaded, (5, 300))
    };
    let [usual, whole, mixed] = [("", ""), (seen, ""), ("", own)].map(|(test, own)| both(test, own));
    let days = |of: &BudgetAnswer| (of.all.as_ref().unwrap().days, of.all.as_ref().unwrap().team_dives);
    assert!(days(&usual) <= days(&mixed) && days(&mixed) <= days(&whole));
    let mixed = mixed.all.unwrap();
    assert_eq!(mixed.margins.iter().map(|of| of.power_asked.unwrap()).collect::<Vec<_>>(), [0.9, 0.8]);
    assert!(mixed.margins.iter().all(|of| of.margin >= 1.0 - 1e-9) && mixed.joint.unwrap().all_seen.is_some());
}

/// Years and people are those of all zones: what they bring does not average out over zones, so that the formula of the search
/// sees a change as often as simulation does.
#[test]
fn what_all_sites_share_zones_share_too() {
    let zones = [zone("rim", 8.0, 55.0, 0.5), zone("wall", 20.0, 44.0, 0.5)].concat();
    let people = [diver("Ines", ""), diver("Odo", ""), diver("Pia", ""), diver("Ruan", "")].concat();
    let target = "[[change]]\nindicator = \"rugosity\"\nfrom = 1.4\nto = 1.1\n[[target]]\nindicator = \"rugosity\"\nsee = true\n";
    let method = method("rugosity", [0.2, 0.18], 9.0, "")
        .replace("mean = 140", "mean = 1.4")
        .replace("site_year = 5", "site_year = 0.05");
    let text = [
        HEAD,
        "question = \"beyond_usual_years\"\n[variation]\nyear_points = 8\n",
        &zones,
        &method,
        DAYS,
        &people,
        target,
    ]
    .concat();
    let found = answer(&text, 3000);
    let plan = found.all.or(found.best).unwrap();
    let margin = &plan.margins[0];
    let ((seen, error), formula) = (margin.seen.unwrap(), margin.seen_by_sites.unwrap()[0]);
    assert!((formula - seen).abs() < 0.02 + 3.0 * error, "{formula} {seen} {error}");
}
