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
}

impl TestKind {
    pub fn name(self) -> &'static str {
        match self {
            TestKind::PairedT => "paired_t",
            TestKind::WelchT => "welch_t",
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

/// The test that will be used and what is asked of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TestSpec {
    pub kind: TestKind,
    /// The false-alarm rate the test aims at.
    pub alpha: f64,
    pub sides: Sides,
    /// The power wanted: how often the change shall be seen, 0.8 = 4 times in 5.
    pub seen: f64,
}
