use super::{Column, Grid, Section};
use crate::planner::expedition::{Crossing, Turns, new_pairs_line};
use crate::report::budget::BudgetReport;
use crate::report::budget::effort_text::pairing_line;
use crate::report::budget::sites_text::who_takes_turns;
use crate::report::words::{method_words, sentence};

/// Who dives with whom, who reads what where, and how often everybody dives.
pub fn people(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    let mut words: Vec<String> = pairing_line(report).into_iter().chain(new_pairs_line(&answer.new_pairs)).collect();
    let mut grids = Vec::new();
    if let Some(first) = answer.crossing.first() {
        let mut turns = who_takes_turns(&answer.crossing);
        if first.zones.len() > 1 {
            turns += " The more evenly they share all zones, the less a difference between zones is one between readers: the last \
                      column tells how far that works.";
        }
        words.push(turns);
        grids.push(readers(&first.zones, &answer.crossing));
    }
    if !answer.turns.is_empty() {
        grids.push(turns(&answer.turns));
    }
    (!grids.is_empty()).then(|| Section {
        id: "people",
        heading: "Who reads where, and who dives how often",
        words,
        grids,
        ..Section::default()
    })
}

fn readers(zones: &[String], crossing: &[Crossing]) -> Grid {
    let rows = crossing.iter().flat_map(|of| {
        of.divers.iter().enumerate().map(|(index, reader)| {
            let first = |text: String| if index == 0 { text } else { String::new() };
            let mut cells = vec![first(sentence(&method_words(&of.method))), reader.diver.clone()];
            cells.extend(reader.units.iter().map(usize::to_string));
            if zones.len() > 1 {
                cells.push(first(format!("{:.0} %", 100.0 * of.apart)));
            }
            cells
        })
    });
    let mut columns = vec![Column::words("method"), Column::words("diver")];
    columns.extend(zones.iter().map(|zone| Column::number(zone).small("units")));
    if zones.len() > 1 {
        columns.push(Column::number("read by others").small("of the units, at most"));
    }
    Grid { caption: "Who reads how much in which zone".into(), columns, rows: rows.collect() }
}

fn turns(turns: &[Turns]) -> Grid {
    let row =
        |of: &Turns| vec![of.diver.clone(), of.dives.to_string(), of.on_board.to_string(), of.days_off.to_string()];
    Grid {
        caption: "Turns".into(),
        columns: vec![
            Column::words("diver"),
            Column::number("dives"),
            Column::number("on board").small("team dives"),
            Column::number("without a partner").small("days"),
        ],
        rows: turns.iter().map(row).collect(),
    }
}
