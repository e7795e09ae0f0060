//! Every key of the starter scenario spoiled in turn: the message names the key and the line, the exit code is 2, and
//! nothing is written.

use assert_cmd::Command;
use std::fs;
use std::ops::Range;
use tempfile::TempDir;
use toml::de::{DeTable, DeValue};

/// One key of a scenario and where it stands.
struct Key {
    path: String,
    name: String,
    place: Range<usize>,
    value: Range<usize>,
    /// A table or a list of tables, which has no value of its own to spoil.
    is_table: bool,
}

fn keys(text: &str) -> Vec<Key> {
    fn visit(keys: &mut Vec<Key>, path: &str, table: &DeTable<'_>) {
        for (key, value) in table.iter() {
            let path = if path.is_empty() { key.get_ref().to_string() } else { format!("{path}.{}", key.get_ref()) };
            let name = key.get_ref().to_string();
            let is_table = matches!(value.get_ref(), DeValue::Table(_))
                || matches!(value.get_ref(), DeValue::Array(items) if matches!(items.iter().next().map(|item| item.get_ref()), Some(DeValue::Table(_))));
            keys.push(Key { path: path.clone(), name, place: key.span(), value: value.span(), is_table });
            match value.get_ref() {
                DeValue::Table(table) => visit(keys, &path, table),
                DeValue::Array(items) => {
                    for (index, item) in items.iter().enumerate() {
                        if let DeValue::Table(table) = item.get_ref() {
                            visit(keys, &format!("{path}[{index}]"), table);
                        }
                    }
                }
                _ => {}
            }
        }
    }
    let mut keys_found = Vec::new();
    visit(&mut keys_found, "", DeTable::parse(text).unwrap().get_ref());
    keys_found
}

fn starter() -> String {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("starter.toml");
    Command::cargo_bin("reefwright").unwrap().args(["new", "--all"]).arg(&file).assert().success();
    fs::read_to_string(file).unwrap()
}

fn replaced(text: &str, place: &Range<usize>, new: &str) -> String {
    format!("{}{new}{}", &text[..place.start], &text[place.end..])
}

fn line_of(text: &str, byte: usize) -> usize {
    text[..byte].matches('\n').count() + 1
}

/// What the program says to a scenario that must be refused.
fn refused(text: &str, name: &str) -> String {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join(name), text).unwrap();
    let result = Command::cargo_bin("reefwright").unwrap().current_dir(folder.path()).args(["check", name]).assert();
    let output = result.get_output();
    let told = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(output.stdout.is_empty(), "told on standard output: {told}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "something was written");
    told
}

fn assert_names(told: &str, key: &str, line: usize, what: &str) {
    assert!(told.contains(key), "{what}: `{key}` is not named in\n{told}");
    assert!(told.contains(&format!("line {line}:")), "{what}: line {line} is not named in\n{told}");
}

#[test]
fn a_value_of_the_wrong_type_is_refused_at_its_line() {
    let text = starter();
    for key in keys(&text).iter().filter(|key| !key.is_table) {
        let is_answer = ["true", "false"].contains(&&text[key.value.clone()]);
        let spoiled = replaced(&text, &key.value, if is_answer { "7" } else { "true" });
        let told = refused(&spoiled, "spoiled.toml");
        assert_names(&told, &key.name, line_of(&text, key.value.start), &key.path);
    }
}

#[test]
fn a_value_out_of_range_is_refused_at_its_line() {
    let text = starter();
    for key in keys(&text).iter().filter(|key| !key.is_table) {
        let bad = match key.name.as_str() {
            // A title may be anything; a unit, a currency and the name of a trophic group too.
            "title" | "unit" | "currency" | "trophic_group" => continue,
            "name" => "\"\"",
            "indicator" if key.path.starts_with("method") => "\"hard_coral\"",
            "also_report" => "[\"moon_dust\"]",
            "from" | "to" | "mean" | "floor" => "-1e13",
            _ if text[key.value.clone()].starts_with('"') => "\"moon_dust\"",
            _ => "-1e9",
        };
        let told = refused(&replaced(&text, &key.value, bad), "spoiled.toml");
        let named = if key.path.contains("misidentification") { "turf" } else { &key.name };
        assert_names(&told, named, line_of(&text, key.value.start), &key.path);
    }
}

#[test]
fn a_misspelt_key_is_refused_at_its_line_with_the_right_one_beside_it() {
    let text = starter();
    for key in keys(&text) {
        let misspelt = format!("{}q", key.name);
        let told = refused(&replaced(&text, &key.place, &misspelt), "spoiled.toml");
        assert_names(&told, &misspelt, line_of(&text, key.place.start), &key.path);
        if !key.path.contains("misidentification.") {
            assert!(told.contains(&format!("Did you mean `{}`", key.name)), "{}: no hint in\n{told}", key.path);
        }
    }
}
