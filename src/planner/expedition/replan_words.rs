//! What a new plan of the rest changes, what goes into the report of the survey, and what must be said.

use super::done::{FieldData, SiteUnits};
use super::prepared::Prepared;
use super::replan::{Done, RestAsPlanned};
use super::seen::{Level, Seen, WEIGHT_OF_PLAN, components_of};
use crate::budget::Found;
use crate::design::Target;
use crate::measures::counted;
use serde::Serialize;

/// A line for the report of the survey: what was changed while it ran, and when.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Amendment {
    /// The last date of the field sheets as it was written there, else the day.
    pub date: String,
    pub what: String,
}

/// The rest as it is prepared, what is done, and the design that was under way.
type Words<'a> = (&'a Prepared<'a>, &'a Done, Option<&'a Found>);

fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

/// What the rest does otherwise than the plan, and the days that it saves.
pub fn changes(
    (prepared, done, planned): Words,
    next: Option<&Found>,
    as_planned: Option<&RestAsPlanned>,
) -> Vec<String> {
    let Some(planned) = planned else { return Vec::new() };
    let mut all = fewer_units(prepared, done, planned);
    let Some(next) = next else { return all };
    // A set for no more sites is none.
    let goes_on = next.sites.iter().any(|&sites| sites > 0);
    for (task, (&before, &now)) in prepared.tasks.tasks.iter().zip(planned.units.iter().zip(&next.units)) {
        if goes_on && before != now {
            all.push(format!("{} at a site: {now} where {before} were planned", spoken(&task.name)));
        }
    }
    for zone in 0..done.begun.len() {
        let whole = usize::from(next.sites[zone]) + done.begun_at(zone).len();
        let before = usize::from(planned.sites[zone]);
        if whole != before {
            let name = &prepared.plan.study.zones[zone].name;
            all.push(format!("{name}: {} in all where {before} were planned", counted(whole, "site")));
        }
    }
    let Some(as_planned) = as_planned else { return all };
    let old = match as_planned.days {
        Some(days) => {
            let saved = days as i64 - next.days as i64;
            let against = match saved {
                0 => String::new(),
                saved if saved > 0 => format!(", {} fewer", counted(saved as usize, "day")),
                more => format!(", {} more", counted(more.unsigned_abs() as usize, "day")),
            };
            format!(
                "the old site set at the sites planned would take {}; this takes {}{against}",
                counted(days, "more day"),
                next.days
            )
        }
        None => "the old site set no longer fits into the dives that are looked at".into(),
    };
    all.push(format!("{old} (weakest margin with the old one {:.2})", as_planned.weakest));
    all
}

/// Sites that were done with fewer units of something than planned.
fn fewer_units(prepared: &Prepared, done: &Done, planned: &Found) -> Vec<String> {
    let of_task = |(index, task): (usize, &crate::budget::Task)| {
        let wanted = usize::from(*planned.units.get(index)?);
        let came = done.begun.iter().flat_map(|zone| zone.values()).map(|units| units[index]);
        let fewer: Vec<usize> = came.filter(|&units| units < wanted).collect();
        let (least, most) = (fewer.iter().min()?, fewer.iter().max()?);
        let range = if least == most { least.to_string() } else { format!("{least} to {most}") };
        let name = spoken(&task.name);
        Some(format!("{name}: {range} done where {wanted} were planned, at {}", counted(fewer.len(), "site")))
    };
    prepared.tasks.tasks.iter().enumerate().filter_map(of_task).collect()
}

pub fn amendments(data: &FieldData, visit: usize, seen: &Seen, changes: &[String]) -> Vec<Amendment> {
    let date = data.last_date(visit);
    let learned = format!(
        "minutes {}re-estimated from {} done; no change between visits was looked at",
        if seen.variances.is_empty() { "" } else { "and variances " },
        counted(data.units.len(), "unit")
    );
    // The last of the changes is what they are for.
    let done = changes.iter().take(changes.len().saturating_sub(1));
    std::iter::once(&learned).chain(done).map(|what| Amendment { date: date.clone(), what: what.clone() }).collect()
}

pub fn notes(
    (prepared, done, _): Words,
    next: Option<&Found>,
    (data, visit): (&FieldData, usize),
    (seen, days_are_told): (&Seen, bool),
) -> Vec<String> {
    let mut all = vec![format!(
        "What was planned counts like {WEIGHT_OF_PLAN:.0} units of minutes, and like a variance of {WEIGHT_OF_PLAN:.0} degrees \
         of freedom: a judgement. Only minutes and how much readings vary are used, never the change they show, so that the \
         test stays what it is (internal pilots: Shih 1992; Gould & Shih 1992; from a secondary copy)."
    )];
    if !days_are_told {
        all.push(
            "Days left are those that can be booked less those up to the last day of the sheets. Days that were lost may not be \
             in the sheets: tell --days-left."
                .into(),
        );
    }
    all.extend(of_variances(prepared, seen));
    all.extend(of_sites(prepared, done));
    let is_other = |units: &[usize], next: &Found| units.iter().zip(&next.units).any(|(a, b)| *a != usize::from(*b));
    if next.is_some_and(|next| done.counted.iter().flat_map(|zone| zone.values()).any(|units| is_other(units, next))) {
        all.push(
            "Where sites that are done have other units than those to come, the whole is told by formula alone: what is \
             simulated has the same units at all sites."
                .into(),
        );
    }
    if !data.missing_columns.is_empty() {
        let columns = data.missing_columns.join(", ");
        all.push(format!("No column {columns}: nothing is learned of these, their variances stay as planned."));
    }
    if !data.other_columns.is_empty() {
        all.push(format!("Not read: columns {}.", data.other_columns.join(", ")));
    }
    if visit == 2 {
        all.push(
            "At the second visit every site keeps the site set of its first; only how many more sites are visited is open."
                .into(),
        );
    }
    all
}

/// What leaving out a method would do for the rest of the targets.
pub fn left_out(
    method: &str,
    lost: &[&Target],
    (all, best): (&Option<Found>, Option<&Found>),
    days_left: usize,
) -> String {
    let of = |target: &&Target| format!("{}{}", spoken(&target.indicator), if target.must { " (a must)" } else { "" });
    let lost: Vec<String> = lost.iter().map(of).collect();
    let what = match (all.as_ref().filter(|all| all.days <= days_left), best) {
        (Some(all), _) => format!("all other targets are met in {} of the {days_left} left", counted(all.days, "day")),
        (None, Some(best)) => {
            format!("the days left bring the weakest of the other targets to {:.2} of what is asked", best.weakest())
        }
        (None, None) => "the days left are too few for the fewest sites".to_owned(),
    };
    format!(
        "Without {} (then nothing is told of {}) all other work fits, done in time as often as asked: {what}.",
        spoken(method),
        lost.join(", ")
    )
}

/// What the new variances enter, and what they cannot.
fn of_variances(prepared: &Prepared, seen: &Seen) -> Vec<String> {
    let mut all = Vec::new();
    if seen.variances.is_empty() {
        return all;
    }
    if prepared.plan.study.pairs_sites() {
        all.push(
            "How sites differ in one visit tells nothing of how each will move until the next: that part of a change stays as \
             planned."
                .into(),
        );
    }
    let mut scaled: Vec<String> = Vec::new();
    for &(_, reading) in &prepared.tasks.told_by {
        let name = prepared.plan.layout.readings[reading].indicator.name();
        let is_moved = [Level::Units, Level::Sites].iter().any(|&level| seen.factor(name, level) != 1.0);
        if components_of(prepared.plan, reading).is_none() && is_moved && !scaled.contains(&spoken(name)) {
            scaled.push(spoken(name));
        }
    }
    if !scaled.is_empty() {
        all.push(format!(
            "{}: the parts of the formula's variance are scaled by new over planned; the reef of the scenario has the planned \
             ones, so this was not simulated.",
            scaled.join(", ")
        ));
    }
    all
}

/// Sites that lack something.
fn of_sites(prepared: &Prepared, done: &Done) -> Vec<String> {
    let mut all = Vec::new();
    for (zone, sites) in done.begun.iter().enumerate() {
        let sites: &SiteUnits = sites;
        for (site, units) in sites {
            let lacks: Vec<String> = prepared
                .tasks
                .tasks
                .iter()
                .zip(&units[..prepared.tasks.methods.len()])
                .filter(|(_, number)| **number == 0)
                .map(|(task, _)| spoken(&task.name))
                .collect();
            let name = &prepared.plan.study.zones[zone].name;
            if let Some(other) = done.not_begun_at(zone, site) {
                let other = &prepared.plan.study.zones[other].name;
                all.push(format!(
                    "{name} {site} was not done at {other}: places count whole, so it counts for nothing until it is, and dives at new \
                     places bring more."
                ));
            } else if !lacks.is_empty() {
                all.push(format!("{name} {site} has no {}: it counts for the others only.", lacks.join(", ")));
            } else if !done.counted[zone].contains_key(site) {
                all.push(format!("{name} {site} was not done at the first visit: it does not count."));
            }
        }
    }
    all
}
