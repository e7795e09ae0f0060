use super::Section;
use crate::report::budget::BudgetReport;
use crate::report::figures::budget::work as figures;
use crate::report::words::method_words;

/// The minutes of work at a site.
pub fn work(report: &BudgetReport) -> Option<Section> {
    let figures = figures(report);
    (!figures.is_empty()).then(|| Section {
        id: "minutes",
        heading: "Minutes at a site",
        words: vec![format!(
            "A dive is packed so that both divers of a pair end in time with a chance of {:.0} in 100; minutes vary from dive \
             to dive, SD over the mean: {}.",
            100.0 * report.expedition.finish_chance,
            spreads(report)
        )],
        figures,
        ..Section::default()
    })
}

/// "25 % for each unit", or method by method where they differ.
fn spreads(report: &BudgetReport) -> String {
    let methods = report.scenario.methods.iter().zip(&report.expedition.methods);
    let planned = report.answer.scheduled().map_or(&[][..], |plan| &plan.site_set);
    let told: Vec<(String, f64)> = methods
        .map(|(method, work)| (method.kind.own_name().to_owned(), work.minutes_spread))
        .filter(|(name, _)| planned.iter().any(|task| task.method == *name))
        .collect();
    let percent = |spread: f64| format!("{:.0} %", 100.0 * spread);
    match told.split_first() {
        Some((first, others)) if others.iter().any(|other| other.1 != first.1) => told
            .iter()
            .map(|(name, spread)| format!("{} {}", method_words(name), percent(*spread)))
            .collect::<Vec<_>>()
            .join(", "),
        Some((first, _)) => format!("{} for each unit", percent(first.1)),
        None => format!("{} for each unit", percent(report.expedition.minutes_spread)),
    }
}
