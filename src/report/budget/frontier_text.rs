//! What days buy, as text.

use super::columns::row;
use super::money_text::by_effort;
use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, DayChance};
use crate::report::terminal::paragraph;

/// Rows on a screen: the page and the JSON have all.
const MOST_ROWS: usize = 12;

pub fn frontier(text: &mut String, report: &BudgetReport) {
    let planned: Vec<&DayChance> = report.answer.frontier.iter().filter(|day| day.plan.is_some()).collect();
    let Some(first) = planned.first() else { return };
    paragraph(text, "What days buy (by formula): the weakest margins, and the chance that so many are left", "");
    by_effort(report).into_iter().for_each(|line| paragraph(text, line, ""));
    if let Some(line) = not_the_plan(report) {
        paragraph(text, &line, "");
    }
    beyond(report).into_iter().for_each(|line| paragraph(text, &line, ""));
    if first.days > 1 {
        paragraph(text, &format!("Below {} days not even the fewest sites are reached.", first.days), "");
    }
    let head = [("sites", 6), ("pair-dives", 11), ("musts", 8), ("all", 8), ("in 100", 8)];
    let has_chance = planned.iter().any(|day| day.chance.is_some());
    let shown = if has_chance { head.len() } else { head.len() - 1 };
    row(text, "days", 6, &head[..shown]);
    let every = planned.len().div_ceil(MOST_ROWS);
    for day in planned.iter().rev().step_by(every).collect::<Vec<_>>().into_iter().rev() {
        let Some(plan) = &day.plan else { continue };
        let sites: usize = plan.zones.iter().map(|zone| zone.sites).sum();
        let chance = day.chance.map_or(String::new(), |chance| format!("{:.0}", 100.0 * chance));
        let cells = [sites.to_string(), plan.pair_dives.to_string(), weakest(plan, true), weakest(plan, false), chance];
        let cells: Vec<(&str, usize)> = cells.iter().map(String::as_str).zip(head.map(|(_, wide)| wide)).collect();
        row(text, &day.days.to_string(), 6, &cells[..shown]);
    }
    text.push('\n');
}

/// How far days are told that there are not.
pub fn beyond(report: &BudgetReport) -> Option<String> {
    let there = report.answer.bookable_days;
    let last = report.answer.frontier.last().map(|day| day.days).filter(|&last| last > there)?;
    Some(format!(
        "There are {} for diving; what more would buy is told up to the {last} from which all targets hold.",
        counted(there, "day")
    ))
}

/// What tells the plan from the best use of its days, where they are two.
pub fn not_the_plan(report: &BudgetReport) -> Option<String> {
    let (best, own) = report.best_of_the_days()?;
    Some(format!(
        "The plan is the cheapest that meets all targets (weakest margin {own:.2}); here stands the most that so many days can \
         give ({best:.2} on as many), which is another plan."
    ))
}

/// The weakest margin, of the musts or of all.
pub fn weakest(plan: &BudgetPlan, must: bool) -> String {
    let of = plan.margins.iter().filter(|margin| margin.must || !must).map(|margin| margin.margin);
    let least = of.fold(f64::INFINITY, f64::min);
    if least.is_finite() { format!("{least:.2}") } else { "-".into() }
}
