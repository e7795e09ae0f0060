use super::share;
use crate::design::{Crew, HARD_CORAL, Observers, REST, Zone};
use crate::measures::counted;
use crate::scenario::defaults;
use crate::scenario::file::{MisidentificationTable, ScenarioFile};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::problems::Problems;
use crate::scenario::shown::number;

/// Who reads, and how well.
pub fn build(file: &ScenarioFile, zones: &[Zone], problems: &mut Problems, ledger: &mut Ledger) -> Observers {
    let absent = Default::default();
    let table = file.observers.as_ref().unwrap_or(&absent);
    let spread = table.spread_percent.map_or(0.0, |percent| percent.get());
    let bias = table.second_visit_bias_percent.map_or(0.0, |percent| percent.get());
    let mut note = |key: &str, about: &str, written: bool, value: String| {
        ledger.note("observers", key, about.to_owned(), Noted::when(written, value), &table.source);
    };
    note("spread_percent", "spread between observers", table.spread_percent.is_some(), format!("{} %", number(spread)));
    if table.second_visit_bias_percent.is_some() {
        let value = format!("{} %", number(bias));
        note("second_visit_bias_percent", "bias of the crew of the second visit", true, value);
    }
    let matrix = table.misidentification.as_ref().map(|rows| {
        note("misidentification", "kinds taken for others", true, counted(rows.len(), "kind"));
        misidentification(rows, zones, problems)
    });
    if matrix.is_none() {
        note("misidentification", "kinds taken for others", false, "none".to_owned());
    }
    Observers {
        between_visits: table.between_visits.map_or(Crew::Same, |word| word.0),
        number: table.number.map_or(defaults::OBSERVERS, |number| number.get()),
        spread: share(spread),
        second_visit_bias: share(bias),
        misidentification: matrix,
    }
}

/// Rows: what is there; columns: what is written; hard coral first, then the categories in the order of the tree.
fn misidentification(rows: &MisidentificationTable, zones: &[Zone], problems: &mut Problems) -> Vec<Vec<f64>> {
    let mut names = zones.first().map_or(vec![HARD_CORAL.to_owned()], |zone| zone.bottom_names());
    if zones.iter().any(|zone| zone.categories.is_empty()) {
        let message = "what may be taken for hard coral is not there: a zone has no categories";
        let remedy = "Add [[zone.category]] to every zone, below its own [[zone]] and before the next: categories belong to the \
                      last [[zone]] above them. Or take the table out.";
        problems.add("observers.misidentification", message, "needs categories", remedy);
        return vec![vec![1.0]];
    }
    if zones.iter().any(|zone| zone.leaves_rest()) {
        names.push(REST.to_owned());
    }
    let mut matrix: Vec<Vec<f64>> = (0..names.len()).map(|i| unit_row(names.len(), i)).collect();
    for (there, row) in rows {
        let key = format!("observers.misidentification.{there}");
        let Some(place) = position(&names, there, &key, problems) else { continue };
        matrix[place] = vec![0.0; names.len()];
        for (written, share) in row {
            if let Some(column) = position(&names, written, &format!("{key}.{written}"), problems) {
                matrix[place][column] = share.get();
            }
        }
        let sum: f64 = row.values().map(|share| share.get()).sum();
        if (sum - 1.0).abs() > 1e-6 {
            let message = format!("the shares of what is written for {there} sum to {}", number(sum));
            let remedy = format!("Add what is written rightly, for example {there} = {{ {there} = 0.95, ... }}.");
            problems.add(&key, message, "a row must sum to 1", remedy);
        }
    }
    for (index, zone) in zones.iter().enumerate().skip(1) {
        let names_of = |zone: &Zone| zone.categories.iter().map(|category| category.name.clone()).collect::<Vec<_>>();
        let (own, first) = (names_of(zone), names_of(&zones[0]));
        if own != first {
            let lacks = |of: &[String], other: &[String], zone: &str| {
                let missing: Vec<&str> = other.iter().filter(|name| !of.contains(name)).map(String::as_str).collect();
                (!missing.is_empty()).then(|| format!("{zone} has no {}", missing.join(", ")))
            };
            let missing: Vec<String> =
                lacks(&own, &first, &zone.name).into_iter().chain(lacks(&first, &own, &zones[0].name)).collect();
            let what = if missing.is_empty() { "their order differs".to_owned() } else { missing.join("; ") };
            let message = format!("the categories of {} are not those of {}: {what}", zone.name, zones[0].name);
            let remedy = "With a misidentification table every zone needs the same categories in the same order, each below its \
                          own [[zone]].";
            problems.add(&format!("zone[{index}].category"), message, "same names, same order", remedy);
        }
    }
    matrix
}

fn unit_row(length: usize, one: usize) -> Vec<f64> {
    (0..length).map(|column| if column == one { 1.0 } else { 0.0 }).collect()
}

fn position(names: &[String], name: &str, key: &str, problems: &mut Problems) -> Option<usize> {
    let place = names.iter().position(|known| known == name);
    if place.is_none() {
        let message = format!("{name} is not a kind of bottom of this scenario");
        problems.add(key, message, "no such name", format!("Known here: {}.", names.join(", ")));
    }
    place
}
