//! What the headline asks, with which method, on how many sites: named wherever a number is told that is about the same.

use super::report::Report;
use super::select::{Series, Topic, distinct, most_sites, series};
use super::words::{Measure, count_sites};
use crate::engine::SiteCount;
use crate::planner::Needed;

/// The question of the headline.
pub struct Asked<'a> {
    pub topic: Topic,
    /// Its first change on the most sites, zone by zone (and over all).
    series: Vec<Series<'a>>,
    report: &'a Report,
}

impl<'a> Asked<'a> {
    /// `None` where there are no designs.
    pub fn of(report: &'a Report) -> Option<Self> {
        let rows = &report.answer.rows;
        let spoken_of = report.answer.headline_of.as_ref();
        let first = rows.iter().find(|row| spoken_of.is_some_and(|of| of.is_of(row))).or(rows.first())?;
        let topic = Topic::of(first);
        let mut series = most_sites(&series(report));
        series.retain(|series| topic.holds(series.first()) && series.change_index == 0);
        Some(Self { topic, series, report })
    }

    fn zones(&self) -> impl Iterator<Item = &Series<'a>> {
        let has_zones = self.series.iter().any(|series| series.first().zone != "all");
        self.series.iter().filter(move |series| !has_zones || series.first().zone != "all")
    }

    /// "a fall from 28 to 22 % on 14 sites"; over zones "a fall by 21 % of what was there on 14 sites each".
    pub fn words(&self) -> String {
        let zones: Vec<&Series> = self.zones().collect();
        let sites = distinct(zones.iter().flat_map(|series| series.first().sites.in_zones().to_vec()));
        let each = if zones.len() > 1 && sites.len() == 1 { " each" } else { "" };
        let sites = count_sites(&SiteCount::new(sites)).replace(" in each zone", " a zone");
        format!("{} on {sites}{each}", self.change_words())
    }

    /// "a fall from 28 to 22 %"; over zones "a fall by 21 % of what was there".
    pub fn change_words(&self) -> String {
        let zones: Vec<&Series> = self.zones().collect();
        let Some(row) = zones.first().map(|series| series.first()) else { return String::new() };
        let measure = Measure::of(self.report, &self.topic.indicator);
        let (from, to) = (row.change_from.unwrap_or(f64::NAN), row.change_to.unwrap_or(f64::NAN));
        if zones.len() > 1 { measure.relative_change(from, to) } else { measure.change(from, to) }
    }

    /// What simulation says is needed in a zone.
    pub fn needed(&self, zone: &str) -> Option<&'a Needed> {
        self.series.iter().find(|series| series.first().zone == zone)?.needed(self.report)
    }

    /// "simulated 28" where that is another number than the one by formula it stands beside.
    pub fn simulated_beside(&self, zone: &str, by_formula: Option<usize>) -> Option<String> {
        let needed = self.needed(zone)?;
        (needed.units != by_formula)
            .then(|| needed.units.map_or("out of reach".to_string(), |units| units.to_string()))
            .map(|number| format!("simulated {number}"))
    }
}
