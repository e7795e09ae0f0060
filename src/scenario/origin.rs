use serde::Serialize;

/// Where a number of the scenario comes from; worst first in every list.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind", content = "text")]
pub enum Origin {
    /// Nobody has measured it; a default or a guess.
    Assumed,
    /// The user's own words, kept as written.
    MyWords(String),
    /// From a publication, named.
    Published(String),
    /// From pilot data.
    Pilot(String),
}

/// One number and its origin, for the list of assumptions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assumption {
    /// What it is about, for people: "outer terrace: spread between sites".
    pub about: String,
    /// The value as written: "8 points".
    pub value: String,
    pub origin: Origin,
}
