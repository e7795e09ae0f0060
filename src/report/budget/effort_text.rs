//! What goes into dives, as text: lumps, marks, who dives with whom, what is left out first.

use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, DaysFor, NextCost, PairingMatters, ScheduleRow, Visit, VisitDives};
use crate::report::terminal::paragraph;
use crate::report::words::{method_words, plain};

/// For each method the unit with which one more team dive begins, and what it costs; and what each visit takes.
pub fn lumps(text: &mut String, plan: &BudgetPlan) {
    for method in plan.site_set.iter().map(|task| &task.method) {
        let of_method: Vec<&NextCost> = plan.next_costs.iter().filter(|cost| &cost.method == method).collect();
        let alike = of_method.chunk_by(|one, other| (one.units, one.more) == (other.units, other.more));
        let costs: Vec<String> = alike.map(next_cost).collect();
        if !costs.is_empty() {
            paragraph(text, &format!("More {}: {}.", method_words(method), costs.join("; ")), "  ");
        }
    }
    if let Some(line) = visits_line(plan) {
        paragraph(text, &line, "");
    }
}

/// What each visit takes, where they differ.
pub fn visits_line(plan: &BudgetPlan) -> Option<String> {
    let [planned, other] = &plan.visits[..] else { return None };
    Some(format!("{}; {}. The dearer of them is planned.", visit(planned), visit(other)))
}

/// The same step in several zones.
fn next_cost(alike: &[&NextCost]) -> String {
    let zones: Vec<&str> = alike.iter().map(|cost| cost.zone.as_str()).collect();
    let cost = alike[0];
    let more = match cost.more {
        None if cost.comes_first => "no room, for it is done on the first team dive of a site alone".to_owned(),
        None => "more team dives than are looked at".to_owned(),
        Some((0, dives)) => format!("{} more in all, on the same days", counted(dives, "team dive")),
        Some((days, dives)) => format!("{} and {} more in all", counted(dives, "team dive"), counted(days, "day")),
    };
    format!("from {} on at a site ({}): {more}", cost.units, zones.join(", "))
}

fn visit(visit: &VisitDives) -> String {
    let what = match visit.visit {
        Visit::Any => "Each visit",
        Visit::MarksAreSet => "The first visit, when marks are set,",
        Visit::MarksAreFound => "a later one, when they are found,",
    };
    let (days, dives) = (counted(visit.days, "day"), counted(visit.team_dives, "team dive"));
    format!("{what} takes {days}, {dives}, {}", counted(visit.pair_dives, "pair-dive"))
}

/// Who dives with whom, where that was not told.
pub fn pairing(text: &mut String, report: &BudgetReport) {
    if let Some(line) = pairing_line(report) {
        paragraph(text, &line, "");
        text.push('\n');
    }
}

pub fn pairing_line(report: &BudgetReport) -> Option<String> {
    let pairing = report.answer.pairing.as_ref()?;
    let pairs: Vec<String> = pairing.pairs.iter().map(|[one, other]| format!("{one} and {other}")).collect();
    let pairs = pairs.join(", ");
    Some(match (pairing.matters, pairing.days) {
        (PairingMatters::No, _) => {
            format!("Who dives with whom was not told and changes nothing here; planned with {pairs}.")
        }
        (PairingMatters::Yes, Some((least, most))) if least < most => format!(
            "Who dives with whom was not told and matters: of {} ways the best takes {}, the worst {most}. Planned with {pairs}.",
            pairing.tried,
            counted(least, "day")
        ),
        (PairingMatters::Yes, _) => format!(
            "Who dives with whom was not told and matters, though hardly; the best of {} ways is {pairs}.",
            pairing.tried
        ),
        (PairingMatters::NotTried, _) => {
            format!("Who dives with whom was not told, and the ways are too many to try; as listed: {pairs}.")
        }
    })
}

/// What the days are for, before the first dive.
pub fn days_for(text: &mut String, calendar: &[DaysFor]) {
    if let Some(line) = days_line(calendar) {
        paragraph(text, &line, "");
    }
}

pub fn days_line(calendar: &[DaysFor]) -> Option<String> {
    let days: Vec<String> =
        calendar.iter().map(|days| format!("{} {}", counted(days.days, "day"), days.what)).collect();
    (!days.is_empty()).then(|| format!("Of the days: {}.", days.join("; ")))
}

/// How sure a pair ends in time, before the first row of it on a dive.
pub fn pair_line(row: &ScheduleRow) -> String {
    format!("  pair {}: both done in time {} times in 100\n", row.pair, in_time(row.finished))
}

/// Times in 100, never 100 where something is left to chance.
pub fn in_time(finished: f64) -> String {
    let times = if finished < 1.0 { (100.0 * finished).round().min(99.0) } else { 100.0 };
    format!("{times:.0}")
}

/// Behind the work that a diver who runs late leaves out first.
pub fn out_first(report: &BudgetReport, row: &ScheduleRow) -> String {
    if !row.leave_out_first {
        return String::new();
    }
    match lost_with(report, row) {
        Some(lost) => format!("; late: left out ({lost})"),
        None => "; late: one less of these".to_owned(),
    }
}

/// What is lost where the only unit of a method at a site is left out: "then none here, and the site tells nothing of colony
/// density (a must)"; `None` where there are more of them.
pub fn lost_with(report: &BudgetReport, row: &ScheduleRow) -> Option<String> {
    let planned = report.answer.scheduled()?.site_set.iter().find(|task| task.method == row.task)?;
    if planned.units > 1 {
        return None;
    }
    let told = report.answer.reading_columns.iter().filter(|column| column.task == row.task);
    let is_must =
        |indicator: &str| report.expedition.targets.iter().any(|target| target.must && target.indicator == indicator);
    let of = |indicator: &str| format!("{}{}", plain(indicator), if is_must(indicator) { " (a must)" } else { "" });
    let told: Vec<String> = told.map(|column| of(&column.indicator)).collect();
    Some(if told.is_empty() {
        "then none of it here".to_owned()
    } else {
        format!("then the site tells nothing of {}", told.join(" and "))
    })
}
