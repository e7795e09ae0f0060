use crate::design::{Crew, Places, Scope, Sites};

/// An answer with the words it was given in.
#[derive(Clone, Debug, PartialEq)]
pub struct Said<T> {
    pub words: String,
    pub meant: T,
}

/// The answers to the nine field questions; `None` is "don't know". Covers in percent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answers {
    /// Which reefs shall the answer speak of; for a fixed list, how many there are.
    pub scope: Option<Said<(Scope, Option<usize>)>>,
    /// Numbers of sites surveyed at a visit, to compare.
    pub sites: Option<Said<Vec<usize>>>,
    /// Typical cover of hard coral.
    pub cover: Option<Said<f64>>,
    /// Between which values most reefs lie.
    pub reefs_between: Option<Said<Band>>,
    /// From how many lines each reef's average was made.
    pub lines_each: Option<Said<f64>>,
    /// Lines of one day on one reef.
    pub lines_on_a_reef: Option<Said<OnOneReef>>,
    /// By how much a reef's average moves between years when nothing happens, points.
    pub usual_move: Option<Said<f64>>,
    /// Where the second visit reads.
    pub again: Option<Said<(Sites, Places)>>,
    /// Years between the visits.
    pub years_apart: Option<Said<f64>>,
    /// The change to see: from, to.
    pub change: Option<Said<(f64, f64)>>,
    /// Between which values the cover after the change would lie on most sites.
    pub change_between: Option<Said<Band>>,
    /// Lines a pair finishes in a dive, and minutes of the dive.
    pub dive: Option<Said<(f64, f64)>>,
    /// The same people next time?
    pub crew: Option<Said<Crew>>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    pub low: f64,
    pub high: f64,
    /// Half of them lie in it, not eight of ten.
    pub holds_half: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OnOneReef {
    /// Lowest and highest of so many lines.
    Range {
        low: f64,
        high: f64,
        lines: usize,
    },
    /// It looks like even ground, some patches, or bommies and sand.
    Even,
    Patches,
    Bommies,
}
