//! The modules of `lib.rs` are in reading order, and each uses only those above it.

use std::fs;
use std::path::{Path, PathBuf};

/// Every module, in the order of dependence.
const ORDER: [&str; 15] = [
    "measures", "random", "geometry", "reef", "survey", "analysis", "design", "theory", "engine", "budget", "planner",
    "pilot", "scenario", "report", "cli",
];

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// Code of a file up to its tests, without comments.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    let code = text.split("#[cfg(test)]\nmod tests").next().unwrap_or("");
    code.lines().filter(|line| !line.trim_start().starts_with("//")).map(|line| format!("{line}\n")).collect()
}

/// Whether the whole file is a test (`#[cfg(test)] mod name;` in its parent).
fn is_test_alone(path: &Path) -> bool {
    let name = path.file_stem().unwrap().to_string_lossy().to_string();
    let Ok(parent) = fs::read_to_string(path.with_file_name("mod.rs")) else { return false };
    [format!("#[cfg(test)]\nmod {name};"), format!("#[cfg(test)]\npub mod {name};")]
        .iter()
        .any(|declaration| parent.contains(declaration))
}

/// (module, path, code) of every source file below a module's folder.
fn modules() -> Vec<(String, PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    sources(&root)
        .into_iter()
        .filter(|path| !is_test_alone(path))
        .filter_map(|path| {
            let module = path.strip_prefix(&root).ok()?.components().next()?.as_os_str().to_string_lossy().to_string();
            let module = module.trim_end_matches(".rs").to_string();
            let code = code(&path);
            (module != "lib" && module != "main").then_some((module, path, code))
        })
        .collect()
}

/// Names that follow `crate::` in a text, also in a nested list (`use crate::{a, b::c}`).
fn used(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(list) = rest.strip_prefix('{') {
            let (mut depth, mut start) = (0, true);
            for (i, letter) in list.char_indices() {
                match letter {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => start = true,
                    letter if start && letter.is_alphabetic() => {
                        names.push(name(&list[i..]));
                        start = false;
                    }
                    _ => {}
                }
            }
        } else {
            names.push(name(rest));
        }
    }
    names
}

fn name(text: &str) -> String {
    text.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect()
}

#[test]
fn names_are_found_in_every_form_of_use() {
    assert_eq!(used("use crate::reef::Walk;\nlet x = crate::random::mix(3);"), ["reef", "random"]);
    assert_eq!(used("use crate::{analysis::{Part, Tail}, theory};"), ["analysis", "theory"]);
}

#[test]
fn lib_lists_the_modules_of_the_order() {
    let lib = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let mut listed: Vec<&str> =
        lib.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    let mut order = ORDER.to_vec();
    listed.sort_unstable();
    order.sort_unstable();
    assert_eq!(listed, order);
}

#[test]
fn a_module_uses_only_those_above_it() {
    let place = |module: &str| ORDER.iter().position(|name| *name == module);
    let mut wrong = Vec::new();
    let mut looked_at = 0;
    for (module, path, code) in modules() {
        let own = place(&module).unwrap_or_else(|| panic!("{module} is not in the order"));
        for other in used(&code) {
            let Some(other_place) = place(&other) else { continue };
            looked_at += 1;
            if other_place > own {
                wrong.push(format!("{} uses {other}", path.display()));
            }
        }
    }
    assert!(looked_at > 100, "only {looked_at} uses were seen");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Files, printing and the clock belong to the command line; TOML to the scenario.
#[test]
fn only_the_command_line_does_io_and_only_the_scenario_knows_toml() {
    let mut wrong = Vec::new();
    for (module, path, code) in modules() {
        let mut forbid = |word: &str, allowed: &str| {
            if module != allowed && code.contains(word) {
                wrong.push(format!("{} has {word}", path.display()));
            }
        };
        for word in ["std::fs", "std::env", "std::time", "println!", "print!", "Instant::now", "SystemTime"] {
            forbid(word, "cli");
        }
        forbid("toml::", "scenario");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Random numbers are made in one place: no other generator, no seed from outside, no order of a hash map.
#[test]
fn nothing_random_but_by_key() {
    let mut wrong = Vec::new();
    for (_, path, code) in modules() {
        for word in ["rand::rng()", "thread_rng", "from_os_rng", "from_entropy", "HashMap", "HashSet"] {
            if code.contains(word) {
                wrong.push(format!("{} has {word}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
