use super::outline::child;
use super::source::Source;
use super::{Assumption, Matter, Origin};
use std::collections::BTreeMap;

/// Keeps the account of where every number came from while a study is built.
#[derive(Debug, Default)]
pub struct Ledger {
    assumptions: Vec<Assumption>,
    origins: BTreeMap<String, Origin>,
}

impl Ledger {
    /// A number that is written in the file, or filled in (then its origin is `assumed`, whatever the table says of its
    /// other numbers): its origin is kept and it is listed.
    pub fn note(&mut self, table: &str, key: &str, about: String, value: Noted, source: &Option<Source>) {
        let is_written = matches!(value, Noted::Written(_));
        let origin = self.keep(table, key, is_written, source);
        let value = match value {
            Noted::Written(value) => value,
            Noted::Default(value) => format!("{value} (default)"),
        };
        self.assumptions.push(Assumption { matter: Matter::of(table, key), about, value, origin });
    }

    /// A number of the plan (sites, years between visits): listed where it was filled in or where its origin is told; a
    /// plan that the user wrote down is no assumption.
    pub fn note_plan(&mut self, table: &str, key: &str, about: String, value: Noted, source: &Option<Source>) {
        let told = match value {
            Noted::Written(_) => source.as_ref().and_then(|source| source.of_plan(key)),
            Noted::Default(_) => Some(Origin::Assumed),
        };
        if let Some(origin) = told {
            self.note(table, key, about, value, &Some(Source::All(origin)));
        }
    }

    /// Keeps the origin of a number without listing it.
    pub fn keep(&mut self, table: &str, key: &str, is_written: bool, source: &Option<Source>) -> Origin {
        let origin = source.as_ref().filter(|_| is_written).map_or(Origin::Assumed, |source| source.of(key));
        self.keep_as(table, key, origin.clone());
        origin
    }

    /// The same where the origin is that of other numbers.
    pub fn keep_as(&mut self, table: &str, key: &str, origin: Origin) {
        self.origins.insert(child(table, key), origin);
    }

    /// Lists numbers together whose origins are kept one by one.
    pub fn list_together(&mut self, table: &str, about: String, value: String, origin: Origin) {
        self.assumptions.push(Assumption { matter: Matter::of(table, ""), about, value, origin });
    }

    /// Lists what is assumed and has no key of its own.
    pub fn assume(&mut self, matter: Matter, about: String, value: String) {
        self.assumptions.push(Assumption { matter, about, value, origin: Origin::Assumed });
    }

    /// Assumptions worst origin first, within one origin those that move the answer most; and the origin of each key.
    pub fn close(mut self) -> (Vec<Assumption>, BTreeMap<String, Origin>) {
        self.assumptions.sort_by_key(|assumption| (assumption.origin.rank(), assumption.matter));
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
