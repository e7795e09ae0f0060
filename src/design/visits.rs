use serde::Serialize;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sites {
    Same,
    DrawnAnew,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Places {
    /// The tape is laid at the same marks again, within `relay_sd_m`.
    SameMarks,
    /// New random places on the same site (re-finding by GPS comes out so).
    NewPlaces,
}

/// How well a tape is laid at its marks again; the word sets the distance, the renewal of colonies and the drift of
/// patches together, because the three were fitted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tape {
    WellMarked,
    AsFound,
    Loose,
}

impl Tape {
    pub const ALL: [Tape; 3] = [Tape::WellMarked, Tape::AsFound, Tape::Loose];

    /// SD of the displacement between the two tapes per axis (m), renewal of colonies per year (share), drift (years).
    /// Computed: fitted to the correlations of open permanent-transect data of the US Virgin Islands, 2001-2021.
    pub fn values(self) -> (f64, f64, f64) {
        match self {
            Tape::WellMarked => (0.10, 0.05, 20.0),
            Tape::AsFound => (0.30, 0.06, 12.0),
            Tape::Loose => (0.50, 0.06, 12.0),
        }
    }
}

/// What lies between the two visits, whatever the imposed change.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Visits {
    pub years_apart: f64,
    pub sites: Sites,
    pub places: Places,
    /// How far the tape of the second visit lies from that of the first: SD per axis of the displacement between the
    /// two, metres. Used with `SameMarks`.
    pub relay_sd_m: f64,
    /// Share of colonies replaced by others each year.
    pub renewal_per_year: f64,
    /// Years after which the patches have lost 63 % of their memory.
    pub drift_years: f64,
}

impl Visits {
    /// The same sites read twice at new places; what the reef does between is as for tapes found again.
    pub fn at_new_places(years_apart: f64) -> Self {
        let (relay_sd_m, renewal_per_year, drift_years) = Tape::AsFound.values();
        let (sites, places) = (Sites::Same, Places::NewPlaces);
        Self { years_apart, sites, places, relay_sd_m, renewal_per_year, drift_years }
    }

    /// Correlation of the reef's fields between the visits, `b = exp(-years / drift_years)`.
    pub fn field_memory(&self) -> f64 {
        libm::exp(-self.years_apart / self.drift_years)
    }

    /// Share of colonies that are still the same at the second visit.
    pub fn same_colonies(&self) -> f64 {
        libm::exp(-self.renewal_per_year * self.years_apart)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Crew {
    /// The same people read at both visits.
    Same,
    /// Other people at the second visit.
    Changed,
    /// Half of them (the larger half) stay.
    Mixed,
}

/// Who reads, and how well.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Observers {
    pub between_visits: Crew,
    /// How many people share the units of a visit (unit i of a site is read by person i mod `number`).
    pub number: usize,
    /// SD between people of the ratio written / true, 0.05 = 5 %.
    pub spread: f64,
    /// The whole crew of the second visit reads this share too high (negative: too low) against the first.
    pub second_visit_bias: f64,
    /// Rows: what is there; columns: what is written; in the order hard coral, the categories, and (where those of some zone
    /// leave any of the bottom) the rest. Rows sum to 1.
    pub misidentification: Option<Vec<Vec<f64>>>,
}

impl Observers {
    /// Whether a person of the first visit reads again at the second.
    pub fn stays(&self, person: usize) -> bool {
        match self.between_visits {
            Crew::Same => true,
            Crew::Changed => false,
            Crew::Mixed => person < self.number.div_ceil(2),
        }
    }

    /// The person who reads unit `unit` of every site.
    pub fn person(&self, unit: usize) -> usize {
        unit % self.number.max(1)
    }

    /// People who see and write everything as it is.
    pub fn perfect() -> Self {
        Self { between_visits: Crew::Same, number: 2, spread: 0.0, second_visit_bias: 0.0, misidentification: None }
    }
}
