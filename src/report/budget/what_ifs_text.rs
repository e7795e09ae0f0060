//! What one thing more or less is worth, and what is hardly dearer, as text.

use super::report::BudgetReport;
use crate::report::terminal::paragraph;

pub fn what_ifs(text: &mut String, report: &BudgetReport) {
    paragraph(text, "What if (days and team dives for all targets; for the musts; by formula)", "");
    let told = |effort: Option<(usize, usize)>| {
        effort.map_or("out of reach".into(), |(days, dives)| format!("{days} days, {dives}"))
    };
    for what in &report.answer.what_ifs {
        *text += &format!("  {:<44} {:>13} {:>13}\n", what.what, told(what.all), told(what.musts));
    }
    text.push('\n');
}

pub fn near_ties(text: &mut String, report: &BudgetReport) {
    if !report.answer.near_ties.is_empty() {
        paragraph(text, "Hardly dearer, and as good (logistics may choose):", "");
        for tie in &report.answer.near_ties {
            let sites: Vec<String> = tie.sites.iter().map(u16::to_string).collect();
            let units: Vec<String> = tie.units.iter().map(u8::to_string).collect();
            *text += &format!(
                "  {} days, {} team dives: sites {}; units {}; weakest margin {:.2}\n",
                tie.days,
                tie.team_dives,
                sites.join(" + "),
                units.join(", "),
                tie.weakest
            );
        }
        text.push('\n');
    }
}
