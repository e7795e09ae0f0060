//! The sites of a plan as rows, and what must be said of how they came to be in it.

use super::draw::Draw;
use super::prepared::Prepared;
use super::visits::Visits;
use crate::budget::Found;
use crate::design::{ListedSite, SiteList};
use serde::Serialize;
use std::collections::BTreeSet;

/// One site of the list, in the order of the draw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SiteRow {
    pub zone: String,
    /// Place in the order of its zone, from 1: the number of the site in the schedule.
    pub site: usize,
    pub name: String,
    pub role: SiteRole,
    /// Of the rest of an expedition: whether anything was done there before.
    pub done: bool,
    /// Day and boat of its first visit, from 1.
    pub day: Option<usize>,
    pub boat: Option<usize>,
    /// Decimal degrees, WGS 84.
    pub latitude: f64,
    pub longitude: f64,
    pub depth_m: f64,
    pub sheltered: bool,
    pub access: String,
    pub first_day: Option<usize>,
    pub last_day: Option<usize>,
    pub old_marks: bool,
    /// Why it cannot be used, and the spare that takes its place.
    pub cannot_be_used: String,
    pub replaced_by: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SiteRole {
    /// Visited because somebody asked.
    MustVisit,
    Drawn,
    /// Used, in its order, where a site before it cannot be.
    Spare,
    CannotBeUsed,
}

/// Which sites of the list are visited in the whole, by their places in the order of each zone, from 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    pub zones: Vec<BTreeSet<usize>>,
    /// Of these, where anything was done before.
    pub done: Vec<BTreeSet<usize>>,
    /// Whether each is a site of the first visit, for which no spare can stand in.
    pub of_first_visit: bool,
}

impl Taken {
    /// The first so many that can be used.
    pub fn of_plan(found: &Found, draw: &Draw) -> Self {
        let of_zone = |(zone, &sites): (usize, &u16)| draw.planned(zone, usize::from(sites)).into_iter().collect();
        let zones: Vec<BTreeSet<usize>> = found.sites.iter().enumerate().map(of_zone).collect();
        Self { done: vec![BTreeSet::new(); zones.len()], zones, of_first_visit: false }
    }
}

/// All sites of the list, zone by zone.
pub fn site_rows(prepared: &Prepared, taken: &Taken, draw: &Draw, visits: &Visits) -> Vec<SiteRow> {
    let mut all = Vec::new();
    for (zone, of) in prepared.plan.study.zones.iter().enumerate() {
        let planned = &taken.zones[zone];
        let sites = planned.len();
        let visited = prepared.dives_of(zone).map_or(zone, |of| of.deep);
        // Those that would not be visited if all could be used, in their order, replace those that would.
        let mut replacing = planned.iter().filter(|number| **number >= sites);
        for (number, site) in draw.sites(zone).enumerate() {
            let is_planned = planned.contains(&number);
            let when = visits.first(visited, number).map(|boat_day| visits.when(boat_day));
            let role = match (site.can_be_used(), is_planned) {
                (false, _) => SiteRole::CannotBeUsed,
                (true, true) if site.must_visit => SiteRole::MustVisit,
                (true, true) => SiteRole::Drawn,
                (true, false) if taken.of_first_visit => continue,
                (true, false) => SiteRole::Spare,
            };
            let replaced = !site.can_be_used() && number < sites;
            let replaced_by = replaced.then(|| replacing.next()).flatten();
            all.push(SiteRow {
                zone: of.name.clone(),
                site: number + 1,
                name: site.name.clone(),
                role,
                done: taken.done[zone].contains(&number),
                day: when.map(|(day, _)| day),
                boat: when.map(|(_, boat)| boat),
                latitude: site.latitude,
                longitude: site.longitude,
                depth_m: site.depth_m,
                sheltered: site.sheltered,
                access: site.access.clone(),
                first_day: site.first_day,
                last_day: site.last_day,
                old_marks: site.old_marks,
                cannot_be_used: site.cannot_be_used.clone(),
                replaced_by: replaced_by.map(|&number| draw.site(zone, number).name.clone()),
            });
        }
    }
    all
}

/// What must be said of the sites, as warnings.
pub fn site_warnings(prepared: &Prepared, rows: &[SiteRow], visits: &Visits) -> Vec<String> {
    let mut all = Vec::new();
    for zone in &prepared.plan.study.zones {
        let of_zone = || rows.iter().filter(|row| row.zone == zone.name);
        let must: Vec<&str> =
            of_zone().filter(|row| row.role == SiteRole::MustVisit).map(|row| row.name.as_str()).collect();
        let planned = must.len() + of_zone().filter(|row| row.role == SiteRole::Drawn).count();
        if !must.is_empty() {
            all.push(format!(
                "{}: {} of {planned} sites must be visited and {} not drawn at random ({}). The mean of the zone, its interval \
                 and its test take all sites for a random sample: they hold for the zone as far as these are like the others. \
                 Tell the result without them too.",
                zone.name,
                must.len(),
                if must.len() == 1 { "is" } else { "are" },
                must.join(", ")
            ));
        }
        // Where every usable site is visited, none stands in for another.
        let has_spare = of_zone().any(|row| row.role == SiteRole::Spare);
        for row in of_zone().filter(|row| row.replaced_by.is_some()) {
            let what = match row.replaced_by.as_deref() {
                Some(spare) if has_spare => format!("{spare} takes the place of {}", row.name),
                _ => format!("all usable sites of the list are visited, without {}", row.name),
            };
            all.push(format!("{}: {what}: {}.", zone.name, row.cannot_be_used));
        }
    }
    if visits.keeps_sheltered {
        all.push(
            "Sheltered sites come last in their zone, kept for bad days: a sheltered site that is used early changes days with \
             the one it stands for. If the expedition is cut short before they are visited, exposed sites are seen too often."
                .into(),
        );
    }
    all
}

pub(super) fn window_words(site: &ListedSite) -> String {
    match (site.first_day, site.last_day) {
        (Some(first), Some(last)) if first == last => format!("day {first} only"),
        (Some(first), Some(last)) => format!("days {first} to {last} only"),
        (Some(first), None) => format!("from day {first} on"),
        (None, Some(last)) => format!("up to day {last}"),
        (None, None) => "any day".into(),
    }
}

/// Of what the result does not speak.
pub fn not_spoken_of(prepared: &Prepared, list: Option<&SiteList>, rows: &[SiteRow]) -> Vec<String> {
    let zones: Vec<&str> = prepared.plan.study.zones.iter().map(|zone| zone.name.as_str()).collect();
    let mut all = Vec::new();
    match list {
        None => all.push(
            "Reefs that could not have been chosen as a site: no list says among which the sites are drawn.".into(),
        ),
        Some(list) => all.push(format!(
            "Reefs that are not on the list {}: its {} sites are all that could be drawn.",
            list.file,
            list.sites.len()
        )),
    }
    let cannot: Vec<&str> =
        rows.iter().filter(|row| row.role == SiteRole::CannotBeUsed).map(|row| row.name.as_str()).collect();
    if !cannot.is_empty() {
        all.push(format!("Sites that cannot be used, and reefs like them: {}.", cannot.join(", ")));
    }
    all.push(format!("Depths and habitats other than those surveyed ({}).", zones.join(", ")));
    all.push(
        "Sites of the plan that are not reached in the end, and whatever they have in common (exposed, far, deep): write down \
         which and why."
            .into(),
    );
    all
}
