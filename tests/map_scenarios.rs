//! Scenarios that name maps: what cannot be is refused at its key, and the commands run on the examples.

use assert_cmd::Command;
use predicates::prelude::*;
use reefwright::scenario::{Beside, Loaded, ScenarioError, load_text, load_with, write};
use std::fs;
use tempfile::TempDir;

const LIST: &str = "x,y,diameter,name\n1,1,0.3,\n5,2,0.2,\n9,3,,slate_urchin\n";

fn picture() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 20, 10);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let pixels: Vec<u8> = (0..200).flat_map(|i| if i % 3 == 0 { [200, 0, 0] } else { [0, 0, 200] }).collect();
    encoder.write_header().unwrap().write_image_data(&pixels).unwrap();
    bytes
}

fn load(text: &str) -> Result<Loaded, ScenarioError> {
    load_with("map.toml", text, &|file| match file {
        "list.csv" => Ok(LIST.as_bytes().to_vec()),
        "later.csv" => Ok(LIST.replace("0.3", "0.2").into_bytes()),
        "snails.csv" => Ok(LIST.replace("slate_urchin", "snail").into_bytes()),
        "picture.png" => Ok(picture()),
        _ => Err("there is no such file".into()),
    })
}

/// Parts of a scenario.
struct Parts<'a> {
    head: &'a str,
    zone: &'a str,
    map: &'a str,
    rest: &'a str,
}

const OF_LIST: Parts = Parts {
    head: "statement_about = \"each_reef\"\n",
    zone: "length_m = 20\nwidth_m = 10\n",
    map: "file = \"list.csv\"\n",
    rest: "[[method.line_intercept]]\nlength_m = 5\nunits = 4\n",
};
const OF_PICTURE: Parts = Parts {
    zone: "",
    map: "file = \"picture.png\"\npixel_cm = 100\nlegend = { \"#c80000\" = \"hard_coral\", \"#0000c8\" = \"sand\" }\n",
    ..OF_LIST
};

impl Parts<'_> {
    fn text(&self) -> String {
        format!("{}[[zone]]\n{}[zone.map]\n{}{}", self.head, self.zone, self.map, self.rest)
    }
}

/// Refused at a key, and only there, with words of the message.
#[track_caller]
fn refused(parts: Parts, key: &str, words: &str) {
    let error = load(&parts.text()).expect_err(&format!("accepted: {}", parts.text()));
    let told = error.render();
    let keys: Vec<&str> = error.problems.iter().map(|problem| problem.key.as_str()).collect();
    assert_eq!(keys, [key], "{told}");
    let problem = &error.problems[0];
    assert!(problem.message.contains(words), "\"{words}\" is not in\n{told}");
    assert!(!problem.remedy.is_empty() && !problem.allowed.is_empty(), "{told}");
}

fn messages(error: &ScenarioError) -> String {
    error.problems.iter().map(|problem| format!("{}: {}\n", problem.key, problem.message)).collect()
}

#[test]
fn the_map_tells_size_covers_and_animals() {
    let zone = load(&OF_LIST.text()).unwrap_or_else(|error| panic!("{}", error.render())).study.zones.remove(0);
    assert_eq!((zone.length_m, zone.width_m, zone.sites.as_slice()), (20.0, 10.0, &[1][..]));
    let cover = std::f64::consts::PI * (0.15f64.powi(2) + 0.1f64.powi(2)) / 200.0;
    assert!((zone.cover / cover - 1.0).abs() < 1e-3, "{}", zone.cover);
    assert_eq!((zone.animals[0].name.as_str(), zone.animals[0].spec.density_per_m2), ("slate_urchin", 1.0 / 200.0));
    let zone = load(&OF_PICTURE.text()).unwrap_or_else(|error| panic!("{}", error.render())).study.zones.remove(0);
    assert_eq!((zone.length_m, zone.width_m, zone.cover), (20.0, 10.0, 67.0 / 200.0));
    assert_eq!((zone.categories[0].name.as_str(), zone.categories[0].cover), ("sand", 133.0 / 200.0));
    let by_length = OF_PICTURE.map.replace("pixel_cm = 100", "picture_m = 20");
    let other = load(&Parts { map: &by_length, ..OF_PICTURE }.text()).unwrap().study.zones.remove(0);
    assert_eq!((other.length_m, other.map), (20.0, zone.map));
}

#[test]
fn what_is_written_reads_as_the_same_study() {
    let twice = Parts { map: "file = \"list.csv\"\nfile_after = \"later.csv\"\nmetres_per_unit = 1\n", ..OF_LIST };
    for parts in [OF_LIST, OF_PICTURE, twice] {
        let loaded = load(&parts.text()).unwrap();
        let beside = Beside { origins: loaded.origins.clone(), ..Beside::default() };
        let text = write(&loaded.study, &beside);
        let again = load(&text).unwrap_or_else(|error| panic!("{text}\n{}", error.render()));
        assert_eq!(again.study, loaded.study, "{text}");
        assert_eq!(again.origins, loaded.origins);
    }
}

#[test]
fn maps_that_cannot_be() {
    let list = |map| Parts { map, ..OF_LIST };
    refused(list("file = \"nowhere.csv\"\n"), "zone[0].map.file", "no such file");
    refused(list("file = \"list.csv\"\npixel_cm = 1\n"), "zone[0].map.file", "no pixels");
    refused(
        list("file = \"list.csv\"\nmetres_per_unit = 3\n"),
        "zone[0].map.file",
        "line 4: x = 27 m, y = 9 m lies outside",
    );
    refused(list("file = \"list.csv\"\nmetres_per_unit = 0\n"), "zone[0].map.metres_per_unit", "out of range");
    refused(Parts { zone: "length_m = 20\n", ..OF_LIST }, "zone[0].map.file", "rectangle");
    let picture = |map| Parts { map, ..OF_PICTURE };
    refused(picture("file = \"picture.png\"\npixel_cm = 100\n"), "zone[0].map.legend", "colours of the picture mean");
    let one = "file = \"picture.png\"\npixel_cm = 100\nlegend = { \"#c80000\" = \"hard_coral\" }\n";
    refused(picture(one), "zone[0].map.legend", "#0000c8 (133 pixels, the first in column 2, row 1 from the top left)");
    let unknown = "file = \"picture.png\"\nlegend = { \"#c80000\" = \"hard_coral\", \"#0000c8\" = \"sand\" }\n";
    refused(picture(unknown), "zone[0].map.file", "how large the picture is");
    let small = OF_PICTURE.map.replace("100", "1");
    let error = load(
        &Parts {
            map: &small,
            rest: "[[method.other]]\nindicator = \"a\"\nmean = 1\nbetween_sites = 1\nbetween_units = 1\nunits = 2\n",
            ..OF_PICTURE
        }
        .text(),
    );
    assert!(error.unwrap_err().render().contains("the map is 0.2 m there"));
    refused(Parts { zone: "width_m = 12\n", ..OF_PICTURE }, "zone[0].width_m", "the map is 10 m there");
    // Where files cannot be read, that is told.
    assert!(load_text("map.toml", &OF_LIST.text()).unwrap_err().render().contains("cannot be read"));
}

#[test]
fn later_maps_that_cannot_be() {
    let list = |map| Parts { map, ..OF_LIST };
    let twice = "file = \"list.csv\"\nfile_after = \"later.csv\"\n";
    let study = load(&list(twice).text()).unwrap_or_else(|error| panic!("{}", error.render())).study;
    assert_eq!((study.question.visits(), study.changes.len()), (2, 1));
    assert!(
        (study.changes[0].ratio() - (0.2f64.powi(2) + 0.2f64.powi(2)) / (0.3f64.powi(2) + 0.2f64.powi(2))).abs() < 1e-3
    );
    let file = |name: &str| format!("file = \"list.csv\"\nfile_after = \"{name}\"\n");
    for (name, words) in [
        ("nowhere.csv", "no such file"),
        ("picture.png", "a picture, the other a list"),
        ("snails.csv", "snail is on the later map alone"),
    ] {
        let map = file(name);
        let error = load(&Parts { map: &map, ..OF_LIST }.text()).map(drop).expect_err(name);
        let keys: Vec<&str> = error.problems.iter().map(|problem| problem.key.as_str()).collect();
        assert!(messages(&error).contains(words), "{}", error.render());
        assert_eq!(keys, ["zone[0].map.file_after"], "{}", error.render());
    }
    let change = format!("{}[[change]]\nfrom = 2\nto = 1\n", OF_LIST.rest);
    refused(Parts { map: twice, rest: &change, ..OF_LIST }, "change[0]", "the two maps tell");
    let same = "file = \"list.csv\"\nfile_after = \"list.csv\"\n";
    refused(Parts { map: same, ..OF_LIST }, "zone[0].map.file_after", "nothing that is read differs");
    let status = "statement_about = \"each_reef\"\nquestion = \"status\"\n";
    refused(Parts { map: twice, head: status, ..OF_LIST }, "zone[0].map.file_after", "no later map");
}

#[test]
fn what_a_map_does_not_tell_is_refused() {
    let zone = |zone| Parts { zone, ..OF_LIST };
    refused(zone("length_m = 20\nwidth_m = 10\ncover_percent = 28\n"), "zone[0].cover_percent", "is a map");
    refused(zone("length_m = 20\nwidth_m = 10\nreef = \"fore_reef\"\n"), "zone[0].reef", "is a map");
    refused(zone("length_m = 20\nwidth_m = 10\nsites = 4\n"), "zone[0].sites", "is a map");
    let head = |head| Parts { head, ..OF_LIST };
    refused(head("statement_about = \"all_such_reefs\"\n"), "statement_about", "a map is one reef");
    let systematic = "statement_about = \"each_reef\"\n[placement]\nlayout = \"systematic\"\n";
    refused(head(systematic), "placement.layout", "random starts");
    let line = OF_LIST.rest;
    let rest = |parts: Parts<'static>, rest: &str| {
        let text = format!("{line}{rest}");
        load(&Parts { rest: &text, ..parts }.text()).map(drop).map_err(|error| messages(&error))
    };
    let told = |parts: Parts<'static>, more: &str, words: &str| {
        let told = rest(parts, more).expect_err(more);
        assert!(told.contains(words), "{told}");
    };
    assert_eq!(
        rest(
            OF_LIST,
            "[[method.coral_belt]]\nlength_m = 5\nunits = 4\n[[method.invertebrate_belt]]\nlength_m = 5\nunits = 4\n"
        ),
        Ok(())
    );
    told(OF_PICTURE, "[[method.coral_belt]]\nlength_m = 5\nunits = 4\n", "does not tell one colony from the next");
    told(OF_PICTURE, "[[method.invertebrate_belt]]\nlength_m = 5\nunits = 4\n", "no animals");
    told(
        OF_LIST,
        "[[method.recruit_quadrats]]\nlength_m = 5\nunits = 4\n",
        "colonies under 4 cm, and the map has none",
    );
    told(OF_PICTURE, "[[method.recruit_quadrats]]\nlength_m = 5\nunits = 4\n", "no recruit can be counted");
    told(OF_PICTURE, "[[change]]\nfrom = 30\nto = 20\n", "pixel by pixel");
    told(OF_LIST, "[[change]]\nfrom = 20\nto = 30\n", "is not on the map");
    let storm = "[[change]]\nfrom = 30\nto = 20\n[change.deaths]\nodds_at_twice_the_size = 2\n";
    told(OF_LIST, storm, "whatever their size");
    let renewal = "[visits]\nrenewal_percent_per_year = 3\n[[change]]\nfrom = 30\nto = 20\n";
    told(OF_LIST, renewal, "nothing happens but the change");
    for (name, words) in [
        ("colony_live_share", "dead parts are not on the map"),
        ("colonies_bleached", "their condition is not on the map"),
    ] {
        let asked = format!("statement_about = \"each_reef\"\nalso_report = [\"{name}\"]\n");
        let belts = "[[method.coral_belt]]\nlength_m = 5\nunits = 4\n";
        refused(Parts { head: &asked, rest: belts, ..OF_LIST }, "also_report[0]", words);
    }
    let groups = "statement_about = \"each_reef\"\nquestion = \"between_groups\"\n";
    let change = format!("{line}[[change]]\nfrom = 30\nto = 20\n");
    refused(Parts { head: groups, rest: &change, ..OF_LIST }, "question", "other groups");
}

fn reefwright(folder: &TempDir) -> Command {
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command.current_dir(folder.path());
    command
}

const EXAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");

/// The commands find a map from the folder of its scenario, wherever they are called.
#[test]
fn the_examples_are_answered() {
    let folder = TempDir::new().unwrap();
    let answer = |name: &str, threads: &str| -> serde_json::Value {
        let file = format!("{EXAMPLES}/{name}.toml");
        let arguments = ["curves", &file, "--trials", "60", "--quiet", "--json", "--threads", threads];
        let output = reefwright(&folder).args(arguments).assert().success();
        serde_json::from_slice(&output.get_output().stdout).unwrap()
    };
    let mosaic = answer("mapped_mosaic", "1");
    assert_eq!(mosaic, answer("mapped_mosaic", "2"));
    assert_eq!(mosaic["scenario"]["zones"][0]["map"]["kind"], "mosaic");
    let notes = mosaic["notes"].to_string();
    assert!(notes.contains("The reef is a map") && notes.contains("told in the mean as"), "{notes}");
    let colonies = answer("mapped_colonies", "2");
    assert!(colonies["notes"].to_string().contains("What happens on the map"));
    let notes = colonies["notes"].to_string();
    assert!(notes.contains("What is not told of a map"), "{notes}");
    // Animals of a map are met as often as theory says, and what it takes to meet one is told.
    let search = &colonies["animals"][0];
    assert!(search["occupied"].as_f64().unwrap() > 0.0 && search["units_to_meet"].as_u64().is_some(), "{search}");
    assert!(colonies["ranges"].as_array().unwrap().is_empty());
    let told = |key: &str| colonies["methods_text"].to_string().contains(key);
    assert!(told("the reef as it was mapped") && !told("renewed") && !told("lognormal"));
    let row = &colonies["rows"][0];
    assert!(row["theory_power"].as_f64().is_some() && row["power"].as_f64().is_some());
}

/// Every change of two maps is the later one: what differs between them has its own levels, once, and a row says nothing of what the
/// second map took away but what is true.
#[test]
fn two_maps_tell_each_indicator_once_with_its_own_levels() {
    let folder = TempDir::new().unwrap();
    let list = |small: bool| {
        let large = (0..60).map(|i| format!("{},{},0.3,\n", (i % 12) as f64 * 2.0 + 1.0, (i / 12) as f64 * 2.0 + 1.0));
        let few = (0..if small { 200 } else { 20 })
            .map(|i| format!("{},{},0.03,\n", 0.1 + 0.11 * i as f64, 0.5 + (i % 9) as f64));
        format!("x,y,diameter,name\n{}{}", large.collect::<String>(), few.collect::<String>())
    };
    fs::write(folder.path().join("first.csv"), list(true)).unwrap();
    fs::write(folder.path().join("later.csv"), list(false)).unwrap();
    let scenario = "statement_about = \"each_reef\"\nalso_report = [\"colony_mean_diameter\"]\n[[zone]]\nlength_m = 24\nwidth_m = 10\n\
        [zone.map]\nfile = \"first.csv\"\nfile_after = \"later.csv\"\n[[method.coral_belt]]\nunits = [2, 6]\n\
        [[method.recruit_quadrats]]\nlength_m = 5\nunits = [2, 6]\n";
    fs::write(folder.path().join("two.toml"), scenario).unwrap();
    let arguments = ["curves", "two.toml", "--trials", "60", "--quiet", "--json"];
    let output = reefwright(&folder).args(arguments).assert().success();
    let answer: serde_json::Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    let rows = answer["rows"].as_array().unwrap();
    let of = |name: &str| rows.iter().filter(|row| row["indicator"] == name).collect::<Vec<_>>();
    for name in ["colony_density", "colony_mean_diameter", "recruit_density"] {
        assert_eq!(of(name).iter().map(|row| row["units"].as_u64().unwrap()).collect::<Vec<_>>(), [2, 6], "{name}");
    }
    let levels = |name: &str| ["change_from", "change_to"].map(|key| of(name)[0][key].as_f64().unwrap());
    let near = |told: [f64; 2], from: f64, to: f64| {
        assert!((told[0] - from).abs() < 1e-6 && (told[1] - to).abs() < 1e-6, "{told:?}")
    };
    near(levels("colony_mean_diameter"), (60.0 * 0.3 + 200.0 * 0.03) / 260.0, (60.0 * 0.3 + 20.0 * 0.03) / 80.0);
    near(levels("recruit_density"), 200.0 / 240.0, 20.0 / 240.0);
    near(levels("colony_density"), 260.0 / 240.0, 80.0 / 240.0);
}

#[test]
fn a_map_is_drawn_with_its_units() {
    let folder = TempDir::new().unwrap();
    for (name, words) in [("mapped_mosaic", "a mosaic of 400 x 160 pixels"), ("mapped_colonies", "The mapped reef")] {
        let file = format!("{EXAMPLES}/{name}.toml");
        reefwright(&folder).args(["view", &file, "--quiet", "--out", name]).assert().success();
        let svg = fs::read_to_string(folder.path().join(name).join("reef-1-terrace.svg")).unwrap();
        let spoken: String = svg.split('<').filter_map(|part| part.split('>').nth(1)).collect::<Vec<_>>().join(" ");
        let spoken = spoken.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(spoken.contains(words) || svg.contains(words), "{name}");
    }
}

/// A row that cannot be read is told alone: what the list has beside it is not said to be missing.
#[test]
fn a_map_that_cannot_be_read_is_told_alone() {
    let text = Parts {
        map: "file = \"bad.csv\"\n",
        head: "statement_about = \"each_reef\"\nalso_report = [\"recruits_under_2_cm\"]\n",
        rest: "[[method.recruit_quadrats]]\nlength_m = 5\nunits = 4\n[[method.invertebrate_belt]]\nlength_m = 5\nunits = 4\n",
        ..OF_LIST
    }
    .text();
    let files = |_: &str| Ok("x,y,diameter,name\n1,1,0.03,\n5,2,-0.2,\n9,3,,slate_urchin\n".as_bytes().to_vec());
    let error = load_with("map.toml", &text, &files).unwrap_err();
    assert_eq!(error.problems.iter().map(|problem| problem.key.as_str()).collect::<Vec<_>>(), ["zone[0].map.file"]);
}

#[test]
fn a_map_that_is_not_there_is_bad_input() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("map.toml"), OF_LIST.text()).unwrap();
    for command in ["check", "curves", "view"] {
        let told = predicate::str::contains("list.csv").and(predicate::str::contains("zone[0].map.file"));
        reefwright(&folder).args([command, "map.toml"]).assert().code(2).stdout("").stderr(told);
    }
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["map.toml"]);
    fs::write(folder.path().join("list.csv"), LIST).unwrap();
    reefwright(&folder).args(["check", "map.toml"]).assert().success();
}
