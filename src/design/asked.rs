use crate::analysis::transforms::Scale;
use serde::Serialize;

/// Which reefs the statement speaks of; the replicate follows from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Scope {
    /// Each reef by itself: its lines are the replicates.
    EachReef,
    /// A fixed list of reefs: sites surveyed are a share (or all) of the list.
    TheseReefs,
    /// All reefs like these: sites are a random sample, site means are the replicates.
    AllSuchReefs,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Question {
    /// How precisely one visit tells the mean.
    Status,
    /// The change that really took place between two visits; does not tell a lasting decline from a bad year.
    BetweenTheseVisits,
    /// A change beyond what usual years do; needs a known year variance here.
    BeyondUsualYears,
    /// The difference between two groups of sites at one visit.
    BetweenGroups,
}

impl Question {
    pub fn visits(self) -> usize {
        match self {
            Question::Status | Question::BetweenGroups => 1,
            Question::BetweenTheseVisits | Question::BeyondUsualYears => 2,
        }
    }

    /// Whether something is tested (else only precision is told).
    pub fn tests(self) -> bool {
        self != Question::Status
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TestKind {
    PairedT,
    WelchT,
    /// Exchanges whole sites: the two visits of each, or the sites of two groups. No distribution is assumed.
    Permutation,
}

impl TestKind {
    pub fn name(self) -> &'static str {
        match self {
            TestKind::PairedT => "paired_t",
            TestKind::WelchT => "welch_t",
            TestKind::Permutation => "permutation",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    Two,
    /// Only a fall counts.
    Fall,
    /// Only a rise counts.
    Rise,
}

/// The scale on which site means of counted things are compared; everything else is compared as it is measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SiteScale {
    #[default]
    Plain,
    /// `ln(mean + plus)`.
    Ln { plus: Plus },
    /// `sqrt(mean + plus)`.
    SquareRoot { plus: Plus },
}

/// What is added to a site mean before it goes on a scale.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Plus {
    /// By what the units of a site search: half of one animal in all of them together for ln, 3/8 of one for the square root.
    OfSearch,
    /// So much, in the unit of the indicator.
    Value(f64),
}

impl SiteScale {
    pub fn is_plain(&self) -> bool {
        *self == SiteScale::Plain
    }

    /// The word for it; `None` for values as they are measured.
    pub fn name(self) -> Option<&'static str> {
        match self {
            SiteScale::Plain => None,
            SiteScale::Ln { .. } => Some("ln"),
            SiteScale::SquareRoot { .. } => Some("square_root"),
        }
    }

    /// The scale itself, for site means over units that search `area` together (in the area that densities are told per).
    pub fn of_search(self, area: f64) -> Scale {
        let or_plain = |scale: Result<Scale, _>| scale.unwrap_or(Scale::Plain);
        match self {
            SiteScale::Plain => Scale::Plain,
            SiteScale::Ln { plus: Plus::Value(plus) } => Scale::Log { plus },
            SiteScale::Ln { plus: Plus::OfSearch } => or_plain(Scale::log_of_density(area)),
            SiteScale::SquareRoot { plus: Plus::Value(plus) } => Scale::SquareRoot { plus },
            SiteScale::SquareRoot { plus: Plus::OfSearch } => or_plain(Scale::root_of_density(area)),
        }
    }
}

/// The test that will be used and what is asked of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TestSpec {
    pub kind: TestKind,
    /// For counted things alone.
    #[serde(skip_serializing_if = "SiteScale::is_plain")]
    pub scale: SiteScale,
    /// The false-alarm rate the test aims at.
    pub alpha: f64,
    pub sides: Sides,
    /// The power wanted: how often the change shall be seen, 0.8 = 4 times in 5.
    pub seen: f64,
}
