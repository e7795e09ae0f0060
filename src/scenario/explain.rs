//! From the words of a parser to what a reader can act on.

use super::near::nearest;
use super::outline::Outline;
use super::problem::Problem;
use std::ops::Range;

/// What a parser complains of, and every unknown table, because a misspelt table makes parsers complain of others.
pub fn explain_all(message: &str, place: Range<usize>, outline: &Outline) -> Vec<Problem> {
    let first = explain(message, place, outline);
    let schema = super::schema();
    let mut problems = Vec::new();
    for (table, properties) in [("", &schema["properties"]), ("method", &schema["$defs"]["MethodTables"]["properties"])]
    {
        let known: Vec<&str> = properties.as_object().into_iter().flatten().map(|(key, _)| key.as_str()).collect();
        let unknown = outline.keys_of(table).filter(|(key, entry)| !known.contains(key) && entry.key != first.place);
        problems.extend(unknown.map(|(key, entry)| Problem {
            key: entry.path.clone(),
            message: format!("the key `{key}` is not known here"),
            allowed: "unknown key".to_owned(),
            remedy: instead_of(key, &known),
            place: entry.key.clone(),
        }));
    }
    problems.push(first);
    problems
}

fn explain(message: &str, place: Range<usize>, outline: &Outline) -> Problem {
    let key = outline.at(place.start).map_or(String::new(), |entry| entry.path.clone());
    let told = unknown_key(message)
        .or_else(|| missing_key(message))
        .or_else(|| wrong_brackets(message, &key))
        .or_else(|| wrong_type(message))
        .or_else(|| written_twice(message))
        .or_else(|| own_words(message))
        .unwrap_or_else(|| Told {
            message: message.to_owned(),
            allowed: "cannot be read",
            remedy: "A scenario is written key = value, one key a line, texts in \"quotes\".".to_owned(),
        });
    Problem { key, message: told.message, allowed: told.allowed.to_owned(), remedy: told.remedy, place }
}

/// A problem before it has a place.
struct Told {
    message: String,
    allowed: &'static str,
    remedy: String,
}

fn unknown_key(message: &str) -> Option<Told> {
    let names = quoted(message.strip_prefix("unknown field ")?);
    let (unknown, known) = names.split_first()?;
    Some(Told {
        message: format!("the key `{unknown}` is not known here"),
        allowed: "unknown key",
        remedy: instead_of(unknown, known),
    })
}

fn missing_key(message: &str) -> Option<Told> {
    let missing = *quoted(message.strip_prefix("missing field ")?).first()?;
    Some(Told {
        message: format!("the key `{missing}` is missing"),
        allowed: "needed in this table",
        remedy: how_to_add(missing),
    })
}

/// Tables that stand alone, where a list of them is meant or the other way round.
fn wrong_brackets(message: &str, key: &str) -> Option<Told> {
    // A table that belongs to one item of a list: zone[0].dive[0].
    let belongs = ["dive", "partial_mortality", "condition", "colony_variation", "recruits", "work", "deaths"];
    let last = key.rsplit_once('.').and_then(|(_, last)| last.split_once('[')).map(|(last, _)| last);
    if message.starts_with("invalid type: map") && last.is_some_and(|last| belongs.contains(&last)) {
        let table: String = key.split('[').map(|part| part.split_once(']').map_or(part, |(_, rest)| rest)).collect();
        return Some(Told {
            message: format!("{table} is one table, not a list of them"),
            allowed: "wrong brackets",
            remedy: format!("Write [{table}] with one bracket and its keys below."),
        });
    }
    if message.starts_with("invalid type: map, expected a sequence") {
        // Below an item of a list it is the table around the list that stands alone.
        let around = key.rfind('[').and_then(|item| key[..item].rsplit_once('.'));
        let table = around.map_or(key, |(table, _)| table);
        return Some(Told {
            message: format!("{table} is a list of tables"),
            allowed: "one alone",
            remedy: format!("Write [[{table}]] with two brackets, before anything that belongs to it."),
        });
    }
    let is_listed = |table: &&str| {
        let is_item = key.strip_prefix(table).is_some_and(|rest| rest.starts_with('['));
        is_item || (key == *table && message.contains("struct"))
    };
    let table = ["test", "visits", "observers", "variation", "expedition", "method"].into_iter().find(is_listed)?;
    Some(Told {
        message: format!("{table} is one table, not a list of them"),
        allowed: "wrong type",
        remedy: format!("Write [{table}] with one bracket and its keys below."),
    })
}

fn wrong_type(message: &str) -> Option<Told> {
    let (found, expected) = message.strip_prefix("invalid type: ")?.split_once(", expected ")?;
    let remedy = match expected {
        "a sequence" => "Write a list in brackets, such as [\"turf\", \"sand\"].".to_owned(),
        "a string" => "Write a text in quotes.".to_owned(),
        "a boolean" => "Write true or false, without quotes.".to_owned(),
        _ => format!("Write {expected}."),
    };
    Some(Told { message: format!("{} does not belong here", plain(found)), allowed: "wrong type", remedy })
}

fn written_twice(message: &str) -> Option<Told> {
    (message == "duplicate key").then(|| Told {
        message: "this key is written twice".to_owned(),
        allowed: "written above",
        remedy: "Write each key once in a table; of two [[zone]] each has its own.".to_owned(),
    })
}

/// Messages of our own types: what is wrong, a semicolon, what to write.
fn own_words(message: &str) -> Option<Told> {
    let (what, remedy) = message.split_once("; ")?;
    Some(Told { message: what.to_owned(), allowed: "not allowed", remedy: format!("{}.", sentence(remedy)) })
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
    if known.contains(&"expedition") && ["boat", "boats"].contains(&unknown) {
        return "Boats are all alike here: write boats = 2 in [expedition]. Plan unlike boats each by itself, with its own pairs and \
                sites, in a file of its own."
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
        "dives_a_day" => "Write how many dives each diver makes a day at most, as the diving officer decides; it has no usual value.",
        "standby" => {
            "Write standby = \"crew\", \"a_pair_stays_up\" or \"as_the_diving_officer_decides\": a pair that stays up is no \
             capacity, so it is never assumed."
        }
        "bottom_minutes" => "Write the bottom time that the diving officer allows at this depth; it has no usual value.",
        "from" | "to" => "Write both, for example from = 28 and to = 22 (percent of cover).",
        _ => return format!("Add {missing} = ... to this table."),
    }
    .to_owned()
}
