use crate::scenario::number::{Gap, Number};
use crate::scenario::source::Source;
use crate::scenario::word::{Vocabulary, Word};
use crate::survey::Heading;
use schemars::JsonSchema;
use serde::Deserialize;

/// How the lines and belts of a site are placed.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacementTable {
    /// `random_starts` (default): each line starts at a random place, whatever the others do; `least_gap`: at random places
    /// at which no line lies nearer to another one than `gap_m`; `systematic`: at equal distances across the site, from one
    /// random start.
    pub layout: Option<Word<LayoutWord>>,
    /// The least distance between two lines (or the edges of two belts) of a site, with `least_gap`.
    pub gap_m: Option<Number<Gap>>,
    /// Lines lie `along` the site (default), `across` it, or each in `any` direction.
    pub heading: Option<Word<Heading>>,
    pub source: Option<Source>,
}

/// A layout without its gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayoutWord {
    RandomStarts,
    LeastGap,
    Systematic,
}

impl Vocabulary for LayoutWord {
    const NAME: &'static str = "Layout";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("random_starts", LayoutWord::RandomStarts),
        ("least_gap", LayoutWord::LeastGap),
        ("systematic", LayoutWord::Systematic),
    ];
}

impl Vocabulary for Heading {
    const NAME: &'static str = "Heading";
    const WORDS: &'static [(&'static str, Self)] =
        &[("along", Heading::Along), ("across", Heading::Across), ("any", Heading::Any)];
}
