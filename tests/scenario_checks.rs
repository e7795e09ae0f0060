//! What tables of a scenario get wrong together: each refused at its key, with a remedy.

use reefwright::design::Asks;
use reefwright::scenario::{
    Beside, DEMO, DEMO_NAME, Loaded, Origin, STARTER, ScenarioError, load_text, load_with, schema, starter_with_all,
    write,
};
use std::collections::{BTreeMap, BTreeSet};

const HEAD: &str = "statement_about = \"all_such_reefs\"\n";
const ZONE: &str =
    "[[zone]]\nname = \"rim\"\nsites = 8\ncover_percent = 28\nbetween_sites_points = 9\nreef = \"fore_reef\"\n";
const LINE: &str = "[[method.point_intercept]]\nlength_m = 10\n";
const CHANGE: &str = "[[change]]\nfrom = 28\nto = 22\n";

fn refused(text: &str) -> ScenarioError {
    match load_text("bad.toml", text) {
        Ok(_) => panic!("accepted:\n{text}"),
        Err(error) => error,
    }
}

/// The text is refused with one problem, at this key and in this line, and the message has these words.
fn assert_refused(text: &str, key: &str, words: &str) {
    let error = refused(text);
    let told = error.render();
    let problem = error.problems.iter().find(|problem| problem.key == key);
    let problem = problem.unwrap_or_else(|| panic!("nothing is wrong at {key} in\n{told}"));
    assert_eq!(error.problems.len(), 1, "{told}");
    assert!(problem.message.contains(words), "\"{words}\" is not in\n{told}");
    assert!(!problem.remedy.is_empty() && !problem.allowed.is_empty(), "no remedy in\n{told}");
    let last = key.rsplit(['.', '[']).next().unwrap().trim_end_matches(']');
    let line = text.lines().nth(error.line(problem) - 1).unwrap_or("");
    let is_there = line.contains(last) || last.parse::<usize>().is_ok();
    // A key that is missing is told at its table, and a missing table at the head.
    let is_head = line.starts_with('[') || error.line(problem) == 1;
    assert!(is_there || is_head, "{key} is not in line \"{line}\"");
}

#[test]
fn the_base_of_these_tests_is_right() {
    load_text("good.toml", &format!("{HEAD}{ZONE}{LINE}{CHANGE}")).unwrap();
}

/// A scenario of urchins with these keys of the test, at the top and in the zone.
fn urchins(top: &str, test: &str, zone: &str) -> String {
    format!(
        "{top}[test]\n{test}[[zone]]\n{zone}[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 12\n\
         [[method.invertebrate_belt]]\n[[change]]\nindicator = \"slate_urchin\"\nfrom = 12\nto = 6\n"
    )
}

#[test]
fn deaths_that_cannot_be() {
    let with = |change: &str, deaths: &str| format!("{HEAD}{ZONE}{LINE}[[change]]\n{change}[change.deaths]\n{deaths}");
    let fall = "from = 28\nto = 14\n";
    load_text("good.toml", &with(fall, "odds_at_twice_the_size = 0.5\n")).unwrap();
    load_text("good.toml", &with(fall, "hit_percent = 60\npatch_m = 12\nleft_elsewhere_percent = 90\n")).unwrap();
    let deaths = "change[0].deaths";
    assert_refused(&with(fall, "odds_at_twice_the_size = 1\n"), deaths, "nothing tells how");
    assert_refused(&with("from = 14\nto = 28\n", "odds_at_twice_the_size = 2\n"), deaths, "does not fall");
    let turf = "indicator = \"turf\"\nfrom = 28\nto = 14\n";
    let with_turf = with(turf, "hit_percent = 60\n")
        .replace(LINE, &format!("[[zone.category]]\nname = \"turf\"\ncover_percent = 28\n{LINE}"));
    assert_refused(&with_turf, deaths, "a change of turf");
    let no_hit = with(fall, "odds_at_twice_the_size = 2\npatch_m = 10\n");
    assert_refused(&no_hit, "change[0].deaths.patch_m", "about deaths in patches");
}

#[test]
fn permutations_that_cannot_be() {
    let kind = "kind = \"permutation\"\n";
    let list = "statement_about = \"these_reefs\"\n";
    let years = format!("{HEAD}question = \"beyond_usual_years\"\n[variation]\nyear_points = 2\nsource = \"pilot\"\n");
    load_text("good.toml", &urchins(HEAD, kind, "sites = [4, 6]\n")).unwrap();
    load_text("good.toml", &urchins(HEAD, &format!("{kind}sides = 1\n"), "sites = 5\n")).unwrap();
    load_text("good.toml", &format!("{HEAD}[test]\n{kind}{ZONE}{LINE}{CHANGE}")).unwrap();
    assert_refused(&urchins(list, kind, "sites = 8\nexisting = 20\n"), "test.kind", "all such reefs only");
    assert_refused(&urchins(&years, kind, "sites = 8\n"), "test.kind", "all sites share");
    assert_refused(&urchins(HEAD, kind, "sites = 5\n"), "zone[0].sites", "no p is below 0.0625");
    let anew = format!("{HEAD}[visits]\nsites = \"drawn_anew\"\n");
    load_text("good.toml", &urchins(&anew, kind, "sites = 4\n")).unwrap();
    assert_refused(&urchins(&anew, kind, "sites = 3\n"), "zone[0].sites", "no p is below 0.1");
    assert_refused(&urchins(&anew, kind, "sites = 65\n"), "test.kind", "more than a permutation can hold");
    assert_refused(&urchins(HEAD, kind, "sites = 129\n"), "test.kind", "129 sites");
    let told = refused(&urchins(HEAD, "kind = \"permutatoin\"\n", "sites = 8\n")).render();
    assert!(told.contains("did you mean"), "{told}");
}

#[test]
fn tests_of_totals_that_cannot_be() {
    let quasi = "kind = \"quasi_poisson\"\n";
    let negative = "kind = \"negative_binomial\"\n";
    let list = "statement_about = \"these_reefs\"\n";
    let years = format!("{HEAD}question = \"beyond_usual_years\"\n[variation]\nyear_points = 2\nsource = \"pilot\"\n");
    let anew = format!("{HEAD}[visits]\nsites = \"drawn_anew\"\n");
    let groups = format!("{HEAD}question = \"between_groups\"\n");
    let belts = "[[method.coral_belt]]\n";
    for right in [
        urchins(HEAD, quasi, "sites = 8\n"),
        urchins(&anew, quasi, "sites = 8\n"),
        urchins(&anew, negative, "sites = 8\n"),
        urchins(&groups, negative, "sites = 8\n"),
        format!("{HEAD}[test]\n{quasi}{ZONE}{LINE}{belts}{CHANGE}"),
    ] {
        load_text("good.toml", &right).unwrap_or_else(|error| panic!("{}", error.render()));
    }
    assert_refused(&format!("{HEAD}[test]\n{quasi}{ZONE}{LINE}{CHANGE}"), "test.kind", "nothing that is counted");
    assert_refused(&urchins(list, quasi, "sites = 8\nexisting = 20\n"), "test.kind", "whole sites for replicates");
    assert_refused(&urchins(&years, negative, "sites = 8\n"), "test.kind", "all sites share");
    assert_refused(&urchins(HEAD, negative, "sites = 8\n"), "test.kind", "the same sites are read twice");
    let scaled = format!("{quasi}scale = \"ln\"\n");
    assert_refused(&urchins(HEAD, &scaled, "sites = 8\n"), "test.scale", "by their ratio");
}

#[test]
fn tests_of_size_structure_that_cannot_be() {
    let belts = "[[method.coral_belt]]\n";
    let sizes = "also_report = [\"colony_size_structure\"]\n";
    let with = |top: &str, sites: &str, rest: &str| {
        format!("{top}{sizes}[[zone]]\n{sites}cover_percent = 28\nreef = \"fore_reef\"\n{belts}{rest}")
    };
    load_text("good.toml", &with(HEAD, "sites = [5, 8]\n", CHANGE)).unwrap();
    assert_refused(&with(HEAD, "sites = 5\n", CHANGE), "zone[0].sites", "no p is below 0.0625");
    assert_refused(&with(HEAD, "sites = 129\n", CHANGE), "also_report[0]", "more than a permutation can hold");
    assert_refused(&with(HEAD, "sites = 8\n", ""), "also_report[0]", "a status tests nothing");
    let list = "statement_about = \"these_reefs\"\n";
    assert_refused(&with(list, "sites = 8\nexisting = 20\n", CHANGE), "also_report[0]", "all such reefs only");
    let change = "[[change]]\nindicator = \"colony_size_structure\"\nfrom = 28\nto = 22\n";
    assert_refused(&with(HEAD, "sites = 8\n", change), "change[0].indicator", "moves with hard coral");
}

#[test]
fn scales_that_cannot_be() {
    let ln = "scale = \"ln\"\n";
    load_text("good.toml", &urchins(HEAD, &format!("{ln}plus = 0.5\n"), "sites = 8\n")).unwrap();
    load_text("good.toml", &urchins(HEAD, "scale = \"plain\"\n", "sites = 8\n")).unwrap();
    load_text("good.toml", &format!("{HEAD}[test]\n{ln}{ZONE}[[method.coral_belt]]\n{CHANGE}")).unwrap();
    assert_refused(&format!("{HEAD}[test]\n{ln}{ZONE}{LINE}{CHANGE}"), "test.scale", "nothing that is counted");
    let list = "statement_about = \"these_reefs\"\n";
    assert_refused(&urchins(list, ln, "sites = 8\nexisting = 20\n"), "test.scale", "all such reefs only");
    let years = format!("{HEAD}question = \"beyond_usual_years\"\n[variation]\nyear_points = 2\nsource = \"pilot\"\n");
    assert_refused(&urchins(&years, ln, "sites = 8\n"), "test.scale", "points of cover");
    assert_refused(&urchins(HEAD, "plus = 0.5\n", "sites = 8\n"), "test.plus", "as they are");
    for plus in ["0", "-1", "nan", "1e6"] {
        let told = refused(&urchins(HEAD, &format!("{ln}plus = {plus}\n"), "sites = 8\n")).render();
        assert!(told.contains("plus") && told.contains("above 0") && told.contains("at most 100000"), "{told}");
    }
    let told = refused(&urchins(HEAD, "scale = \"log\"\n", "sites = 8\n")).render();
    assert!(told.contains("plain, ln, square_root"), "{told}");
}

#[test]
fn zones_that_cannot_be() {
    let with = |more: &str| format!("{HEAD}{ZONE}{more}{LINE}{CHANGE}");
    let instead = |old: &str, new: &str| with("").replace(old, new);
    assert_refused(&format!("{HEAD}{LINE}{CHANGE}"), "zone", "no zone");
    assert_refused(&instead("sites = 8\n", ""), "zone[0].sites", "no number of sites");
    assert_refused(&instead("sites = 8", "sites = [1, 8]"), "zone[0].sites", "no spread");
    assert_refused(&with("existing = 6\n"), "zone[0].sites", "only 6 exist");
    assert_refused(&instead("= 9", "= 45"), "zone[0].between_sites_points", "cannot have a spread of 45 points");
    assert_refused(&with("site_year_points = 10\n"), "zone[0].between_sites_points", "years spread more");
    assert_refused(&with("patch_sd = 1.99\nalong_sd = 0.5\n"), "zone[0].patch_sd", "too much");
    assert_refused(&with("diameter_max_m = 0.1\n"), "zone[0].diameter_max_m", "not larger");
    assert_refused(&instead("rim", "all"), "zone[0].name", "cannot be called all");
    assert_refused(&instead("rim", " "), "zone[0].name", "empty");
    assert_refused(&instead("reef = \"fore_reef\"", "patch_sd = 0.4"), "zone[0].patch_sd", "not which reef");
    let unknown = instead("reef = \"fore_reef\"", "reef = \"unknown\"\nalong_sd = 0.4");
    assert_refused(&unknown, "zone[0].along_sd", "not which reef");
    assert_refused(&with("source = { length_m = \"pilot\" }\n"), "zone[0].source.length_m", "not written");
}

#[test]
fn zones_that_cannot_be_together() {
    let two = |first: &str, second: &str| {
        let second = format!("{}{second}", ZONE.replace("rim", "gutter"));
        format!("{HEAD}{ZONE}{first}{second}{LINE}{CHANGE}")
    };
    load_text("good.toml", &two("weight = 0.25\n", "weight = 0.75\n")).unwrap();
    assert_refused(&two("weight = 0.5\n", "weight = 0.4\n"), "zone[1].weight", "sum to 0.9");
    assert_refused(&two("weight = 0.5\n", ""), "zone[1].weight", "no weight");
    assert_refused(&two("", "").replace("gutter", "rim"), "zone[1].name", "two zones");
    assert_refused(&two("", "").replace("name = \"gutter\"\n", ""), "zone[1].name", "no name");
    let lists = two("", "").replacen("sites = 8", "sites = [4, 8, 12]", 1);
    load_text("good.toml", &lists).unwrap();
    let gutter = lists.rfind("sites = 8").unwrap();
    let uneven = format!("{}sites = [4, 8]{}", &lists[..gutter], &lists[gutter + "sites = 8".len()..]);
    assert_refused(&uneven, "zone[1].sites", "2 numbers of sites, another zone has 3");
}

#[test]
fn equal_weights_are_filled_in_and_rounded_ones_completed() {
    let zones: String = ["a", "b", "c"].map(|name| ZONE.replace("rim", name) + "weight = 0.333\n").concat();
    let study = load_text("good.toml", &format!("{HEAD}{zones}{LINE}{CHANGE}")).unwrap().study;
    let sum: f64 = study.zones.iter().map(|zone| zone.weight).sum();
    assert!((sum - 1.0).abs() < 1e-12);
    let without = zones.replace("weight = 0.333\n", "");
    let equal = load_text("good.toml", &format!("{HEAD}{without}{LINE}{CHANGE}")).unwrap().study;
    assert!(equal.zones.iter().all(|zone| zone.weight == 1.0 / 3.0));
}

#[test]
fn categories_that_cannot_be() {
    let with = |categories: &str| format!("{HEAD}{ZONE}{categories}{LINE}{CHANGE}");
    let turf = |percent: f64| format!("[[zone.category]]\nname = \"turf\"\ncover_percent = {percent}\n");
    load_text("good.toml", &with(&turf(72.0))).unwrap();
    assert_refused(&with(&turf(72.1)), "zone[0].category[0].cover_percent", "cover 100.1 %");
    assert_refused(&with(&turf(10.0).repeat(2)), "zone[0].category[1].name", "two categories");
    assert_refused(&with(&turf(10.0).replace("turf", "hard_coral")), "zone[0].category[0].name", "cannot be called");
    assert_refused(&with(&turf(10.0).replace("turf", "other")), "zone[0].category[0].name", "leave free");
    load_text("good.toml", &with(&turf(72.0).replace("turf", "other"))).unwrap();
    let wide = turf(1.0) + "between_sites_points = 10\n";
    assert_refused(&with(&wide), "zone[0].category[0].between_sites_points", "cannot have a spread");
}

#[test]
fn placements_that_cannot_be() {
    let with = |placement: &str, line: &str| format!("{HEAD}[placement]\n{placement}\n{ZONE}{line}{CHANGE}");
    let belt = "[[method.photo_belt]]\nlength_m = 10\nwidth_m = 2\nunits = [4, 12]\n";
    for good in [
        "layout = \"least_gap\"\ngap_m = 5",
        "layout = \"least_gap\"\ngap_m = 3\nheading = \"any\"",
        "layout = \"systematic\"\nheading = \"across\"",
        "heading = \"any\"",
    ] {
        load_text("good.toml", &with(good, LINE)).unwrap_or_else(|error| panic!("{}", error.render()));
    }
    assert_refused(&with("layout = \"least_gap\"", LINE), "placement.layout", "not which");
    assert_refused(&with("gap_m = 5", LINE), "placement.gap_m", "no gap is kept");
    assert_refused(&with("layout = \"systematic\"\ngap_m = 5", LINE), "placement.gap_m", "no gap is kept");
    let wide = with("layout = \"least_gap\"\ngap_m = 14", LINE);
    assert_refused(&wide, "placement.gap_m", "12 lines of 10 m cannot keep a gap of 14 m on a site of rim, 100 x 20 m");
    // Four columns and two rows; half of the gap leaves room for twelve, and just so.
    assert_eq!(refused(&wide).problems[0].allowed, "room for 8");
    assert!(refused(&wide).problems[0].remedy.starts_with("Lower gap_m to 10 or less"));
    load_text("good.toml", &with("layout = \"least_gap\"\ngap_m = 10", LINE)).unwrap();
    assert_refused(&with("layout = \"least_gap\"\ngap_m = 10.1", LINE), "placement.gap_m", "cannot keep");
    let belts = with("layout = \"least_gap\"\ngap_m = 9\nheading = \"across\"", belt);
    assert_refused(&belts, "placement.gap_m", "12 belts of 10 x 2 m");
    assert_refused(
        &with("layout = \"systematic\"", belt),
        "placement.layout",
        "12 belts of 10 x 2 m at equal distances overlap",
    );
    let any = "layout = \"systematic\"\nheading = \"any\"";
    assert_refused(&with(any, LINE), "placement.heading", "side by side");
    let long = LINE.replace("= 10", "= [10, 21]");
    assert_refused(&with("heading = \"across\"", &long), "placement.heading", "lines of 21 m laid across do not fit");
    assert_refused(&with("heading = \"any\"", &long), "placement.heading", "point in any direction do not fit");
    assert_refused(&with("gap_m = 0.05\nlayout = \"least_gap\"", LINE), "placement.gap_m", "0.05 is out of range");
    assert_refused(&with("gap_m = true\nlayout = \"least_gap\"", LINE), "placement.gap_m", "does not belong here");
    assert_refused(&with("layout = \"sistematic\"", LINE), "placement.layout", "did you mean \"systematic\"");
    assert_refused(&with("heading = \"up\"", LINE), "placement.heading", "\"up\" is not known");
    assert_refused(&with("heding = \"any\"", LINE), "placement.heding", "heding");
    assert_refused(&with("source = { gap_m = \"pilot\" }", LINE), "placement.source.gap_m", "not written");
}

#[test]
fn lines_that_cannot_be() {
    let with = |more: &str| format!("{HEAD}{ZONE}{LINE}{more}{CHANGE}");
    assert_refused(&format!("{HEAD}{ZONE}{CHANGE}"), "method", "no method");
    assert_refused(&with("spacing_m = 11\n"), "method.point_intercept[0].spacing_m", "there is none");
    assert_refused(&with("").replace("= 10\n", "= 101\n"), "method.point_intercept[0].length_m", "do not fit");
    assert_refused(&with("points = 100\nspacing_m = 0.1\n"), "method.point_intercept[0].points", "both");
    let two_lengths = with("points = 100\n").replace("= 10\n", "= [10, 20]\n");
    assert_refused(&two_lengths, "method.point_intercept[0].points", "one length");
    assert_refused(&with("spacing_m = [0.1, 0.333]\n"), "method.point_intercept[0].spacing_m", "one grid");
    load_text("good.toml", &with("spacing_m = [0.1, 0.25, 1]\n")).unwrap();
    load_text("good.toml", &with("points = 30\n")).unwrap();
    let belt = "[[method.photo_belt]]\nwidth_m = 21\n";
    assert_refused(&with(belt), "method.photo_belt[0].width_m", "do not fit");
    let many = with("units = \"1..200\"\nspacing_m = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6]\n").replace("= 8", "= \"2..30\"");
    assert_refused(&many, "method", "34800 designs");
}

#[test]
fn recruits_that_cannot_be() {
    let sand = "[[zone.category]]\nname = \"sand\"\ncover_percent = 20\n";
    let recruits = "[zone.recruits]\ndensity_per_m2 = 8\n";
    let quadrats = "[[method.recruit_quadrats]]\nlength_m = 10\n";
    let with = |zone: &str, method: &str| format!("{HEAD}{ZONE}{sand}{recruits}{zone}{quadrats}{method}{CHANGE}");
    load_text("good.toml", &with("", "quadrat_cm = [25, 100]\n")).unwrap();
    let untold = format!("{HEAD}{ZONE}{sand}{quadrats}{CHANGE}");
    assert_refused(&untold, "zone[0].recruits", "how many there are is not told");
    let key = "zone[0].recruits.cannot_live_on";
    assert_refused(&with("cannot_live_on = [\"snad\"]\n", ""), key, "no category \"snad\"");
    assert_refused(&with("cannot_live_on = [\"hard_coral\"]\n", ""), key, "not free bottom anyway");
    assert_refused(&with("cannot_live_on = [\"sand\", \"sand\"]\n", ""), key, "twice");
    let covered = with("", "").replace("cover_percent = 20", "cover_percent = 72");
    assert_refused(&covered, key, "leave no bottom to recruits");
    assert_refused(&with("patch_sd = 0.5\npatch_k = 2\n", ""), "zone[0].recruits.patch_k", "patch_sd and by patch_k");
    let untold = with("source = { group_size = \"pilot\" }\n", "");
    assert_refused(&untold, "zone[0].recruits.source.group_size", "not written");
    let method = |key: &str| format!("method.recruit_quadrats[0].{key}");
    assert_refused(&with("", "every_m = 0.2\n"), &method("every_m"), "overlap");
    assert_refused(
        &with("", "").replace("= 10\n", "= 2\nquadrat_cm = 250\n"),
        &method("quadrat_cm"),
        "longer than its tape",
    );
    assert_refused(&with("", "").replace("= 10\n", "= 120\n"), &method("length_m"), "do not fit");
    let change = |indicator: &str, from: f64| {
        with("", "").replace(CHANGE, &format!("[[change]]\nindicator = \"{indicator}\"\nfrom = {from}\nto = 3\n"))
    };
    load_text("good.toml", &change("recruit_density", 6.0)).unwrap();
    assert_refused(&change("recruits_under_2_cm", 6.0), "change[0].indicator", "moves with recruit_density");
    assert_refused(&change("recruit_density", -1.0), "change[0].from", "nothing to compare");
    let animal = with("[[zone.animal]]\nname = \"recruit_density\"\ndensity_per_100_m2 = 3\n", "");
    assert_refused(&animal, "zone[0].animal[0].name", "cannot be called");
    let uncounted = change("recruit_density", 6.0).replace(quadrats, LINE);
    assert_refused(&uncounted, "change[0].indicator", "no method counts");
    let points = format!("{}differs_between_sites_points = 1\n", change("recruit_density", 6.0));
    assert_refused(&points, "change[0].differs_between_sites_points", "its own unit");
}

#[test]
fn replicates_that_are_none() {
    let scope = |word: &str, more: &str| format!("{HEAD}{ZONE}{LINE}{more}{CHANGE}").replace("all_such_reefs", word);
    assert_refused(&scope("each_reef", "units = \"1..12\"\n"), "method.point_intercept[0].units", "replicates here");
    load_text("good.toml", &scope("each_reef", "")).unwrap();
    assert_refused(&scope("these_reefs", ""), "zone[0].existing", "how many sites exist");
    let whole = |more: &str| scope("these_reefs", more).replace("sites = 8", "sites = 8\nexisting = 8");
    assert_refused(&whole("units = [1, 4]\n"), "method.point_intercept[0].units", "replicates here");
    assert_eq!(load_text("good.toml", &whole("")).unwrap().study.test.kind.name(), "welch_t");
    let at_marks = whole("[visits]\nplaces = \"same_marks\"\n");
    assert_eq!(load_text("good.toml", &at_marks).unwrap().study.test.kind.name(), "paired_t");
    let paired = "[test]\nkind = \"paired_t\"\n";
    assert_refused(&whole(paired), "test.kind", "no partner");
    assert_refused(&scope("each_reef", paired), "test.kind", "no partner");
    let anew = "[visits]\nsites = \"drawn_anew\"\n";
    assert_refused(&scope("all_such_reefs", &format!("{paired}{anew}")), "test.kind", "sites drawn anew");
    assert_refused(&scope("each_reef", anew), "visits.sites", "compared with itself");
    assert_refused(&whole(anew), "visits.sites", "no others to draw");
    let groups = format!("question = \"between_groups\"\n{}", scope("all_such_reefs", paired));
    assert_refused(&groups, "test.kind", "no pairs");
}

#[test]
fn changes_that_cannot_be() {
    let with = |change: &str| format!("{HEAD}{ZONE}{LINE}[[change]]\n{change}");
    assert_refused(&with("from = 28\nto = 28\n"), "change[0].to", "nothing changes");
    assert_refused(&with("from = 28\nto = 0\n"), "change[0].to", "cannot be");
    assert_refused(&with("indicator = \"turff\"\nfrom = 28\nto = 20\n"), "change[0].indicator", "no indicator");
    assert_refused(&with("from = 10\nto = 40\n"), "change[0].to", "would rise from 28 to 112 %");
    assert_refused(
        &with("from = 28\nto = 22\ndiffers_between_sites = 3\n"),
        "change[0].differs_between_sites",
        "points of cover",
    );
    let wide = with("from = 28\nto = 22\ndiffers_between_sites_points = 45\n");
    assert_refused(&wide, "change[0].differs_between_sites_points", "cannot differ");
    assert_refused(&format!("{HEAD}{ZONE}{LINE}{CHANGE}{CHANGE}"), "change[1]", "written twice");
    assert_refused(&format!("question = \"status\"\n{HEAD}{ZONE}{LINE}{CHANGE}"), "change", "has no change");
    assert_refused(&format!("question = \"between_groups\"\n{HEAD}{ZONE}{LINE}"), "change", "needs a change");
    assert_refused(&format!("also_report = [\"sand\"]\n{HEAD}{ZONE}{LINE}{CHANGE}"), "also_report[0]", "no indicator");
    for bare in ["\"20 %\"", "-20", "20"] {
        let error = refused(&with(&format!("change = {bare}\n")));
        assert!(error.problems[0].remedy.contains("20 points of cover or a fifth"), "{}", error.render());
    }
}

#[test]
fn sides_and_directions_agree_with_the_changes() {
    let with = |test: &str, to: &[u32]| {
        let changes: String = to.iter().map(|to| format!("[[change]]\nfrom = 28\nto = {to}\n")).collect();
        format!("{HEAD}{ZONE}{LINE}[test]\n{test}{changes}")
    };
    load_text("good.toml", &with("sides = 1\n", &[22, 17])).unwrap();
    load_text("good.toml", &with("sides = 1\ndirection = \"rise\"\n", &[35])).unwrap();
    load_text("good.toml", &with("sides = 2\n", &[22, 35])).unwrap();
    assert_refused(&with("sides = 1\n", &[22, 35]), "test.sides", "other direction");
    assert_refused(&with("sides = 1\ndirection = \"rise\"\n", &[22]), "test.sides", "other direction");
    assert_refused(&with("direction = \"fall\"\n", &[22]), "test.direction", "two sides");
}

#[test]
fn questions_that_need_what_is_not_there() {
    let asks = |question: &str, more: &str| format!("question = \"{question}\"\n{HEAD}{ZONE}{LINE}{CHANGE}{more}");
    assert_refused(&asks("beyond_usual_years", ""), "variation.year_points", "not known");
    load_text("good.toml", &asks("beyond_usual_years", "[variation]\nyear_points = 1.4\n")).unwrap();
    assert_refused(&asks("between_groups", "[visits]\nyears_apart = 2\n"), "visits", "nothing lies between");
    assert_refused(&asks("between_these_visits", "[visits]\nnumber = 3\n"), "visits.number", "3 visits");
    let bias = "[observers]\nsecond_visit_bias_percent = 5\n";
    assert_refused(&asks("between_groups", bias), "observers.second_visit_bias_percent", "no second visit");
    let shared = refused(&asks("between_these_visits", "[visits]\nsites = { same_share = 0.5 }\n"));
    assert!(shared.problems[0].message.contains("not computed yet"), "{}", shared.render());
}

#[test]
fn what_is_taken_for_what_must_add_up() {
    let turf = "[[zone.category]]\nname = \"turf\"\ncover_percent = 20\n";
    let with = |rows: &str| format!("{HEAD}{ZONE}{turf}{LINE}{CHANGE}[observers.misidentification]\n{rows}");
    let good = load_text("good.toml", &with("turf = { turf = 0.9, hard_coral = 0.1 }\n")).unwrap().study;
    assert_eq!(
        good.observers.misidentification,
        Some(vec![vec![1.0, 0.0, 0.0], vec![0.1, 0.9, 0.0], vec![0.0, 0.0, 1.0]])
    );
    let full = with("turf = { turf = 0.9, hard_coral = 0.1 }\n").replace("cover_percent = 20", "cover_percent = 72");
    let full = load_text("good.toml", &full).unwrap().study;
    assert_eq!(full.observers.misidentification, Some(vec![vec![1.0, 0.0], vec![0.1, 0.9]]));
    let bare = with("hard_coral = { hard_coral = 1 }\n").replace(turf, "");
    assert_refused(&bare, "observers.misidentification", "no categories");
    assert_refused(&with("turf = { turf = 0.9 }\n"), "observers.misidentification.turf", "sum to 0.9");
    assert_refused(&with("sand = { turf = 1.0 }\n"), "observers.misidentification.sand", "not a kind");
    let other = ZONE.replace("rim", "gutter") + &turf.replace("turf", "sand");
    let uneven = with("turf = { turf = 1.0 }\n").replace(LINE, &format!("{other}{LINE}"));
    assert_refused(&uneven, "zone[1].category", "are not those of rim");
}

#[test]
fn indicators_by_components_that_cannot_be() {
    let other = "[[method.other]]\nindicator = \"snails\"\nmean = 3\nscale = \"ln\"\nbetween_sites = 0.5\nbetween_units = 0.7\n";
    let change = "[[change]]\nindicator = \"snails\"\nfrom = 3\nto = 1.5\n";
    let text = format!("{HEAD}{ZONE}{other}{change}");
    let study = load_text("good.toml", &text).unwrap().study;
    assert_eq!((study.changes[0].from, study.changes[0].to), (3.0, 1.5));
    assert_refused(&text.replace("mean = 3", "mean = 0"), "method.other[0].mean", "no place");
    assert_refused(&text.replace("mean = 3", "mean = 3\nfloor = 0"), "method.other[0].floor", "no place");
    assert_refused(&text.replace("to = 1.5", "to = 0"), "change[0].to", "no place");
    assert_refused(
        &text.replace("to = 1.5", "to = 1.5\ndiffers_between_sites_points = 1"),
        "change[0].differs_between_sites_points",
        "own unit",
    );
    assert_refused(&format!("{HEAD}{ZONE}{other}{CHANGE}"), "change[0].indicator", "no method reads hard_coral");
    assert_refused(&text.replace("snails", "hard_coral"), "method.other[0].indicator", "cannot be called");
}

/// An expedition on the reef of the other tests, with these lines of `[expedition]` besides the least.
fn expedition(more: &str) -> String {
    format!(
        "{HEAD}[expedition]\ndays = 10\ndives_a_day = 2\nsites_a_day = 2\nstandby = \"crew\"\n{more}\
         [[diver]]\nname = \"Ana\"\nskills = [\"fish\"]\n[[diver]]\nname = \"Eli\"\n[[diver]]\nname = \"Ben\"\n\
         [[diver]]\nname = \"Cato\"\ndepth_m = 20\n{ZONE}[zone.dive]\ndepth_m = 12\nbottom_minutes = 45\n{LINE}{CHANGE}\
         [[target]]\nindicator = \"hard_coral\"\nsee = true\npriority = \"must\"\n"
    )
}

fn loaded(text: &str) -> Loaded {
    load_text("good.toml", text).unwrap_or_else(|error| panic!("{}", error.render()))
}

#[test]
fn an_expedition_and_what_is_filled_in() {
    let good = loaded(&expedition(""));
    let expedition = good.expedition.as_ref().unwrap();
    assert_eq!(expedition.pairs, [(0, 1), (2, 3)]);
    assert_eq!((expedition.finish_chance, expedition.minutes_spread, expedition.boats.number), (0.9, 0.25, 1));
    let zone = expedition.zones[0];
    assert_eq!((zone.work_minutes(), zone.least_sites, zone.most_sites), (33.0, 3, 30));
    let work = &expedition.methods[0];
    assert_eq!((work.move_minutes, work.set_up_minutes, work.takes_both, work.first), (1.0, 2.0, false, None));
    assert_eq!((work.minutes_spread, work.mark_minutes, work.on_line_of), (0.25, 4.0, None));
    assert!(!expedition.pairs_told && expedition.divers[0].is_aboard(1) && expedition.divers[0].to_day.is_none());
    assert_eq!((expedition.targets[0].asks, expedition.targets[0].must), (Asks::SeeChange(0), true));
    let assumed = |words: &str| good.expedition_assumptions.iter().any(|told| told.about.contains(words));
    for words in ["spread of the minutes of a unit", "kept to spare", "setting up", "on which nobody can dive", "pairs"]
    {
        assert!(assumed(words), "{words}");
    }
    // The account of the study itself is what it was.
    assert!(good.assumptions.iter().all(|told| !told.about.contains("dive")));
}

#[test]
fn without_an_expedition_its_tables_are_allowed_and_said_to_be_unused() {
    let text = expedition("");
    let (head, rest) = text.split_once("[expedition]").unwrap();
    let (_, rest) = rest.split_once("[[diver]]").unwrap();
    let rest = format!("{head}[[diver]]{rest}");
    let without = loaded(&rest);
    assert!(without.expedition.is_none() && without.expedition_assumptions.is_empty());
    assert_eq!(without.remarks.len(), 1);
    assert!(without.remarks[0].contains("[[diver]], [[target]], [zone.dive]"), "{:?}", without.remarks);
    let bare = loaded(&format!("{HEAD}{ZONE}{LINE}{CHANGE}"));
    assert_eq!((&bare.study, &bare.assumptions), (&without.study, &without.assumptions));
    assert!(bare.remarks.is_empty() && bare.origins.keys().all(|key| !key.contains("dive") && !key.contains("work")));
}

#[test]
fn days_and_boats_that_cannot_be() {
    assert_refused(&expedition("transit_days = 6\nreserved_days = 4\n"), "expedition.days", "10 of 10 days");
    assert_refused(&expedition("bad_spell_days = 2\n"), "expedition.bad_spell_days", "not how many");
    let short = expedition("lost_days_percent = 40\nbad_spell_days = 1.5\n");
    assert_refused(&short, "expedition.bad_spell_days", "shorter than");
    assert_eq!(refused(&short).problems[0].allowed, "at least 1.67");
    loaded(&short.replace("= 1.5", "= 1.67"));
    // A share where percent are asked for.
    let doubted = loaded(&expedition("lost_days_percent = 0.15\n")).doubts;
    assert!(
        doubted.iter().any(|doubt| doubt.key == "expedition.lost_days_percent" && doubt.remedy.contains("15")),
        "{doubted:?}"
    );
    assert!(loaded(&expedition("lost_days_percent = 15\n")).doubts.is_empty());
    let no_sites = |more: &str| expedition(more).replace("sites_a_day = 2\n", "");
    assert_refused(&no_sites(""), "expedition.sites_a_day", "not told");
    assert_refused(
        &expedition("").replace("sites_a_day = 2", "sites_a_day = 3"),
        "expedition.sites_a_day",
        "more than",
    );
    let clock = "day_minutes = 480\nout_and_home_minutes = 90\nbetween_sites_minutes = 20\n\
                 surface_interval_minutes = 75\naround_a_dive_minutes = 20\n";
    loaded(&no_sites(clock));
    let part = no_sites(&clock.replace("surface_interval_minutes = 75\n", ""));
    assert_refused(&part, "expedition.surface_interval_minutes", "in part");
    let soon = no_sites(&clock.replace("= 75", "= 9"));
    assert_refused(&soon, "expedition.surface_interval_minutes", "out of range");
    assert!(refused(&soon).problems[0].remedy.contains("under 10 they count as one dive"));
    let fast =
        no_sites(&clock.replace("= 20\nsurface", "= 0\nsurface").replace("dive_minutes = 20", "dive_minutes = 4"));
    assert_refused(&fast, "expedition.around_a_dive_minutes", "ascent from 12 m at 9 m a minute");
    assert_eq!(refused(&fast).problems[0].allowed, "at least 4.4");
    assert_refused(&no_sites(&clock.replace("480", "150")), "expedition.day_minutes", "takes 155 minutes");
    let gas = |more: &str| {
        expedition(&format!("gas = {{ litres_a_minute = 22, cylinder_litres = 12, fill_bar = 200{more} }}\n"))
    };
    assert_eq!(loaded(&gas(", reserve_bar = 60")).expedition.unwrap().gas.unwrap().reserve_bar, 60.0);
    assert_refused(&gas(", reserve_bar = 200"), "expedition.gas.fill_bar", "200 bar are left of 200");
    assert_refused(&gas(", reserve_bar = 0"), "expedition.gas.reserve_bar", "out of range");
    assert!(refused(&gas("")).render().contains("reserve_bar"));
    assert_refused(
        &expedition("flight_hours_after_last_dive = -1\n"),
        "expedition.flight_hours_after_last_dive",
        "out of range",
    );
    let rates = |more: &str| expedition(&format!("[expedition.rates]\n{more}"));
    let told = loaded(&rates("currency = \"EUR\"\nper_dive = 9\n"));
    assert_eq!(told.expedition.as_ref().unwrap().rates.as_ref().unwrap().per_dive, 9.0);
    let about = |words: &str| told.expedition_assumptions.iter().any(|of| of.about.contains(words));
    assert!(about("money: a dive of a diver") && !about("money: once"));
    assert_refused(&rates("currency = \"EUR\"\n"), "expedition.rates", "no rate is told");
    assert_refused(&rates("currency = \" \"\nfixed = 1\n"), "expedition.rates.currency", "empty");
    assert_refused(&rates("currency = \"EUR\"\nfixed = -1\n"), "expedition.rates.fixed", "out of range");
    assert!(refused(&rates("fixed = 1\n")).render().contains("currency"));
    let people = rates("currency = \"EUR\"\nfixed = 1\nother_people = 2\n");
    assert_refused(&people, "expedition.rates.other_people", "not what a person costs");
    let ashore = rates("currency = \"EUR\"\nashore_per_hour = 20\n");
    assert_refused(&ashore, "expedition.rates.ashore_per_hour", "no method tells");
    assert_refused(&expedition("least = \"money\"\n"), "expedition.least", "no rates are told");
    assert!(refused(&expedition("least = \"gold\"\n")).render().contains("effort"));
    let paid = expedition("").replace("[[change]]", "[method.point_intercept.work]\nlaboratory_cost = 12\n[[change]]");
    assert_refused(&paid, "method.point_intercept[0].work.laboratory_cost", "no currency");
    let current = expedition("").replace("bottom_minutes = 45", "bottom_minutes = 45\ncurrent_knots = 11");
    assert_refused(&current, "zone[0].dive.current_knots", "out of range");
    assert!(loaded(&current.replace("= 11", "= 2")).remarks.join("\n").contains("a current of 2 knots"));
    assert_refused(&expedition("boats = 3\n"), "expedition.boats", "3 boats, but 2 pairs");
    let unlike = refused(&expedition("boats = [2, 1]\n"));
    assert_eq!(unlike.problems[0].key, "expedition.boats");
    assert!(unlike.problems[0].remedy.contains("unlike boats are planned each by itself"), "{}", unlike.render());
    let tables = refused(&expedition("").replace("[[diver]]", "[[expedition.boats]]\npairs = 1\n[[diver]]"));
    assert!(tables.problems[0].remedy.contains("planned each by itself"), "{}", tables.render());
    let boat = refused(&format!("{}[[boat]]\npairs = 2\n", expedition("")));
    assert!(boat.problems.iter().any(|told| told.remedy.contains("Boats are all alike")), "{}", boat.render());
    for (key, words) in [("dives_a_day = 2\n", "no usual value"), ("standby = \"crew\"\n", "never assumed")] {
        let error = refused(&expedition("").replace(key, ""));
        assert!(error.problems[0].remedy.contains(words), "{}", error.render());
    }
    loaded(&expedition("choose_places = true\n"));
    let anew = format!("[visits]\nsites = \"drawn_anew\"\n{ZONE}");
    assert_refused(
        &expedition("choose_places = true\n").replace(ZONE, &anew),
        "expedition.choose_places",
        "no site is visited twice",
    );
    let words = refused(&expedition("").replace("\"crew\"", "\"nobody\""));
    assert!(words.problems[0].message.contains("as_the_diving_officer_decides") || words.render().contains("crew"));
    let list = refused(&expedition("").replace("[expedition]", "[[expedition]]"));
    assert!(list.problems.iter().any(|told| told.remedy.contains("[expedition] with one")), "{}", list.render());
}

#[test]
fn divers_and_pairs_that_cannot_be() {
    let pairs = |pairs: &str| expedition(&format!("pairs = {pairs}\n"));
    loaded(&pairs("[[\"Ben\", \"Ana\"]]"));
    assert_refused(&pairs("[[\"Ana\", \"Ely\"]]"), "expedition.pairs[0][1]", "no diver \"Ely\"");
    assert!(refused(&pairs("[[\"Ana\", \"Ely\"]]")).problems[0].remedy.starts_with("Did you mean \"Eli\"?"));
    let twice = pairs("[[\"Ana\", \"Eli\"], [\"Ben\", \"Ana\"]]");
    assert_refused(&twice, "expedition.pairs[1][1]", "Ana is in two places");
    assert_refused(&pairs("[[\"Ana\", \"Ana\"]]"), "expedition.pairs[0][1]", "two places");
    assert_refused(&pairs("[]"), "expedition.pairs", "no pair");
    for group in ["[[\"Ana\", \"Eli\", \"Ben\"]]", "[[\"Ana\"]]"] {
        let error = refused(&pairs(group));
        assert!(error.problems[0].key.starts_with("expedition.pairs"), "{}", error.render());
        assert!(error.problems[0].remedy.contains("obody dives alone"), "{}", error.render());
    }
    let with = |old: &str, new: &str| expedition("").replace(old, new);
    assert_refused(&with("\"Eli\"", "\"Ana\""), "diver[1].name", "two divers are called Ana");
    assert_refused(&with("\"Eli\"", "\" \""), "diver[1].name", "empty");
    assert_refused(&with("[\"fish\"]", "[\"\"]"), "diver[0].skills[0]", "empty");
    let text = expedition("");
    let first = text.find("[[diver]]").unwrap();
    let nobody = format!("{}{}", &text[..first], &text[text.find("[[zone]]").unwrap()..]);
    assert_refused(&nobody, "diver", "nobody to dive");
    assert_refused(
        &with("[[diver]]\nname = \"Eli\"\n[[diver]]\nname = \"Ben\"\n[[diver]]\nname = \"Cato\"\ndepth_m = 20\n", ""),
        "diver",
        "one diver alone",
    );
    assert_refused(&with("\"crew\"", "\"a_pair_stays_up\"\nboats = 2"), "expedition.standby", "nobody left to dive");
    loaded(&with("\"crew\"", "\"a_pair_stays_up\""));
}

/// What is wrong with a skill or a pair is told once, and nothing that follows from it.
#[test]
fn one_mistake_is_one_message() {
    let method =
        |length: u32| format!("[[method.point_intercept]]\nlength_m = {length}\nwork = {{ skill = \"fihs\" }}\n");
    let twice = expedition("").replace(LINE, &format!("{}{}", method(10), method(20)));
    let error = refused(&twice);
    assert_eq!(error.problems.len(), 1, "{}", error.render());
    assert!(error.problems[0].message.contains("which another method needs too"), "{}", error.render());
    // The pair that is left may not go so deep, which is not the mistake.
    let pair =
        expedition("pairs = [[\"Ana\", \"Ely\"], [\"Ben\", \"Cato\"]]\n").replace("depth_m = 12", "depth_m = 24");
    let error = refused(&pair);
    assert_eq!(error.problems.len(), 1, "{}", error.render());
    assert_eq!(error.problems[0].key, "expedition.pairs[0][1]");
}

/// The number of sites of an expedition is the budget's to choose.
#[test]
fn an_expedition_may_leave_its_sites_out() {
    let good = loaded(&expedition("").replace("sites = 8\n", "").replace("= 45", "= 45\nleast_sites = 4"));
    assert_eq!(good.study.zones[0].sites, [4]);
    assert!(good.remarks.iter().any(|remark| remark.contains("left to the budget")), "{:?}", good.remarks);
    let without = refused(&format!("{HEAD}{ZONE}{LINE}{CHANGE}").replace("sites = 8\n", ""));
    assert!(without.problems.iter().any(|problem| problem.key == "zone[0].sites"), "{}", without.render());
    let calm = loaded(&expedition("").replace("= 45", "= 45\nneeds_calm = true"));
    assert!(calm.remarks.iter().any(|remark| remark.contains("candidate_sites")), "{:?}", calm.remarks);
}

/// A list says how many sites there are to choose from.
#[test]
fn a_list_of_sites_caps_their_number() {
    let text = expedition("candidate_sites = \"list.csv\"\n");
    let rows = |count: usize, must: usize| {
        let row = |k: usize| format!("s{k},{k},{},-12.5,{}\n", 100 + k, if k <= must { "yes" } else { "" });
        format!("name,depth_m,longitude,latitude,must_visit\n{}", (1..=count).map(row).collect::<String>())
    };
    let with = |text: &str, list: String| {
        load_with("test.toml", text, &move |name| {
            assert_eq!(name, "list.csv");
            Ok(list.clone().into_bytes())
        })
    };
    let of = |text: &str, list: String| with(text, list).unwrap_or_else(|error| panic!("{error}")).expedition.unwrap();
    let zone = |text: &str, list: String| of(text, list).zones[0];
    assert_eq!((zone(&text, rows(9, 0)).least_sites, zone(&text, rows(9, 0)).most_sites), (3, 9));
    assert_eq!((zone(&text, rows(9, 5)).least_sites, zone(&text, rows(2, 0)).least_sites), (5, 2));
    let most = text.replace("= 45", "= 45\nmost_sites = 11");
    assert_eq!(zone(&most, rows(9, 0)).most_sites, 9);
    let remarks = with(&most, rows(9, 2)).unwrap().remarks;
    assert!(remarks.iter().any(|remark| remark.contains("has 9: no more are planned")), "{remarks:?}");
    assert!(remarks.iter().any(|remark| remark.contains("2 of 9 sites on the list must be visited")), "{remarks:?}");
    let error = with(&text, rows(1, 0)).unwrap_err();
    assert_eq!(error.problems[0].key, "zone[0].dive.least_sites", "{}", error.render());
    let exist = text.replace("sites = 8\n", "sites = 8\nexisting = 8\n");
    let error = with(&exist, rows(9, 0)).unwrap_err();
    assert_eq!(error.problems[0].key, "zone[0].existing", "{}", error.render());
    // What is written names the list again.
    let loaded = with(&text, rows(9, 0)).unwrap();
    let beside = Beside { expedition: loaded.expedition.clone(), ..Beside::default() };
    assert!(write(&loaded.study, &beside).contains("candidate_sites = \"list.csv\""));
}

#[test]
fn dives_that_cannot_be() {
    let dive = |old: &str, new: &str| expedition("").replace(old, new);
    let text = expedition("").replace("[zone.dive]\ndepth_m = 12\nbottom_minutes = 45\n", "");
    assert_refused(&text, "zone[0].dive", "rim: how it is dived is not told");
    assert_refused(&dive("= 45", "= 12"), "zone[0].dive.bottom_minutes", "leave none to work");
    assert_refused(&dive("= 45", "= 45\nwork_minutes = 46"), "zone[0].dive.work_minutes", "more than the bottom time");
    let both = dive("= 45", "= 45\nwork_minutes = 30\nspare_minutes = 5");
    assert_refused(&both, "zone[0].dive.spare_minutes", "both written");
    let deep = dive("depth_m = 12", "depth_m = 58");
    assert_refused(&deep, "zone[0].dive.depth_m", "out of range");
    assert!(refused(&deep).problems[0].remedy.contains("no published no-stop limit"));
    assert_refused(&dive("depth_m = 12", "depth_m = 0"), "zone[0].dive.depth_m", "out of range");
    assert_refused(&dive("= 45", "= 45\nleast_sites = 9\nmost_sites = 6"), "zone[0].dive.least_sites", "at least");
    let listed = dive("sites = 8\n", "sites = 8\nexisting = 10\n");
    assert_eq!(loaded(&listed).expedition.unwrap().zones[0].most_sites, 10);
    assert_refused(&listed.replace("= 45", "= 45\nmost_sites = 11"), "zone[0].dive.most_sites", "only 10 exist");
    // The pair of Cato stays out of deep water; the other may go.
    let deeper = dive("depth_m = 12", "depth_m = 24");
    assert!(loaded(&deeper).remarks.join("\n").contains("Ben and Cato do not dive there"));
    let shallow = deeper.replace("skills = [\"fish\"]", "skills = [\"fish\"]\ndepth_m = 20");
    assert_refused(&shallow, "zone[0].dive.depth_m", "no pair is authorised to 24 m");
    let untold = dive("= 45", "= 45\nsource = { arrival_minutes = \"pilot\" }");
    assert_refused(&untold, "zone[0].dive.source.arrival_minutes", "not written");
    let error = refused(&dive("bottom_minutes = 45\n", ""));
    assert!(error.problems[0].remedy.contains("no usual value"), "{}", error.render());
    let each = expedition("").replace("all_such_reefs", "each_reef").replace("sites = 8\n", "");
    assert_refused(&each, "statement_about", "must be the replicates");
}

#[test]
fn work_that_cannot_be() {
    let work = |keys: &str| expedition("").replace(LINE, &format!("{LINE}[method.point_intercept.work]\n{keys}"));
    let key = |key: &str| format!("method.point_intercept[0].work.{key}");
    loaded(&work("skill = \"fish\"\nfirst = true\nothers_wait_minutes = 0\n"));
    assert_refused(&work("skill = \"fihs\"\n"), &key("skill"), "no diver has the skill");
    assert!(refused(&work("skill = \"fihs\"\n")).problems[0].remedy.starts_with("Did you mean \"fish\""));
    assert_refused(&work("skill = \"fish\"\ntakes = \"both\"\n"), &key("skill"), "no pair has it twice");
    let spare = work("skill = \"fish\"\n").replace("\"crew\"", "\"crew\"\npairs = [[\"Eli\", \"Ben\"]]");
    assert_refused(&spare, &key("skill"), "no pair has it");
    let deep = work("skill = \"fish\"\n")
        .replace("depth_m = 12", "depth_m = 24")
        .replace("[\"fish\"]", "[\"fish\"]\ndepth_m = 20");
    let deep = deep.replace("\"Cato\"\ndepth_m = 20", "\"Cato\"");
    assert_refused(&deep, &key("skill"), "rim: no pair with the skill \"fish\" is authorised to 24 m");
    loaded(&work("skill = \"fish\"\nfirst = true\nothers_wait_minutes = 6\nwho_waits = \"buddy\"\n"));
    assert_refused(&work("first = true\n"), &key("others_wait_minutes"), "how long the others wait");
    assert_refused(&work("others_wait_minutes = 8\n"), &key("others_wait_minutes"), "this does not");
    assert_refused(&work("who_waits = \"all\"\n"), &key("who_waits"), "this does not");
    let nobody = work("skill = \"fish\"\nfirst = true\nothers_wait_minutes = 8\nwho_waits = \"crew\"\n");
    assert_refused(&nobody, &key("who_waits"), "not known");
    assert_refused(&work("first = \"yes\"\n"), &key("first"), "does not belong here");
    assert_refused(&work("takes = \"three\"\n"), &key("takes"), "not known");
    assert_refused(&work("source = { move_minutes = \"pilot\" }\n"), &key("source.move_minutes"), "not written");
}

/// The minutes to read are what is left of the minutes of last time, and are known as well as those.
#[test]
fn minutes_come_from_what_was_done_last_time() {
    let with = |line: &str, work: &str| {
        expedition("").replace(LINE, &format!("{LINE}{line}[method.point_intercept.work]\n{work}"))
    };
    let done = "done_last_time = { units = 4, minutes = 62 }\n";
    let good =
        loaded(&with("lay_minutes = 2\n", &format!("{done}source = {{ done_last_time = \"my words: our log\" }}\n")));
    // (62 - 2 to set up) / 4 = 15, less 2 to lay and 1 to move on.
    assert_eq!(good.study.methods[0].minutes.read, 12.0);
    let told = good.assumptions.iter().find(|told| told.about.contains("done last time")).unwrap();
    assert!(told.value == "12" && format!("{:?}", told.origin).contains("our log"), "{told:?}");
    let key = "method.point_intercept[0].work.done_last_time";
    assert_refused(&with("read_minutes = 12\n", done), key, "both written");
    assert_refused(&with("lay_minutes = 15\n", done), key, "no time to read");
    assert_refused(
        &with("", "done_last_time = { units = 0, minutes = 62 }\n"),
        &format!("{key}.units"),
        "out of range",
    );
    assert_refused(
        &with("", "done_last_time = { units = 4, minutes = 0 }\n"),
        &format!("{key}.minutes"),
        "out of range",
    );
    assert!(refused(&with("", "done_last_time = { units = 4 }\n")).render().contains("`minutes` is missing"));
}

#[test]
fn lines_marks_and_days_aboard_that_cannot_be() {
    let belt = "[[method.coral_belt]]\n[method.coral_belt.work]\n";
    let with = |line: &str, belts: &str| {
        let line = if line.is_empty() { String::new() } else { format!("[method.point_intercept.work]\n{line}") };
        expedition("").replace(LINE, &format!("{LINE}{line}{belt}{belts}"))
    };
    let key = |method: &str, key: &str| format!("method.{method}[0].work.{key}");
    let good = loaded(&with("line_stays = true\n", "on_line_of = \"point_intercept\"\n"));
    let methods = good.expedition.unwrap().methods;
    assert_eq!((methods[1].on_line_of, methods[1].move_minutes, methods[0].line_stays), (Some(0), 0.0, true));
    let unknown = with("", "on_line_of = \"point_intersect\"\n");
    assert_refused(&unknown, &key("coral_belt", "on_line_of"), "no method");
    assert!(refused(&unknown).problems[0].remedy.starts_with("Did you mean \"point_intercept\""));
    assert_refused(&with("", "on_line_of = \"coral_belt\"\n"), &key("coral_belt", "on_line_of"), "own line");
    let chain = with("on_line_of = \"coral_belt\"\n", "on_line_of = \"point_intercept\"\n");
    let told = refused(&chain).problems;
    assert_eq!(told.len(), 2);
    assert!(told[0].key == key("point_intercept", "on_line_of") && told[0].message.contains("another's"), "{told:?}");
    for name in ["mark_minutes = 3", "find_minutes = 3", "line_stays = true"] {
        let text = with("", &format!("on_line_of = \"point_intercept\"\n{name}\n"));
        assert_refused(&text, &key("coral_belt", name.split(' ').next().unwrap()), "belongs to the method that lays");
    }
    assert_refused(&with("line_stays = true\n", ""), &key("point_intercept", "line_stays"), "nothing else");
    assert_refused(&with("mark_minutes = 700\n", ""), &key("point_intercept", "mark_minutes"), "out of range");
    assert_refused(
        &with("minutes_spread_percent = 120\n", ""),
        &key("point_intercept", "minutes_spread_percent"),
        "out of",
    );
    let told = loaded(&with("mark_minutes = 3\nminutes_spread_percent = 40\n", ""));
    assert!(told.remarks.iter().any(|remark| remark.contains("count with places")), "{:?}", told.remarks);
    assert_eq!(told.expedition.unwrap().methods[0].minutes_spread, 0.4);
    let marks = |text: &str| {
        let text = text.replace("[expedition]", "[visits]\nplaces = \"same_marks\"\n[expedition]");
        loaded(&text).expedition_assumptions.iter().filter(|told| told.about.contains("marks")).count()
    };
    assert_eq!((marks(&expedition("")), marks(&with("", "on_line_of = \"point_intercept\"\n"))), (2, 2));
    let aboard = |diver: &str, keys: &str| {
        expedition("").replace(&format!("name = \"{diver}\"\n"), &format!("name = \"{diver}\"\n{keys}"))
    };
    let changed = loaded(&aboard("Ben", "from_day = 4\nto_day = 8\n"));
    assert_eq!(
        changed.expedition.unwrap().crew_changes(),
        [(1, vec![(0, 1)]), (4, vec![(0, 1), (2, 3)]), (9, vec![(0, 1)])]
    );
    assert!(changed.remarks.iter().any(|remark| remark.contains("day 4, 9 for diving")), "{:?}", changed.remarks);
    assert_refused(&aboard("Ben", "from_day = 11\n"), "diver[2].from_day", "after the last day");
    assert_refused(&aboard("Ben", "from_day = 5\nto_day = 4\n"), "diver[2].to_day", "leaves on day 4");
    assert_refused(&aboard("Ben", "from_day = 0\n"), "diver[2].from_day", "out of range");
    let gap = aboard("Ben", "to_day = 4\n").replace("name = \"Eli\"\n", "name = \"Eli\"\nfrom_day = 6\n");
    // Who is aboard without the buddy is paired anew.
    let anew = loaded(&gap);
    let changes = [(1, vec![(2, 3)]), (5, vec![(0, 3)]), (6, vec![(0, 1)])];
    assert_eq!(anew.expedition.unwrap().crew_changes(), changes);
    assert!(anew.remarks.iter().any(|remark| remark.contains("made anew: Ana and Cato")), "{:?}", anew.remarks);
    let gap = gap.replace("name = \"Cato\"\n", "name = \"Cato\"\nto_day = 4\n");
    assert_refused(&gap, "diver", "from day 5 for diving on there are 0 pairs");
}

#[test]
fn targets_that_cannot_be() {
    let target = |keys: &str| {
        let text = expedition("");
        format!("{}[[target]]\n{keys}", &text[..text.find("[[target]]").unwrap()])
    };
    let coral = |keys: &str| target(&format!("indicator = \"hard_coral\"\n{keys}"));
    assert_refused(&target("").replace("[[target]]\n", ""), "target", "nothing is asked");
    assert_refused(&coral(""), "target[0]", "nothing of hard_coral is asked");
    assert_refused(&coral("see = false\n"), "target[0]", "nothing of hard_coral is asked");
    assert_refused(&coral("see = true\ncv_percent = 10\n"), "target[0]", "more than one thing");
    assert_refused(&coral("half_width = 3\n"), "target[0].half_width", "points of cover");
    assert_refused(&target("indicator = \"turff\"\ncv_percent = 10\n"), "target[0].indicator", "no indicator");
    assert_refused(&coral("cv_percent = 10\nchange = 1\n"), "target[0].change", "not that it shall be seen");
    assert_refused(&coral("see = true\nchange = 2\n"), "target[0].change", "no change 2");
    assert_refused(&coral("half_width_points = 3\npower = 0.9\n"), "target[0].power", "not that it shall be seen");
    assert_refused(&coral("see = true\npower = 0.4\n"), "target[0].power", "out of range");
    let often = coral("see = true\npower = 0.9\n");
    assert_refused(
        &format!("{often}[[target]]\nindicator = \"hard_coral\"\nsee = true\n"),
        "target[1]",
        "the same is asked of hard_coral twice",
    );
    let told = loaded(&often);
    let beside = Beside { expedition: told.expedition.clone(), ..Beside::default() };
    let again = loaded(&write(&told.study, &beside));
    assert_eq!(again.expedition.as_ref().unwrap().targets[0].power, Some(0.9));
    let remark = "as their own target says, in 100: hard_coral 90 (others 80";
    assert!(told.remarks.iter().any(|of| of.contains(remark)), "{:?}", told.remarks);
    assert!(loaded(&coral("see = true\n")).remarks.iter().all(|of| !of.contains("own target")));
    let two = coral("see = true\n").replace(CHANGE, &format!("{CHANGE}[[change]]\nfrom = 28\nto = 17\n"));
    assert_refused(&two, "target[0].change", "which shall be seen is not told");
    let second = loaded(&format!("{two}change = 2\n")).expedition.unwrap();
    assert_eq!(second.targets[0].asks, Asks::SeeChange(1));
    let turf = |asks: &str| {
        target(&format!("indicator = \"turf\"\n{asks}"))
            .replace(LINE, &format!("[[zone.category]]\nname = \"turf\"\ncover_percent = 20\n{LINE}"))
    };
    loaded(&turf("half_width_points = 4\n"));
    assert_refused(&turf("see = true\n"), "target[0].see", "no change of turf");
    let status = coral("see = true\n").replace(CHANGE, "").replace(HEAD, &format!("{HEAD}question = \"status\"\n"));
    assert_refused(&status, "target[0].see", "one visit has no change");
    loaded(&status.replace("see = true", "half_width_points = 4"));
    assert_refused(
        &coral("cv_percent = 10\n[[target]]\nindicator = \"hard_coral\"\ncv_percent = 5\n"),
        "target[1]",
        "twice",
    );
    let belt = turf("cv_percent = 10\n").replace(LINE, "[[method.coral_belt]]\n");
    assert_refused(&belt, "target[0].indicator", "no method reads turf");
    // Colonies are fewer where hard coral falls, but no smaller unless deaths strike by size.
    let of =
        |name: &str| target(&format!("indicator = \"{name}\"\nsee = true\n")).replace(LINE, "[[method.coral_belt]]\n");
    load_text("good.toml", &of("colony_density")).unwrap();
    let colonies = of("colony_mean_diameter");
    assert_refused(&colonies, "target[0].see", "no change of colony_mean_diameter");
    assert!(refused(&colonies).problems[0].remedy.contains("moves with hard_coral"));
}

#[test]
fn what_the_diving_officer_should_see_is_remarked() {
    let told = |more: &str, old: &str, new: &str| loaded(&expedition(more).replace(old, new)).remarks.join("\n");
    let usual = "lost_days_percent = 15\n";
    let untold =
        "To which depth Ana, Eli, Ben may dive is not told (depth_m), so that nothing keeps them from a site here.";
    let later_dives = reefwright::budget::diving::FIRST_DIVE_ONLY;
    assert_eq!(told(usual, "", ""), format!("{later_dives}\n{untold}"));
    assert_eq!(told(usual, "dives_a_day = 2\nsites_a_day = 2", "dives_a_day = 1\nsites_a_day = 1"), untold);
    assert!(told(usual, "dives_a_day = 2", "dives_a_day = 4").contains("4 dives a day of each diver is more than"));
    assert!(told(usual, "dives_a_day = 2", "dives_a_day = 5").contains("far more than"));
    assert!(told("", "", "").contains("not told (lost_days_percent)"));
    assert!(told("lost_days_percent = 0\n", "", "").contains("No day counts as lost"));
    let spare = told(usual, "[[diver]]\nname = \"Cato\"\ndepth_m = 20\n", "");
    assert!(spare.contains("3 divers make 1 pair; Ben is spare. Nobody dives alone."), "{spare}");
    assert!(told(usual, "\"crew\"", "\"as_the_diving_officer_decides\"").contains("left to the diving officer"));
    let all = [told("", "dives_a_day = 2", "dives_a_day = 5"), spare].concat().to_lowercase();
    assert!(!all.contains("safe") && !all.contains("complian"));
}

#[test]
fn all_that_is_wrong_is_told_at_once_in_the_order_of_the_text() {
    let text = format!("{HEAD}{ZONE}existing = 6\n{LINE}spacing_m = 11\n[[change]]\nfrom = 28\nto = 28\n");
    let keys: Vec<String> = refused(&text).problems.into_iter().map(|problem| problem.key).collect();
    assert_eq!(keys, ["zone[0].sites", "method.point_intercept[0].spacing_m", "change[0].to"]);
}

#[test]
fn usual_years_are_known_for_covers_only() {
    let years = "question = \"beyond_usual_years\"\n[variation]\nyear_points = 2\n";
    let told = refused(&format!("{HEAD}{years}{ZONE}{CHANGE}[[method.coral_belt]]\n"));
    assert_eq!(told.problems.len(), 1, "{}", told.render());
    assert_eq!(told.problems[0].key, "method.coral_belt[0]");
}

#[test]
fn json_of_the_same_shape_is_the_same_scenario() {
    let all = starter_with_all();
    for (name, text) in [(DEMO_NAME, DEMO), ("starter.toml", all.as_str())] {
        let value: toml::Table = toml::from_str(text).unwrap();
        let json = serde_json::to_string_pretty(&value).unwrap();
        let from_json = load_text("same.json", &json).unwrap_or_else(|error| panic!("{}", error.render()));
        let from_toml = load_text(name, text).unwrap();
        assert_eq!(from_json.study, from_toml.study);
        assert_eq!(from_json.expedition, from_toml.expedition);
        assert_eq!(from_json.remarks, from_toml.remarks);
        assert_eq!(from_json.origins, from_toml.origins);
    }
}

#[test]
fn json_errors_point_at_the_value_too() {
    let json = "{\n  \"statement_about\": \"all_such_reefs\",\n  \"zone\": [\n    {\"sites\": 8,\n     \"cover_percent\": 128}\n  ]\n}";
    let error = load_text("bad.json", json).unwrap_err();
    assert_eq!((error.problems[0].key.as_str(), error.line(&error.problems[0])), ("zone[0].cover_percent", 5));
    assert_eq!(&json[error.problems[0].place.clone()], "128");
}

#[test]
fn files_of_other_editors_are_read() {
    let text = format!("{HEAD}{ZONE}{LINE}{CHANGE}");
    let windows = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    assert_eq!(load_text("a.toml", &windows).unwrap().study, load_text("b.toml", &text).unwrap().study);
    let error = load_text("a.toml", &windows.replace("= 28\r\nbetween", "= 128\r\nbetween")).unwrap_err();
    assert_eq!(error.line(&error.problems[0]), 5);
    assert!(error.render().contains("128"), "{}", error.render());
}

/// Tables of the schema that a table may be, by their names in it.
fn tables_of(schema: &serde_json::Value, value: &serde_json::Value) -> Vec<String> {
    let mut tables = Vec::new();
    if let Some(name) = value["$ref"].as_str().and_then(|path| path.rsplit('/').next())
        && schema["$defs"][name]["properties"].is_object()
    {
        tables.push(name.to_owned());
    }
    let choices = ["anyOf", "oneOf", "allOf"].iter().filter_map(|key| value[*key].as_array()).flatten();
    choices.chain(value.get("items")).for_each(|inner| tables.extend(tables_of(schema, inner)));
    tables
}

/// Where each table of the schema may stand, by its name: "zone.animal" for `[[zone.animal]]`.
fn places_of_tables(schema: &serde_json::Value) -> BTreeMap<String, BTreeSet<String>> {
    let mut places: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut open = vec![(String::new(), String::new())];
    while let Some((table, place)) = open.pop() {
        if !places.entry(table.clone()).or_default().insert(place.clone()) {
            continue;
        }
        for (key, value) in table_of(schema, &table)["properties"].as_object().unwrap() {
            open.extend(tables_of(schema, value).into_iter().map(|inner| (inner, within(&place, key))));
        }
    }
    places
}

/// A table of the schema by its name; without one, the scenario itself.
fn table_of<'a>(schema: &'a serde_json::Value, name: &str) -> &'a serde_json::Value {
    if name.is_empty() { schema } else { &schema["$defs"][name] }
}

fn within(place: &str, key: &str) -> String {
    if place.is_empty() { key.to_owned() } else { format!("{place}.{key}") }
}

/// The keys and tables that a text shows, in force or behind a `#`: "zone.animal.name" for `name = ...` below
/// `[[zone.animal]]`, keys of inline tables too.
fn keys_shown(text: &str) -> BTreeSet<String> {
    let is_key = |word: &str| {
        !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "_.".contains(c))
    };
    let (mut table, mut shown) = (String::new(), BTreeSet::new());
    for line in text.lines().map(|line| line.trim_start_matches(['#', ' ']).trim_end()) {
        let header = line.trim_start_matches('[').trim_end_matches(']');
        if line.starts_with('[') && line.ends_with(']') && is_key(header) {
            table = header.to_owned();
            shown.insert(table.clone());
        } else if let Some((key, value)) = line.split_once(" = ").filter(|(key, _)| is_key(key)) {
            let place = within(&table, key);
            let inline = value.strip_prefix('{').unwrap_or("").split(',').filter_map(|part| part.split_once(" = "));
            shown.extend(inline.map(|(key, _)| within(&place, key.trim())));
            shown.insert(place);
        }
    }
    shown
}

/// The starter with all methods has each of them in force, and shows every key there is in a table of its own kind, in force
/// or behind a `#`.
#[test]
fn the_starter_with_all_shows_every_key_of_the_schema() {
    let (schema, all) = (schema(), starter_with_all());
    let shown = keys_shown(&all);
    // Of a table that is nested in one of many it is enough that it is named.
    let is_shown = |place: &str| {
        shown.contains(place)
            || shown.iter().any(|key| key.strip_prefix(place).is_some_and(|rest| rest.starts_with('.')))
    };
    let places = places_of_tables(&schema);
    assert!(places.len() > 20, "{places:?}");
    let hidden: Vec<String> = places
        .iter()
        .flat_map(|(table, places)| {
            let keys = table_of(&schema, table)["properties"].as_object().unwrap().keys();
            keys.filter(|key| !places.iter().any(|place| is_shown(&within(place, key))))
                .map(move |key| format!("{key} of {places:?}"))
        })
        .collect();
    assert!(hidden.is_empty(), "{hidden:?} not shown");
    let in_force: toml::Table = toml::from_str(&all).unwrap();
    for method in schema["$defs"]["MethodTables"]["properties"].as_object().unwrap().keys() {
        assert!(in_force["method"].get(method).is_some_and(|list| list.is_array()), "{method} is not in force");
    }
    // What is shown in another table does not count.
    let less = keys_shown(&all.replace("\nruler_cm = ", "\nrule_cm = "));
    assert!(shown.contains("method.coral_belt.ruler_cm") && !less.contains("method.coral_belt.ruler_cm"));
    assert!(shown.contains("zone.map.file") && shown.contains("zone.condition.pale_percent"));
    assert!(!shown.contains("zone.dive.file"));
}

#[test]
fn tables_with_the_wrong_brackets_are_explained() {
    let base = format!("{HEAD}{ZONE}{LINE}{CHANGE}");
    for (wrong, remedy) in [
        (base.replace("[[zone]]", "[zone]"), "[[zone]] with two brackets"),
        (base.replace("[[change]]", "[change]"), "[[change]] with two brackets"),
        (base.replace("[[method.point_intercept]]", "[method.point_intercept]"), "[[method.point_intercept]] with two"),
        (format!("{base}[[test]]\nalpha = 0.05\n"), "[test] with one bracket"),
        (expedition("").replace("[zone.dive]", "[[zone.dive]]"), "[zone.dive] with one bracket"),
        (
            format!("{LINE}[[method.point_intercept.work]]\nmove_minutes = 1\n"),
            "[method.point_intercept.work] with one",
        ),
        (base.replace("[[method.point_intercept]]", "[[methods.point_intercept]]"), "Did you mean `method`"),
        (base.replace("to = 22", "to = 22\nto = 23"), "each key once"),
        (base.replace("\"rim\"", "rim"), "texts in \"quotes\""),
        (base.replace("\"rim\"", "7"), "Write a text in quotes"),
    ] {
        let error = refused(&wrong);
        let remedies: Vec<&str> = error.problems.iter().map(|problem| problem.remedy.as_str()).collect();
        assert!(remedies.iter().any(|told| told.contains(remedy)), "{remedy}: {}", error.render());
    }
}

mod never_panics {
    use super::*;
    use proptest::prelude::*;
    use proptest::test_runner::RngSeed;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_125), ..ProptestConfig::default() })]

        /// Lines of the starter taken out, doubled or swapped for other lines, and bytes cut out of it: accepted or refused
        /// with something to tell, in TOML and in JSON.
        #[test]
        fn a_mangled_scenario_is_told_apart(
            places in prop::collection::vec((0_usize..400, 0_usize..400, 0_u8..3), 1..6),
            cut in (0_usize..8000, 0_usize..40),
        ) {
            let mut lines: Vec<&str> = STARTER.lines().collect();
            for (one, other, what) in places {
                let (one, other) = (one % lines.len(), other % lines.len());
                match what {
                    0 => drop(lines.remove(one)),
                    1 => lines.insert(one, lines[other]),
                    _ => lines.swap(one, other),
                }
            }
            let mut text = lines.join("\n");
            let start = (0..=cut.0.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap();
            let end = (start + cut.1..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(start);
            for _ in 0..2 {
                for name in ["mangled.toml", "mangled.json"] {
                    if let Err(error) = load_text(name, &text) {
                        prop_assert!(!error.problems.is_empty());
                        prop_assert!(error.render().contains("mangled"));
                    }
                }
                text.replace_range(start..end, "");
            }
        }
    }
}

/// Mistakes that are easily made, each told as what it is.
#[test]
fn commas_percent_weights_and_categories_of_the_wrong_zone() {
    let told =
        |text: &str| load_text("s.toml", text).unwrap_err().render().split_whitespace().collect::<Vec<_>>().join(" ");
    let least = "statement_about = \"all_such_reefs\"\n[[zone]]\nname = \"a\"\nsites = 8\ncover_percent = 28\n\
        [[method.point_intercept]]\n[[change]]\nfrom = 28\nto = 22\n";
    assert!(load_text("s.toml", least).is_ok());
    let comma = told(&least.replace("cover_percent = 28", "cover_percent = 32,5 # mean"));
    assert!(comma.contains("32,5 has a decimal comma") && comma.contains("with a point: 32.5."), "{comma}");
    // A list without brackets of more than two is none.
    let list = told(&least.replace("cover_percent = 28", "cover_percent = 3,2,5"));
    assert!(!list.contains("decimal comma"), "{list}");
    let weight = told(&least.replace("sites = 8", "sites = 8\nweight = 50"));
    assert!(weight.contains("weights of all zones sum to 1, so that 50 % is 0.5"), "{weight}");
    // The second zone stands before the categories of the first.
    let category = |name: &str| format!("[[zone.category]]\nname = \"{name}\"\ncover_percent = 20\n");
    let two =
        format!("[[zone]]\nname = \"b\"\nsites = 8\ncover_percent = 28\n{}{}", category("sand"), category("sand"));
    let stolen = told(&least.replace("[[method", &format!("{two}[[method")));
    assert!(stolen.contains("belongs to the last [[zone]] above it"), "{stolen}");
    // With what is taken for what every zone needs the same, and the one that is missing is named.
    let first = least.replace("[[method", &format!("{}[[method", category("sand")));
    let second = format!("[[zone]]\nname = \"b\"\nsites = 8\ncover_percent = 28\n{}", category("turf"));
    let both = first.replace("[[method", &format!("{second}[[method"))
        + "[observers.misidentification]\nhard_coral = { hard_coral = 0.95, sand = 0.05 }\n";
    let names = told(&both);
    assert!(names.contains("b has no sand") && names.contains("a has no turf"), "{names}");
}

/// Two zones at the same places: what can stand beside what, each refused at its key; what is assumed is told as such.
#[test]
fn zones_at_the_same_places() {
    let zone = |name: &str, more: &str| ZONE.replace("rim", name) + more;
    let scenario = |head: &str, zones: &[String]| format!("{head}{}{LINE}{CHANGE}", zones.concat());
    let deep = || zone("deep slope", "");
    let crest = |more: &str| zone("crest", &format!("same_places_as = \"deep slope\"\n{more}"));
    let good = load_text("good.toml", &scenario(HEAD, &[deep(), crest("")])).unwrap();
    let same = good.study.zones[1].same_places.as_ref().unwrap();
    assert_eq!((same.as_zone.as_str(), same.correlation), ("deep slope", 0.5));
    assert_eq!(good.study.strata(), [[0, 1]]);
    let told = good.assumptions.iter().find(|told| told.about.contains("same places")).unwrap();
    assert!(told.value.contains("0.5 (default)") && told.origin == reefwright::scenario::Origin::Assumed, "{told:?}");
    let written = crest("place_correlation = 0.8\nsource = \"pilot\"\n");
    let written = load_text("good.toml", &scenario(HEAD, &[written, deep()])).unwrap();
    assert_eq!(written.study.strata(), [[1, 0]]);
    let told = written.assumptions.iter().find(|told| told.about.contains("same places")).unwrap();
    assert!(told.value == "0.8" && told.origin != reefwright::scenario::Origin::Assumed, "{told:?}");

    let refuse = |zones: &[String], key: &str, words: &str| assert_refused(&scenario(HEAD, zones), key, words);
    for bad in ["-0.1", "1.1", "nan"] {
        let text = scenario(HEAD, &[deep(), crest(&format!("place_correlation = {bad}\n"))]);
        let told = refused(&text).render();
        assert!(told.contains("place_correlation") && told.contains("at least 0 and at most 1"), "{told}");
    }
    refuse(&[deep(), zone("crest", "place_correlation = 0.4\n")], "zone[1].place_correlation", "which other zone");
    let other = |name: &str| zone("crest", &format!("same_places_as = \"{name}\"\n"));
    refuse(&[deep(), other("wall")], "zone[1].same_places_as", "no other zone is called");
    refuse(&[deep(), other("crest")], "zone[1].same_places_as", "no other zone is called");
    let third = |of: &str| zone("flat", &format!("same_places_as = \"{of}\"\n"));
    refuse(&[deep(), crest(""), third("crest")], "zone[2].same_places_as", "shares the places of another zone itself");
    refuse(&[deep(), crest(""), third("deep slope")], "zone[2].same_places_as", "already");
    let fewer = crest("").replace("sites = 8", "sites = 6");
    refuse(&[deep(), fewer], "zone[1].sites", "but deep slope has 8");
    let sand = "[[zone.category]]\nname = \"sand\"\ncover_percent = 20\nbetween_sites_points = 5\n";
    let reported = format!("{HEAD}also_report = [\"sand\"]\n");
    let turf = sand.replace("sand", "turf") + sand;
    let other_order = scenario(&reported, &[zone("deep slope", sand), crest(&turf)]);
    assert_refused(&other_order, "zone[1].same_places_as", "other kinds");
    load_text("good.toml", &scenario(&reported, &[zone("deep slope", sand), crest(sand)])).unwrap();

    let both = [deep(), crest("")];
    let urchins = "[[zone.animal]]\nname = \"urchin\"\ndensity_per_100_m2 = 20\n";
    let counted = [zone("deep slope", urchins), crest(urchins)].concat();
    let belts = "[[method.invertebrate_belt]]\n[[change]]\nindicator = \"urchin\"\nfrom = 20\nto = 10\n";
    let test = "[test]\nkind = \"quasi_poisson\"\n";
    assert_refused(&format!("{HEAD}{test}{counted}{belts}"), "test.kind", "no count");
    load_text("good.toml", &format!("{HEAD}[test]\nkind = \"permutation\"\n{counted}{belts}")).unwrap();
    let each = HEAD.replace("all_such_reefs", "each_reef");
    assert_refused(&scenario(&each, &both), "statement_about", "whole places");
    let died = format!("{}[change.deaths]\nodds_at_twice_the_size = 0.5\n", scenario(HEAD, &both));
    assert_refused(&died, "change[0].deaths", "storm");

    // What is written comes back.
    let beside = Beside { origins: written.origins.clone(), ..Beside::default() };
    assert_eq!(load_text("again.toml", &write(&written.study, &beside)).unwrap().study, written.study);
}

/// A cover of 0.25 is blamed itself where no spread fits it, and doubted where one does.
#[test]
fn a_cover_that_was_meant_as_a_share_is_told_so() {
    let text = format!("{HEAD}{ZONE}{LINE}{CHANGE}").replace("cover_percent = 28", "cover_percent = 0.25");
    assert_refused(&text, "zone[0].cover_percent", "probably meant as a share, 25 %");
    let small = text.replace("between_sites_points = 9", "between_sites_points = 0.1\nsite_year_points = 0.05");
    let small = small.replace("from = 28\nto = 22", "from = 0.25\nto = 0.2");
    let doubts = loaded(&small).doubts;
    let keys: Vec<&str> = doubts.iter().map(|doubt| doubt.key.as_str()).collect();
    assert_eq!(keys, ["zone[0].cover_percent", "change[0].from"]);
}

/// Minutes that are not written go with the size of the first unit; how those of others come about is told.
#[test]
fn minutes_that_are_not_written_go_with_what_there_is_to_read() {
    let minutes = |method: &str| {
        let loaded = loaded(&format!("{HEAD}{ZONE}{method}"));
        let minutes = loaded.study.methods[0].minutes;
        let told = loaded.assumptions.iter().any(|told| told.about.contains("of other dimensions"));
        (minutes.lay, minutes.read, told)
    };
    assert_eq!(minutes("[[method.point_intercept]]\n"), (3.0, 12.0, false));
    assert_eq!(minutes("[[method.point_intercept]]\nlength_m = 20\nspacing_m = [0.5, 1]\n"), (6.0, 4.8, true));
    assert_eq!(minutes("[[method.photo_belt]]\nlength_m = 25\npoints = [50, 100]\n"), (7.5, 12.5, true));
    let urchins = "[[zone.animal]]\nname = \"urchin\"\ndensity_per_100_m2 = 8\n[[method.invertebrate_belt]]\n";
    assert_eq!(minutes(urchins), (3.0, 5.0, false));
    assert_eq!(minutes(&format!("{urchins}length_m = 25\nwidth_m = 2\n")), (7.5, 25.0, false));
}

/// What moves the answer most stands first among what is assumed.
#[test]
fn assumptions_are_in_the_order_of_their_weight() {
    let told = loaded(&format!("{HEAD}{ZONE}{LINE}{CHANGE}")).assumptions;
    let place = |words: &str| {
        let found = told.iter().position(|told| told.about.contains(words));
        found.unwrap_or_else(|| panic!("{words}: {told:?}"))
    };
    let order = [
        "spread of a site's years",
        "hard-coral cover",
        "colony renewal",
        "observers",
        "minutes to read",
        "lines point",
    ];
    assert!(order.map(place).windows(2).all(|pair| pair[0] < pair[1]), "{told:?}");
    let dead = format!("{HEAD}also_report = [\"colonies_with_dead_parts\"]\n{ZONE}[[method.coral_belt]]\n{CHANGE}");
    let dead = loaded(&dead).assumptions;
    let told = dead.iter().find(|told| told.about == "partial mortality of colonies").unwrap();
    assert!(told.value.contains("of 15 cm 56 in 100") && told.value.contains("[zone.partial_mortality]"), "{told:?}");
}

/// Partial mortality of a zone: every number with its origin, ranges, and what is left out as in the records.
#[test]
fn partial_mortality_is_set_with_its_origins() {
    use reefwright::reef::colonies::PartialMortality;
    let of = |keys: &str| format!("{HEAD}{ZONE}[zone.partial_mortality]\n{keys}[[method.coral_belt]]\n{CHANGE}");
    let told =
        loaded(&of("colonies_percent = 40\nrecent_percent = 5\nsource = { colonies_percent = \"pilot: mine.csv\" }\n"));
    let law = told.study.zones[0].partial_mortality;
    let (colonies, dead) = law.at_reference();
    assert!((colonies - 0.40).abs() < 1e-12 && (law.recent - 0.05).abs() < 1e-12);
    assert_eq!(dead, PartialMortality::USUAL.at_reference().1);
    assert_eq!(law.rise_per_doubling, PartialMortality::USUAL.rise_per_doubling);
    let about = |words: &str| told.assumptions.iter().find(|told| told.about.contains(words)).unwrap().clone();
    let own = about("colonies of 15 cm with dead parts");
    assert!(matches!(own.origin, Origin::Pilot(_)) && own.value.starts_with("40"), "{own:?}");
    let left_out = about("dead share of a colony of 15 cm");
    assert!(left_out.origin == Origin::Assumed && left_out.value.contains("(default)"), "{left_out:?}");
    assert!(told.assumptions.iter().all(|told| told.about != "partial mortality of colonies"));
    for (keys, key, range) in [
        ("colonies_percent = 100\n", "zone[0].partial_mortality.colonies_percent", "below 100"),
        ("dead_percent = 0\n", "zone[0].partial_mortality.dead_percent", "above 0"),
        ("rise_per_doubling = 4\n", "zone[0].partial_mortality.rise_per_doubling", "at most 3"),
        ("recent_percent = -1\n", "zone[0].partial_mortality.recent_percent", "at least 0"),
    ] {
        let error = load_text("reef.toml", &of(keys)).unwrap_err();
        let told = error.render();
        assert!(error.problems[0].key == key && told.contains(range), "{told}");
    }
    // What is written comes back as it was.
    let again = reefwright::scenario::write(&told.study, &Default::default());
    assert!(again.contains("[zone.partial_mortality]\ncolonies_percent = 40\nrecent_percent = 5\n"), "{again}");
    assert_eq!(load_text("reef.toml", &again).unwrap().study.zones[0].partial_mortality, law);
}

/// Condition of the colonies of a zone: every number with its origin, what cannot be together, and where it is told without a
/// table, what is taken instead.
#[test]
fn the_condition_of_colonies_is_set_with_its_origins() {
    use reefwright::reef::colonies::ConditionShares;
    let of = |keys: &str| {
        let told = "also_report = [\"colonies_bleached\", \"colonies_pale\", \"colonies_diseased\"]\n";
        format!("{HEAD}{told}{ZONE}{keys}[[method.coral_belt]]\n{CHANGE}")
    };
    let table = |keys: &str| of(&format!("[zone.condition]\n{keys}"));
    let told = loaded(&table("bleached_percent = 40\nsource = { bleached_percent = \"pilot: mine.csv\" }\n"));
    let shares = told.study.zones[0].condition;
    assert_eq!(shares, ConditionShares { bleached: 0.4, ..ConditionShares::USUAL });
    let about = |words: &str| told.assumptions.iter().find(|told| told.about.contains(words)).unwrap().clone();
    let own = about("colonies that are bleached");
    assert!(matches!(own.origin, Origin::Pilot(_)) && own.value.starts_with("40"), "{own:?}");
    let left_out = about("colonies that are pale");
    assert!(left_out.origin == Origin::Assumed && left_out.value.contains("(default)"), "{left_out:?}");
    assert!(told.assumptions.iter().all(|told| told.about != "condition of colonies"));
    // What is known of sites is said of conditions, not of sizes, of which nothing is told.
    assert!(about("how the condition of colonies differs").value.contains("by chance alone"));
    assert!(told.assumptions.iter().all(|told| told.about != "how colonies of sites differ"));
    let usual = loaded(&of("")).assumptions;
    let told_usual = usual.iter().find(|told| told.about == "condition of colonies").unwrap();
    assert!(
        told_usual.value.contains("5 % of them pale") && told_usual.value.contains("[zone.condition]"),
        "{told_usual:?}"
    );
    assert_refused(&table("pale_percent = 101\n"), "zone[0].condition.pale_percent", "");
    assert_refused(&table("diseased_percent = -1\n"), "zone[0].condition.diseased_percent", "");
    assert_refused(&table("pale_percent = 60\nbleached_percent = 40\n"), "zone[0].condition", "101 % together");
    loaded(&table("pale_percent = 60\nbleached_percent = 40\ndiseased_percent = 0\n"));
    // What is written comes back as it was.
    let again = reefwright::scenario::write(&told.study, &Default::default());
    assert!(again.contains("[zone.condition]\nbleached_percent = 40\n"), "{again}");
    assert_eq!(load_text("reef.toml", &again).unwrap().study.zones[0].condition, shares);
}

/// How colonies of sites differ: units, origins, what cannot be, and what is written comes back.
#[test]
fn what_sites_differ_by_in_their_colonies_is_set_with_its_origins() {
    let of = |keys: &str| format!("{HEAD}{ZONE}[zone.colony_variation]\n{keys}[[method.coral_belt]]\n{CHANGE}");
    let keys = "ln_diameter_between_sites = 0.3\nln_diameter_site_year = 0.2\ndead_parts_between_sites_points = 12\n\
                source = \"pilot: mine.csv\"\n";
    let told = loaded(&of(keys));
    let variation = told.study.zones[0].colony_variation;
    assert_eq!((variation.ln_diameter.between_sites, variation.ln_diameter.site_year), (0.3, 0.2));
    assert_eq!((variation.dead_parts.between_sites, variation.dead_parts.site_year), (0.12, 0.0));
    let own = told.assumptions.iter().find(|told| told.about.contains("sites of the share of colonies")).unwrap();
    assert!(matches!(own.origin, Origin::Pilot(_)) && own.value.contains("12 points"), "{own:?}");
    let between = "zone[0].colony_variation.ln_diameter_between_sites";
    let dead = "zone[0].colony_variation.dead_parts_between_sites_points";
    for (keys, key, range) in [
        ("ln_diameter_between_sites = 3\n", between, "at most 2"),
        ("ln_diameter_site_year = 0.1\n", between, "at least 0.1"),
        ("dead_parts_between_sites_points = 5\ndead_parts_site_year_points = 6\n", dead, "at least 6"),
        ("dead_parts_between_sites_points = 30\n", dead, "at most 22"),
    ] {
        let error = load_text("reef.toml", &of(keys)).unwrap_err();
        let told = error.render();
        assert!(error.problems[0].key == key && told.contains(range), "{told}");
    }
    let again = reefwright::scenario::write(&told.study, &Default::default());
    assert_eq!(load_text("reef.toml", &again).unwrap().study.zones[0].colony_variation, variation);
}

/// What says nothing by itself is refused, with the key it needs.
#[test]
fn keys_that_need_another_are_refused_alone() {
    let belts = "[[method.coral_belt]]\nunits = 2\n";
    let animal = "[[zone.animal]]\nname = \"urchin\"\ndensity_per_100_m2 = 5\n";
    let recruits = "[zone.recruits]\ndensity_per_m2 = 5\n";
    let counted = "[[method.invertebrate_belt]]\nunits = 2\n[[method.recruit_quadrats]]\nunits = 2\n";
    let cases = [
        ("method.coral_belt[0].seen_slope", format!("{belts}seen_slope = 3\n"), "half_seen_cm = 4\n"),
        ("zone[0].animal[0].group_spread_m", format!("{animal}group_spread_m = 1\n"), "group_size = 4\n"),
        ("zone[0].animal[0].patch_scale_m", format!("{animal}patch_scale_m = 20\n"), "patch_sd = 1\n"),
        ("zone[0].animal[0].patch_scale_m", format!("{animal}patch_scale_m = 20\n"), "patch_k = 1\n"),
        ("zone[0].recruits.group_spread_m", format!("{recruits}group_spread_m = 1\n"), "group_size = 4\n"),
        ("zone[0].recruits.patch_scale_m", format!("{recruits}patch_scale_m = 20\n"), "patch_k = 1\n"),
    ];
    for (key, table, needed) in cases {
        let others = if table.starts_with("[zone.recruits]") { animal } else { recruits };
        let zone = |more: &str| match table.starts_with("[[method") {
            true => format!("{HEAD}{ZONE}{table}{more}{CHANGE}"),
            false => format!("{HEAD}{ZONE}{table}{more}{others}{counted}{CHANGE}"),
        };
        let error = load_text("reef.toml", &zone("")).expect_err(key);
        assert_eq!(error.problems.len(), 1, "{}", error.render());
        let problem = &error.problems[0];
        assert_eq!(problem.key, key);
        let name = needed.split(' ').next().unwrap();
        assert!(problem.remedy.contains(name) && problem.allowed.contains(name), "{problem:?}");
        load_text("reef.toml", &zone(needed)).unwrap_or_else(|error| panic!("{}", error.render()));
    }
}
