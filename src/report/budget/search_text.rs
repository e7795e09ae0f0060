//! What was chosen and why, as text: dimensions and places, what simulation did not confirm, what cannot be met, what a
//! little more or less gives, what to measure first.

use super::report::BudgetReport;
use crate::measures::counted;
use crate::planner::expedition::{BudgetPlan, places_words};
use crate::report::terminal::paragraph;
use crate::report::words::{method_words, plain as spoken};

/// Rows of what a pilot should measure.
const MEASURED_FIRST: usize = 3;

pub fn search(text: &mut String, report: &BudgetReport) {
    let answer = &report.answer;
    for said in &answer.by_simulation {
        paragraph(text, &format!("By simulation: {said}"), "");
    }
    for blocked in &answer.blocked {
        paragraph(text, &format!("Why {} cannot be met: {}", blocked.what, blocked.why.join(" ")), "");
        if let Some((days, dives)) = blocked.nearest {
            let nearest = format!(
                "The nearest plan does not meet {}: {}, {} (by formula).",
                blocked.without.join(", "),
                counted(days, "day"),
                counted(dives, "team dive")
            );
            paragraph(text, &nearest, "");
        }
    }
    if let Some(plan) = answer.all.as_ref().or(answer.best.as_ref()) {
        chosen(text, plan);
    }
    let searched = &answer.searched;
    let combinations = match searched.combinations {
        0 | 1 => String::new(),
        number => format!(" ({number} combinations of dimensions and places)"),
    };
    let looked = format!(
        "{} designs{combinations}; {} worked out, bounds rule out the others.",
        searched.designs, searched.worked_out
    );
    paragraph(text, &looked, "");
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
    let Some(own) = &report.answer.own_site_sets else { return };
    let common = report.answer.all.as_ref().map_or((0, 0), |all| (all.days, all.team_dives));
    if (own.days, own.team_dives) == common {
        return;
    }
    let zones: Vec<String> = own
        .zones
        .iter()
        .map(|(zone, sites, units)| {
            let units: Vec<String> = units.iter().map(u8::to_string).collect();
            format!("{zone} {sites} sites with {}", units.join(", "))
        })
        .collect();
    let line = format!(
        "With its own site set each zone needs {}, {} in all (no fewer than {} days, {} team dives can do): {}.",
        counted(own.days, "day"),
        counted(own.team_dives, "team dive"),
        own.days_at_least,
        own.team_dives_at_least,
        zones.join("; ")
    );
    paragraph(text, &line, "");
    text.push('\n');
}

fn margins(text: &mut String, report: &BudgetReport) {
    let rows = &report.answer.margin_ifs;
    if rows.len() < 2 {
        return;
    }
    paragraph(text, "A little more or less (by formula): days, team dives, weakest margin", "");
    for row in rows {
        let weakest = row.margins.iter().copied().fold(f64::INFINITY, f64::min);
        *text += &format!("  {:<52} {:>4} {:>4} {:>6}\n", row.what, row.days, row.team_dives, format!("{weakest:.2}"));
    }
    text.push('\n');
}

fn measure_first(text: &mut String, report: &BudgetReport) {
    let rows: Vec<_> =
        report.answer.measure_first.iter().filter(|row| row.moves() > 0.02).take(MEASURED_FIRST).collect();
    if rows.is_empty() {
        return;
    }
    paragraph(text, "What a pilot should measure first: margins if it were two thirds, or half as large again", "");
    let shown = |margin: Option<f64>| margin.map_or("-".into(), |margin| format!("{margin:.2}"));
    for row in rows {
        let what = format!("{}: {}", spoken(&row.indicator), row.component);
        *text += &format!("  {what:<62} {:>6} {:>6}\n", shown(row.smaller), shown(row.larger));
    }
    text.push('\n');
}
