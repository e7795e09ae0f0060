use super::Origin;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, MapAccess, Visitor};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

/// Where the numbers of a table come from: one origin for all of them, or one for each key
/// (`source = { cover_percent = "pilot", between_sites_points = "my words: ..." }`; keys left out are assumed).
#[derive(Clone, Debug, PartialEq)]
pub enum Source {
    All(Origin),
    ByKey(BTreeMap<String, Origin>),
}

impl Source {
    pub fn of(&self, key: &str) -> Origin {
        match self {
            Source::All(origin) => origin.clone(),
            Source::ByKey(origins) => origins.get(key).cloned().unwrap_or(Origin::Assumed),
        }
    }
}

impl Source {
    /// The origin of a number that is the user's own plan (sites, years) and no measurement: where a whole table is
    /// published or from a pilot, the plan is not, and has no origin.
    pub fn of_plan(&self, key: &str) -> Option<Origin> {
        match self {
            Source::All(Origin::Assumed) => Some(Origin::Assumed),
            Source::All(_) => None,
            Source::ByKey(origins) => origins.get(key).cloned(),
        }
    }
}

impl Origin {
    /// From the text of a scenario.
    pub fn parse(text: &str) -> Result<Origin, String> {
        let (word, rest) = text.split_once(':').map_or((text, ""), |(word, rest)| (word, rest.trim()));
        match (word.trim(), rest.is_empty()) {
            ("assumed", true) => Ok(Origin::Assumed),
            ("pilot", _) => Ok(Origin::Pilot(rest.to_owned())),
            ("published", false) => Ok(Origin::Published(rest.to_owned())),
            ("my words", false) => Ok(Origin::MyWords(rest.to_owned())),
            ("published", true) => {
                Err("\"published\" needs its source: \"published: authors, year, table\"".to_owned())
            }
            ("my words", true) => {
                Err("\"my words\" needs the words: \"my words: eight of ten between ...\"".to_owned())
            }
            _ => Err(format!("\"{text}\" is not an origin; {HOW}")),
        }
    }

    /// As it stands in a scenario.
    pub fn text(&self) -> String {
        match self {
            Origin::Assumed => "assumed".to_owned(),
            Origin::MyWords(words) => format!("my words: {words}"),
            Origin::Published(source) => format!("published: {source}"),
            Origin::Pilot(file) if file.is_empty() => "pilot".to_owned(),
            Origin::Pilot(file) => format!("pilot: {file}"),
        }
    }

    /// 0 is worst: nobody has measured it.
    pub fn rank(&self) -> u8 {
        match self {
            Origin::Assumed => 0,
            Origin::MyWords(_) => 1,
            Origin::Published(_) => 2,
            Origin::Pilot(_) => 3,
        }
    }
}

const HOW: &str = "write \"assumed\", \"my words: ...\", \"published: ...\", \"pilot\" or \"pilot: FILE\"";

impl<'de> Deserialize<'de> for Source {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(SourceVisitor)
    }
}

struct SourceVisitor;

impl<'de> Visitor<'de> for SourceVisitor {
    type Value = Source;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "the origin of the numbers of this table: {HOW}")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Source, E> {
        Origin::parse(text).map(Source::All).map_err(E::custom)
    }

    fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Source, M::Error> {
        let mut origins = BTreeMap::new();
        while let Some((key, text)) = map.next_entry::<String, String>()? {
            origins.insert(key, Origin::parse(&text).map_err(M::Error::custom)?);
        }
        Ok(Source::ByKey(origins))
    }
}

impl JsonSchema for Source {
    fn schema_name() -> Cow<'static, str> {
        "Source".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let one = json_schema!({ "type": "string", "pattern": "^(assumed|pilot(:.*)?|published: *.+|my words: *.+)$" });
        json_schema!({
            "description": "where the numbers of the table come from; one origin for all, or one for each key",
            "anyOf": [one, { "type": "object", "additionalProperties": one }]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn origins_come_back_as_they_were_written() {
        for text in
            ["assumed", "pilot", "pilot: lines.csv", "published: A & B 2001, table 2", "my words: 20 to 36: most"]
        {
            assert_eq!(Origin::parse(text).unwrap().text(), text);
        }
        for text in ["", "guess", "published", "published:", "my words: ", "assumed: yes"] {
            assert!(Origin::parse(text).is_err(), "{text}");
        }
    }
}
