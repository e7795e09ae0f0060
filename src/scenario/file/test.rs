use crate::design::TestKind;
use crate::scenario::count::{Count, TestSides};
use crate::scenario::number::{Alpha, Number, Plus, Seen};
use crate::scenario::word::{Direction, ScaleWord, Word};
use schemars::JsonSchema;
use serde::Deserialize;

/// The test that will be used, and what is asked of it.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestTable {
    /// Left out: `paired_t` where the same replicates are read twice, else `welch_t`. `permutation` exchanges whole sites;
    /// `quasi_poisson` and `negative_binomial` compare site totals of what is counted by their ratio, everything else by t.
    pub kind: Option<Word<TestKind>>,
    /// Scale on which site means of what is counted (animals, colonies, recruits, fish; the
    /// biomass of fish too) are compared: `plain` (left out), `ln` or
    /// `square_root`.
    pub scale: Option<Word<ScaleWord>>,
    /// Added to a site mean before it goes on the scale, in the unit of the indicator. Left out: for `ln` half of one
    /// animal, colony, recruit or fish (of a biomass: a fish of mean weight) in all that is searched on a site, for
    /// `square_root` 3/8 of one.
    pub plus: Option<Number<Plus>>,
    /// False-alarm rate the test aims at; 0.05 when left out.
    pub alpha: Option<Number<Alpha>>,
    /// 2 (any difference counts; the default) or 1.
    pub sides: Option<Count<TestSides>>,
    /// For one side: `fall` or `rise`; left out: the direction of the changes.
    pub direction: Option<Word<Direction>>,
    /// How often the change shall be seen: 0.8 (the default) is 4 times in 5.
    pub seen: Option<Number<Seen>>,
}
