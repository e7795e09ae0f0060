use super::source::Source;
use super::{Assumption, Origin};
use std::collections::BTreeMap;

/// Keeps the account of where every number came from while a study is built.
#[derive(Debug, Default)]
pub struct Ledger {
    assumptions: Vec<Assumption>,
    origins: BTreeMap<String, Origin>,
}

impl Ledger {
    /// A number that is written in the file (`written`) or filled in (then its origin is `assumed`, whatever the table
    /// says of its other numbers).
    pub fn note(&mut self, table: &str, key: &str, about: String, value: Noted, source: &Option<Source>) {
        let origin = match (&value, source) {
            (Noted::Written(_), Some(source)) => source.of(key),
            _ => Origin::Assumed,
        };
        let value = match value {
            Noted::Written(value) => value,
            Noted::Default(value) => format!("{value} (default)"),
        };
        self.origins.insert(super::outline::child(table, key), origin.clone());
        self.assumptions.push(Assumption { about, value, origin });
    }

    /// Assumptions worst first (in the order of the file within one origin), and the origin of each key.
    pub fn close(mut self) -> (Vec<Assumption>, BTreeMap<String, Origin>) {
        self.assumptions.sort_by_key(|assumption| assumption.origin.rank());
        (self.assumptions, self.origins)
    }
}

/// A value for people, as written or as filled in.
pub enum Noted {
    Written(String),
    Default(String),
}

impl Noted {
    /// Written where the key stands in the file.
    pub fn when(is_written: bool, value: String) -> Noted {
        if is_written { Noted::Written(value) } else { Noted::Default(value) }
    }
}
