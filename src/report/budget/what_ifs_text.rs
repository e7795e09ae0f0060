//! What one thing more or less is worth, and what is hardly dearer, as text.

use super::columns::row;
use super::money_text::{amount, by_effort};
use super::report::BudgetReport;
use crate::planner::expedition::{NearTie, WhatIfKind, places_words};
use crate::report::terminal::paragraph;
use crate::report::words::count_method;

pub fn what_ifs(text: &mut String, report: &BudgetReport) {
    if report.answer.what_ifs.is_empty() {
        return;
    }
    paragraph(text, "What if (by formula; days and team dives)", "");
    row(text, "", 46, &[("all targets", 16), ("musts", 16)]);
    for what in &report.answer.what_ifs {
        // For the musts alone own site sets are not looked for.
        let musts = if what.kind == WhatIfKind::OwnSiteSets { "-".into() } else { effort(what.musts) };
        row(text, &what.what, 46, &[(&effort(what.all), 16), (&musts, 16)]);
        for words in what.in_all(&report.answer.what_ifs[0]).iter().chain(&what.why) {
            paragraph(text, &format!("  ({words})"), "   ");
        }
    }
    if !report.answer.about_occasions.is_empty() {
        paragraph(text, &report.answer.about_occasions, "");
    }
    text.push('\n');
}

/// "8 days, 18"
pub fn effort(effort: Option<(usize, usize)>) -> String {
    effort.map_or("out of reach".into(), |(days, dives)| format!("{days} days, {dives}"))
}

pub fn near_ties(text: &mut String, report: &BudgetReport) {
    if report.answer.near_ties.is_empty() {
        return;
    }
    paragraph(text, "Hardly dearer, and as good (logistics may choose):", "");
    by_effort(report).into_iter().for_each(|line| paragraph(text, line, ""));
    for tie in &report.answer.near_ties {
        let (sites, units) = tie_words(report, tie);
        let words = format!(
            "- {} days, {} team dives: {sites}; {units}; weakest margin {:.2}",
            tie.days, tie.team_dives, tie.weakest
        );
        paragraph(text, &words, "  ");
    }
    text.push('\n');
}

/// Sites by zone, and units at each site.
pub fn tie_words(report: &BudgetReport, tie: &NearTie) -> (String, String) {
    let zones = report.scenario.zones.iter().zip(&tie.sites).map(|(zone, sites)| format!("{} {sites}", zone.name));
    let methods = report.answer.all.iter().flat_map(|plan| &plan.site_set);
    let units = methods.zip(&tie.units).map(|(task, &units)| count_method(&task.method, usize::from(units)));
    let mut units = units.collect::<Vec<_>>().join(", ");
    if report.answer.searched.combinations > 1 {
        let chosen = tie.dimensions.iter().filter(|of| !of.is_empty()).cloned();
        let places = tie.places.map(|places| places_words(places).to_owned());
        units += &format!(" ({})", chosen.chain(places).collect::<Vec<_>>().join("; "));
    }
    let currency = report.expedition.rates.as_ref().map(|rates| rates.currency.as_str());
    if let Some((money, currency)) = tie.money.zip(currency) {
        units += &format!("; {}", amount(money, currency));
    }
    if !tie.holds {
        units += "; missed by simulation";
    }
    (zones.collect::<Vec<_>>().join(", "), units)
}
