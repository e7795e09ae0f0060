//! `new`, `check` and `schema` from outside.

use assert_cmd::Command;
use predicates::prelude::*;
use std::fs;
use tempfile::TempDir;

fn reefwright(folder: &TempDir) -> Command {
    let mut command = Command::cargo_bin("reefwright").unwrap();
    command.current_dir(folder.path());
    command
}

fn names_in(folder: &TempDir) -> Vec<String> {
    let names = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn a_starter_is_written_whole_and_is_valid() {
    let folder = TempDir::new().unwrap();
    let told = predicate::str::contains("reef.toml is written");
    reefwright(&folder).args(["new", "reef.toml"]).assert().success().stdout("").stderr(told);
    assert_eq!(names_in(&folder), ["reef.toml"]);
    // An expedition speaks of dives: the caution comes first.
    let valid =
        predicate::str::starts_with("This is an effort budget for comparing survey designs. It is not a dive plan.");
    let valid = valid.and(predicate::str::contains("\n\nreef.toml is valid: My reef survey\n"));
    let valid = valid.and(predicate::str::contains("\nAssumed (measure these first, from the top)\n"));
    let valid = valid.and(predicate::str::contains("\nExpedition: Assumed (measure these first, from the top)\n"));
    reefwright(&folder).args(["check", "reef.toml"]).assert().success().stdout(valid).stderr("");
    reefwright(&folder).args(["new", "--all", "all.toml"]).assert().success();
    let all = fs::read_to_string(folder.path().join("all.toml")).unwrap();
    assert!(
        all.contains("[[method.photo_quadrats]]")
            && all.starts_with(&fs::read_to_string(folder.path().join("reef.toml")).unwrap())
    );
    reefwright(&folder).args(["check", "all.toml"]).assert().success().stderr("");
}

#[test]
fn a_file_that_is_there_is_kept_unless_forced() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("mine.toml");
    fs::write(&path, "mine").unwrap();
    for arguments in [vec!["new", "mine.toml"], vec!["new", "--ask", "mine.toml"]] {
        let refused = predicate::str::contains("already there").and(predicate::str::contains("Nine questions").not());
        reefwright(&folder).args(arguments).assert().code(2).stderr(refused);
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    }
    reefwright(&folder).args(["new", "--force", "--quiet", "mine.toml"]).assert().success().stderr("");
    assert!(fs::read_to_string(&path).unwrap().contains("[[zone]]"));
    assert_eq!(names_in(&folder), ["mine.toml"]);
}

#[test]
fn answers_in_field_words_become_a_valid_scenario_in_the_users_own_words() {
    let folder = TempDir::new().unwrap();
    let answers = "all\n8\nabout 28\n10 to 46\n6\neven\n3\nnear\n2\nfrom 28 to 22\n\n3 lines in 50 minutes\nsame\n";
    let shown = predicate::str::contains("(46 - 10) / 2.563");
    reefwright(&folder).args(["new", "--ask", "asked.toml"]).write_stdin(answers).assert().success().stderr(shown);
    let text = fs::read_to_string(folder.path().join("asked.toml")).unwrap();
    assert!(text.contains("between_sites_points = \"my words: 10 to 46; each average from 6 lines\""), "{text}");
    let listed = predicate::str::contains("In your own words").and(predicate::str::contains("about 28"));
    reefwright(&folder).args(["check", "asked.toml"]).assert().success().stdout(listed);
}

#[test]
fn the_examples_are_valid() {
    let folder = TempDir::new().unwrap();
    let examples = fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/examples")).unwrap();
    let scenarios =
        examples.map(|entry| entry.unwrap().path()).filter(|path| path.extension().is_some_and(|ext| ext == "toml"));
    let mut count = 0;
    for path in scenarios {
        reefwright(&folder).arg("check").arg(&path).assert().success();
        count += 1;
    }
    assert!(count > 0);
}

/// Many numbers about one group of fish, or one method, stand together under its name.
#[test]
fn check_tells_fish_group_by_group() {
    let folder = TempDir::new().unwrap();
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/vesper_fish.toml");
    let output = reefwright(&folder).args(["check", path]).assert().success();
    let screen = String::from_utf8(output.get_output().stdout.clone()).unwrap();
    for name in [
        "  outer edge, coral_grouper\n",
        "  30 x 2 m fish belt\n",
        "  50 x 5 m fish belt\n",
        "  point count of 7.5 m\n",
    ] {
        assert_eq!(screen.matches(name).count(), 1, "{name}\n{screen}");
    }
    assert!(screen.contains("how many there are: 0.6 per 100 m2;") && screen.lines().count() < 180, "{screen}");
    assert!(screen.lines().skip(1).all(|line| line.chars().count() <= 80), "{screen}");
}

#[test]
fn check_gives_json_too() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder).args(["new", "reef.toml"]).assert().success();
    let output = reefwright(&folder).args(["check", "reef.toml", "--json"]).assert().success();
    let value: serde_json::Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert_eq!(value["valid"], true);
    assert_eq!(value["scenario"]["zones"][0]["cover"], 0.28);
    assert_eq!(value["assumptions"][0]["origin"]["kind"], "assumed");
    assert_eq!(value["expedition"]["boats"]["dives_a_day"], 2);
    assert_eq!(value["expedition_assumptions"][0]["origin"]["kind"], "assumed");
}

#[test]
fn a_file_that_cannot_be_read_is_bad_input() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder)
        .args(["check", "nowhere.toml"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("nowhere.toml"));
    fs::write(folder.path().join("bytes.toml"), b"title = 'a'\n\xff").unwrap();
    reefwright(&folder)
        .args(["check", "bytes.toml"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("line 2: not UTF-8"));
    fs::write(folder.path().join("empty.toml"), "").unwrap();
    let missing = predicate::str::contains("statement_about");
    reefwright(&folder).args(["check", "empty.toml"]).assert().code(2).stderr(missing);
}

#[test]
fn the_schema_is_json_schema_and_knows_the_ranges() {
    let folder = TempDir::new().unwrap();
    let output = reefwright(&folder).arg("schema").assert().success();
    let schema: serde_json::Value = serde_json::from_slice(&output.get_output().stdout).unwrap();
    assert_eq!(schema["$defs"]["Cover"]["exclusiveMaximum"], 100.0);
    assert_eq!(schema["properties"]["statement_about"]["$ref"], "#/$defs/StatementAbout");
    assert_eq!(schema["additionalProperties"], false);
}

#[test]
fn unknown_options_are_bad_input() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder).args(["check"]).assert().code(2);
    reefwright(&folder).args(["--trials", "1"]).assert().code(2);
    reefwright(&folder).args(["--threads", "0"]).assert().code(2);
    reefwright(&folder).args(["dig", "reef.toml"]).assert().code(2);
}

#[test]
fn what_only_the_law_of_the_reef_can_tell_has_a_line_too() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder).args(["new", "--quiet", "reef.toml"]).assert().success();
    let path = folder.path().join("reef.toml");
    let even = fs::read_to_string(&path).unwrap().replace("between_sites_points = 9", "between_sites_points = 3");
    fs::write(&path, even).unwrap();
    let told = predicate::str::contains("zone[0].between_sites_points").and(predicate::str::contains("at least"));
    reefwright(&folder).args(["check", "reef.toml"]).assert().code(2).stdout("").stderr(told);
}

#[test]
fn a_folder_that_cannot_be_made_is_refused_before_the_work() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder).args(["new", "--quiet", "reef.toml"]).assert().success();
    let told = predicate::str::contains("reef.toml/report").and(predicate::str::contains("--out"));
    // Far more trials than could be run in the time of a test.
    let arguments = ["curves", "reef.toml", "--trials", "100000000", "--out", "reef.toml/report"];
    reefwright(&folder).args(arguments).assert().code(2).stdout("").stderr(told);
}
