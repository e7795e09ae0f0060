//! What one thing more or less is worth, and what is hardly dearer, as text.

use super::columns::row;
use super::money_text::{amount, by_effort};
use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{NearTie, WhatIf, places_words};
use crate::report::terminal::paragraph;
use crate::report::words::count_method;

pub fn what_ifs(text: &mut String, report: &BudgetReport) {
    if report.answer.what_ifs.is_empty() {
        return;
    }
    paragraph(text, "What if (by formula; days and team dives)", "");
    row(text, "", 46, &[("all targets", 16), ("musts", 16)]);
    for what in &report.answer.what_ifs {
        let musts = if what.looks_at_musts() { effort(what.musts) } else { "-".into() };
        row(text, &what.what, 46, &[(&effort(what.all), 16), (&musts, 16)]);
        for words in what.in_all(&report.answer.what_ifs[0]).iter().chain(&what.why).chain(&what.moves_nothing) {
            paragraph(text, &format!("  ({words})"), "   ");
        }
    }
    what_if_notes(report).iter().for_each(|note| paragraph(text, note, ""));
    text.push('\n');
}

/// What must be known of the what-ifs: that some take more days than there are, that the plan is another than the formula's, and
/// what several expeditions take for granted.
pub fn what_if_notes(report: &BudgetReport) -> Vec<String> {
    let answer = &report.answer;
    let there = answer.bookable_days;
    let takes_more = |what: &WhatIf| what.all.into_iter().chain(what.musts).any(|(days, _)| days > there);
    let too_long = answer.what_ifs.iter().any(takes_more).then(|| {
        format!(
            "There are {} for diving: what takes more of them would need a longer expedition.",
            counted(there, "day")
        )
    });
    let as_it_is = answer.what_ifs.first().and_then(|what| Some((what.all?, what.money_for_all)));
    let other = as_it_is.zip(answer.all.as_ref()).filter(|((takes, money), plan)| {
        let paid = plan.cost.as_ref().map(|cost| cost.total);
        let is_same = money.zip(paid).is_none_or(|(one, other)| (one - other).abs() < 0.5);
        *takes != (plan.days, plan.team_dives) || !is_same
    });
    let other = other.map(|(_, plan)| {
        let cost = plan.cost.as_ref().map_or(String::new(), |cost| format!(", {}", amount(cost.total, &cost.currency)));
        format!(
            "All lines are by formula, as it is too; the plan for all targets that simulation confirms is another: {}, {}{cost}.",
            counted(plan.days, "day"),
            counted(plan.team_dives, "team dive")
        )
    });
    let several = Some(answer.about_occasions.clone()).filter(|about| !about.is_empty());
    too_long.into_iter().chain(other).chain(several).collect()
}

/// "8 days, 18"
pub fn effort(effort: Option<(usize, usize)>) -> String {
    effort.map_or("out of reach".into(), |(days, dives)| format!("{days} days, {dives}"))
}

pub fn near_ties(text: &mut String, report: &BudgetReport) {
    let answer = &report.answer;
    if !answer.near_best.is_empty() {
        paragraph(text, &format!("{NEAR_BEST} (logistics may choose):"), "");
        ties(text, report, &answer.near_best);
    }
    if !answer.near_ties.is_empty() {
        let head = match beyond_the_days(report) {
            Some(beyond) => format!("Hardly dearer than the plan for all targets, and as good; {beyond}:"),
            None => "Hardly dearer, and as good (logistics may choose):".to_owned(),
        };
        paragraph(text, &head, "");
        by_effort(report).into_iter().for_each(|line| paragraph(text, line, ""));
        ties(text, report, &answer.near_ties);
    }
}

/// Heads what stands beside the best use of the days.
pub const NEAR_BEST: &str = "Hardly less from the same days";

/// That plans for all targets take more days than there are, where they do.
pub fn beyond_the_days(report: &BudgetReport) -> Option<String> {
    let answer = &report.answer;
    let all = answer.all.as_ref().filter(|all| all.days > answer.bookable_days)?;
    Some(format!("for {} more than there are", counted(all.days - answer.bookable_days, "day")))
}

fn ties(text: &mut String, report: &BudgetReport, ties: &[NearTie]) {
    for tie in ties {
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
    let plans = report.answer.all.iter().chain(report.answer.scheduled());
    let methods = plans.take(1).flat_map(|plan| &plan.site_set);
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
