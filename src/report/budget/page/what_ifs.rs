use super::{Column, Grid, Section};
use crate::planner::expedition::NearTie;
use crate::report::budget::BudgetReport;
use crate::report::budget::money_text::by_effort;
use crate::report::budget::what_ifs_text::{tie_words, what_if_notes};
use crate::report::figures::budget::moves;
use crate::report::words::sentence;

/// What one thing more or less is worth.
pub fn what_ifs(report: &BudgetReport) -> Option<Section> {
    let what_ifs = &report.answer.what_ifs;
    if what_ifs.is_empty() {
        return None;
    }
    let pair = |effort: Option<(usize, usize)>| match effort {
        Some((days, dives)) => [days.to_string(), dives.to_string()],
        None => ["out of reach".into(), String::new()],
    };
    let rows = what_ifs.iter().map(|what| {
        let in_all = what.in_all(&what_ifs[0]);
        let words: String = in_all.iter().chain(&what.why).map(|words| format!(" ({words})")).collect();
        let mut cells = vec![sentence(&what.what) + &words];
        let musts = if what.looks_at_musts() { pair(what.musts) } else { ["-".into(), String::new()] };
        cells.extend(pair(what.all).into_iter().chain(musts));
        cells
    });
    let columns = vec![
        Column::words("what if"),
        Column::number("all targets").small("days"),
        Column::number("").small("team dives"),
        Column::number("the musts").small("days"),
        Column::number("").small("team dives"),
    ];
    Some(Section {
        id: "what-ifs",
        heading: "What one thing more or less is worth",
        words: vec![
            "Each line changes one thing and searches anew, by formula. What touches diving is asked towards caution only."
                .into(),
        ],
        figures: moves(report).into_iter().collect(),
        grids: vec![Grid { caption: String::new(), columns, rows: rows.collect() }],
        notes: what_if_notes(report),
        ..Section::default()
    })
}

/// Plans that are hardly dearer.
pub fn near_ties(report: &BudgetReport) -> Option<Section> {
    let ties = &report.answer.near_ties;
    if ties.is_empty() {
        return None;
    }
    let row = |tie: &NearTie| {
        let (sites, units) = tie_words(report, tie);
        vec![sites, units, tie.days.to_string(), tie.team_dives.to_string(), format!("{:.2}", tie.weakest)]
    };
    let columns = vec![
        Column::words("sites"),
        Column::words("at each site"),
        Column::number("days"),
        Column::number("team dives"),
        Column::number("weakest margin"),
    ];
    Some(Section {
        id: "near-ties",
        heading: "Hardly dearer, and as good",
        words: ["From these logistics may choose; they meet all targets by formula."]
            .into_iter()
            .chain(by_effort(report))
            .map(str::to_owned)
            .collect(),
        grids: vec![Grid { caption: String::new(), columns, rows: ties.iter().map(row).collect() }],
        ..Section::default()
    })
}
