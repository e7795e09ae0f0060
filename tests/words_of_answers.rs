//! What an answer says beside its numbers: honest numbers of sites, photographs read ashore, too few trials, reefs that
//! are only assumed, years that a pilot hardly saw.

use assert_cmd::Command;
use reefwright::scenario::load_text;
use std::fs;
use tempfile::TempDir;

const TWO_ZONES: &str = "statement_about = \"all_such_reefs\"\n\
    [[zone]]\nname = \"crest\"\nsites = 12\ncover_percent = 30\nbetween_sites_points = 9\nsite_year_points = 2.5\nreef = \"fore_reef\"\nlength_m = 40\nwidth_m = 10\n\
    [[zone]]\nname = \"slope\"\nsites = 14\ncover_percent = 26\nbetween_sites_points = 9\nsite_year_points = 2.5\nreef = \"fore_reef\"\n";
const CHANGE: &str = "[[change]]\nfrom = 28\nto = 22\n";
const LINES: &str = "[[method.point_intercept]]\nunits = [2, 6]\n";
const BELTS: &str = "[[method.photo_belt]]\nunits = [2, 6]\npoints = [100, 200]\n";

/// Standard output and standard error of a command on a scenario, with few trials.
fn told(folder: &TempDir, scenario: &str, arguments: &[&str]) -> (String, String) {
    fs::write(folder.path().join("reef.toml"), scenario).unwrap();
    let mut command = Command::cargo_bin("reefwright").unwrap();
    let output = command.current_dir(folder.path()).args(arguments).output().unwrap();
    let (out, error) = (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert!(output.status.success(), "{arguments:?}: {error}");
    (out, error)
}

fn one_paragraph(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const CURVES: [&str; 5] = ["curves", "reef.toml", "--trials", "64", "--quiet"];

#[test]
fn zones_with_different_numbers_of_sites_have_no_single_number() {
    let folder = TempDir::new().unwrap();
    let scenario = format!("{TWO_ZONES}{CHANGE}{LINES}");
    let (out, _) = told(&folder, &scenario, &CURVES);
    assert!(out.lines().any(|line| line.starts_with("all") && line.contains(" 12-14 ")), "{out}");
    let (json, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let rows = value["rows"].as_array().unwrap();
    let of = |zone: &str| rows.iter().find(|row| row["zone"] == zone).unwrap();
    assert_eq!((&of("slope")["sites"], &of("slope")["sites_in_zones"]), (&14.into(), &serde_json::json!([14])));
    assert!(of("all")["sites"].is_null() && of("all")["sites_in_zones"] == serde_json::json!([12, 14]));
    let page = fs::read_to_string(folder.path().join("reefwright-report/report.html")).unwrap();
    assert!(page.contains("all zones together, 12-14 sites in each"), "the title of the panel");
    let (alike, _) = told(&folder, &scenario.replace("= 12\n", "= 14\n"), &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&alike).unwrap();
    assert!(value["rows"].as_array().unwrap().iter().all(|row| row["sites"] == 14));
}

#[test]
fn photographs_are_read_ashore_and_that_is_said() {
    let folder = TempDir::new().unwrap();
    let scenario = format!("{TWO_ZONES}{CHANGE}{BELTS}");
    let (out, _) = told(&folder, &scenario, &CURVES);
    assert!(one_paragraph(&out).contains("reading photographs ashore is not counted"), "{out}");
    let with_minutes = scenario + "ashore_minutes = 20\n";
    let (out, _) = told(&folder, &with_minutes, &CURVES);
    assert!(one_paragraph(&out).contains("reading ashore comes on top (20 minutes a belt)"), "{out}");
    let page = fs::read_to_string(folder.path().join("reefwright-report/report.html")).unwrap();
    assert!(page.contains("ashore<small>minutes a site"));
    let (json, _) = told(&folder, &with_minutes, &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    for row in value["rows"].as_array().unwrap() {
        // Twice the points are twice the work ashore; minutes under water stay their own.
        let each = 20.0 * row["dimensions"]["points"].as_f64().unwrap() / 100.0;
        assert_eq!(row["ashore_minutes"].as_f64(), Some(each * row["units"].as_f64().unwrap()), "{row}");
    }
    let (json, _) = told(&folder, &format!("{TWO_ZONES}{CHANGE}{LINES}"), &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert!(value["rows"].as_array().unwrap().iter().all(|row| row["ashore_minutes"].is_null()));
}

#[test]
fn too_few_trials_to_judge_false_alarms_are_told() {
    let folder = TempDir::new().unwrap();
    let scenario = format!("{TWO_ZONES}{CHANGE}{LINES}");
    let (few, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    assert!(one_paragraph(&few).contains("With 64 trials false alarms cannot be judged"), "{few}");
    assert!(one_paragraph(&few).contains("at least 900 trials (--trials 900"), "{few}");
    let (enough, _) = told(&folder, &scenario, &["curves", "reef.toml", "--trials", "900", "--quiet", "--json"]);
    assert!(!enough.contains("cannot be judged"), "{enough}");
}

#[test]
fn a_status_has_no_change_and_no_interval_beyond_what_can_be() {
    let folder = TempDir::new().unwrap();
    let zone = "[[zone]]\nsites = 2\ncover_percent = 30\nbetween_sites_points = 20\nreef = \"lagoon_bommies\"\n";
    let scenario =
        format!("statement_about = \"all_such_reefs\"\n{zone}[[method.point_intercept]]\nunits = [1, 2, 6]\n");
    let (out, _) = told(&folder, &scenario, &CURVES);
    assert!(out.contains("half-width") && !out.contains("change"), "{out}");
    assert!(out.contains("> 50"), "{out}");
    let page = fs::read_to_string(folder.path().join("reefwright-report/report.html")).unwrap();
    assert!(!page.contains(">change<small>"));
    assert!(page.contains("Intervals wider than a cover can vary are left out."));
}

#[test]
fn a_reef_of_unknown_kind_is_told_beside_its_picture() {
    let folder = TempDir::new().unwrap();
    let unknown = format!("{TWO_ZONES}{CHANGE}{LINES}").replacen("reef = \"fore_reef\"", "reef = \"unknown\"", 1);
    let (_, error) = told(&folder, &unknown, &["view", "reef.toml", "--out", "views"]);
    assert!(error.contains("the reef of crest is like is not known"), "{error}");
    assert!(!error.contains("slope"), "{error}");
    let svg = fs::read_to_string(folder.path().join("views/reef-1-crest.svg")).unwrap();
    let (_, silent) = told(&folder, &unknown, &["view", "reef.toml", "--out", "views", "--quiet"]);
    assert!(svg.contains("is not known") && silent.is_empty(), "{silent}");
}

#[test]
fn years_that_drift_alone_explains_are_told_with_every_answer() {
    let folder = TempDir::new().unwrap();
    let quiet = format!("{TWO_ZONES}{CHANGE}{LINES}").replacen("site_year_points = 2.5", "site_year_points = 0.1", 1);
    let (out, _) = told(&folder, &quiet, &[&CURVES[..], &["--json"]].concat());
    let words = one_paragraph(&out);
    assert!(words.contains("crest: a site's own years (SD 0.1 points) move sites no further than the drift"), "{out}");
    assert!(!words.contains("slope: a site's own years"), "{out}");
}

#[test]
fn the_scenario_of_a_pilot_says_which_reef_is_only_the_nearest() {
    let folder = TempDir::new().unwrap();
    let data = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/pilot_lines.csv");
    let pilot = ["pilot", data, "--visit", "year", "--hits", "coral_points", "--length", "10", "--same-marks"];
    told(&folder, "", &[&pilot[..], &["--scenario", "atolls.toml"]].concat());
    let (out, _) = told(&folder, "", &["check", "atolls.toml"]);
    let from_pilot = out.split("From a pilot").nth(1).unwrap();
    assert!(from_pilot.contains("nearest named reef: "), "{out}");
    assert!(from_pilot.contains("years between the visits") && from_pilot.contains("sites surveyed"), "{out}");
    let (out, _) = told(&folder, "", &["curves", "atolls.toml", "--trials", "64", "--quiet", "--json"]);
    assert!(one_paragraph(&out).contains("upper end of its interval"), "{out}");
}

/// A change of coral moves the bottom that recruits have: told in their own unit, at what it is for them.
#[test]
fn what_a_change_of_coral_does_to_recruits_is_told_in_recruits() {
    let folder = TempDir::new().unwrap();
    let zone = "[[zone]]\nsites = 6\ncover_percent = 30\nreef = \"fore_reef\"\n[zone.recruits]\ndensity_per_m2 = 10\n";
    let change = "[[change]]\nfrom = 30\nto = 15\n";
    let method = "[[method.recruit_quadrats]]\nunits = [1, 4]\n";
    let scenario = format!("statement_about = \"all_such_reefs\"\n{zone}{change}{method}");
    let (out, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    let words = one_paragraph(&out);
    let rise =
        "a rise of recruit density from 7 to 8.5 per m2 (21 % of what was there), which a change of hard coral brings,";
    assert!(words.contains(rise), "{out}");
    let value: serde_json::Value = serde_json::from_str(&out).unwrap();
    let row = &value["rows"][0];
    assert_eq!((row["method"].as_str(), row["unit"].as_str()), (Some("recruit_quadrats"), Some("per m2")), "{row}");
    assert_eq!(row["dimensions"], serde_json::json!({ "length_m": 10.0, "quadrat_m": 0.25, "every_m": 1.0 }));
}

/// A folder holds the figures of its own report alone, and what others put there.
#[test]
fn figures_of_the_last_report_do_not_stay() {
    let folder = TempDir::new().unwrap();
    let figures = folder.path().join("reefwright-report/figures");
    let names = || fs::read_dir(&figures).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    told(&folder, &format!("{TWO_ZONES}{CHANGE}{BELTS}"), &CURVES);
    assert!(names().any(|name| name.contains("photo-belt")));
    fs::write(figures.join("mine.png"), "mine").unwrap();
    told(&folder, &format!("{TWO_ZONES}{CHANGE}{LINES}"), &CURVES);
    assert!(!names().any(|name| name.contains("photo-belt")) && names().any(|name| name.contains("point-intercept")));
    assert!(names().any(|name| name == "mine.png"));
}

/// What else moves the number of coral belts, and what the same marks are worth, is by the formula of coral belts.
#[test]
fn coral_belts_are_varied_by_their_own_formula() {
    let folder = TempDir::new().unwrap();
    let belts = "[[method.coral_belt]]\nunits = [2, 6]\n";
    let (json, _) = told(&folder, &format!("{TWO_ZONES}{CHANGE}{belts}"), &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let years = value["sensitivity"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["component"] == "how far reefs move between years" && one["zone"] == "slope");
    let [smaller, given] = ["smaller", "as_given"].map(|key| years.unwrap()[key].as_u64().unwrap());
    assert!(0 < smaller && smaller <= given, "{years:?}");
}

/// Sizes as in the US Virgin Islands records (median 14.3 cm, SD of ln 1.03; Ennis et al. 2020): counting all that touch a
/// belt of 10 x 1 m writes about 28 % too many (computed; the note's own law is cut at 4 m and rounded by the ruler), and
/// what touches the frame of a quadrat 16.5 % too many recruits of 2 cm and 34.0 % of 4 cm (computed).
#[test]
fn what_edges_do_to_numbers_is_said() {
    let folder = TempDir::new().unwrap();
    let scenario = "statement_about = \"all_such_reefs\"\n[[zone]]\nsites = 8\nreef = \"fore_reef\"\ncover_percent = 12\n\
        diameter_median_m = 0.143\ndiameter_ln_sd = 1.03\ndiameter_max_m = 4\n[zone.recruits]\ndensity_per_m2 = 9\n\
        [[method.coral_belt]]\nedge = \"any_part_in\"\nunits = 2\n[[method.recruit_quadrats]]\nunits = 2\n";
    let (out, _) = told(&folder, scenario, &["curves", "reef.toml", "--trials", "20", "--quiet", "--json"]);
    let text = one_paragraph(&out);
    let percent = text.split(" % too many)").next().and_then(|before| before.rsplit('(').next()).unwrap();
    let percent: f64 = percent.parse().unwrap_or_else(|_| panic!("{percent}"));
    assert!((26.0..=31.0).contains(&percent), "{percent}");
    assert!(text.contains("writes 16.5 % too many of 2 cm and 34.0 % of 4 cm (by formula)"), "{text}");
}

/// Totals and sizes, in one scenario with lines: each row says by what it is tested, ratios are told in percent, and sizes have
/// rates alone.
#[test]
fn tests_of_totals_and_sizes_are_told() {
    let folder = TempDir::new().unwrap();
    let head = "statement_about = \"all_such_reefs\"\nalso_report = [\"colony_size_structure\"]\n[test]\nkind = \"quasi_poisson\"\n";
    let zones = TWO_ZONES.split_once('\n').unwrap().1;
    let belts = "[[method.coral_belt]]\nunits = [1, 2]\n";
    let scenario = format!("{head}{zones}{CHANGE}{LINES}{belts}");
    let (json, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let tests = |indicator: &str| -> Vec<String> {
        let rows = value["rows"].as_array().unwrap().iter().filter(|row| row["indicator"] == indicator);
        let mut tests: Vec<String> = rows.map(|row| row["test"].as_str().unwrap().to_owned()).collect();
        tests.dedup();
        tests
    };
    assert_eq!(tests("hard_coral"), ["paired_t"]);
    assert_eq!(tests("colony_density"), ["quasi_poisson"]);
    assert_eq!(tests("colony_size_structure"), ["permutation"]);
    let notes = value["notes"].as_array().unwrap();
    let note = |about: &str| notes.iter().find(|note| note["about"] == about).unwrap()["text"].as_str().unwrap();
    assert!(note("Changes of colony density").contains("% less to "), "{notes:?}");
    assert!(note("Size structure").contains("no interval and no number of belts that would do"));
    let (out, _) = told(&folder, &scenario, &CURVES);
    let block: Vec<&str> = out.lines().skip_while(|line| !line.starts_with("Colony size structure")).take(4).collect();
    assert!(block.len() == 4 && block[1].contains("falsely") && block[3].contains("28 to 22"), "{out}");
    let reports = folder.path().join("reefwright-report");
    let page = fs::read_to_string(reports.join("report.html")).unwrap();
    assert!(one_paragraph(&page).contains("Wald test of the ratio of site totals"), "the methods text");
    assert!(page.contains("Kolmogorov") && one_paragraph(&page).contains("of size structures as an approximation"));
    // Nothing is out of reach where nothing moves: what is seen are false alarms.
    assert!(page.contains("Colony size structure does not move with"), "the title of its figure");
    let csv = fs::read_to_string(reports.join("designs.csv")).unwrap();
    let header = csv.lines().next().unwrap();
    assert!(header.contains(",seen,") && header.ends_with(",scale,ratio_factor,change_of"), "{header}");
    assert!(csv.lines().any(|line| line.starts_with("colony_size_structure,") && line.ends_with(",,hard_coral")));
    let (checked, _) = told(&folder, &scenario, &["check", "reef.toml"]);
    let words = one_paragraph(&checked);
    assert!(words.contains("compared by quasi_poisson; whatever else is reported, by paired_t."), "{checked}");
    assert!(words.contains("colony_size_structure is tested by permutation"), "{checked}");
}

/// A mapped mosaic: the bias has room on the screen, and the picture has the colours of the map's own legend.
#[test]
fn a_mosaic_is_told_whole_and_drawn_in_its_own_colours() {
    let folder = TempDir::new().unwrap();
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/mapped_mosaic.toml");
    let run = |arguments: &[&str]| {
        let output = Command::cargo_bin("reefwright").unwrap().current_dir(&folder).args(arguments).output().unwrap();
        assert!(output.status.success(), "{arguments:?}");
        String::from_utf8(output.stdout).unwrap()
    };
    let out = run(&["curves", file, "--trials", "64", "--quiet"]);
    assert!(out.contains("bias") && !out.contains('~'), "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    let paths = run(&["view", file, "--quiet", "--out", "view"]);
    let svg = paths.lines().find(|path| path.ends_with(".svg")).unwrap();
    let svg = fs::read_to_string(folder.path().join(svg)).unwrap().to_lowercase();
    for colour in ["#b84a2b", "#f5ebd3", "#6e8b3d", "#9fb894"] {
        assert!(svg.contains(colour), "{colour}");
    }
}

/// Of lines and belts on hard coral the headline speaks of what takes the least minutes a site; the screen shows it first, and
/// what stands beside simulated numbers by formula names method, change and sites.
#[test]
fn the_headline_speaks_of_the_least_minutes_whatever_is_surveyed() {
    let folder = TempDir::new().unwrap();
    let intercept = "[[method.line_intercept]]\nunits = [2, 6, 12]\n";
    let lines = "[[method.point_intercept]]\nunits = [2, 6, 12]\nspacing_m = [0.1, 0.5]\n";
    let zone = TWO_ZONES.split("[[zone]]\nname = \"slope\"").next().unwrap();
    let (out, _) = told(&folder, &format!("{zone}{CHANGE}{intercept}{lines}"), &CURVES);
    let words = one_paragraph(&out);
    assert!(words.contains("10 m lines read every 0.5 m at new places: about"), "{out}");
    // With so few trials others may take about as many.
    assert!(
        words.contains("Of the methods compared it sees this in") && words.contains("least minutes a site"),
        "{out}"
    );
    assert!(
        words.contains("Measure first (lines a site that see a fall from 30 to 23.6 % on 12 sites, by formula"),
        "{out}"
    );
    let block = |text: &str| out.find(text).unwrap_or_else(|| panic!("{text}\n{out}"));
    assert!(block("Hard coral, point-intercept lines, 10 m, every 0.5 m") < block("Hard coral, line-intercept lines"));
    let figures = folder.path().join("reefwright-report/figures");
    let map = fs::read_to_string(figures.join("lines-and-sites.svg")).unwrap();
    assert!(map.contains("point-intercept lines, 10 m, every 0.5 m"), "the map names its method");
    let (out, _) = told(&folder, &format!("{TWO_ZONES}{intercept}{lines}"), &CURVES);
    let words = one_paragraph(&out);
    assert!(words.contains(": all zones together: 12-14 sites in each zone with"), "{out}");
    assert!(words.starts_with("Reef survey Hard coral with 10 m lines"), "the first sentence names the method: {out}");
    assert!(words.contains("Of the methods compared it tells this as well"), "{out}");
}

#[test]
fn the_methods_text_tells_animals_and_units() {
    let folder = TempDir::new().unwrap();
    let animal = "[[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 12\ngroup_size = 4\n";
    let zone = TWO_ZONES.split("[[zone]]\nname = \"slope\"").next().unwrap();
    let change = "[[change]]\nindicator = \"slate_urchin\"\nfrom = 12\nto = 6\n";
    let belts = "[[method.invertebrate_belt]]\nlength_m = [10, 25]\nunits = [2, 4]\n";
    let scenario = format!("{zone}{animal}{change}{belts}");
    let (json, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let text = value["methods_text"].to_string();
    for part in
        ["slate urchin 12 per 100 m2", "in groups of 4", "10 x 1 m or 25 x 1 m (2 to 4 on a site", "the area searched"]
    {
        assert!(text.contains(part), "{part}: {text}");
    }
    told(&folder, &scenario, &CURVES);
    let page = fs::read_to_string(folder.path().join("reefwright-report/report.html")).unwrap();
    assert!(page.contains("per 100 m&sup2;") && !page.contains("<small>per ha"));
}

/// Every number that can be asked, of one visit: of all such reefs and of each.
#[test]
fn one_visit_tells_every_number() {
    const READ: &str = "question = \"status\"\n[[zone]]\nname = \"crest\"\nsites = 4\nreef = \"fore_reef\"\n\
        [[zone.category]]\nname = \"sand\"\ncover_percent = 8\n\
        [zone.recruits]\ndensity_per_m2 = 9\ncannot_live_on = [\"sand\"]\n\
        [[zone.animal]]\nname = \"slate_urchin\"\ndensity_per_100_m2 = 6\ncommercial_percent = 40\n\
        [[zone.fish]]\nname = \"grazers\"\ndensity_per_100_m2 = 10\nlength_cm = 20\n\
        [[method.point_intercept]]\nunits = [2, 4]\n[[method.recruit_quadrats]]\nunits = [2, 4]\n\
        [[method.coral_belt]]\nunits = [2, 4]\nsize_classes_cm = [5, 20]\n\
        [[method.invertebrate_belt]]\nunits = [2, 4]\n[[method.fish_belt]]\nunits = [2, 4]\n";
    let folder = TempDir::new().unwrap();
    for scope in ["all_such_reefs", "each_reef"] {
        let scenario = |names: &[String]| {
            let asked: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
            format!("statement_about = \"{scope}\"\nalso_report = [{}]\n{READ}", asked.join(", "))
        };
        // The names that can be asked stand in the message about one that cannot.
        let wrong = load_text("reef.toml", &scenario(&["nonsense".into()])).unwrap_err();
        let (_, known) = wrong.problems[0].remedy.rsplit_once(": ").expect("a list");
        let names: Vec<String> = known.trim_end_matches('.').split(", ").map(String::from).collect();
        assert!(names.len() > 20 && names.iter().any(|name| name == "recruit_density_on_hard_bottom"), "{names:?}");
        let loaded = load_text("reef.toml", &scenario(&names));
        // What a visit alone cannot tell is refused, and then not asked.
        let refused: Vec<usize> = loaded.as_ref().err().map_or(Vec::new(), |error| {
            error.problems.iter().filter_map(|problem| problem.key.split(['[', ']']).nth(1)?.parse().ok()).collect()
        });
        let asked = names.iter().enumerate().filter(|(index, _)| !refused.contains(index));
        let asked: Vec<String> = asked.map(|(_, name)| name.clone()).collect();
        let (json, _) =
            told(&folder, &scenario(&asked), &["curves", "reef.toml", "--trials", "20", "--quiet", "--json"]);
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let rows = value["rows"].as_array().unwrap();
        for name in &asked {
            assert!(rows.iter().any(|row| row["indicator"] == **name), "{name} is told");
        }
    }
}

#[test]
fn units_that_end_are_not_out_of_reach_and_what_never_varies_has_no_interval() {
    let folder = TempDir::new().unwrap();
    let status = |more: &str| {
        format!(
            "statement_about = \"each_reef\"\nquestion = \"status\"\n[[zone]]\nname = \"t\"\nlength_m = 24\nwidth_m = 12\n\
             [zone.map]\nfile = \"list.csv\"\n[[method.point_intercept]]\nunits = \"2..12\"\n{more}"
        )
    };
    // Colonies at even places, so that lines read them; then one alone.
    let colonies = (0..288)
        .map(|i| format!("{},{},{}\n", 0.5 + f64::from(i % 24), 0.5 + f64::from(i / 24), 0.2 + 0.1 * f64::from(i % 5)));
    let list = |rows: String| fs::write(folder.path().join("list.csv"), format!("x,y,diameter\n{rows}")).unwrap();
    list(colonies.collect());
    let (out, _) = told(&folder, &status("[[method.line_intercept]]\nunits = \"2..3\"\n"), &CURVES);
    let text = one_paragraph(&out);
    assert!(text.contains("not with 3 or fewer") && !text.contains("out of reach"), "{text}");
    list("12,6,0.06\n".into());
    let (out, _) = told(&folder, &status(""), &["curves", "reef.toml", "--trials", "20", "--quiet"]);
    assert!(out.contains("no interval for a mean of") && !out.contains("NaN"), "{out}");
}

/// What stands beside colonies: the same diameters whatever reads them, recruits that are points of their own and appear where
/// coral dies, what does not move with the sizes of a site; and in the JSON what the tables and the figure of sizes have.
#[test]
fn colonies_and_recruits_are_told_with_what_they_are() {
    let folder = TempDir::new().unwrap();
    let scenario = "statement_about = \"all_such_reefs\"\n[[zone]]\nname = \"crest\"\nsites = 6\ncover_percent = 28\nreef = \"fore_reef\"\n\
        [zone.recruits]\ndensity_per_m2 = 9\n[zone.colony_variation]\nln_diameter_between_sites = 0.3\n\
        [[change]]\nfrom = 28\nto = 14\n[[method.line_intercept]]\nunits = [2, 4]\n[[method.coral_belt]]\nunits = [2, 4]\n\
        [[method.recruit_quadrats]]\nunits = [2, 4]\n";
    for (variation, is_even) in [(scenario.to_owned(), false), (scenario.replace("= 0.3", "= 0"), true)] {
        let arguments = ["curves", "reef.toml", "--trials", "20", "--quiet", "--json"];
        let (json, _) = told(&folder, &variation, &arguments);
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let note = |about: &str| {
            let notes = value["notes"].as_array().unwrap().iter().filter(|note| note["about"] == about);
            notes.map(|note| note["text"].as_str().unwrap().to_owned()).next().unwrap_or_else(|| panic!("{about}"))
        };
        let before = |text: &str, words: &str| -> f64 {
            let (head, _) = text.split_once(words).unwrap_or_else(|| panic!("{words} in {text}"));
            head.rsplit([' ', '(']).next().unwrap().parse().unwrap()
        };
        let recruits = note("Recruits");
        assert!(recruits.contains("not the smallest of its colonies"), "{recruits}");
        let (told_before, after) = (before(&recruits, " to 7.7"), before(&recruits, " per m2 of bottom at once"));
        assert!((told_before / 6.48 - 1.0).abs() < 0.005 && (after / 7.74 - 1.0).abs() < 0.005, "{recruits}");
        let methods = value["methods_text"].to_string();
        assert_eq!(methods.contains("stay those of the typical site"), !is_even, "{methods}");
        if is_even {
            let by_line = before(&note("Line-intercept lines"), " cm across in the mean (the largest diameter)");
            let by_belt = before(&note("Coral belts, 10 x 1 m"), " cm across in the mean");
            // The ruler rounds, and what is below its first mark is written as that.
            assert!((by_line / by_belt - 1.0).abs() < 0.01, "{by_line} {by_belt}");
        }
        let (rows, visit) = (value["rows"].as_array().unwrap(), value["site_visit"].as_array().unwrap());
        assert!(visit.len() == 3 && visit.iter().all(|row| rows.contains(row) && row["units"] == 4), "{visit:?}");
        let sizes = &value["colony_sizes"][0];
        assert_eq!(sizes["zone"], "crest");
        let shares =
            sizes["classes"].as_array().unwrap().iter().map(|class| class["before"]["truth"].as_f64().unwrap());
        assert!((0.9..1.001).contains(&shares.sum::<f64>()), "{sizes}");
    }
}

/// How colonies look is told from the scenario to the report: a row by formula and by simulation that agree, the law in the methods
/// text, and that no spread between sites is known.
#[test]
fn the_condition_of_colonies_is_told_with_what_is_not_known_of_it() {
    let folder = TempDir::new().unwrap();
    let zone = TWO_ZONES.split("[[zone]]\nname = \"slope\"").next().unwrap();
    let condition = "[zone.condition]\nbleached_percent = 30\nsource = \"assumed\"\n";
    let belts = "[[method.coral_belt]]\nunits = [2, 4]\n";
    let scenario = format!("also_report = [\"colonies_bleached\"]\n{zone}{condition}{CHANGE}{belts}");
    let (json, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let text = value["methods_text"].to_string();
    assert!(text.contains("crest 5 % of colonies pale, 30 % bleached, 1 % diseased"), "{text}");
    let warnings = value["warnings"].to_string();
    assert!(warnings.contains("colonies bleached: every colony of a zone looks so with the same chance"), "{warnings}");
    assert_eq!(value["scenario"]["zones"][0]["condition"]["bleached"], 0.3);
    let rows = value["rows"].as_array().unwrap();
    let row = rows.iter().find(|row| row["indicator"] == "colonies_bleached").expect("a row of its own");
    let number = |key: &str| row[key].as_f64().unwrap_or_else(|| panic!("{key}: {row}"));
    assert!((number("se") / number("theory_se") - 1.0).abs() < 0.35, "{row}");
    told(&folder, &scenario, &CURVES);
    let page = fs::read_to_string(folder.path().join("reefwright-report/report.html")).unwrap();
    assert!(page.to_lowercase().contains("colonies bleached"));
}

/// A count of all that comes by writes many times what is there; the more it writes the more precise it looks once that is divided
/// out. Where another method tells a level as well, that is chosen, whatever it takes.
#[test]
fn a_level_is_not_told_by_what_writes_many_times_what_is_there() {
    let folder = TempDir::new().unwrap();
    let zone = TWO_ZONES.split("[[zone]]\nname = \"slope\"").next().unwrap();
    let fish = "[[zone.fish]]\nname = \"lantern_jack\"\nlength_cm = 30\ndensity_per_100_m2 = 4\nspeed_m_s = 0.4\n\
                between_sites_percent = 40\n";
    let swim = "[[method.fish_belt]]\ncounting = \"whole_swim\"\nunits = [2, 6, 9]\n";
    let circle = "[[method.fish_point_count]]\ncounting = \"whole_period\"\nminutes = 3\nunits = [2, 6, 9]\n";
    let abreast = "[[method.fish_belt]]\ncounting = \"abreast\"\nlength_m = 50\nwidth_m = 5\nunits = [2, 6, 9]\n";
    let status = |methods: &str| {
        let scenario =
            format!("{zone}{fish}{methods}").replace("length_m = 40\nwidth_m = 10", "length_m = 200\nwidth_m = 60");
        let (json, _) = told(&folder, &scenario, &[&CURVES[..], &["--json"]].concat());
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let words: Vec<String> = serde_json::from_value(value["headline"].clone()).unwrap();
        words.join(" ")
    };
    let all = status(&format!("{swim}{circle}{abreast}"));
    assert!(all.starts_with("Lantern jack with 50 x 5 m fish belts"), "{all}");
    assert!(all.contains("The other methods compared are not chosen, however precise they are ("), "{all}");
    let times = all.split(" times what is there").next().unwrap().rsplit("writes ").next().unwrap();
    assert!(times.parse::<f64>().unwrap() > 1.5, "{all}");
    // Where nothing is nearer, what is there is used, and how far off it is is told.
    let alone = status(swim);
    assert!(!alone.contains("not chosen") && alone.contains("once what is written is divided by"), "{alone}");
}
