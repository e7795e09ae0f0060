use crate::design::{Places, Sites, Tape};
use crate::scenario::count::{Count, VisitNumber};
use crate::scenario::number::{Number, Percent, Relay, Years};
use crate::scenario::source::Source;
use crate::scenario::word::{Vocabulary, Word, meaning_of};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Deserialize;
use serde::de::{Deserializer, Error, IgnoredAny, MapAccess, Visitor};
use std::borrow::Cow;
use std::fmt;

/// What lies between the two visits, whatever the change.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitsTable {
    /// One or two; left out: as the question needs.
    pub number: Option<Count<VisitNumber>>,
    /// Years between the visits; 1 when left out.
    pub years_apart: Option<Number<Years>>,
    /// `same` (default) or `drawn_anew`.
    pub sites: Option<SitesAgain>,
    /// `new_places` (default; finding a site again by GPS comes out so) or `same_marks`.
    pub places: Option<Word<Places>>,
    /// How well tapes are laid at the same marks again, and how fast the reef renews itself: a word for the next three.
    pub tape: Option<Word<Tape>>,
    /// SD, on each axis, of the displacement of the second tape against the first, metres: two times in three the second
    /// tape lies within this distance of the first, along the tape and across it.
    pub relay_within_m: Option<Number<Relay>>,
    /// Colonies that are replaced by others each year, percent.
    pub renewal_percent_per_year: Option<Number<Percent>>,
    /// Years after which the patches of the reef have lost 63 % of their memory.
    pub drift_years: Option<Number<Years>>,
    pub source: Option<Source>,
}

impl Vocabulary for Tape {
    const NAME: &'static str = "Tape";
    const WORDS: &'static [(&'static str, Self)] =
        &[("well_marked", Tape::WellMarked), ("as_found", Tape::AsFound), ("loose", Tape::Loose)];
}

/// The sites of the second visit. A share of same sites is recognised, and refused for now.
#[derive(Clone, Copy, Debug)]
pub struct SitesAgain(pub Sites);

impl<'de> Deserialize<'de> for SitesAgain {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(SitesVisitor).map(SitesAgain)
    }
}

struct SitesVisitor;

impl<'de> Visitor<'de> for SitesVisitor {
    type Value = Sites;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "\"same\" or \"drawn_anew\"")
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<Sites, E> {
        meaning_of(word).map_err(E::custom)
    }

    fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Sites, M::Error> {
        let key = map.next_key::<String>()?.unwrap_or_default();
        map.next_value::<IgnoredAny>()?;
        if key == "same_share" {
            return Err(M::Error::custom(
                "a share of same sites (same_share) is not computed yet; for now write \"same\" or \"drawn_anew\": \
                 the truth lies between the two answers",
            ));
        }
        Err(M::Error::custom(format!("`{key}` is not known here; write \"same\" or \"drawn_anew\"")))
    }
}

impl JsonSchema for SitesAgain {
    fn schema_name() -> Cow<'static, str> {
        Sites::NAME.into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        Word::<Sites>::json_schema(generator)
    }
}
