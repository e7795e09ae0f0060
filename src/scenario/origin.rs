use serde::Serialize;

/// Where a number of the scenario comes from; worst first in every list.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind", content = "text")]
pub enum Origin {
    /// Nobody has measured it; a default or a guess.
    Assumed,
    /// The user's own words, kept as written.
    MyWords(String),
    /// From a publication, named.
    Published(String),
    /// From pilot data.
    Pilot(String),
}

/// What a number is about; what moves the answer most, as a rule, stands first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Matter {
    /// How much sites and years differ, and how unequally a change strikes.
    Spreads,
    /// How much there is, what change is asked about, and how much is surveyed.
    Amounts,
    /// All of a group of fish.
    Fish,
    /// How it lies on a reef, lives and dies.
    Life,
    /// Who reads and how well.
    Reading,
    /// Minutes, days and money.
    Effort,
    /// Other kinds of bottom, and where units lie (which is decided, not measured).
    Rest,
}

impl Matter {
    /// What it is called.
    pub fn title(self) -> &'static str {
        match self {
            Matter::Spreads => "How sites, units and years differ",
            Matter::Amounts => "What is there, and what is asked",
            Matter::Fish => "Fish, group by group",
            Matter::Life => "How it lies on a reef, lives and dies",
            Matter::Reading => "How it is read",
            Matter::Effort => "Minutes, days and money",
            Matter::Rest => "Other kinds of bottom, and where units lie",
        }
    }

    /// Of a key in a table of the scenario.
    pub fn of(table: &str, key: &str) -> Matter {
        const SPREADS: [&str; 6] = [
            "between_sites",
            "between_units",
            "site_year",
            "year_points",
            "differs_between_sites",
            "place_correlation",
        ];
        const AMOUNTS: [&str; 10] = [
            "cover_percent",
            "mean",
            "density_",
            "school_density",
            "biomass",
            "per_100_m2",
            "reef",
            "file",
            "sites",
            "years_apart",
        ];
        let begins = |names: &[&str]| names.iter().any(|name| key.starts_with(name));
        if table.contains(".category[") || table == "placement" {
            Matter::Rest
        } else if table.contains(".fish[") {
            Matter::Fish
        } else if key.ends_with("_minutes") || key.ends_with("_minutes_a_frame") || table == "expedition" {
            Matter::Effort
        } else if begins(&SPREADS) || table.ends_with(".colony_variation") {
            Matter::Spreads
        } else if begins(&AMOUNTS) {
            Matter::Amounts
        } else if table == "observers" || table == "test" || table.starts_with("method") || READ.contains(&key) {
            Matter::Reading
        } else {
            Matter::Life
        }
    }
}

/// Keys of animals and fish that say how they are seen.
const READ: [&str; 6] =
    ["hidden_percent", "sight_scale_m", "seen_percent", "shy_percent", "shy_scale_m", "half_seen_cm"];

/// One number and its origin, for the list of assumptions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assumption {
    pub matter: Matter,
    /// What it is about, for people: "outer terrace: spread between sites".
    pub about: String,
    /// The value as written: "8 points".
    pub value: String,
    pub origin: Origin,
}
