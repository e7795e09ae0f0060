//! Where a plan goes and who reads what there, as text.

use super::report::BudgetReport;
use crate::planner::expedition::{CalmVisit, Crossing, SiteRole, SiteRow};
use crate::report::terminal::paragraph;
use crate::report::words::method_words;

/// Spares that are named on the screen; all are in the file.
const SPARES_SHOWN: usize = 3;

/// The sites by their names, what the result does not speak of, and how evenly readers are shared out.
pub fn sites(text: &mut String, report: &BudgetReport) {
    let rows = &report.answer.sites;
    let mut zones: Vec<&str> = rows.iter().map(|row| row.zone.as_str()).collect();
    zones.dedup();
    for zone in zones {
        paragraph(text, &zone_line(zone, rows), "  ");
    }
    if !report.answer.crossing.is_empty() {
        let shares: Vec<String> = report
            .answer
            .crossing
            .iter()
            .map(|crossing| format!("{} {:.0} %", method_words(&crossing.method), 100.0 * crossing.apart))
            .collect();
        let mut line = who_takes_turns(&report.answer.crossing);
        if report.scenario.zones.len() > 1 {
            line += &format!(" Units that other people read in one zone than in another: {}.", shares.join(", "));
        }
        paragraph(text, &line, "");
    }
    if !report.answer.not_spoken_of.is_empty() {
        paragraph(text, &format!("The result does not speak of: {}", report.answer.not_spoken_of.join(" ")), "");
        text.push('\n');
    }
}

/// Whether readers take turns, and where one reads all there is of a method.
pub fn who_takes_turns(crossing: &[Crossing]) -> String {
    let mut alone: Vec<String> = Vec::new();
    for of in crossing {
        for (zone, name) in of.zones.iter().enumerate() {
            let mut readers = of.divers.iter().filter(|reader| reader.units.get(zone).is_some_and(|units| *units > 0));
            if let (Some(one), None) = (readers.next(), readers.next()) {
                alone.push(format!("{} all of {} in {name}", one.diver, method_words(&of.method)));
            }
        }
    }
    if alone.is_empty() {
        return "Readers take turns from site to site.".to_owned();
    }
    format!(
        "Readers take turns from site to site where the plan has more than one; by one alone is read: {}.",
        alone.join(", ")
    )
}

fn zone_line(zone: &str, rows: &[SiteRow]) -> String {
    let named = |role: SiteRole| {
        let of = rows.iter().filter(move |row| row.zone == zone && row.role == role);
        of.map(|row| row.name.as_str()).collect::<Vec<_>>()
    };
    let spares = named(SiteRole::Spare);
    let shown = spares[..spares.len().min(SPARES_SHOWN)].join(", ");
    let more = spares.len().saturating_sub(SPARES_SHOWN);
    let spares = match (spares.is_empty(), more) {
        (true, _) => "no spare".to_owned(),
        (false, 0) => format!("spares in this order {shown}"),
        (false, _) => format!("spares in this order {shown} and {more} more"),
    };
    let parts = [(SiteRole::MustVisit, "must visit"), (SiteRole::Drawn, "drawn")].map(|(role, word)| {
        let names = named(role);
        if names.is_empty() { String::new() } else { format!("{word} {}; ", names.join(", ")) }
    });
    format!("{zone}: {}{spares}.", parts.concat())
}

/// What a dive that needs calm weather says besides.
pub fn calm_words(visit: &CalmVisit) -> String {
    match &visit.instead {
        Some(instead) => format!(
            "needs calm weather; else {} {}, {} (sheltered, planned for day {}{})",
            instead.zone,
            instead.site,
            instead.site_name,
            instead.planned_day,
            if instead.is_own { "" } else { ", one for several bad days" }
        ),
        None => "needs calm weather; no sheltered site of a later day is left for it".to_owned(),
    }
}

/// What chances of days do not know where zones need calm weather.
pub const HOW_MANY_ARE_CALM: &str = "how many of them are calm, which some zones need, it does not know";
