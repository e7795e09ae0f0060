use super::Section;
use crate::report::budget::BudgetReport;
use crate::report::figures::budget::work as figures;

/// The minutes of work at a site.
pub fn work(report: &BudgetReport) -> Option<Section> {
    let figures = figures(report);
    (!figures.is_empty()).then(|| Section {
        id: "minutes",
        heading: "Minutes at a site",
        words: vec![format!(
            "A dive is packed so that both divers of a pair end in time with a chance of {:.0} in 100; minutes vary from dive \
             to dive by {:.0} % (SD over the mean) for each unit.",
            100.0 * report.expedition.finish_chance,
            100.0 * report.expedition.minutes_spread
        )],
        figures,
        ..Section::default()
    })
}
