//! What scenarios of fish get wrong: each key by itself, and keys together; told at its key and its line, with what is allowed
//! and a remedy.

use reefwright::design::FishMeasure;
use reefwright::scenario::{Beside, Loaded, ScenarioError, check_law, load_with, write};

const HEAD: &str = "statement_about = \"all_such_reefs\"\n";
const ZONE: &str =
    "[[zone]]\nname = \"rim\"\nsites = 8\ncover_percent = 28\nbetween_sites_points = 9\nreef = \"fore_reef\"\n";
const FISH: &str = "[[zone.fish]]\nname = \"grouper\"\nlength_cm = 40\n";
const DENSITY: &str = "density_per_100_m2 = 8\n";
const BELT: &str = "[[method.fish_belt]]\n";
const POINT: &str = "[[method.fish_point_count]]\n";
const CHANGE: &str = "[[change]]\nindicator = \"grouper\"\nfrom = 8\nto = 4\n";
const LIST: &str =
    "name,trophic_group,a,b,source\nEpinephelus merra,piscivore,0.0158,2.97,\"Letourneur et al. 1998, from memory\"\n";

fn load(text: &str) -> Result<Loaded, ScenarioError> {
    load_with("fish.toml", text, &|file| match file {
        "list.csv" => Ok(LIST.as_bytes().to_vec()),
        "thin.csv" => Ok(LIST.replace("0.0158", "0.00001").into_bytes()),
        "map.csv" => Ok(b"x,y,diameter\n3,3,0.4\n8,5,0.3\n".to_vec()),
        _ => Err("there is no such file".into()),
    })
}

/// One group with these keys besides its number, and methods with these.
fn with(fish: &str, methods: &str) -> String {
    format!("{HEAD}{ZONE}{FISH}{DENSITY}{fish}{methods}{CHANGE}")
}

/// The same without its number.
fn unnumbered(fish: &str) -> String {
    with(fish, BELT).replace(DENSITY, "")
}

#[track_caller]
fn accepted(text: &str) -> Loaded {
    load(text).unwrap_or_else(|error| panic!("{text}\n{}", error.render()))
}

/// The text is refused with one problem, at this key and in its line (or at the head of its table where it is missing), and
/// the message has these words.
#[track_caller]
fn refused(text: &str, key: &str, words: &str) {
    let Err(error) = load(text) else { panic!("accepted:\n{text}") };
    let told = error.render();
    let keys: Vec<&str> = error.problems.iter().map(|problem| problem.key.as_str()).collect();
    assert_eq!(keys, [key], "{told}");
    let problem = &error.problems[0];
    assert!(problem.message.contains(words), "\"{words}\" is not in\n{told}");
    assert!(!problem.remedy.is_empty() && !problem.allowed.is_empty(), "no remedy in\n{told}");
    let line = text.lines().nth(error.line(problem) - 1).unwrap_or("");
    let last = key.rsplit('.').next().unwrap().split('[').next().unwrap();
    assert!(line.starts_with(last) || line.starts_with('['), "{key} is told at \"{line}\" in\n{told}");
}

fn in_fish(key: &str) -> String {
    format!("zone[0].fish[0].{key}")
}

fn in_belt(key: &str) -> String {
    format!("method.fish_belt[0].{key}")
}

fn in_point(key: &str) -> String {
    format!("method.fish_point_count[0].{key}")
}

/// A key of a number: just inside its range on both sides, where that needs no other key, and just outside.
struct Range {
    key: &'static str,
    inside: &'static [&'static str],
    outside: &'static [&'static str],
    /// Keys that must stand beside it.
    beside: &'static str,
}

const fn range(
    key: &'static str,
    inside: &'static [&'static str],
    outside: &'static [&'static str],
    beside: &'static str,
) -> Range {
    Range { key, inside, outside, beside }
}

const SWIMS: &str = "speed_m_s = 0.1\n";
const SCHOOLS: &str = "school = \"lognormal\"\nschool_size = 5\n";

/// Every key of a group that is a number, and the same for both methods.
const OF_FISH: [Range; 25] = [
    range("between_sites_percent", &["5", "400"], &["-1", "true", "\"many\""], "site_year_percent = 0\n"),
    range("site_year_percent", &["0", "30"], &["-1", "[3]"], ""),
    range("with_coral_patches", &["-3", "0.7", "3"], &["-3.1", "3.1", "nan", "\"1\""], ""),
    range("with_coral", &["-3", "0.7", "3"], &["-3.1", "3.1", "nan", "\"1\""], ""),
    range("patch_sd", &["0.1", "0.9"], &["-0.1"], "between_sites_percent = 300\n"),
    range("patch_k", &["0.5", "1000"], &["0", "1001"], "between_sites_percent = 300\n"),
    range("patch_scale_m", &["1", "1000"], &["0.5", "1001"], "between_sites_percent = 300\npatch_k = 4\n"),
    range("school_size", &["1", "100000"], &["0.5", "100001"], "school = \"lognormal\"\n"),
    range("school_ln_sd", &["0.1", "2"], &["-1", "11"], SCHOOLS_ALONE),
    range("school_spread_m", &["0", "100"], &["-1", "101"], SCHOOLS),
    range("length_spread_percent", &["0", "150"], &["-1", "151"], ""),
    range("alike_in_school_percent", &["0", "100"], &["-1", "101"], ""),
    range("weight_a", &["0.01", "0.03"], &["0", "1.1"], "weight_b = 3\n"),
    range("weight_b", &["2.9", "3.1"], &["1.9", "4.1"], "weight_a = 0.02\n"),
    range("speed_m_s", &["0", "10"], &["-0.1", "10.1"], ""),
    range("turning_s", &["0.1", "36000"], &["0", "36001"], SWIMS),
    range("home_range_m", &["0.1", "1000"], &["0", "1001"], SWIMS),
    range("sight_scale_m", &["0.05", "100"], &["0", "101"], ""),
    range("shy_percent", &["-100", "100"], &["-101", "101"], ""),
    range("shy_scale_m", &["0.05", "50"], &["0", "51"], "shy_percent = 10\n"),
    range("half_seen_cm", &["0.5", "500"], &["0.4", "501"], ""),
    range("seen_percent", &["1", "100"], &["-1", "101"], ""),
    range("second_visit_shy_percent", &["-100", "100"], &["-101", "101"], ""),
    range("second_visit_sight_scale_m", &["0.05", "100"], &["0", "101"], ""),
    range("second_visit_seen_percent", &["1", "100"], &["-1", "101"], ""),
];
const SCHOOLS_ALONE: &str = "school = \"lognormal\"\nschool_size = 5\n";

/// What both methods tell of how fish are seen and written down.
const OF_COUNTS: [Range; 12] = [
    range("class_cm", &["0.1", "100"], &["0", "101"], ""),
    range("half_classes_below_cm", &["0.5", "500"], &["0.4", "501"], ""),
    range("length_spread_percent", &["0", "150"], &["-1", "151"], ""),
    range("length_bias_percent", &["-80", "200"], &["-81", "201"], ""),
    range("distance_bias_percent", &["-60", "200"], &["-61", "201"], ""),
    range("distance_spread_percent", &["0", "50"], &["-1", "151"], ""),
    range("left_after_others_percent", &["1", "100"], &["-1", "101"], ""),
    range("visibility_m", &["8", "100"], &["0.4", "101"], ""),
    range("lay_minutes", &["0", "20"], &["-1", "true"], ""),
    range("read_minutes", &["1", "20"], &["-1", "true"], ""),
    range("units", &["1", "\"1..6\""], &["0", "\"many\""], ""),
    range("source", &["\"assumed\""], &["7"], ""),
];

const OF_BELTS: [Range; 6] = [
    range("length_m", &["10", "[10, 30]"], &["0", "-3", "\"long\""], ""),
    range("width_m", &["1", "[1, 5]"], &["0", "-3"], ""),
    range("swim_minutes", &["0.1", "240"], &["0", "241"], ""),
    range("window_m", &["0.1", "25"], &["0", "51"], ""),
    range("way_back_width_m", &["0.5", "5"], &["0", "-3"], ""),
    range("way_back_minutes", &["0.1", "240"], &["0", "241"], "way_back_width_m = 1\n"),
];

const OF_POINTS: [Range; 2] =
    [range("radius_m", &["0.5", "[5, 7.5]"], &["0.4", "51"], ""), range("minutes", &["0.1", "240"], &["0", "241"], "")];

fn each_key(ranges: &[Range], text: impl Fn(&str) -> String, path: impl Fn(&str) -> String) {
    for Range { key, inside, outside, beside } in ranges {
        let line = |value: &str| text(&format!("{beside}{key} = {value}\n"));
        for value in *inside {
            accepted(&line(value));
        }
        for value in *outside {
            let text = line(value);
            let Err(error) = load(&text) else { panic!("{key} = {value} is accepted") };
            let told = error.render();
            let is_told = error.problems.iter().any(|problem| problem.key == path(key) || told.contains(key));
            let at = text.lines().position(|line| *line == format!("{key} = {value}")).unwrap() + 1;
            assert!(is_told && told.contains(&format!("line {at}:")), "{key} = {value}:\n{told}");
            assert!(error.problems.iter().all(|problem| !problem.remedy.is_empty()), "{told}");
        }
        let misspelt = text(&format!("{beside}{key}q = {}\n", inside[0]));
        let told = load(&misspelt).err().unwrap_or_else(|| panic!("{key}q is accepted")).render();
        assert!(told.contains(&format!("Did you mean `{key}`")), "{told}");
    }
}

#[test]
fn every_number_has_its_range() {
    each_key(&OF_FISH, |line| with(line, BELT), in_fish);
    for (method, path) in [(BELT, in_belt as fn(&str) -> String), (POINT, in_point)] {
        each_key(&OF_COUNTS, |line| with("", &format!("{method}{line}")), path);
    }
    each_key(&OF_BELTS, |line| with("", &format!("{BELT}{line}")), in_belt);
    each_key(&OF_POINTS, |line| with("", &format!("{POINT}{line}")), in_point);
    let numbers = [
        range("density_per_100_m2", &["0.001"], &["0", "-1", "1e7"], ""),
        range("biomass_kg_per_ha", &["1"], &["0"], ""),
    ];
    each_key(&numbers, unnumbered, in_fish);
    let length = |value: &str| with("", BELT).replace("length_cm = 40", &format!("length_cm = {value}"));
    for value in ["0.4", "501", "\"long\""] {
        let told = load(&length(value)).err().unwrap().render();
        assert!(told.contains("length_cm") && told.contains("line 10:"), "{told}");
    }
}

#[test]
fn what_is_otherwise_at_the_second_visit_needs_one() {
    for key in ["second_visit_shy_percent", "second_visit_sight_scale_m", "second_visit_seen_percent"] {
        let text = with(&format!("{key} = 20\n"), BELT);
        let loaded = accepted(&text);
        let group = &loaded.study.zones[0].fish[0];
        assert!(group.later_sighting.is_some_and(|later| later != group.spec.sighting), "{key}");
        let one_visit = text.replace(CHANGE, "").replace(HEAD, &format!("{HEAD}question = \"status\"\n"));
        refused(&one_visit, &in_fish(key), "there is no second visit");
        let written = write(&loaded.study, &Beside::default());
        let again = load(&written).unwrap_or_else(|error| panic!("{written}\n{}", error.render()));
        assert_eq!(again.study.zones[0].fish[0].later_sighting, group.later_sighting, "{written}");
    }
    // As at the first visit.
    assert_eq!(accepted(&with("second_visit_seen_percent = 100\n", BELT)).study.zones[0].fish[0].later_sighting, None);
}

#[test]
fn words_are_those_of_the_list() {
    for (text, key) in [
        (with("school = \"shoal\"\n", BELT), "school"),
        (with("hides = 1\n", BELT), "hides"),
        (with("trophic_group = 3\n", BELT), "trophic_group"),
        (with("", &format!("{BELT}counting = \"snapshot\"\n")), "counting"),
        (with("", &format!("{POINT}counting = \"moving_window\"\n")), "counting"),
        (with("", &format!("{BELT}class_value = \"middle\"\n")), "class_value"),
        (with("", &format!("{POINT}class_value = \"middle\"\n")), "class_value"),
        (with("", BELT).replace("name = \"grouper\"\n", ""), "name"),
        (with("", BELT).replace("length_cm = 40\n", ""), "length_cm"),
    ] {
        let told = load(&text).err().unwrap_or_else(|| panic!("accepted:\n{text}")).render();
        assert!(told.contains(key), "{key} is not in\n{told}");
    }
}

#[test]
fn how_many_there_are_is_told_once() {
    accepted(&unnumbered("biomass_kg_per_ha = 120\n"));
    refused(&unnumbered(""), &in_fish("density_per_100_m2"), "not written how many there are");
    refused(&with("biomass_kg_per_ha = 120\n", BELT), &in_fish("biomass_kg_per_ha"), "both written");
    refused(&with("patch_sd = 0.5\npatch_k = 2\n", BELT), &in_fish("patch_k"), "patch_sd and by patch_k");
}

#[test]
fn spreads_that_the_law_does_not_reach() {
    let told = |fish: &str, key: &str, words: &str| {
        let error = check_law(&accepted(&with(fish, BELT))).expect_err(fish);
        let told = error.render();
        assert!(told.contains(&in_fish(key)) && told.contains(words) && !error.problems[0].remedy.is_empty(), "{told}");
    };
    let patchy = "between_sites_percent = 5\nsite_year_percent = 0\npatch_k = 0.1\n";
    told(patchy, "between_sites_percent", "the patches alone");
    told("between_sites_percent = 20\nsite_year_percent = 60\n", "site_year_percent", "take more than");
}

#[test]
fn schools_have_what_their_kind_has() {
    for school in ["", "school = \"alone\"\n", "school = \"pairs\"\n"] {
        refused(&with(&format!("{school}school_size = 5\n"), BELT), &in_fish("school_size"), "have none");
    }
    refused(&with("school_spread_m = 2\n", BELT), &in_fish("school_spread_m"), "have none");
    let logarithmic = "school = \"logarithmic\"\nschool_size = 5\n";
    accepted(&with(logarithmic, BELT));
    refused(&with(&format!("{logarithmic}school_ln_sd = 1\n"), BELT), &in_fish("school_ln_sd"), "have none");
    for school in ["lognormal", "logarithmic"] {
        refused(&with(&format!("school = \"{school}\"\n"), BELT), &in_fish("school_size"), "is not written");
    }
}

#[test]
fn fish_that_stay_do_not_turn() {
    for key in ["turning_s", "home_range_m"] {
        refused(&with(&format!("{key} = 10\n"), BELT), &in_fish(key), "does not swim");
        accepted(&with(&format!("{SWIMS}{key} = 10\n"), BELT));
    }
}

#[test]
fn weights_are_told_in_one_way() {
    accepted(&with("species = \"Epinephelus merra\"\nspecies_list = \"list.csv\"\n", BELT));
    refused(&with("weight_a = 0.02\n", BELT), &in_fish("weight_a"), "weight_b is not");
    refused(&with("weight_b = 3\n", BELT), &in_fish("weight_b"), "weight_a is not");
    refused(&with("weight_a = 0.0001\nweight_b = 3\n", BELT), &in_fish("weight_a"), "grouper");
    refused(&with("species = \"Epinephelus merra\"\n", BELT), &in_fish("species"), "not the list");
    refused(&with("species_list = \"list.csv\"\n", BELT), &in_fish("species_list"), "not the species");
    let twice = "weight_a = 0.02\nweight_b = 3\nspecies = \"Epinephelus merra\"\nspecies_list = \"list.csv\"\n";
    refused(&with(twice, BELT), &in_fish("species"), "looked up in a list");
    let unknown = with("species = \"Epinephelus mera\"\nspecies_list = \"list.csv\"\n", BELT);
    refused(&unknown, &in_fish("species"), "no species \"Epinephelus mera\"");
    assert!(load(&unknown).err().unwrap().render().contains("Did you mean \"Epinephelus merra\"?"));
    let nowhere = "species = \"Epinephelus merra\"\nspecies_list = \"nowhere.csv\"\n";
    refused(&with(nowhere, BELT), &in_fish("species_list"), "no such file");
    let thin = "species = \"Epinephelus merra\"\nspecies_list = \"thin.csv\"\n";
    refused(&with(thin, BELT), &in_fish("species_list"), "thin.csv");
}

#[test]
fn belts_and_points_that_cannot_be() {
    let belt = |keys: &str| with("", &format!("{BELT}{keys}"));
    for counting in ["whole_swim", "abreast"] {
        let text = belt(&format!("counting = \"{counting}\"\nwindow_m = 2\n"));
        refused(&text, &in_belt("window_m"), "a depth of the window is written");
    }
    refused(&belt("way_back_minutes = 6\n"), &in_belt("way_back_minutes"), "but not its width");
    refused(&belt("window_m = 31\n"), &in_belt("window_m"), "deeper than the shortest belt is 30 m long");
    refused(&belt("window_m = 5\nvisibility_m = 4\n"), &in_belt("window_m"), "deeper than fish are seen 4 m far");
    let doubted = |text: &str, key: &str| {
        let doubts = accepted(text).doubts;
        assert!(doubts.iter().any(|doubt| doubt.key == in_belt(key)), "{text}");
    };
    doubted(&belt("counting = \"whole_swim\"\nvisibility_m = 4\n"), "counting");
    doubted(&belt("swim_minutes = 0.5\n"), "swim_minutes");
    refused(&belt("width_m = [2, 5]\nvisibility_m = 2\n"), &in_belt("width_m"), "5 m is more than can be searched");
    let point = with("", &format!("{POINT}radius_m = [5, 7.5]\nvisibility_m = 6\n"));
    refused(&point, &in_point("radius_m"), "7.5 m is more than can be searched");
    refused(&belt("length_m = 120\n"), &in_belt("length_m"), "do not fit");
    refused(&with("", &format!("{POINT}radius_m = 12\n")), &in_point("radius_m"), "do not fit");
    let none = format!("{HEAD}{ZONE}[[method.point_intercept]]\n{BELT}[[change]]\nfrom = 28\nto = 22\n");
    refused(&none, "method.fish_belt[0]", "no zone has any fish");
    let none = none.replace(BELT, POINT);
    refused(&none, "method.fish_point_count[0]", "no zone has any fish");
}

#[test]
fn fish_that_hide_need_a_way_back() {
    refused(&with("hides = true\n", BELT), &in_fish("hides"), "no belt has a way back");
    accepted(&with("hides = true\n", &format!("{BELT}way_back_width_m = 1\n")));
}

#[test]
fn names_of_groups_are_names_of_indicators() {
    let named = |name: &str| with("", BELT).replace("\"grouper\"", &format!("\"{name}\""));
    for name in ["", "fish", "hard_coral", "colony_density"] {
        // A change of a name that is none is told too.
        let error = load(&named(name)).err().unwrap_or_else(|| panic!("{name} is accepted"));
        assert!(error.problems.iter().any(|problem| problem.key == in_fish("name")), "{}", error.render());
    }
    // The biomass of the one would be the number of the other.
    let other = format!("{FISH}{DENSITY}").replace("\"grouper\"", "\"grouper_biomass\"");
    accepted(&with(&other.replace("grouper_biomass", "snapper"), BELT));
    let ambiguous = load(&with(&other, BELT)).map(|loaded| loaded.study.fish_of("grouper_biomass"));
    assert!(ambiguous.is_ok_and(|told| told.is_some_and(|told| told.measure == FishMeasure::Density)));
    let twice = with(&format!("{FISH}{DENSITY}"), BELT);
    refused(&twice, "zone[0].fish[1].name", "two groups of fish are called grouper");
    refused(&with("trophic_group = \"grouper\"\n", BELT), &in_fish("trophic_group"), "cannot be called \"grouper\"");
    let animal = "[[zone.animal]]\nname = \"grouper\"\ndensity_per_100_m2 = 3\n";
    refused(&with(animal, BELT), &in_fish("name"), "cannot be called");
}

#[test]
fn changes_of_fish_that_cannot_be() {
    let change = |indicator: &str, more: &str| {
        let change = format!("[[change]]\nindicator = \"{indicator}\"\nfrom = 8\nto = 4\n{more}");
        with("", BELT).replace(CHANGE, &change)
    };
    for indicator in ["grouper", "grouper_biomass", "fish_density", "fish_biomass"] {
        accepted(&change(indicator, ""));
    }
    for indicator in ["grouper_mean_length", "grouper_over_30_cm", "grouper_share_over_30_cm", "fish_mean_length"] {
        refused(&change(indicator, ""), "change[0].indicator", "moves with the number of fish");
    }
    accepted(&change("grouper", "differs_between_sites = 2\n"));
    let key = "change[0].differs_between_sites";
    refused(&change("grouper_biomass", "differs_between_sites = 2\n"), key, "one group");
    let points = change("grouper", "differs_between_sites_points = 2\n");
    refused(&points, "change[0].differs_between_sites_points", "its own unit");
    let negative = change("grouper", "").replace("from = 8", "from = -8");
    refused(&negative, "change[0].from", "nothing to compare");
    let uncounted = change("grouper", "").replace(BELT, "[[method.point_intercept]]\n");
    refused(&uncounted, "change[0].indicator", "no method counts grouper");
}

/// A change of hard coral is read by fish belts where some fish go with it, and is not where none does.
#[test]
fn coral_is_told_by_the_fish_that_go_with_it() {
    let coral = |fish: &str| with(fish, BELT).replace(CHANGE, "[[change]]\nfrom = 28\nto = 22\n");
    accepted(&coral("with_coral = 0.8\n"));
    refused(&coral(""), "change[0].indicator", "no method reads hard_coral");
    let reported = format!("also_report = [\"hard_coral\"]\n{}", coral("with_coral = 0.8\n"));
    refused(&reported, "also_report[0]", "no method reads hard_coral");
    let loaded = accepted(&with("with_coral = 0.8\n", BELT));
    assert_eq!(loaded.study.zones[0].fish[0].with_coral, 0.8);
    assert_eq!(accepted(&with("", BELT)).study.zones[0].fish[0].with_coral, 0.0);
}

/// Fish in the patches of the coral have no patches of their own, and none that are too strong to be computed.
#[test]
fn fish_in_the_patches_of_the_coral_have_no_others() {
    let loaded = accepted(&with("with_coral_patches = 0.8\n", BELT));
    let zone = &loaded.study.zones[0];
    assert_eq!(zone.fish[0].places(&zone.reef).ln_sd_of_coral(), Some(0.8 * zone.reef.patch.sd));
    accepted(&with("with_coral_patches = 0\npatch_sd = 0.5\n", BELT));
    for (key, value) in [("patch_sd", 0.5), ("patch_k", 2.0), ("patch_scale_m", 20.0)] {
        let both = format!("with_coral_patches = 0.8\n{key} = {value}\n");
        refused(&with(&both, BELT), &in_fish(key), "tells patches of its own");
    }
    let strong = with("with_coral_patches = 2\n", BELT).replace("fore_reef", "rubble_slope");
    let error = check_law(&accepted(&strong)).expect_err(&strong);
    assert_eq!(error.problems[0].key, in_fish("with_coral_patches"), "{}", error.render());
}

/// A power that nobody wrote or measured is told as assumed; what is written reads as the same study.
#[test]
fn what_is_written_reads_as_the_same_study() {
    for fish in [
        "",
        "with_coral = -0.5\n",
        "with_coral_patches = 1.5\n",
        SCHOOLS,
        "school = \"logarithmic\"\nschool_size = 4\n",
    ] {
        let loaded = accepted(&with(fish, BELT));
        let beside = Beside { origins: loaded.origins.clone(), ..Beside::default() };
        let text = write(&loaded.study, &beside);
        let again = load(&text).unwrap_or_else(|error| panic!("{text}\n{}", error.render()));
        let near = |one: f64, other: f64| (one / other - 1.0).abs() < 1e-9;
        let powers = |loaded: &Loaded| {
            let group = &loaded.study.zones[0].fish[0];
            (group.with_coral, group.with_coral_patches)
        };
        assert_eq!(powers(&again), powers(&loaded), "{text}");
        let density = |loaded: &Loaded| loaded.study.zones[0].fish[0].spec.places.density_per_m2;
        assert!(near(density(&again), density(&loaded)), "{text}");
        let of_fish = |loaded: &Loaded| {
            let all = loaded.origins.iter().filter(|(key, _)| key.contains("fish"));
            all.map(|(key, origin)| format!("{key} {origin:?}")).collect::<Vec<_>>()
        };
        assert_eq!(of_fish(&again), of_fish(&loaded), "{text}");
    }
    let origin = |fish: &str| format!("{:?}", accepted(&with(fish, BELT)).origins[&in_fish("with_coral")]);
    assert_eq!((origin(""), origin("with_coral = 1\n")), ("Assumed".into(), "Assumed".into()));
    let published = "with_coral = 1\nsource = \"published: a survey report\"\n";
    assert!(origin(published).starts_with("Published"), "{}", origin(published));
}

#[test]
fn maps_tell_no_fish() {
    let zone = "[[zone]]\nname = \"rim\"\nlength_m = 20\nwidth_m = 10\n";
    let map = "[zone.map]\nfile = \"map.csv\"\n";
    let line = "[[method.line_intercept]]\nlength_m = 5\nunits = 4\n";
    let each = "statement_about = \"each_reef\"\nquestion = \"status\"\n";
    accepted(&format!("{each}{zone}{map}{line}"));
    refused(&format!("{each}{zone}{FISH}{DENSITY}{map}{line}"), "zone[0].fish", "is a map");
    let other =
        format!("[[zone]]\nname = \"lagoon\"\nlength_m = 20\nwidth_m = 20\ncover_percent = 20\n{FISH}{DENSITY}");
    for (method, key) in [
        ("[[method.fish_belt]]\nlength_m = 10\nunits = 2\n", "method.fish_belt[0]"),
        ("[[method.fish_point_count]]\nradius_m = 3\nunits = 2\n", "method.fish_point_count[0]"),
    ] {
        refused(&format!("{each}{zone}{map}{other}{line}{method}"), key, "a map does not tell fish");
    }
}
