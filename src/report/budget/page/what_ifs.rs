use super::{Column, Grid, Section};
use crate::planner::expedition::NearTie;
use crate::report::budget::BudgetReport;
use crate::report::budget::money_text::by_effort;
use crate::report::budget::what_ifs_text::{NEAR_BEST, beyond_the_days, tie_words, what_if_notes};
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
        let words: String =
            in_all.iter().chain(&what.why).chain(&what.moves_nothing).map(|words| format!(" ({words})")).collect();
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

/// Plans that are hardly dearer, and other uses of the days that are hardly worse.
pub fn near_ties(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    let row = |tie: &NearTie| {
        let (sites, units) = tie_words(report, tie);
        vec![sites, units, tie.days.to_string(), tie.team_dives.to_string(), format!("{:.2}", tie.weakest)]
    };
    let columns = || {
        vec![
            Column::words("sites"),
            Column::words("at each site"),
            Column::number("days"),
            Column::number("team dives"),
            Column::number("weakest margin"),
        ]
    };
    let beyond = beyond_the_days(report);
    let beside_all = beyond.as_ref().map_or("Hardly dearer, and as good".into(), |beyond| {
        format!("Hardly dearer than the plan for all targets, and as good: {beyond}")
    });
    let several = !answer.near_best.is_empty() || beyond.is_some();
    let grids: Vec<Grid> = [(NEAR_BEST.to_owned(), &answer.near_best), (beside_all, &answer.near_ties)]
        .into_iter()
        .filter(|(_, ties)| !ties.is_empty())
        .map(|(caption, ties)| Grid {
            caption: if several { caption } else { String::new() },
            columns: columns(),
            rows: ties.iter().map(row).collect(),
        })
        .collect();
    let all = "From these logistics may choose; they meet all targets by formula.";
    let best = "From other uses of the days logistics may choose: by formula what this plan meets they meet, and their weakest margin \
                is a twentieth less at most.";
    let words = [(best, &answer.near_best), (all, &answer.near_ties)].into_iter().filter(|(_, ties)| !ties.is_empty());
    (!grids.is_empty()).then(|| Section {
        id: "near-ties",
        heading: if answer.near_best.is_empty() { "Hardly dearer, and as good" } else { "Hardly other than the plan" },
        words: words.map(|(words, _)| words).chain(by_effort(report)).map(str::to_owned).collect(),
        grids,
        ..Section::default()
    })
}
