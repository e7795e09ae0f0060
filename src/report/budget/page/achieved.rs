use super::{Column, Grid, Section};
use crate::planner::expedition::Margin;
use crate::report::budget::BudgetReport;
use crate::report::budget::target_words::{achieved as by_formula, asked, held_up, own_power, simulated, verdict};
use crate::report::digits::hundredths;
use crate::report::figures::budget::targets;
use crate::report::words::{plain, sentence, times_seen};

/// Target by target: what is asked, what comes of it.
pub fn achieved(report: &BudgetReport) -> Option<Section> {
    let plan = report.answer.scheduled()?;
    let alpha = report.scenario.test.alpha;
    let columns = vec![
        Column::words("target"),
        Column::words(""),
        Column::words("asked"),
        Column::words("achieved").small("by formula"),
        Column::number("margin").small("1: just met"),
        Column::words("simulated").small("in brackets: one standard error"),
        Column::number("false alarm").small("in 100"),
        Column::words(""),
    ];
    let row = |margin: &Margin| {
        vec![
            sentence(&plain(&margin.indicator)),
            if margin.must { "must" } else { "should" }.to_owned(),
            asked(report, margin),
            by_formula(report, margin),
            format!("{:.2}", margin.margin),
            simulated(report, margin).unwrap_or_else(|| "not simulated".into()),
            hundredths(margin.false_alarm.map(|rate| rate.0), margin.false_alarm.map(|rate| rate.1)),
            held_up(margin).map_or(verdict(margin).to_owned(), |why| format!("{}; {why}", verdict(margin))),
        ]
    };
    let seen = plan.margins.iter().any(|margin| margin.seen.is_some());
    let mut notes = vec![
        "Margin: what is asked over what is achieved. Achieved: the smallest change that is seen as often as asked, the \
         half-width of the interval, or the standard error over the mean."
            .to_owned(),
    ];
    if seen {
        let own = plan.margins.iter().any(|margin| own_power(&report.scenario.test, margin).is_some());
        notes.push(format!(
            "A change is asked to be seen {}{}. False alarm: how often the test rings when nothing changed; it aims at {} in \
             100. The margin is by formula, on which the search rests; how often the change is seen is by simulation of just \
             this plan, which is what to quote, and by which the last column goes (within error: what is asked lies within \
             two standard errors of what was simulated).",
            times_seen(report.scenario.test.seen),
            if own { ", where no other number stands beside it" } else { "" },
            100.0 * alpha
        ));
    }
    notes.extend(report.on_targets());
    Some(Section {
        id: "achieved",
        heading: "What the plan achieves",
        words: vec![format!("Each target as it was asked and what comes of it{}.", report.of_zones())],
        figures: targets(report).into_iter().collect(),
        grids: vec![Grid { caption: String::new(), columns, rows: plan.margins.iter().map(row).collect() }],
        notes,
        ..Section::default()
    })
}
