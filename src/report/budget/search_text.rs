//! What was chosen and why, as text: dimensions and places, what simulation did not confirm, what cannot be met, what a
//! little more or less gives, what to measure first.

use super::columns::row as table_row;
use super::money_text::by_effort;
use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{Blocked, BudgetPlan, OwnSiteSets, places_words};
use crate::report::terminal::paragraph;
use crate::report::words::{count_method, method_words, plain as spoken};

/// Rows of what a pilot should measure.
const MEASURED_FIRST: usize = 3;
/// What moves a margin by less is not worth a pilot: a judgement.
pub const MOVES: f64 = 0.02;

/// Why targets cannot be met and the nearest plan, and what simulation changed: part of the screen.
pub fn why(text: &mut String, report: &BudgetReport) {
    let said = report.answer.by_simulation.iter().map(|said| format!("By simulation: {said}"));
    let lines: Vec<String> = why_not(report).into_iter().chain(said).collect();
    for line in &lines {
        paragraph(text, line, "");
    }
    if !lines.is_empty() {
        text.push('\n');
    }
}

/// Why targets cannot be met, and the nearest plan; a reason that holds for the musts too is said once.
pub fn why_not(report: &BudgetReport) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut last: Option<&Blocked> = None;
    for blocked in &report.answer.blocked {
        let same = last.is_some_and(|last| last.why == blocked.why);
        let because = if same { "for the same reason.".to_owned() } else { blocked.why.join(" ") };
        if !blocked.why.is_empty() {
            lines.push(format!("Why {} cannot be met: {because}", blocked.what));
        }
        let has_nearest = !last.is_some_and(|last| same && last.nearest == blocked.nearest);
        lines.extend(blocked.nearest.as_ref().filter(|_| has_nearest).map(|nearest| {
            let sites: Vec<String> = nearest.sites.iter().map(|(zone, sites)| format!("{zone} {sites}")).collect();
            let units = nearest.site_set.iter().filter(|(_, units)| *units > 0);
            let units: Vec<String> = units.map(|(method, units)| count_method(method, usize::from(*units))).collect();
            format!(
                "The nearest plan gives up {}: {}, {}; sites: {}; at each: {} (by formula).",
                blocked.without.join(", "),
                counted(nearest.days, "day"),
                counted(nearest.team_dives, "team dive"),
                sites.join(", "),
                units.join(", ")
            )
        }));
        last = Some(blocked);
    }
    lines
}

/// How many designs were looked at.
pub fn searched(report: &BudgetReport) -> String {
    let searched = &report.answer.searched;
    let combinations = match searched.combinations {
        0 | 1 => String::new(),
        number => format!(" ({number} combinations of dimensions and places)"),
    };
    format!(
        "{} designs{combinations}: {} worked out, bounds rule out the others.",
        searched.designs, searched.worked_out
    )
}

pub fn search(text: &mut String, report: &BudgetReport) {
    let answer = &report.answer;
    if let Some(plan) = answer.all.as_ref().or(answer.best.as_ref()) {
        chosen(text, plan);
    }
    paragraph(text, &searched(report), "");
    text.push('\n');
    own_site_sets(text, report);
    margins(text, report);
    measure_first(text, report);
}

fn chosen(text: &mut String, plan: &BudgetPlan) {
    let with = plan.site_set.iter().filter(|task| !task.dimensions.is_empty());
    let dimensions: Vec<String> =
        with.map(|task| format!("{} of {}", method_words(&task.method), task.dimensions)).collect();
    let places = plan.places.map(|places| format!("second visit at {}", places_words(places)));
    let all: Vec<String> = dimensions.into_iter().chain(places).collect();
    if !all.is_empty() {
        paragraph(text, &format!("Chosen: {}.", all.join("; ")), "");
    }
}

fn own_site_sets(text: &mut String, report: &BudgetReport) {
    let Some(own) = own_sets(report) else { return };
    let zones: Vec<String> = own
        .zones
        .iter()
        .map(|(zone, sites, units)| {
            let methods = report.answer.all.iter().flat_map(|plan| &plan.site_set);
            let units = methods.zip(units).map(|(task, &units)| count_method(&task.method, usize::from(units)));
            format!("{zone} {sites} sites with {}", units.collect::<Vec<_>>().join(", "))
        })
        .collect();
    paragraph(text, &format!("{} {}.", own_sets_line(own), zones.join("; ")), "");
    by_effort(report).into_iter().for_each(|line| paragraph(text, line, ""));
    text.push('\n');
}

/// Own site sets of the zones, where they take less or more than the common one.
pub fn own_sets(report: &BudgetReport) -> Option<&OwnSiteSets> {
    let common = report.answer.all.as_ref().map_or((0, 0), |all| (all.days, all.team_dives));
    report.answer.own_site_sets.as_ref().filter(|own| (own.days, own.team_dives) != common)
}

/// What they take.
pub fn own_sets_line(own: &OwnSiteSets) -> String {
    format!(
        "With a site set of its own in each zone all targets take {}, {} (by formula; no fewer than {}, {} can do).",
        counted(own.days, "day"),
        counted(own.team_dives, "team dive"),
        counted(own.days_at_least, "day"),
        counted(own.team_dives_at_least, "team dive")
    )
}

fn margins(text: &mut String, report: &BudgetReport) {
    let rows = &report.answer.margin_ifs;
    if rows.len() < 2 {
        return;
    }
    paragraph(text, "A little more or less (by formula): days, team dives, weakest margin", "");
    for row in rows {
        let weakest = row.margins.iter().copied().fold(f64::INFINITY, f64::min);
        let [days, dives] = [row.days, row.team_dives].map(|number| number.to_string());
        table_row(text, &row.what, 54, &[(&days, 4), (&dives, 4), (&format!("{weakest:.2}"), 6)]);
    }
    text.push('\n');
}

fn measure_first(text: &mut String, report: &BudgetReport) {
    let rows: Vec<_> =
        report.answer.measure_first.iter().filter(|row| row.moves() > MOVES).take(MEASURED_FIRST).collect();
    if rows.is_empty() {
        return;
    }
    paragraph(
        text,
        "What a pilot should measure first (what decides whether a target is met, then what moves most): margins if it were two thirds, \
         or half as large again",
        "",
    );
    let shown = |margin: Option<f64>| margin.map_or("-".into(), |margin| format!("{margin:.2}"));
    for row in rows {
        let what = format!("{}: {}", spoken(&row.indicator), row.component);
        table_row(text, &what, 64, &[(&shown(row.smaller), 6), (&shown(row.larger), 6)]);
    }
    text.push('\n');
}
