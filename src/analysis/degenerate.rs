//! Why a set of readings has no answer.

use std::fmt;

/// A reason for which an estimate or a test does not exist; a trial that ends so is counted and shown, never guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Degenerate {
    /// Fewer replicates than the method needs.
    TooFew,
    /// More replicates than the method can take.
    TooMany,
    /// Nothing was counted anywhere.
    AllZero,
    /// Nothing was counted in one group or visit, so that a ratio has no finite value.
    ZeroInOneGroup,
    /// A share is 1 in a group, so that its logit has no finite value.
    AllInOneGroup,
    /// All replicates are alike: the spread cannot be estimated.
    NothingVaries,
    /// The likelihood has no largest value inside the range, or the search for it did not settle.
    NotConverged,
    /// A value is negative, missing or not finite, an effort is not positive, or lists differ in length.
    BadValue,
}

impl Degenerate {
    /// The reason as it is told.
    pub fn words(self) -> &'static str {
        match self {
            Self::TooFew => "too few replicates",
            Self::TooMany => "too many replicates for this method",
            Self::AllZero => "nothing was counted",
            Self::ZeroInOneGroup => "nothing was counted in one group",
            Self::AllInOneGroup => "all had the mark in one group",
            Self::NothingVaries => "nothing varied",
            Self::NotConverged => "the fit did not settle",
            Self::BadValue => "a value is missing or out of range",
        }
    }
}

impl fmt::Display for Degenerate {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(self.words())
    }
}

impl std::error::Error for Degenerate {}
