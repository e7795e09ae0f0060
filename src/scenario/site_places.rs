//! Sites of a list at two depths of one place: tied by the column `place`, and visited together or not at all.

use super::csv_file::{ListProblem, same_name};
use super::site_list::ZoneOfSites;
use crate::design::ListedSite;

/// Ties the rows of zones that share places, each with its line. What holds for one depth of a place holds for the place: it
/// must be visited, cannot be used, is sheltered (at both) and can be reached (on days on which both can). Gives what is wrong.
pub fn tie(sites: &mut [(u64, ListedSite)], zones: &[ZoneOfSites]) -> Vec<ListProblem> {
    let mut problems = Vec::new();
    for at in 0..sites.len() {
        let (line, site) = &sites[at];
        let mut add = |message: String, allowed: String, remedy: &str| {
            let message = format!("line {line}, column place: {message}");
            problems.push(ListProblem::new(message, allowed, remedy));
        };
        let own = zones[site.zone].name;
        let Some(shared) = zones[site.zone].shares_with else {
            if !site.place.is_empty() {
                let message = format!("the zone \"{own}\" shares its places with no other");
                add(message, "empty".into(), "Take it out, or write same_places_as in the zone.");
            }
            continue;
        };
        let other = zones[shared].name;
        let both = format!("one row in {own} and one in {other}");
        if site.place.is_empty() {
            let remedy = "Write the name of the place, the same in the rows of its two depths.";
            add(format!("of which place \"{}\" is a depth is not written", site.name), both, remedy);
            continue;
        }
        let is_at = |zone: usize| {
            let sites = &*sites;
            move |&of: &usize| sites[of].1.zone == zone && same_name(&sites[of].1.place, &site.place)
        };
        if let Some(earlier) = (0..at).find(is_at(site.zone)) {
            let message = format!("\"{}\" is in {own} on line {} already", site.place, sites[earlier].0);
            add(message, both, "Give each place a name of its own, or take one of the two rows out.");
            continue;
        }
        let Some(partner) = (0..sites.len()).find(is_at(shared)) else {
            let message = format!("\"{}\" has no row in {other}", site.place);
            add(message, both, "Add the other depth of the place, or take this row out: whole places are surveyed.");
            continue;
        };
        if partner < at {
            continue;
        }
        let place = of_place(&sites[at].1, &sites[partner].1);
        if place.first_day.zip(place.last_day).is_some_and(|(first, last)| first > last) {
            let message = format!("\"{}\" can be reached at both depths on no day", site.place);
            add(message, "days in common".into(), "Correct first_day and last_day of the two rows.");
            continue;
        }
        let why = |own: &ListedSite, other: &ListedSite| match (own.can_be_used(), other.can_be_used()) {
            (true, false) => format!("{}: {}", other.name, other.cannot_be_used),
            _ => own.cannot_be_used.clone(),
        };
        let reasons = [why(&sites[at].1, &sites[partner].1), why(&sites[partner].1, &sites[at].1)];
        for (row, cannot_be_used) in [at, partner].into_iter().zip(reasons) {
            let of = &mut sites[row].1;
            (of.must_visit, of.sheltered) = (place.must_visit, place.sheltered);
            (of.first_day, of.last_day) = (place.first_day, place.last_day);
            of.cannot_be_used = cannot_be_used;
        }
    }
    problems
}

/// What holds for the place of two rows.
fn of_place(one: &ListedSite, other: &ListedSite) -> ListedSite {
    let least = |a: Option<usize>, b: Option<usize>| a.into_iter().chain(b).min();
    ListedSite {
        must_visit: one.must_visit || other.must_visit,
        sheltered: one.sheltered && other.sheltered,
        first_day: one.first_day.max(other.first_day),
        last_day: least(one.last_day, other.last_day),
        ..ListedSite::default()
    }
}
