use super::{Column, Grid, Section};
use crate::planner::expedition::{ScheduleRow, dive_words};
use crate::report::budget::BudgetReport;
use crate::report::budget::effort_text::{in_time, lost_with};
use crate::report::budget::schedule_text::{REFUSE, RELEASE, work_words};
use crate::report::words::method_words;

/// Day by day, dive by dive, pair by pair.
pub fn schedule(report: &BudgetReport) -> Option<Section> {
    let rows = &report.answer.schedule;
    let [table, starts, sheets] = ["schedule.csv", "starts.csv", "sheets.html"].map(|name| report.file(name));
    (!rows.is_empty()).then(|| Section {
        id: "schedule",
        heading: "Schedule",
        words: vec![format!("{RELEASE} ______________________"), REFUSE.into()],
        grids: vec![dives(report, rows)],
        notes: (report.answer.flight.iter().map(|flight| flight.told.clone())).chain([
            format!(
                "The number of a site is its place in the draw. Done in time: how often both divers of the pair end in their \
                 minutes; who runs late leaves out one of what is named first. The same as a table: {table}; where units \
                 begin, with spares: {starts}; sheets to print: {sheets}."
            ),
        ])
        .collect(),
        ..Section::default()
    })
}

/// A row for each pair on each dive.
pub fn dives(report: &BudgetReport, rows: &[ScheduleRow]) -> Grid {
    let boats = report.expedition.boats.number > 1;
    let mut columns = vec![Column::number("day")];
    if boats {
        columns.push(Column::number("boat"));
    }
    columns.extend([
        Column::number("dive"),
        Column::words("site"),
        Column::number("pair"),
        Column::words("who does what, minutes asked for"),
        Column::number("done in time").small("in 100"),
        Column::words("late: first left out"),
    ]);
    let same = |one: &ScheduleRow, other: &ScheduleRow| {
        (one.day, one.boat, one.team_dive, one.pair) == (other.day, other.boat, other.team_dive, other.pair)
    };
    let mut last = None;
    let rows = rows.chunk_by(same).map(|of_pair| {
        let first = &of_pair[0];
        let is_new = last != Some((first.day, first.boat, first.team_dive));
        last = Some((first.day, first.boat, first.team_dive));
        let once = |text: String| if is_new { text } else { String::new() };
        let mut cells = vec![once(report.answer.day_words(first.day))];
        if boats {
            cells.push(once(first.boat.to_string()));
        }
        let words =
            of_pair.chunk_by(|one, other| (&one.diver, &one.zone) == (&other.diver, &other.zone)).map(|of_diver| {
                let work: Vec<String> = of_diver.iter().map(work_words).collect();
                let there = if of_diver[0].zone == first.zone {
                    String::new()
                } else {
                    format!("at {}, ", of_diver[0].place())
                };
                format!("{there}{}: {}", of_diver[0].diver, work.join(", "))
            });
        cells.extend([
            once(first.team_dive.to_string()),
            once(format!("{}: {}", first.place(), dive_words(of_pair))),
            first.pair.to_string(),
            words.collect::<Vec<_>>().join("; "),
            in_time(first.finished),
            out_of_pair(report, of_pair),
        ]);
        cells
    });
    Grid { caption: String::new(), columns, rows: rows.collect() }
}

/// "Ana: coral belts"
fn out_of_pair(report: &BudgetReport, rows: &[ScheduleRow]) -> String {
    let out = rows.iter().filter(|row| row.leave_out_first);
    let lost = |row: &ScheduleRow| lost_with(report, row).map_or(String::new(), |lost| format!(" ({lost})"));
    out.map(|row| format!("{}: {}{}", row.diver, method_words(&row.task), lost(row))).collect::<Vec<_>>().join("; ")
}
