//! Numbers of fish that are allowed and hardly meant: each is told at its key and line, with what is usual and a remedy, and
//! what is usual is not told.

use reefwright::scenario::{Doubt, Loaded, ScenarioError, bias_doubts, load_with};
use std::cell::Cell;

const HEAD: &str = "statement_about = \"all_such_reefs\"\n";
const ZONE: &str =
    "[[zone]]\nname = \"rim\"\nsites = 8\ncover_percent = 28\nbetween_sites_points = 9\nreef = \"fore_reef\"\n";
const GROUPER: &str = "[[zone.fish]]\nname = \"grouper\"\nlength_cm = 40\ndensity_per_100_m2 = 8\n";
const CHANGE: &str = "[[change]]\nindicator = \"grouper\"\nfrom = 8\nto = 4\n";
const BELT: &str = "[[method.fish_belt]]\n";
const FROM_LIST: &str = "species = \"Epinephelus merra\"\nspecies_list = \"list.csv\"\n";
const LIST: &str = "name,trophic_group,a,b,source\nEpinephelus merra,piscivore,0.0158,2.97,a file\n";
const TYPED: &str = "name,trophic_group,a,b,source,length_type,longest_cm\n\
    Epinephelus merra,piscivore,0.0158,2.97,a file,TL,32\nScarus niger,scraper,0.0134,3.16,a file,FL,40\n\
    Naso elegans,browser,0.0247,2.84,a file,,\n";

/// A scenario of one group with these keys, and a method with these.
fn with(fish: &str, method: &str) -> String {
    format!("{HEAD}{ZONE}{GROUPER}{fish}{BELT}{method}{CHANGE}")
}

fn load_list(text: &str, list: &str) -> Result<Loaded, ScenarioError> {
    load_with("fish.toml", text, &|_| Ok(list.as_bytes().to_vec()))
}

#[track_caller]
fn doubts(text: &str, list: &str) -> Vec<Doubt> {
    load_list(text, list).unwrap_or_else(|error| panic!("{text}\n{}", error.render())).doubts
}

/// One doubt at this key, in the line that begins with the last part of it, in these words.
#[track_caller]
fn rings(text: &str, list: &str, key: &str, words: &str) {
    let all = doubts(text, list);
    assert_eq!(all.iter().map(|doubt| doubt.key.as_str()).collect::<Vec<_>>(), [key], "{all:?}\n{text}");
    check(text, &all[0], words);
}

#[track_caller]
fn check(text: &str, doubt: &Doubt, words: &str) {
    assert!(doubt.message.contains(words), "\"{words}\" is not in {doubt:?}");
    assert!(!doubt.usual.is_empty() && !doubt.remedy.is_empty() && doubt.file == "fish.toml", "{doubt:?}");
    let line = text.lines().nth(doubt.line - 1).unwrap_or("");
    let last = doubt.key.rsplit('.').next().unwrap().split('[').next().unwrap();
    assert!(line.starts_with(last) || line.starts_with('['), "{doubt:?} is told at \"{line}\" in\n{text}");
    assert!(doubt.what().starts_with(&format!("fish.toml, line {}, {}: ", doubt.line, doubt.key)));
}

#[test]
fn what_is_usual_is_not_doubted() {
    let usual = "trophic_group = \"piscivore\"\nseen_percent = 90\nshy_percent = 0\nspeed_m_s = 0.1\nbetween_sites_percent = 60\n";
    for text in [with("", ""), with(usual, "length_bias_percent = -5\ndistance_spread_percent = 10\n")] {
        assert_eq!(doubts(&text, LIST), []);
        assert_eq!(bias_doubts(&load_list(&text, LIST).unwrap()), []);
    }
}

#[test]
fn lengths_speeds_and_densities_in_other_units() {
    let key = |key: &str| format!("zone[0].fish[0].{key}");
    let length = |cm: &str, density: &str, more: &str| {
        let text = with(more, "").replace("length_cm = 40", &format!("length_cm = {cm}"));
        let text = text.replace("100_m2 = 8", &format!("100_m2 = {density}"));
        text.replace("from = 8", &format!("from = {density}")).replace("to = 4", "to = 0.0001")
    };
    rings(&length("250", "0.001", ""), LIST, &key("length_cm"), "grouper: 250 cm in the mean");
    rings(&length("90", "0.1", "trophic_group = \"grazer\"\n"), LIST, &key("length_cm"), "(a grazer): 90 cm");
    rings(&length("1.2", "8", ""), LIST, &key("length_cm"), "1.2 cm in the mean");
    assert_eq!(doubts(&length("90", "0.1", "trophic_group = \"piscivore\"\n"), LIST), []);
    assert_eq!(doubts(&length("250", "0.001", "trophic_group = \"roving_predator\"\n"), LIST), []);
    rings(&with("speed_m_s = 5\n", ""), LIST, &key("speed_m_s"), "swims 5 m a second");
    assert_eq!(doubts(&with("speed_m_s = 2\n", ""), LIST), []);
    // 8 per 100 m2 of 40 cm are 1.3 t/ha: five times as many are too much, and a hundred times are refused.
    rings(
        &length("40", "40", ""),
        LIST,
        &key("density_per_100_m2"),
        "40 fish per 100 m2 of 40 cm in the mean weigh 6.",
    );
    let refused = load_list(&length("40", "800", ""), LIST).unwrap_err();
    assert_eq!(refused.problems[0].key, key("density_per_100_m2"), "{}", refused.render());
    let biomass = length("40", "8", "").replace("density_per_100_m2 = 8", "biomass_kg_per_ha = 9000");
    let all = doubts(&biomass, LIST);
    check(&biomass, all.iter().find(|doubt| doubt.key == key("biomass_kg_per_ha")).unwrap(), "weigh 9.0 t/ha");
    // Groups that are right one by one and too heavy together.
    let other = GROUPER.replace("grouper", "snapper").replace("= 8", "= 25");
    rings(&with(&other, ""), LIST, "zone[0].fish[1].density_per_100_m2", "the fish of all groups weigh");
}

#[test]
fn percentages_that_are_written_as_shares() {
    for key in ["between_sites_percent", "length_spread_percent", "seen_percent", "alike_in_school_percent"] {
        let beside = if key == "between_sites_percent" { "site_year_percent = 0\n" } else { "" };
        let text = with(&format!("{key} = 0.6\n{beside}"), "");
        rings(&text, LIST, &format!("zone[0].fish[0].{key}"), "0.6 % is less than a hundredth");
    }
    rings(&with("shy_percent = -0.2\n", ""), LIST, "zone[0].fish[0].shy_percent", "-0.2 %");
    let belt = |key: &str| format!("method.fish_belt[0].{key}");
    rings(&with("", "left_after_others_percent = 0.48\n"), LIST, &belt("left_after_others_percent"), "0.48 %");
    rings(
        &with("", "length_spread_percent = .5\n").replace(" .5", " 0.5"),
        LIST,
        &belt("length_spread_percent"),
        "0.5 %",
    );
    // In JSON too.
    let json = r#"{"statement_about": "all_such_reefs", "zone": [{"sites": 8, "cover_percent": 28, "fish": [
        {"name": "grouper", "length_cm": 40, "density_per_100_m2": 8, "seen_percent": 0.9}]}],
        "method": {"fish_belt": [{}]}, "change": [{"indicator": "grouper", "from": 8, "to": 4}]}"#;
    let loaded = load_with("fish.json", json, &|_| Err("none".into())).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(
        loaded.doubts.iter().map(|doubt| (doubt.line, &*doubt.key)).collect::<Vec<_>>(),
        [(2, "zone[0].fish[0].seen_percent")]
    );
}

#[test]
fn changes_that_begin_elsewhere() {
    let from = |from: &str| with("", "").replace("from = 8", &format!("from = {from}"));
    for silent in ["4.1", "8", "15.9"] {
        assert_eq!(doubts(&from(silent), LIST), []);
    }
    rings(&from("80"), LIST, "change[0].from", "grouper is to begin at 80, where the zones have 8 fish per 100 m2");
    rings(&from("0.08"), LIST, "change[0].from", "begin at 0.08");
    let biomass = from("1.3").replace("indicator = \"grouper\"", "indicator = \"grouper_biomass\"");
    rings(&biomass, LIST, "change[0].from", "kg per ha");
    let report = format!("also_report = [\"grouper_over_350_cm\"]\n{}", with("", ""));
    rings(&report, LIST, "also_report[0]", "hardly ever longer than 350 cm");
    assert_eq!(doubts(&report.replace("350", "60"), LIST), []);

    // The same of animals.
    let animal = |from: &str| {
        format!(
            "{HEAD}{ZONE}[[zone.animal]]\nname = \"urchin\"\ndensity_per_100_m2 = 30\n[[method.invertebrate_belt]]\n\
             [[change]]\nindicator = \"urchin\"\nfrom = {from}\nto = 0.1\n"
        )
    };
    assert_eq!(doubts(&animal("40"), LIST), []);
    rings(
        &animal("0.3"),
        LIST,
        "change[0].from",
        "urchin is to begin at 0.3, where the zones have 30 animals per 100 m2",
    );
}

#[test]
fn lists_that_do_not_tell_of_which_length_they_are() {
    let (from_list, key) = (with(FROM_LIST, ""), "zone[0].fish[0].species");
    rings(&from_list, LIST, "zone[0].fish[0].species_list", "list.csv does not tell of which length");
    // Once for a list, however many groups are of it.
    let other = format!("{}{FROM_LIST}", GROUPER.replace("grouper", "snapper").replace("= 8", "= 1"));
    assert_eq!(doubts(&with(&format!("{FROM_LIST}{other}"), ""), LIST).len(), 1);
    let of =
        |species: &str| from_list.replace("Epinephelus merra", species).replace("length_cm = 40", "length_cm = 30");
    assert_eq!(doubts(&of("Epinephelus merra"), TYPED), []);
    rings(&of("Scarus niger"), TYPED, key, "of fork length, and lengths here are total lengths");
    rings(&of("Naso elegans"), TYPED, key, "does not tell of which length its a and b are");
    rings(&from_list, TYPED, "zone[0].fish[0].length_cm", "knows none longer than 32 cm");
    let loaded = load_list(&of("Scarus niger"), TYPED).unwrap();
    let told = loaded.origins.get("zone[0].fish[0].weight_a").map(|origin| format!("{origin:?}"));
    assert!(told.is_some_and(|origin| origin.contains("a file (of fork length)")));
}

#[test]
fn a_list_is_read_once_and_what_is_wrong_with_it_told_once() {
    let other = format!("{}{FROM_LIST}", GROUPER.replace("grouper", "snapper"));
    let text = with(&format!("{FROM_LIST}{other}"), "");
    for (list, problems) in [(TYPED, 0), ("name\n", 1)] {
        let read = Cell::new(0);
        let loaded = load_with("fish.toml", &text, &|_| {
            read.set(read.get() + 1);
            Ok(list.as_bytes().to_vec())
        });
        assert_eq!((read.get(), loaded.map_or_else(|error| error.problems.len(), |_| 0)), (1, problems));
    }
}

#[test]
fn names_that_are_nearly_right() {
    let told = |text: &str| load_list(text, LIST).unwrap_err().render();
    let asks = |name: &str| format!("also_report = [\"{name}\"]\n{}", with("trophic_group = \"hunters\"\n", ""));
    for (written, meant) in [
        ("grouper_density", "grouper"),
        ("groper_density", "grouper"),
        ("hunters_density", "hunters"),
        ("grouper_biomas", "grouper_biomass"),
    ] {
        let told = told(&asks(written));
        assert!(told.contains(&format!("Did you mean \"{meant}\"?")), "{told}");
    }
    let unknown = told(&with(&FROM_LIST.replace("merra", "fasciatus"), ""));
    assert!(unknown.contains("weight_a and weight_b"), "{unknown}");
}

#[test]
fn counts_that_tell_little_of_what_is_there() {
    let doubted = |fish: &str, method: &str| {
        let text = with(fish, method);
        let all = bias_doubts(&load_list(&text, LIST).unwrap());
        all.iter().for_each(|doubt| check(&text, doubt, "grouper: of 100 that are there"));
        all.into_iter().map(|doubt| (doubt.key, doubt.message)).collect::<Vec<_>>()
    };
    for (fish, method, key, words) in [
        ("speed_m_s = 0.5\n", "counting = \"whole_swim\"\n", "speed_m_s", "swim in"),
        ("seen_percent = 20\n", "", "seen_percent", "hidden"),
        ("sight_scale_m = 0.2\n", "", "sight_scale_m", "too far"),
        ("half_seen_cm = 90\n", "", "half_seen_cm", "small fish"),
        ("", "left_after_others_percent = 20\n", "name", "earlier divers"),
    ] {
        let told = doubted(fish, method);
        assert_eq!(told.len(), 1, "{fish}{method}{told:?}");
        assert_eq!(told[0].0, format!("zone[0].fish[0].{key}"), "{told:?}");
        assert!(told[0].1.contains(words), "{told:?}");
    }
    // Fish at home come in again and again: a quick look takes them for ten times as many as are counted.
    assert_eq!(doubted("speed_m_s = 0.2\nhome_range_m = 1\nturning_s = 10\n", "counting = \"whole_swim\"\n"), []);
    for silent in ["", "counting = \"abreast\"\n", "counting = \"moving_window\"\n"] {
        assert_eq!(doubted("speed_m_s = 0.02\n", silent), []);
    }
}
