use super::{Column, Grid, Section};
use crate::measures::counted;
use crate::planner::expedition::BookDays;
use crate::report::budget::BudgetReport;
use crate::report::budget::days_left::wanted_words;
use crate::report::digits::hundredths_beside;
use crate::report::figures::budget::lost_days as figure;
use crate::report::words::sentence;

/// What lost days do, and how many to book.
pub fn lost_days(report: &BudgetReport) -> Option<Section> {
    let answer = &report.answer;
    report.expedition.days.lost?;
    let wanted = wanted_words(report.expedition.days.chance_wanted);
    let columns = vec![
        Column::words("the cheapest plan for"),
        Column::number("needs").small("days for diving"),
        Column::number(format!("finished in {}", counted(answer.bookable_days, "day"))).small("in 100"),
        Column::number(format!("to book for {wanted}")).small("days for diving"),
    ];
    let row = |book: &BookDays| {
        vec![
            sentence(&book.plan),
            book.needs.to_string(),
            hundredths_beside(book.chance, book.wanted),
            book.to_book.map_or("not within reach".into(), |days| days.to_string()),
        ]
    };
    let grid = Grid { caption: String::new(), columns, rows: answer.book.iter().map(row).collect() };
    Some(Section {
        id: "lost-days",
        heading: "Lost days",
        words: vec![
            "The fewest days for a plan leave nothing for bad weather: that is why its chance stands beside it.".into(),
        ],
        figures: figure(report).into_iter().collect(),
        grids: if answer.book.is_empty() { Vec::new() } else { vec![grid] },
        ..Section::default()
    })
}
