//! Why targets cannot be met: the margin that is said is the one of the plan, and nothing is said that is not so.

mod common;

use common::bank::{self, QUIET};
use reefwright::planner::expedition::{BudgetAnswer, BudgetPlan};

fn answer(text: &str) -> BudgetAnswer {
    bank::answer(text, 8).0
}

/// The most sites there are do not do.
fn few_sites() -> String {
    QUIET.replace("most_sites = 14", "most_sites = 3").replace("most_sites = 12", "most_sites = 3")
}

/// With as many sites and units as there are, the plan for all days has the margin that is told as the reason; giving up the one
/// target is no plan.
#[test]
fn the_margin_that_is_said_is_that_of_the_plan() {
    let answer = answer(&few_sites());
    let best: &BudgetPlan = answer.best.as_ref().unwrap();
    assert!(best.zones.iter().all(|zone| zone.sites == 3), "{:?}", best.zones);
    let units = best.site_set[0].units;
    let margin = best.margins[0].margin;
    assert!(margin < 0.9, "{margin}");
    assert_eq!(answer.blocked.len(), 2);
    for blocked in &answer.blocked {
        let words =
            format!("rugosity: with all sites there are and {units} of its units at each the margin is {margin:.2};");
        assert!(blocked.why.len() == 1 && blocked.why[0].starts_with(&words), "{words} {:?}", blocked.why);
        assert!(blocked.why[0].contains("which has 3 sites at most"), "{:?}", blocked.why);
        assert_eq!((&blocked.nearest, blocked.without.len()), (&None, 0));
    }
    // The degrees of freedom count: whatever they were, this would nearly do.
    assert!(answer.all.is_none() && answer.musts.is_none());
}

/// Two that can be met alone, and not together, because their units fill the dives of one pair; each for its own reason where
/// neither can.
#[test]
fn not_together_is_said_only_of_those_that_can_be_met_alone() {
    let one_pair = few_sites()
        .replace("[[diver]]\nname = \"Pia\"\ndepth_m = 35\n[[diver]]\nname = \"Ruan\"\ndepth_m = 35\n", "")
        .replace("between_sites = 20", "between_sites = 5")
        .replace("site_year = 5", "site_year = 2")
        .replace("between_units = 18", "between_units = 30")
        .replace("read_minutes = 9", "read_minutes = 17")
        .replace("to = 126", "to = 110");
    let alone = answer(&one_pair);
    assert!(alone.all.is_some() && alone.blocked.is_empty(), "{:?}", alone.blocked);
    let two = |text: &str| {
        let from = text.find("[[method.other]]").unwrap();
        let until = text.find("[expedition]").unwrap();
        let own = text[from..until].replace("rugosity", "grazers").replace("\"cm\"", "\"g\"");
        let target = "[[target]]\nindicator = \"grazers\"\nsee = true\npriority = \"must\"\n";
        answer(&format!("{}{own}{}{target}", &text[..until], &text[until..]))
    };
    let both = two(&one_pair);
    let blocked = &both.blocked[0];
    assert!(blocked.why.len() == 1 && blocked.why[0].contains("but not together"), "{:?}", blocked.why);
    assert_eq!(blocked.without, ["grazers"]);
    // Whoever takes that plan knows where it goes and what it does there.
    let nearest = blocked.nearest.as_ref().unwrap();
    let zones: Vec<(&str, u16)> = nearest.sites.iter().map(|(zone, sites)| (zone.as_str(), *sites)).collect();
    assert_eq!(zones, [("rim", 3), ("wall", 3)]);
    let methods: Vec<&str> = nearest.site_set.iter().map(|(method, _)| method.as_str()).collect();
    assert!(methods == ["rugosity", "grazers"] && nearest.site_set.iter().all(|(_, units)| *units > 0), "{nearest:?}");
    assert!(nearest.days > 0 && nearest.team_dives >= 6, "{nearest:?}");
    let neither = two(&one_pair.replace("to = 110", "to = 132"));
    let blocked = &neither.blocked[0];
    assert_eq!(blocked.why.len(), 2, "{:?}", blocked.why);
    assert!(blocked.why.iter().all(|why| why.contains("the margin is 0.")), "{:?}", blocked.why);
    assert_eq!((&blocked.nearest, blocked.without.len()), (&None, 0));
}

/// A boat with one pair, which stays up: not for want of a skill.
#[test]
fn nobody_left_to_dive_is_said_as_it_is() {
    // Two boats, and of their four pairs two that may dive to the wall: one on each.
    let names =
        ["Suri", "Tam", "Ula", "Vic"].map(|name| format!("[[diver]]\nname = \"{name}\"\ndepth_m = 10\n")).concat();
    let text = QUIET
        .replace("standby = \"crew\"", "standby = \"a_pair_stays_up\"\nboats = 2")
        .replace("[[target]]", &format!("{names}[[target]]"));
    let answer = answer(&text);
    let told = answer.warnings.join("\n");
    assert!(told.contains("one pair alone can dive there, and it stays up"), "{told}");
    assert!(!told.contains("no pair under water"), "{told}");
}
