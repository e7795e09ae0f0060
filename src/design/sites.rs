//! Candidate sites of an expedition. Plain data.

use serde::Serialize;

/// Every site that may be visited; names differ.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SiteList {
    /// As the scenario names it.
    pub file: String,
    /// In the order of the list.
    pub sites: Vec<ListedSite>,
}

/// A real site.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ListedSite {
    pub name: String,
    /// Place of its zone in the study.
    pub zone: usize,
    /// The place of which it is one depth, where its zone shares places with another; else empty.
    pub place: String,
    /// Its deepest point, m.
    pub depth_m: f64,
    /// Decimal degrees, WGS 84; south and west are negative.
    pub latitude: f64,
    pub longitude: f64,
    /// Whether it can be dived at in weather in which exposed sites cannot.
    pub sheltered: bool,
    /// How it is reached, in the user's words; nothing is worked out from them.
    pub access: String,
    /// First and last day, of those on which can be dived (from 1), on which it can be reached.
    pub first_day: Option<usize>,
    pub last_day: Option<usize>,
    /// Whether marks of an earlier survey are there.
    pub old_marks: bool,
    /// It is visited because somebody asked, not because it was drawn.
    pub must_visit: bool,
    /// Why it cannot be used; empty where it can.
    pub cannot_be_used: String,
}

impl SiteList {
    pub fn of_zone(&self, zone: usize) -> impl Iterator<Item = &ListedSite> {
        self.sites.iter().filter(move |site| site.zone == zone)
    }

    /// Sites of a zone that can be used, and how many of those must be visited.
    pub fn counts(&self, zone: usize) -> (usize, usize) {
        let usable = || self.of_zone(zone).filter(|site| site.can_be_used());
        (usable().count(), usable().filter(|site| site.must_visit).count())
    }
}

impl ListedSite {
    pub fn can_be_used(&self) -> bool {
        self.cannot_be_used.is_empty()
    }

    /// Days on which it can be reached, first and last, from 1.
    pub fn window(&self) -> (usize, usize) {
        (self.first_day.unwrap_or(1), self.last_day.unwrap_or(usize::MAX))
    }
}
