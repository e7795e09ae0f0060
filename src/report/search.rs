//! What the search for animals and rare fish meets, as text for the page and the terminal.

use super::digits::{NONE, hundredths, significant};
use super::report::Report;
use super::select::Topic;
use super::words::{plain, sentence, units_word};
use crate::planner::{AnimalSearch, SURELY, SearchChance};
use serde::Serialize;

/// Units that are shown where more are compared, or the nearest below.
const COMMON_UNITS: usize = 6;

/// What must be said beside every such table.
pub const SEARCH_NOTE: &str = "By formula, but for what is said to be simulated. If none: when none is met, the density \
    (hidden ones and all sizes included) at which that would still happen 5 times in 100. Absence cannot be shown.";

/// The searches for one kind of animal in units of one kind.
#[derive(Serialize)]
pub struct SearchTable {
    pub title: String,
    pub units: String,
    pub rows: Vec<SearchRow>,
}

/// One zone and number of sites. Chances in hundredths.
#[derive(Serialize)]
pub struct SearchRow {
    pub zone: String,
    /// Share of units with at least one: by formula, and simulated with its error.
    pub occupied: String,
    pub occupied_simulated: String,
    pub sites: usize,
    pub units: usize,
    pub area: String,
    pub met: String,
    pub met_simulated: String,
    /// Units on each of so many sites to meet one 95 times in 100.
    pub to_meet: String,
    /// Per 100 m2, in which densities of animals are told, and in brackets per ha.
    pub if_none: String,
    pub has_most_sites: bool,
}

/// What the page calls it: fish are searched for where they are not in most units.
pub fn search_title(report: &Report) -> &'static str {
    let is_fish = |search: &AnimalSearch| search.method.starts_with("fish_");
    match (report.answer.animals.iter().any(is_fish), report.answer.animals.iter().all(is_fish)) {
        (false, _) => "Animals",
        (true, true) => "Fish that are not everywhere",
        (true, false) => "Animals and fish",
    }
}

/// Whether a visit often meets none of them: with common practice's units on the largest number of sites.
fn is_rarely_met(search: &AnimalSearch) -> bool {
    common(search, search.most_sites).is_some_and(|chance| chance.met < SURELY)
}

/// Whether the headline speaks of something of which a visit often meets none.
pub fn asks_for_the_rare(report: &Report) -> bool {
    let is_asked = |search: &AnimalSearch| {
        let of = report.answer.headline_of.as_ref();
        of.is_some_and(|of| of.indicator == search.indicator && of.is(&search.method, search.dimensions))
    };
    report.answer.animals.iter().any(|search| is_asked(search) && is_rarely_met(search))
}

/// Tables in the order of the searches, those first of which a visit often meets none; one line a zone and number of sites.
pub fn search_tables(report: &Report) -> Vec<SearchTable> {
    let mut tables: Vec<SearchTable> = Vec::new();
    let mut searches: Vec<&AnimalSearch> = report.answer.animals.iter().collect();
    searches.sort_by_key(|search| !is_rarely_met(search));
    for search in searches {
        let title = title(search);
        let rows = rows(search);
        match tables.iter_mut().find(|table| table.title == title) {
            Some(table) => table.rows.extend(rows),
            None => tables.push(SearchTable { title, units: units_word(&search.method, 2), rows }),
        }
    }
    tables
}

fn title(search: &AnimalSearch) -> String {
    let (indicator, method) = (search.indicator.clone(), search.method.clone());
    let topic = Topic { indicator, method, dimensions: search.dimensions };
    format!("{}, {}", sentence(&plain(&topic.indicator)), topic.label())
}

fn rows(search: &AnimalSearch) -> Vec<SearchRow> {
    let mut sites: Vec<usize> = search.chances.iter().map(|chance| chance.sites).collect();
    sites.dedup();
    sites.into_iter().filter_map(|sites| row(search, common(search, sites)?)).collect()
}

/// The chance with common practice's units on so many sites.
fn common(search: &AnimalSearch, sites: usize) -> Option<&SearchChance> {
    let mut of_sites = search.chances.iter().filter(|chance| chance.sites == sites);
    let first = of_sites.next()?;
    Some(of_sites.take_while(|chance| chance.units <= COMMON_UNITS).last().unwrap_or(first))
}

fn row(search: &AnimalSearch, chance: &SearchChance) -> Option<SearchRow> {
    let has_most_sites = chance.sites == search.most_sites;
    let to_meet = match chance.units_to_meet {
        Some(units) => units.to_string(),
        None => "no room".to_string(),
    };
    Some(SearchRow {
        zone: search.zone.clone(),
        occupied: hundred(search.occupied),
        occupied_simulated: hundredths(Some(search.occupied_simulated), Some(search.occupied_simulated_error)),
        sites: chance.sites,
        units: chance.units,
        area: significant(chance.area_m2, 4),
        met: hundred(chance.met),
        met_simulated: hundredths(Some(chance.met_simulated), Some(chance.met_simulated_error)),
        to_meet,
        if_none: chance
            .upper_limit_per_ha
            .map_or(NONE.to_string(), |limit| format!("{} ({})", significant(limit / 100.0, 2), significant(limit, 2))),
        has_most_sites,
    })
}

/// A chance in hundredths; never 0 or 100 for what is only rare or nearly sure. To meet an animal is never quite sure, whatever
/// rounding makes of it.
pub fn hundred(share: f64) -> String {
    match 100.0 * share {
        percent if 0.0 < percent && percent < 0.1 => "< 0.1".to_string(),
        percent if 99.9 < percent => "> 99.9".to_string(),
        percent => significant(percent, if percent > 99.0 { 3 } else { 2 }),
    }
}

/// How surely an animal shall be met, in hundredths.
pub fn surely() -> String {
    significant(100.0 * SURELY, 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Dimensions;

    #[test]
    fn what_may_be_there_where_none_is_met_is_told_per_ha_too() {
        let chance = SearchChance {
            sites: 6,
            units: 4,
            area_m2: 240.0,
            met: 0.4,
            met_simulated: 0.4,
            met_simulated_error: 0.01,
            met_on_one_site: 0.1,
            units_to_meet: Some(12),
            upper_limit_per_ha: Some(170.0),
        };
        let search = AnimalSearch {
            indicator: "moon_clam".into(),
            zone: "crest".into(),
            method: "invertebrate_belt".into(),
            dimensions: Dimensions::InvertebrateBelt { length_m: 10.0, width_m: 1.0 },
            unit_area_m2: 10.0,
            occupied: 0.02,
            occupied_simulated: 0.02,
            occupied_simulated_error: 0.001,
            most_sites: 6,
            units_to_meet: None,
            chances: vec![chance],
        };
        assert_eq!(rows(&search)[0].if_none, "1.7 (170)");
    }

    #[test]
    fn what_is_nearly_sure_is_not_sure() {
        assert_eq!(
            [0.9996, 1.0, 0.994, 0.42, 0.0003, 0.0].map(hundred),
            ["> 99.9", "> 99.9", "99.4", "42", "< 0.1", "0"]
        );
    }
}
