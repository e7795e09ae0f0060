use super::reefwright;
use predicates::prelude::*;
use std::fs;
use tempfile::TempDir;

/// The message names file and place and says what to do; nothing is written; exit code 2.
fn refused(table: &str, options: &[&str], parts: &[&str]) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("lines.csv"), table).unwrap();
    let output = reefwright(&folder)
        .args(["pilot", "lines.csv", "--length", "10", "--points-per-line", "100", "--scenario", "reef.toml"])
        .args(options)
        .assert()
        .code(2)
        .stdout("");
    let message = String::from_utf8(output.get_output().stderr.clone()).unwrap().replace('\n', " ");
    for part in parts {
        assert!(message.contains(part), "{part}: {message}");
    }
    assert!(!folder.path().join("reef.toml").exists());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

const HEAD: &str = "site,visit,line,cover\n";

fn table(rows: &str) -> String {
    format!("{HEAD}{rows}")
}

#[test]
fn tables_that_cannot_be_used_are_refused_with_place_and_remedy() {
    let good = "A,1,1,20\nA,1,2,24\nB,1,1,30\nB,1,2,31\n";
    refused("", &[], &["lines.csv:1", "empty", "site,visit,line,cover"]);
    refused(HEAD, &[], &["lines.csv", "no row has a value", "`cover`"]);
    refused(&table(good), &["--hits", "coral"], &["lines.csv:1", "no column `coral`", "`cover`", "--hits"]);
    refused(&table(good).replace("cover", "kover"), &[], &["no column `cover`", "`kover`", "--cover"]);
    let text = good.replace("31", "thirty");
    refused(&table(&text), &[], &["lines.csv:5", "column `cover`", "`thirty`", "a number from 0 to 100"]);
    refused(&table(&good.replace("31", "131")), &[], &["lines.csv:5", "column `cover`", "`131`", "0 to 100"]);
    refused(&table("A,1,1,20\nA,1,2,24\n"), &[], &["lines.csv", "1 site", "at least two sites"]);
    refused(&table("A,1,1,20\nB,1,1,24\nC,1,1,24\n"), &[], &["3 sites, of which 0 with two lines"]);
    refused(&table(&good.replace("A,1,2", "A,1,1")), &[], &["lines.csv:3", "given before, in line 2", "--visit"]);
    refused(&table("A,1,1,0\nA,1,2,0\nB,1,1,0\nB,1,2,0\n"), &[], &["lines.csv", "no line shows any coral"]);
    refused(&table("A,1,1,5\nA,1,2,5\nB,1,1,9\nB,1,2,9\n"), &[], &["lines.csv", "read the same", "single lines"]);
}

#[test]
fn options_that_cannot_be_are_refused() {
    let good = table("A,1,1,20\nA,1,2,24\nB,1,1,30\nB,1,2,31\n");
    refused(&good, &["--length", "nought"], &["--length"]);
    refused(&good, &["--site-length", "5"], &["does not fit", "--site-length"]);
    refused(&good, &["--method", "photo_belt"], &["--width"]);
    refused(&good, &["--cover", "cover", "--hits", "cover"], &["cannot be used with"]);
    refused(&good, &["--from-now-to", "120"], &["percent of cover", "97"]);
}

#[test]
fn a_file_that_is_not_there_and_lines_read_nobody_knows_how() {
    let folder = TempDir::new().unwrap();
    reefwright(&folder)
        .args(["pilot", "nowhere.csv", "--length", "10"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("nowhere.csv"));
    reefwright(&folder)
        .args(["pilot", "nowhere.csv"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("--length <METRES>"));
    fs::write(folder.path().join("lines.csv"), table("A,1,1,20\nA,1,2,24\nB,1,1,30\nB,1,2,31\n")).unwrap();
    reefwright(&folder)
        .args(["pilot", "lines.csv", "--length", "10"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("--points-per-line 100"));
}

#[test]
fn decimal_commas_and_swapped_counts_get_a_hint() {
    let good = table("A,1,1,20\nA,1,2,24\nB,1,1,30\nB,1,2,31\n");
    refused(
        &good.replace("31", "\"31,5\""),
        &[],
        &["lines.csv:5", "`31,5`", "with a decimal point (31.5)", "semicolons"],
    );
    refused(&good.replace("31", "31,5"), &[], &["lines.csv:5", "5 fields", "decimal comma", "semicolons"]);
    let counts = "site,visit,line,hits,points\nA,1,1,100,20\nA,1,2,100,24\nB,1,1,100,30\nB,1,2,100,31\n";
    refused(counts, &["--hits", "hits"], &["lines.csv:2", "`100`", "--hits and --points swapped"]);
}

/// What is doubtful is told with its lines, and used as it stands.
#[test]
fn names_that_are_alike_and_lines_named_like_years_are_doubted() {
    let folder = TempDir::new().unwrap();
    let told = |rows: &str, options: &[&str]| {
        fs::write(folder.path().join("lines.csv"), table(rows)).unwrap();
        let all = ["pilot", "lines.csv", "--length", "10", "--points-per-line", "100", "--quiet", "--json"];
        let run = reefwright(&folder).args(all).args(options).assert().success();
        let value: serde_json::Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
        value["doubts"].clone()
    };
    let rows = "Anvil Rock,2027,1,20\nAnvil Rock,2027,2,24\nB,2027,1,30\nB,2027,2,31\nanvil rock ,2027,3,12\nanvil rock,2027,4,16\n";
    let doubts = told(rows, &[]);
    assert_eq!(doubts.as_array().unwrap().len(), 1, "{doubts}");
    assert_eq!((&doubts[0]["line"], &doubts[0]["other_line"]), (&2.into(), &6.into()), "{doubts}");
    let twice =
        "A,2027,1,20\nA,2029,1,24\nB,2027,1,30\nB,2029,1,31\nA,2027,2,22\nA,2029,2,25\nB,2027,2,31\nB,2029,2,35\n";
    let swapped = told(twice, &["--visit", "line", "--line", "visit"]);
    assert!(swapped.as_array().unwrap().iter().any(|doubt| doubt["doubt"] == "named_like_years"), "{swapped}");
    assert_eq!(told("A,1,1,20\nA,1,2,24\nB,1,1,30\nB,1,2,31\n", &[]), serde_json::json!([]));
}
