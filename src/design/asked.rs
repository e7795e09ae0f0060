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
    /// Totals of what is counted on whole sites, their variance a multiple of their mean; everything else by t.
    QuasiPoisson,
    /// The same with the variance `mean + mean^2 / k`, for groups of different sites.
    NegativeBinomial,
}

impl TestKind {
    pub fn name(self) -> &'static str {
        match self {
            TestKind::PairedT => "paired_t",
            TestKind::WelchT => "welch_t",
            TestKind::Permutation => "permutation",
            TestKind::QuasiPoisson => "quasi_poisson",
            TestKind::NegativeBinomial => "negative_binomial",
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
    /// By what the units of a site search: half of one animal, colony, recruit or fish in all of them together for ln, 3/8 of one for
    /// the square root.
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
