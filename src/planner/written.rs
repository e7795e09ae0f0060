//! What is written where it is not what is there: in the headline, and how to read counts of animals.

use super::rows::written_over_there;
use super::words::plain;
use crate::design::{COMMERCIAL, PRESENCE, Scope, Zone};
use crate::engine::{DesignIndex, Indicator, Plan};

/// What is off by less than this is not told in a headline.
const LEAST_BIAS: f64 = 0.05;

/// How far off the number of the method in the headline is; `None` where it is near, and of fish, who have a sentence of their own.
pub fn written_sentence(plan: &Plan, design: &DesignIndex) -> Option<String> {
    let reading = &plan.layout.readings[design.reading];
    let over_there = written_over_there(plan, design);
    let is_told = plan.is_biased(design.reading) && !reading.indicator.is_of_fish();
    (is_told && (over_there - 1.0).abs() > LEAST_BIAS).then(|| {
        format!(
            "What such {} write is not what is there: {} {} times as it is (by formula). Changes and errors are told of what is \
             there: divided by that.",
            plan.study.methods[reading.method].kind.units(),
            reading.indicator.name().replace('_', " "),
            plain(over_there)
        )
    })
}

/// For each kind of animal of a zone that is counted: what hides; and, once, what a change of those of commercial size is.
pub fn animal_notes(plan: &Plan, zone: &Zone) -> Vec<(String, String)> {
    let mut notes = Vec::new();
    let counted = |name: &str| {
        let is_of = |indicator: &Indicator| matches!(indicator, Indicator::Animal { animal, .. } if animal == name);
        plan.layout.readings.iter().any(|reading| is_of(&reading.indicator))
    };
    for animal in zone.animals.iter().filter(|animal| counted(&animal.name)) {
        let name = animal.name.replace('_', " ");
        if animal.spec.patches.is_some() && zone.map.is_none() {
            let text = format!(
                "Chances that belts meet any {name} are by a formula that is exact for animals alone and in groups. In patches it takes the \
                 mean density under a belt to be distributed as that at a point, with its own variance: shares of belts with one were within \
                 0.01 of simulated ones, also in strong patches (k of 0.3 over 30 m, belts of 50 m). The simulated share stands beside it."
            );
            notes.push((format!("Meeting {name}"), text));
        }
        let hidden = animal.spec.hidden;
        if hidden > 0.0 {
            let text = format!(
                "Of 100 {name} that are there {} are written: the others hide by day. Means, errors and detectable changes are told \
                 of all that are there (what is written, divided by {}); the interval as it is written is about those that show \
                 themselves. A share that hides alike at both visits leaves a change in proportion.",
                plain(100.0 * (1.0 - hidden)),
                plain(1.0 - hidden)
            );
            notes.push((format!("Counts of {name}"), text));
        }
        let presence = format!("{}{PRESENCE}", animal.name);
        if plan.layout.readings.iter().any(|reading| reading.indicator.name() == presence) {
            let text = format!(
                "The share of belts with at least one {name} that is seen. It rises with the size of a belt, so that belts of different \
                 size are not to be compared in it, and moves with density, but less than in proportion where most belts have one. \
                 {}",
                if plan.study.scope == Scope::EachReef {
                    "Belts of one site share its animals: what they tell is of that site alone."
                } else {
                    "Belts of one site share its animals: sites are the replicates, never belts."
                }
            );
            notes.push((format!("Presence of {name}"), text));
        }
        let is_of_large = |change: &&crate::design::Change| {
            change.indicator.strip_suffix(COMMERCIAL).is_some_and(|other| other == animal.name)
        };
        if let Some(change) = plan.study.changes.iter().find(is_of_large) {
            let share = 100.0 * (change.ratio() - 1.0);
            let text = format!(
                "Size plays no part in which {name} live and die. A change of those of commercial size is therefore one of all of \
                 them, by the same share ({} {:.0} %), and rows of all {name} tell it too. Fishing that takes large ones alone leaves \
                 the others, so that the number of all moves by less: that is not simulated.",
                if share < 0.0 { "a fall by" } else { "a rise by" },
                share.abs()
            );
            notes.push((format!("Commercial size of {name}"), text));
        }
    }
    notes
}
