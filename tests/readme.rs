//! What the README and the examples say is true: commands exist, examples load, printed output is what comes out.

use assert_cmd::Command;
use std::path::Path;

fn read(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

fn reefwright(arguments: &[&str], folder: &Path) -> String {
    let mut command = Command::cargo_bin("reefwright").unwrap();
    let output = command.current_dir(folder).args(arguments).output().unwrap();
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {error}");
    String::from_utf8(output.stdout).unwrap()
}

/// The fenced block of the README that contains `part`.
fn block_with(part: &str) -> String {
    let readme = read("README.md");
    let mut blocks = readme.split("```").skip(1).step_by(2);
    let found = blocks.find(|block| block.contains(part));
    found.unwrap_or_else(|| panic!("no block with {part}")).split_once('\n').unwrap().1.to_owned()
}

#[test]
fn it_opens_with_the_job_and_its_two_commands() {
    let readme = read("README.md");
    assert!(readme.starts_with("# reefwright\n\nBefore the boat leaves"));
    assert!(readme.contains("cargo run --release ") && readme.contains("cargo test "));
}

#[test]
fn its_scenario_is_the_example_file() {
    assert_eq!(block_with("statement_about"), read("examples/two_visits.toml"));
}

#[test]
fn every_command_it_names_exists() {
    let help = reefwright(&["--help"], Path::new("."));
    for command in ["new", "check", "curves", "view", "pilot", "schema"] {
        assert!(read("README.md").contains(&format!("reefwright {command}")), "{command} is not in the README");
        assert!(help.lines().any(|line| line.trim_start().starts_with(command)), "{command} is not a command");
    }
}

#[test]
fn every_example_scenario_is_valid() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut seen = 0;
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            reefwright(&["check", path.to_str().unwrap()], &folder);
            seen += 1;
        }
    }
    assert!(seen >= 2);
}

#[test]
fn the_pilot_says_what_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/pilot_lines.csv");
    let arguments =
        ["--visit", "year", "--hits", "coral_points", "--length", "10", "--same-marks", "--from-now-to", "24"];
    let mut all = vec!["pilot", data.to_str().unwrap()];
    all.extend(arguments);
    all.extend(["--scenario", "atolls.toml"]);
    let out = reefwright(&all, folder.path());
    for line in block_with("How cover varies").lines() {
        assert!(out.contains(line), "not printed: {line}\n{out}");
    }
    let command = block_with("reefwright pilot examples");
    assert!(arguments.iter().all(|argument| command.contains(argument)));
    assert!(folder.path().join("atolls.toml").exists());
}

/// The commands on belts and colonies name options that exist, and run.
#[test]
fn pilots_of_belts_and_colonies_are_as_written() {
    let block = block_with("pilot_urchins.csv").replace("\\\n", " ");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let line = block.lines().find(|line| line.contains("pilot_urchins.csv")).unwrap();
    let out = reefwright(&line.split_whitespace().skip(1).chain(["--quiet"]).collect::<Vec<_>>(), root);
    assert!(out.contains("name = \"urchins\"") && out.contains("patch_k"), "{out}");
    let line = block.lines().find(|line| line.contains("pilot_colonies.csv")).unwrap();
    let out = reefwright(&line.split_whitespace().skip(1).chain(["--quiet"]).collect::<Vec<_>>(), root);
    assert!(out.contains("diameter_median_m") && out.contains("[[method.coral_belt]]"), "{out}");
    let help = reefwright(&["pilot", "--help"], root);
    for option in block.split_whitespace().filter(|word| word.starts_with("--")) {
        assert!(help.contains(option), "{option}");
    }
}

/// The worked example, with few trials: the words are those printed, but for the simulated numbers.
#[test]
fn the_worked_example_answers_as_printed() {
    let folder = tempfile::tempdir().unwrap();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/two_visits.toml");
    let out = reefwright(&["curves", example.to_str().unwrap(), "--trials", "64", "--quiet"], folder.path());
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for sentence in [
        "Same 8 sites, 10 m lines read every 0.1 m at new places: about",
        "lines a site see a fall from 28 to 22 % (6 points, 21 % of what was there) 4 times in 5 (simulated);",
        "by formula 5 if the reef is as even as an outer slope, 71 if as patchy as lagoon bommies.",
        "At the same marks, the tape re-laid to within 30 cm, about 5 lines would do (by formula).",
        "It tells a real difference between these two visits, not a lasting decline from a bad year.",
    ] {
        assert!(words.contains(sentence), "not said: {sentence}\n{out}");
        let printed = read("README.md").replace("\n> ", " ");
        assert!(printed.contains(sentence), "not in the README: {sentence}");
    }
    assert!(folder.path().join("reefwright-report/report.html").exists());
}
