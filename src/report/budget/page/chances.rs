use super::{Column, Grid, Section};
use crate::planner::expedition::{Choice, InHand, Odds};
use crate::report::budget::BudgetReport;
use crate::report::budget::chances_text::{BOTH_VISITS, choices_head, to_book, together_lines};

/// Chances of the expedition as a whole, and what is in hand when it is cut short.
pub fn chances(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    let mut words = answer.scheduled().map_or(Vec::new(), |plan| together_lines(report, plan));
    let mut grids = Vec::new();
    if let Some(season) = &answer.season {
        if !season.in_hand.is_empty() {
            words.extend(
                season.in_hand.iter().any(|day| day.chance_at_both_visits.is_some()).then(|| BOTH_VISITS.to_owned()),
            );
            grids.push(in_hand(report, &season.in_hand));
        }
        if !season.choices.is_empty() {
            grids.push(choices(report, &season.choices));
        }
    }
    let says_something = !(words.is_empty() && grids.is_empty());
    says_something.then(|| Section {
        id: "chances",
        heading: "The expedition as a whole",
        words,
        grids,
        ..Section::default()
    })
}

fn in_hand(report: &BudgetReport, days: &[InHand]) -> Grid {
    let zones: Vec<&str> = report.scenario.zones.iter().map(|zone| zone.name.as_str()).collect();
    let columns = vec![
        Column::number("days"),
        Column::words(format!("sites ({})", zones.join(" + "))),
        Column::number("weakest must"),
        Column::number("weakest of all"),
        Column::number("chance"),
        Column::number("at both visits"),
    ];
    let shown = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.2}"));
    let row = |day: &InHand| {
        let sites: Vec<String> = day.sites.iter().map(u16::to_string).collect();
        vec![
            day.days.to_string(),
            sites.join(" + "),
            shown(day.weakest_must),
            shown(day.weakest),
            shown(day.chance),
            shown(day.chance_at_both_visits),
        ]
    };
    let caption =
        "In hand if the expedition ends after so many days, in the planned order of sites: margins by formula";
    Grid { caption: caption.into(), columns, rows: days.iter().map(row).collect() }
}

fn choices(report: &BudgetReport, choices: &[Choice]) -> Grid {
    let columns = vec![
        Column::words("units"),
        Column::number("musts").small("days"),
        Column::words("chance"),
        Column::words("to book"),
        Column::number("all targets").small("days"),
        Column::words("chance"),
        Column::words("to book"),
    ];
    let odds = |odds: Option<&Odds>| match odds {
        Some(odds) => [odds.needs.to_string(), format!("{:.2} / {:.2}", odds.alone, odds.in_spells), to_book(odds)],
        None => ["never".into(), "-".into(), "-".into()],
    };
    let row = |choice: &Choice| {
        let units: Vec<String> = choice.units.iter().map(u8::to_string).collect();
        let [musts, all] = [&choice.musts, &choice.all].map(|of| odds(of.as_ref()));
        [vec![units.join(", ")], musts.into(), all.into()].concat()
    };
    Grid { caption: choices_head(report), columns, rows: choices.iter().map(row).collect() }
}
