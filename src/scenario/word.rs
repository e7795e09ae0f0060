use super::near::nearest;
use crate::design::{Crew, LeastOf, Places, Question, Scheduled, Scope, Sites, Standby, TestKind, WhoWaits};
use crate::reef::NamedReef;
use crate::survey::coral_belt::EdgeRule;
use crate::survey::fish_sheet::ClassValue;
use crate::survey::{Placed, Scale};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, Error, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// The words that stand for the values of a closed choice.
pub trait Vocabulary: Copy + PartialEq + 'static {
    /// Name of the choice in the JSON Schema.
    const NAME: &'static str;
    const WORDS: &'static [(&'static str, Self)];
}

/// The word for a value.
pub fn word_of<T: Vocabulary>(value: T) -> &'static str {
    T::WORDS.iter().find(|(_, known)| *known == value).map_or("", |(word, _)| word)
}

/// The value for a word, or a message that lists the words.
pub fn meaning_of<T: Vocabulary>(word: &str) -> Result<T, String> {
    if let Some((_, value)) = T::WORDS.iter().find(|(known, _)| *known == word) {
        return Ok(*value);
    }
    let words: Vec<&str> = T::WORDS.iter().map(|(known, _)| *known).collect();
    let hint = nearest(word, &words).map_or(String::new(), |near| format!(" (did you mean \"{near}\"?)"));
    Err(format!("\"{word}\" is not known here{hint}; write one of: {}", words.join(", ")))
}

/// One word of a closed choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Word<T>(pub T);

impl<'de, T: Vocabulary> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(WordVisitor(PhantomData))
    }
}

struct WordVisitor<T>(PhantomData<T>);

impl<T: Vocabulary> Visitor<'_> for WordVisitor<T> {
    type Value = Word<T>;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words: Vec<&str> = T::WORDS.iter().map(|(known, _)| *known).collect();
        write!(out, "one of the words: {}", words.join(", "))
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<Self::Value, E> {
        meaning_of(word).map(Word).map_err(E::custom)
    }
}

impl<T: Vocabulary> JsonSchema for Word<T> {
    fn schema_name() -> Cow<'static, str> {
        T::NAME.into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let words: Vec<&str> = T::WORDS.iter().map(|(known, _)| *known).collect();
        json_schema!({ "type": "string", "enum": words })
    }
}

impl Vocabulary for Scope {
    const NAME: &'static str = "StatementAbout";
    const WORDS: &'static [(&'static str, Self)] =
        &[("each_reef", Scope::EachReef), ("these_reefs", Scope::TheseReefs), ("all_such_reefs", Scope::AllSuchReefs)];
}

impl Vocabulary for Question {
    const NAME: &'static str = "Question";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("status", Question::Status),
        ("between_these_visits", Question::BetweenTheseVisits),
        ("beyond_usual_years", Question::BeyondUsualYears),
        ("between_groups", Question::BetweenGroups),
    ];
}

impl Vocabulary for TestKind {
    const NAME: &'static str = "TestKind";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("paired_t", TestKind::PairedT),
        ("welch_t", TestKind::WelchT),
        ("permutation", TestKind::Permutation),
        ("quasi_poisson", TestKind::QuasiPoisson),
        ("negative_binomial", TestKind::NegativeBinomial),
    ];
}

impl Vocabulary for Sites {
    const NAME: &'static str = "SitesAtTheSecondVisit";
    const WORDS: &'static [(&'static str, Self)] = &[("same", Sites::Same), ("drawn_anew", Sites::DrawnAnew)];
}

impl Vocabulary for Places {
    const NAME: &'static str = "PlacesAtTheSecondVisit";
    const WORDS: &'static [(&'static str, Self)] =
        &[("same_marks", Places::SameMarks), ("new_places", Places::NewPlaces)];
}

impl Vocabulary for Crew {
    const NAME: &'static str = "CrewOfTheSecondVisit";
    const WORDS: &'static [(&'static str, Self)] =
        &[("same", Crew::Same), ("changed", Crew::Changed), ("mixed", Crew::Mixed)];
}

impl Vocabulary for Scale {
    const NAME: &'static str = "Scale";
    const WORDS: &'static [(&'static str, Self)] =
        &[("plain", Scale::Plain), ("ln", Scale::Ln), ("logit", Scale::Logit)];
}

/// Which of two directions a one-sided test looks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    Fall,
    Rise,
}

impl Vocabulary for EdgeRule {
    const NAME: &'static str = "EdgeRule";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("centre_in", EdgeRule::CentreIn),
        ("any_part_in", EdgeRule::AnyPartIn),
        ("wholly_in", EdgeRule::WhollyIn),
        ("two_edges", EdgeRule::TwoEdges),
    ];
}

impl Vocabulary for Placed {
    const NAME: &'static str = "Placed";
    const WORDS: &'static [(&'static str, Self)] = &[("random", Placed::Random), ("stratified", Placed::Stratified)];
}

/// How many fish swim together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SchoolWord {
    Alone,
    Pairs,
    LogNormal,
    Logarithmic,
}

impl Vocabulary for SchoolWord {
    const NAME: &'static str = "School";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("alone", SchoolWord::Alone),
        ("pairs", SchoolWord::Pairs),
        ("lognormal", SchoolWord::LogNormal),
        ("logarithmic", SchoolWord::Logarithmic),
    ];
}

/// Which fish count along a belt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountingWord {
    MovingWindow,
    WholeSwim,
    Abreast,
}

impl Vocabulary for CountingWord {
    const NAME: &'static str = "CountingAlongABelt";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("moving_window", CountingWord::MovingWindow),
        ("whole_swim", CountingWord::WholeSwim),
        ("abreast", CountingWord::Abreast),
    ];
}

/// Which fish count from a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PeriodWord {
    Snapshot,
    WholePeriod,
}

impl Vocabulary for PeriodWord {
    const NAME: &'static str = "CountingFromAPoint";
    const WORDS: &'static [(&'static str, Self)] =
        &[("snapshot", PeriodWord::Snapshot), ("whole_period", PeriodWord::WholePeriod)];
}

impl Vocabulary for ClassValue {
    const NAME: &'static str = "ValueOfAClass";
    const WORDS: &'static [(&'static str, Self)] =
        &[("midpoint", ClassValue::Midpoint), ("within", ClassValue::Within), ("upper_limit", ClassValue::UpperLimit)];
}

/// The scale of the test, without what is added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleWord {
    Plain,
    Ln,
    SquareRoot,
}

impl Vocabulary for ScaleWord {
    const NAME: &'static str = "ScaleOfTheTest";
    const WORDS: &'static [(&'static str, Self)] =
        &[("plain", ScaleWord::Plain), ("ln", ScaleWord::Ln), ("square_root", ScaleWord::SquareRoot)];
}

impl Vocabulary for Direction {
    const NAME: &'static str = "Direction";
    const WORDS: &'static [(&'static str, Self)] = &[("fall", Direction::Fall), ("rise", Direction::Rise)];
}

impl Vocabulary for Standby {
    const NAME: &'static str = "Standby";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("crew", Standby::Crew),
        ("a_pair_stays_up", Standby::APairStaysUp),
        ("as_the_diving_officer_decides", Standby::AsTheDivingOfficerDecides),
    ];
}

impl Vocabulary for Scheduled {
    const NAME: &'static str = "Scheduled";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("all_targets", Scheduled::AllTargets),
        ("best_of_days", Scheduled::BestOfDays),
        ("best_of_money", Scheduled::BestOfMoney),
    ];
}

impl Vocabulary for LeastOf {
    const NAME: &'static str = "LeastOf";
    const WORDS: &'static [(&'static str, Self)] = &[("effort", LeastOf::Effort), ("money", LeastOf::Money)];
}

/// Whether a unit takes one diver of a pair or both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakesWord {
    One,
    Both,
}

impl Vocabulary for TakesWord {
    const NAME: &'static str = "Takes";
    const WORDS: &'static [(&'static str, Self)] = &[("one", TakesWord::One), ("both", TakesWord::Both)];
}

/// Who waits for work that comes first.
impl Vocabulary for WhoWaits {
    const NAME: &'static str = "WhoWaits";
    const WORDS: &'static [(&'static str, Self)] = &[("all", WhoWaits::All), ("buddy", WhoWaits::Buddy)];
}

/// How much a target matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Priority {
    Must,
    Should,
}

impl Vocabulary for Priority {
    const NAME: &'static str = "Priority";
    const WORDS: &'static [(&'static str, Self)] = &[("must", Priority::Must), ("should", Priority::Should)];
}

/// A named reef, or not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReefChoice {
    Named(NamedReef),
    Unknown,
}

impl Vocabulary for ReefChoice {
    const NAME: &'static str = "Reef";
    const WORDS: &'static [(&'static str, Self)] = &[
        ("unknown", ReefChoice::Unknown),
        ("low_cover_hard_ground", ReefChoice::Named(NamedReef::LowCoverHardGround)),
        ("fore_reef", ReefChoice::Named(NamedReef::ForeReef)),
        ("patchy_fore_reef", ReefChoice::Named(NamedReef::PatchyForeReef)),
        ("rubble_slope", ReefChoice::Named(NamedReef::RubbleSlope)),
        ("dense_coral_garden", ReefChoice::Named(NamedReef::DenseCoralGarden)),
        ("outer_slope", ReefChoice::Named(NamedReef::OuterSlope)),
        ("lagoon_bommies", ReefChoice::Named(NamedReef::LagoonBommies)),
    ];
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_named_reef_has_its_own_word() {
        for reef in NamedReef::ALL {
            assert_eq!(meaning_of::<ReefChoice>(reef.name()), Ok(ReefChoice::Named(reef)));
            assert_eq!(word_of(ReefChoice::Named(reef)), reef.name());
        }
    }

    #[test]
    fn a_near_miss_is_pointed_out() {
        let message = meaning_of::<Scope>("each_reaf").unwrap_err();
        assert!(message.contains("did you mean \"each_reef\""), "{message}");
        assert!(!meaning_of::<Scope>("submarine").unwrap_err().contains("did you mean"));
    }
}
