use super::file::ScenarioFile;
use super::near::nearest;
use super::outline::Outline;
use super::problem::{Problem, ScenarioError};
use std::ops::Range;

/// A scenario as it stands in its file, and where each key stands.
pub struct ReadFile {
    pub file: ScenarioFile,
    pub outline: Outline,
}

/// Text to tables: JSON where the name ends in `.json`, else TOML.
pub fn read(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    if is_json(name) { read_json(name, text) } else { read_toml(name, text) }
}

/// Whether a scenario of this name is JSON.
pub fn is_json(name: &str) -> bool {
    name.to_ascii_lowercase().ends_with(".json")
}

fn read_toml(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    let outline = Outline::of_toml(text);
    match toml::from_str(text) {
        Ok(file) => Ok(ReadFile { file, outline }),
        Err(error) => {
            let place = error.span().unwrap_or(0..0);
            Err(ScenarioError::new(name, text, explain_all(error.message(), place, &outline)))
        }
    }
}

fn read_json(name: &str, text: &str) -> Result<ReadFile, ScenarioError> {
    let outline = Outline::of_json(text);
    match serde_json::from_str(text) {
        Ok(file) => Ok(ReadFile { file, outline }),
        Err(error) => {
            let byte = byte_of(text, error.line(), error.column());
            let full = error.to_string();
            let message = full.rsplit_once(" at line ").map_or(full.as_str(), |(message, _)| message);
            let place = match outline.at(byte) {
                Some(entry) if message.starts_with("unknown field") => entry.key.clone(),
                Some(entry) => entry.value.clone(),
                None => byte..(byte + 1).min(text.len()),
            };
            Err(ScenarioError::new(name, text, explain_all(message, place, &outline)))
        }
    }
}

/// The byte that a JSON reader calls line and column: the last one it had read, both counted from 1.
fn byte_of(text: &str, line: usize, column: usize) -> usize {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    (start + column.saturating_sub(1)).min(text.len().saturating_sub(1))
}

/// What a parser complains of, and every unknown table, because a misspelt table makes parsers complain of others.
fn explain_all(message: &str, place: Range<usize>, outline: &Outline) -> Vec<Problem> {
    let first = explain(message, place, outline);
    let schema = super::schema();
    let known: Vec<&str> =
        schema["properties"].as_object().into_iter().flatten().map(|(key, _)| key.as_str()).collect();
    let unknown = outline.top_keys().filter(|entry| !known.contains(&entry.path.as_str()) && entry.key != first.place);
    let mut problems: Vec<Problem> = unknown
        .map(|entry| Problem {
            key: entry.path.clone(),
            message: format!("the key `{}` is not known here", entry.path),
            allowed: "unknown key".to_owned(),
            remedy: instead_of(&entry.path, &known),
            place: entry.key.clone(),
        })
        .collect();
    problems.push(first);
    problems
}

/// From the words of a parser to a message with a remedy.
fn explain(message: &str, place: Range<usize>, outline: &Outline) -> Problem {
    let key = outline.at(place.start).map_or(String::new(), |entry| entry.path.clone());
    let problem = |message: String, allowed: &str, remedy: String| Problem {
        key: key.clone(),
        message,
        allowed: allowed.to_owned(),
        remedy,
        place: place.clone(),
    };
    if let Some(rest) = message.strip_prefix("unknown field ") {
        let names = quoted(rest);
        let (unknown, known) = names.split_first().map_or(("", &[][..]), |(first, rest)| (*first, rest));
        return problem(format!("the key `{unknown}` is not known here"), "unknown key", instead_of(unknown, known));
    }
    if message.starts_with("missing field ") {
        let names = quoted(message);
        let missing = names.first().copied().unwrap_or("");
        return problem(format!("the key `{missing}` is missing"), "needed in this table", how_to_add(missing));
    }
    if message.starts_with("invalid type: map, expected a sequence") {
        // Below an item of a list it is the table around the list that stands alone.
        let table =
            key.rfind('[').and_then(|item| key[..item].rsplit_once('.')).map_or(key.as_str(), |(table, _)| table);
        let remedy = format!("Write [[{table}]] with two brackets, before anything that belongs to it.");
        return problem(format!("{table} is a list of tables"), "one alone", remedy);
    }
    let single = ["test", "visits", "observers", "variation", "method"].into_iter().find(|table| {
        key.strip_prefix(table).is_some_and(|rest| rest.starts_with('['))
            || (key == *table && message.contains("struct"))
    });
    if let Some(table) = single {
        let remedy = format!("Write [{table}] with one bracket and its keys below.");
        return problem(format!("{table} is one table, not a list of them"), "wrong type", remedy);
    }
    if let Some((found, expected)) =
        message.strip_prefix("invalid type: ").and_then(|rest| rest.split_once(", expected "))
    {
        let remedy = match expected {
            "a sequence" => "Write a list in brackets, such as [\"turf\", \"sand\"].".to_owned(),
            "a string" => "Write a text in quotes.".to_owned(),
            _ => format!("Write {expected}."),
        };
        return problem(format!("{} does not belong here", plain(found)), "wrong type", remedy);
    }
    if let Some((what, remedy)) = message.split_once("; ") {
        return problem(what.to_owned(), "not allowed", format!("{}.", sentence(remedy)));
    }
    if message == "duplicate key" {
        let remedy = "Write each key once in a table; of two [[zone]] each has its own.";
        return problem("this key is written twice".to_owned(), "written above", remedy.to_owned());
    }
    let remedy = "A scenario is written key = value, one key a line, texts in \"quotes\".";
    problem(message.to_owned(), "cannot be read", remedy.to_owned())
}

/// What a parser calls a value, in plain words.
fn plain(found: &str) -> String {
    match found {
        "map" => "a table".to_owned(),
        "sequence" => "a list".to_owned(),
        "null" => "null".to_owned(),
        other => format!("the {other}"),
    }
}

/// The words between backticks.
fn quoted(message: &str) -> Vec<&str> {
    message.split('`').skip(1).step_by(2).collect()
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What to write instead of a key that does not exist: the explanation of a known mistake, a near word, or the list.
fn instead_of(unknown: &str, known: &[&str]) -> String {
    const PERCENT_OR_POINTS: &str = "A change is written from = 28 and to = 22, because \"20 %\" may mean 20 points of \
         cover or a fifth of what was there.";
    if known.contains(&"from") && ["change", "by", "percent", "points", "fall", "rise", "loss"].contains(&unknown) {
        return PERCENT_OR_POINTS.to_owned();
    }
    if unknown == "same_share" {
        return "A share of same sites is not computed yet; for now write sites = \"same\" or \"drawn_anew\": the truth \
                lies between the two answers."
            .to_owned();
    }
    match nearest(unknown, known) {
        Some(near) => format!("Did you mean `{near}`? Known here: {}.", known.join(", ")),
        None => format!("Known here: {}.", known.join(", ")),
    }
}

fn how_to_add(missing: &str) -> String {
    match missing {
        "statement_about" => {
            "Write statement_about = \"each_reef\", \"these_reefs\" or \"all_such_reefs\": the replicates of the test \
             follow from it, so it is never assumed."
        }
        "from" | "to" => "Write both, for example from = 28 and to = 22 (percent of cover).",
        _ => return format!("Add {missing} = ... to this table."),
    }
    .to_owned()
}
