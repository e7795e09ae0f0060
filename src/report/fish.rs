//! What is counted of the fish that are there, as text for the page and the terminal.

use super::digits::{hundredths, significant};
use super::report::Report;
use super::select::Topic;
use super::words::{plain, sentence};
use crate::design::ALL_FISH;
use crate::planner::FishBias;
use crate::theory::fish::BiasPart;
use serde::Serialize;

/// What must be said beside every such table.
pub const BIAS_NOTE: &str = "Of 100 fish (or kg) that are there, so many are written down: a narrow error about a wrong \
    number is the classic failure of fish counts. A bias that stays the same at both visits leaves the ratio of the two \
    as it is, but not their difference. The factors multiply. Detectable changes, half-widths and errors in units of fish \
    are of what is there: they were divided by the bias (of a change by that of the change), so that methods can be \
    compared. Errors in percent are free of it.";

/// Causes that change less than this are not told.
pub const LEAST: f64 = 0.005;

/// Causes that act on the weight alone are not told beside those of the number where they change it by less than this.
const LEAST_OF_WEIGHT: f64 = 0.05;

/// One method and its dimensions.
#[derive(Serialize)]
pub struct BiasTable {
    pub title: String,
    pub rows: Vec<BiasRow>,
}

/// One group, or several together, in one zone.
#[derive(Serialize)]
pub struct BiasRow {
    pub group: String,
    pub zone: String,
    /// Per 100 that are there.
    pub density: String,
    /// With * where formula and simulation part.
    pub density_simulated: String,
    pub biomass: String,
    pub parts: Vec<BiasWords>,
    /// The one or two causes that matter most with their factors of fish, in few words, those of kg alone marked as such; empty
    /// where none does.
    pub most: String,
}

#[derive(Serialize)]
pub struct BiasWords {
    pub cause: String,
    pub density: String,
    pub biomass: String,
}

/// Tables in the order of the methods, that of the headline first.
pub fn bias_tables(report: &Report) -> Vec<BiasTable> {
    let mut tables: Vec<BiasTable> = Vec::new();
    let mut all: Vec<&FishBias> = report.answer.fish_bias.iter().collect();
    if let Some(first) = &report.answer.headline_of {
        all.sort_by_key(|bias| !first.is(&bias.method, bias.dimensions));
    }
    for bias in all {
        let title = sentence(&unit_title(bias));
        let row = row(bias);
        match tables.iter_mut().find(|table| table.title == title) {
            Some(table) => table.rows.push(row),
            None => tables.push(BiasTable { title, rows: vec![row] }),
        }
    }
    tables
}

/// "fish belts, 30 x 2 m in 8 min"
pub fn unit_title(bias: &FishBias) -> String {
    Topic { indicator: bias.group.clone(), method: bias.method.clone(), dimensions: bias.dimensions }.label()
}

/// "Parrotfish"; "All fish"
pub fn group_name(bias: &FishBias) -> String {
    if bias.group == ALL_FISH { "All fish".into() } else { sentence(&plain(&bias.group)) }
}

fn row(bias: &FishBias) -> BiasRow {
    let matters = |part: &&BiasPart| (part.density - 1.0).abs() > LEAST || (part.biomass - 1.0).abs() > LEAST;
    let words = |part: &BiasPart| BiasWords {
        cause: part.cause.words().to_string(),
        density: factor(part.density),
        biomass: factor(part.biomass),
    };
    let parts: Vec<&BiasPart> = bias.parts.iter().filter(matters).collect();
    BiasRow {
        group: group_name(bias),
        zone: bias.zone.clone(),
        density: significant(100.0 * bias.density, 3),
        density_simulated: simulated(bias),
        biomass: significant(100.0 * bias.biomass, 3),
        most: most_of_it(&parts),
        parts: parts.into_iter().map(words).collect(),
    }
}

/// "swim in x 2.5, too far x 0.87": factors of the number of fish; "kg misread x 1.2" of what acts on their weight alone.
fn most_of_it(parts: &[&BiasPart]) -> String {
    let is_of_number = |part: &BiasPart| (part.density - 1.0).abs() > LEAST;
    let number = |part: &BiasPart| if is_of_number(part) { part.density } else { part.biomass };
    let matters = |part: &&BiasPart| is_of_number(part) || (part.biomass - 1.0).abs() > LEAST_OF_WEIGHT;
    let mut order: Vec<&BiasPart> = parts.iter().copied().filter(matters).collect();
    order.sort_by(|one, other| libm::fabs(libm::log(number(other))).total_cmp(&libm::fabs(libm::log(number(one)))));
    let words = order.iter().take(2).map(|part| {
        let factor = number(part);
        // "1" says nothing of what is just above it.
        let told = if (1.0..1.1).contains(&factor) { format!("{factor:.2}") } else { significant(factor, 2) };
        format!("{}{} x {told}", if is_of_number(part) { "" } else { "kg " }, part.cause.short(factor))
    });
    words.collect::<Vec<_>>().join(", ")
}

fn simulated(bias: &FishBias) -> String {
    let text = hundredths(bias.density_simulated, bias.density_simulated_error);
    if bias.theory_parts { format!("{text} *") } else { text }
}

/// What a mark beside a simulated number means; empty where there is none.
pub fn parts_note(report: &Report) -> &'static str {
    if report.answer.fish_bias.iter().any(|bias| bias.theory_parts) {
        "With * formula and simulation part by more than three errors: believe the simulation, and run more trials."
    } else {
        ""
    }
}

fn factor(value: f64) -> String {
    if (value - 1.0).abs() < 1e-9 { "1".into() } else { format!("x {}", significant(value, 3)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::fish::BiasCause;

    #[test]
    fn causes_of_weight_alone_are_told_as_of_kg() {
        let part = |cause, density, biomass| BiasPart { cause, density, biomass };
        let (near, size, ruler) = (
            part(BiasCause::Distance, 0.87, 0.87),
            part(BiasCause::Size, 0.5, 0.95),
            part(BiasCause::LengthError, 1.0, 1.6),
        );
        assert_eq!(most_of_it(&[&near, &size]), "too small x 0.5, too far x 0.87");
        assert_eq!(most_of_it(&[&near, &ruler]), "kg misread x 1.6, too far x 0.87");
        let classes = part(BiasCause::Classes, 1.0, 1.03);
        assert_eq!(most_of_it(&[&near, &classes]), "too far x 0.87");
    }
}
