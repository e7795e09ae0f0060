//! The plans that were found, each with its site set and its targets, as text.

use super::chances_text::together;
use super::columns::row;
use super::effort_text::{in_time, lumps};
use super::money_text::{best_of_money, for_money};
use super::report::BudgetReport;
use super::target_words::{achieved, held_up};
use super::told_by_text::told_otherwise;
use crate::design::Scheduled;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, SiteTasks, ZoneSites};
use crate::report::terminal::paragraph;
use crate::report::words::{method_words, plain as spoken, sentence};

/// The plan that is scheduled in full, the others by what they take.
pub fn plans(text: &mut String, report: &BudgetReport) {
    let answer = &report.answer;
    if let Some(plan) = answer.scheduled() {
        let what = match answer.scheduled_as() {
            Scheduled::AllTargets => "All targets are met, at the least, by".to_owned(),
            Scheduled::BestOfDays => format!("The best use of the {} days is", answer.bookable_days),
            Scheduled::BestOfMoney => sentence(&format!("{} is", best_of_money(report).unwrap_or_default())),
        };
        in_full(text, report, &what, plan);
    } else {
        paragraph(text, "The days there are for diving are too few for the fewest sites.", "");
        text.push('\n');
    }
    let mut told = false;
    if let Some(line) = for_money(report).filter(|_| answer.scheduled_as() != Scheduled::BestOfMoney) {
        paragraph(text, &format!("{line}."), "");
        told = true;
    }
    match &answer.all {
        Some(all) if all.days > answer.bookable_days => {
            paragraph(text, &format!("All targets take {}.", with_sites(all)), "");
            told = true;
        }
        Some(_) => {}
        None => {
            paragraph(text, "No number of the sites there are meets all targets.", "");
            told = true;
        }
    }
    match (&answer.musts, &answer.all) {
        (Some(musts), Some(all)) if musts.days >= all.days => {}
        (Some(musts), _) => {
            paragraph(text, &format!("The musts alone take {}.", with_sites(musts)), "");
            told = true;
        }
        (None, _) => {
            let why = if answer.searched.designs == 0 {
                "Nothing can be planned: some work does not fit into the dives of a site."
            } else {
                "No number of the sites there are meets the musts."
            };
            paragraph(text, why, "");
            told = true;
        }
    }
    if told {
        text.push('\n');
    }
}

fn in_full(text: &mut String, report: &BudgetReport, intro: &str, plan: &BudgetPlan) {
    paragraph(text, &format!("{intro} {}.", with_sites(plan)), "");
    let units: Vec<String> = plan.site_set.iter().map(task_words).collect();
    paragraph(text, &format!("At each site: {}.", units.join(", ")), "");
    let dives: Vec<String> = plan.dived_at().map(|(zones, of)| zone_words(&zones, of)).collect();
    paragraph(text, &format!("A site takes: {}.", dives.join("; ")), "");
    if let Some(words) = told_otherwise(report) {
        paragraph(text, &words, "");
    }
    lumps(text, plan);
    text.push('\n');
    row(text, "by formula", 34, &[("", 6), ("achieved", 24), ("margin", 8)]);
    for margin in &plan.margins {
        let name = spoken(&margin.indicator);
        let name = held_up(margin).map_or(name.clone(), |why| format!("{name}; {why}"));
        let priority = if margin.must { "must" } else { "should" };
        let told = format!("{:.2}", margin.margin);
        row(text, &name, 34, &[(priority, 6), (&achieved(report, margin), 24), (&told, 8)]);
    }
    text.push('\n');
    together(text, report, plan);
}

/// "point-intercept lines 5 (4 needed, 6 fit)"
fn task_words(task: &SiteTasks) -> String {
    let needs = (task.needs < task.units).then(|| format!("{} needed", task.needs));
    let fits = (task.fits > task.units).then(|| format!("{} fit", task.fits));
    let both: Vec<String> = needs.into_iter().chain(fits).collect();
    let both = if both.is_empty() { String::new() } else { format!(" ({})", both.join(", ")) };
    format!("{} {}{both}", method_words(&task.method), task.units)
}

fn zone_words(zones: &str, zone: &ZoneSites) -> String {
    let least = if zone.team_dives > zone.team_dives_at_least {
        format!(" (not under {})", zone.team_dives_at_least)
    } else {
        String::new()
    };
    format!(
        "{zones} {}{least}, the fullest dive of a pair done in time {} times in 100",
        zone.dives_words(),
        in_time(zone.finished)
    )
}

/// "8 days, 18 team dives, 51 pair-dives: 15 sites (crest 5, slope 7, deep 3)"
pub fn with_sites(plan: &BudgetPlan) -> String {
    let zones: Vec<String> = plan.zones.iter().map(|zone| format!("{} {}", zone.zone, zone.sites)).collect();
    let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
    format!(
        "{}, {}, {}: {sites} sites ({})",
        counted(plan.days, "day"),
        counted(plan.team_dives, "team dive"),
        counted(plan.pair_dives, "pair-dive"),
        zones.join(", ")
    )
}
