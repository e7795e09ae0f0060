//! What is planned and how its targets are met, as text.

use super::report::BudgetReport;
use crate::design::{Asks, Unit};
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, Margin};
use crate::report::digits::{significant, with_error};
use crate::report::terminal::paragraph;
use crate::report::words::{method_words, plain as spoken};

pub fn verdict(text: &mut String, report: &BudgetReport) {
    let answer = &report.answer;
    match &answer.all {
        Some(plan) => plan_text(text, report, "All targets are met, at the least, by", plan),
        None => paragraph(text, "No number of the sites there are meets all targets.", ""),
    }
    match (&answer.musts, &answer.all) {
        (Some(musts), Some(all)) if musts.days < all.days => {
            paragraph(text, &format!("The musts alone take {}.", effort(musts)), "");
        }
        (Some(musts), None) => plan_text(text, report, "The musts are met, at the least, by", musts),
        (None, _) => paragraph(text, "No number of the sites there are meets the musts.", ""),
        _ => {}
    }
    let beyond = answer.all.as_ref().is_none_or(|all| all.days > answer.bookable_days);
    match &answer.best {
        Some(best) if beyond => {
            let days = answer.bookable_days;
            plan_text(text, report, &format!("The best use of the {days} days is"), best);
        }
        Some(_) => {}
        None => paragraph(text, "The days that can be booked are too few for the fewest sites.", ""),
    }
}

fn plan_text(text: &mut String, report: &BudgetReport, intro: &str, plan: &BudgetPlan) {
    let zones: Vec<String> = plan.zones.iter().map(|zone| format!("{} {}", zone.zone, zone.sites)).collect();
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    paragraph(text, &format!("{intro} {}: {sites} sites ({}).", effort(plan), zones.join(", ")), "");
    let units: Vec<String> = plan
        .site_set
        .iter()
        .map(|task| {
            let needs = if task.needs < task.units { format!("{} needed", task.needs) } else { String::new() };
            let fits = if task.fits > task.units { format!("{} fit", task.fits) } else { String::new() };
            let both: Vec<String> = [needs, fits].into_iter().filter(|words| !words.is_empty()).collect();
            let both = if both.is_empty() { String::new() } else { format!(" ({})", both.join(", ")) };
            format!("{} {}{both}", method_words(&task.method), task.units)
        })
        .collect();
    paragraph(text, &format!("At each site: {}.", units.join(", ")), "");
    let dives: Vec<String> = plan
        .zones
        .iter()
        .map(|zone| {
            let least = if zone.team_dives > zone.team_dives_at_least {
                format!(" (not under {})", zone.team_dives_at_least)
            } else {
                String::new()
            };
            format!(
                "{} {}{least}, the fullest dive of a pair done in time {:.0} times in 100",
                zone.zone,
                counted(zone.team_dives, "team dive"),
                100.0 * zone.finished
            )
        })
        .collect();
    paragraph(text, &format!("A site takes: {}.", dives.join("; ")), "");
    text.push('\n');
    *text += &format!("{:<26} {:>6} {:>9} {:>7}  {}\n", "target", "", "asked", "margin", "by simulation");
    for margin in &plan.margins {
        *text += margin_text(report, margin).trim_end();
        text.push('\n');
    }
    text.push('\n');
}

fn margin_text(report: &BudgetReport, margin: &Margin) -> String {
    let unit = report.scenario.unit_of(&margin.indicator);
    let scale = if unit == Unit::Share { 100.0 } else { 1.0 };
    let simulated = match (margin.asks, margin.seen, margin.half_width, margin.cv) {
        (Asks::SeeChange(_), Some((seen, error)), _, _) => {
            format!("seen {} in 100", with_error(100.0 * seen, Some(100.0 * error)))
        }
        (Asks::HalfWidth(_), _, Some(half_width), _) => {
            format!("half-width {}", significant(scale * half_width, 3))
        }
        (Asks::Cv(_), _, _, Some(cv)) => format!("error {} % of mean", significant(100.0 * cv, 2)),
        _ => String::new(),
    };
    let asked = match margin.asks {
        Asks::SeeChange(_) => {
            margin.change.map_or(String::new(), |(from, to)| format!("{:+.0} %", 100.0 * (to / from - 1.0)))
        }
        Asks::HalfWidth(half_width) => format!("+-{}", significant(scale * half_width, 3)),
        Asks::Cv(cv) => format!("cv {} %", significant(100.0 * cv, 2)),
    };
    let stuck = if margin.not_by_units > 0.7 && margin.margin < 1.05 {
        format!("; {:.0} % not by more units", 100.0 * margin.not_by_units)
    } else {
        String::new()
    };
    format!(
        "{:<26} {:>6} {:>9} {:>7}  {simulated}{stuck}",
        spoken(&margin.indicator),
        if margin.must { "must" } else { "should" },
        asked,
        format!("{:.2}", margin.margin)
    )
}

fn effort(plan: &BudgetPlan) -> String {
    format!(
        "{}, {}, {}",
        counted(plan.days, "day"),
        counted(plan.team_dives, "team dive"),
        counted(plan.pair_dives, "pair-dive")
    )
}
