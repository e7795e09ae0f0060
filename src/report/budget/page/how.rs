use super::Section;
use crate::report::SCHEMA_VERSION;
use crate::report::budget::BudgetReport;
use crate::report::budget::search_text::searched;
use crate::report::words::plain;

/// How it was computed.
pub fn how(report: &BudgetReport) -> Option<Section> {
    let test = &report.scenario.test;
    Some(Section {
        id: "how",
        heading: "How it was computed",
        words: vec![
            "What fits into a dive is worked out exactly: for every list of work at a site the fewest team dives in which the \
             divers can do it, with their skills and depths, always in pairs, so that every dive ends in time with the chance \
             asked. What fits into a day is worked out exactly too."
                .into(),
            format!(
                "For each target the error of every design follows in closed form from the variation that the scenario gives; \
                 all site sets that are full, times all numbers of sites, are compared by it (test: {}, alpha {}, {} sided). \
                 The plans found are then put through a simulation of fresh virtual reefs: what it gives is what to quote. \
                 Frontier, what-ifs and near-ties are by formula. Looked at here: {}",
                plain(test.kind.name()),
                test.alpha,
                if test.sides == crate::design::Sides::Two { "two" } else { "one" },
                searched(report)
            ),
            "Lost days are a chain of good and bad days with the share and the mean length of bad spells of the scenario. \
             Limits of diving are constraints without a price. Nothing here computes decompression or repetitive dives. Of gas \
             cylinders are counted, where the scenario tells of them, and one that would not last a dive is flagged: that is no \
             gas plan."
                .into(),
        ],
        notes: vec![format!(
            "reefwright {}, seed {}, layout of the JSON {SCHEMA_VERSION}. The same scenario, seed and version give the same \
             numbers. Letters: Noto Sans, see its licence in the source.",
            report.version, report.seed
        )],
        ..Section::default()
    })
}

pub fn scenario(report: &BudgetReport) -> Option<Section> {
    Some(Section {
        id: "scenario",
        heading: "The scenario as written",
        verbatim: Some(report.scenario_text.clone()),
        ..Section::default()
    })
}
