//! `pilot` of measured colonies.

use super::failure::Failure;
use super::pilot::{Found, Pilot, YEARS_APART, refused};
use crate::pilot::colonies::{
    ColoniesTaken, ColonyColumns, ColonyFit, ColonyReef, fit_colonies, read_colonies, reef_of_colonies,
};
use crate::pilot::{Named, column_names};
use crate::report;
use crate::scenario::{ColonyPlan, load_text, study_of_colonies, write};
use crate::survey::coral_belt::EdgeRule;

/// Reads the colonies, fits them and writes the scenario of a reef that has them.
pub(super) fn found(arguments: &Pilot, longest: &str, bytes: &[u8]) -> Result<Found, Failure> {
    let (name, short) = arguments.names();
    let taken = taken(arguments)?;
    let columns = columns(arguments, longest, &column_names(bytes));
    let data = read_colonies(bytes, &name, &columns).map_err(|error| refused(&error))?;
    let mut fits = fit_colonies(&data, &taken).map_err(|error| refused(&error))?;
    let mut zones: Vec<(ColonyFit, ColonyReef)> = Vec::new();
    for fit in fits.zones {
        match reef_of_colonies(&fit, &taken) {
            Ok(reef) => zones.push((fit, reef)),
            Err(reason) => {
                let zone = fit.zone.as_ref().map_or(String::new(), |zone| format!(", zone `{zone}`"));
                fits.left_out.push(format!("{name}{zone}: no virtual reef has these colonies: {reason}"));
            }
        }
    }
    if zones.is_empty() {
        return Err(Failure::bad_input(fits.left_out.join("\n")));
    }
    let told_years = data.zones.iter().find_map(|zone| match &zone.visits[..] {
        [first, .., last] => {
            let years = (last.year? - first.year?) / (zone.visits.len() as f64 - 1.0);
            Some((100.0 * years).round() / 100.0)
        }
        _ => None,
    });
    let known_years = arguments.years_apart.or(told_years.filter(|years| *years > 0.0));
    let plan = ColonyPlan {
        file: &short,
        taken: &taken,
        years_apart: known_years.unwrap_or(YEARS_APART),
        years_are_known: known_years.is_some(),
        to: arguments.cover_to()?,
    };
    let (study, beside) = study_of_colonies(&zones, &plan);
    let scenario = write(&study, &beside);
    // What was measured may be what a scenario cannot say: colonies of ten metres, say.
    load_text(&short, &scenario).map_err(|error| Failure::bad_input(error.render()))?;
    let of_zone = |(fit, reef): &(ColonyFit, ColonyReef)| serde_json::json!({ "fit": fit, "reef": reef });
    let json = serde_json::json!({
        "file": name,
        "rows": data.rows,
        "missing": data.missing,
        "doubts": data.doubts,
        "zones": zones.iter().map(of_zone).collect::<Vec<_>>(),
        "left_out": fits.left_out,
        "scenario": scenario,
    });
    let told = report::pilot_doubts(&data.doubts)
        + &report::pilot_colonies((&name, taken.edge, data.dead_told), &zones, &fits.left_out);
    Ok(Found { told, scenario, json })
}

fn columns(arguments: &Pilot, longest: &str, names: &[String]) -> ColonyColumns {
    let usual_unit = || names.iter().find(|name| *name == "belt" || *name == "line").cloned();
    let named = Named {
        zone: arguments.zone.clone(),
        site: arguments.site.clone(),
        unit: arguments.line.clone().or_else(usual_unit),
        visit: arguments.visit_column(names),
    };
    ColonyColumns { named, longest: longest.to_owned(), across: arguments.across.clone(), dead: arguments.dead.clone() }
}

/// How colonies were counted, checked against the site.
fn taken(arguments: &Pilot) -> Result<ColoniesTaken, Failure> {
    if arguments.length.is_some() {
        arguments.fits_site()?;
    }
    let belt_m = match (arguments.length, arguments.width) {
        (Some(length), Some(width)) => Some((length, width)),
        (None, None) => None,
        _ => {
            let message = "a belt has a length and a width: add --length 10 and --width 1 (metres), or leave both out where they \
                           are not known";
            return Err(Failure::bad_input(message.to_owned()));
        }
    };
    if arguments.edge != EdgeWord::CentreIn && belt_m.is_none() {
        let message = "what an edge rule does depends on the size of a belt: add --length 10 and --width 1 (metres)";
        return Err(Failure::bad_input(message.to_owned()));
    }
    let ruler_m = 0.01 * arguments.ruler;
    Ok(ColoniesTaken {
        belt_m,
        edge: arguments.edge.rule(),
        ruler_m,
        least_m: (0.01 * arguments.smallest).max(ruler_m),
        belts: arguments.belts.map(|belts| belts as usize),
        site_m: (arguments.site_length, arguments.site_width),
    })
}

/// Which colonies at the edge of a belt were counted.
#[derive(Clone, Copy, Debug, PartialEq, clap::ValueEnum)]
#[value(rename_all = "snake_case")]
pub(super) enum EdgeWord {
    /// Those whose centre lies inside
    CentreIn,
    /// Those of which any part lies inside
    AnyPartIn,
    /// Those that lie inside whole
    WhollyIn,
    /// Those of which a part lies inside, but not those that reach two of the edges
    TwoEdges,
}

impl EdgeWord {
    fn rule(self) -> EdgeRule {
        match self {
            EdgeWord::CentreIn => EdgeRule::CentreIn,
            EdgeWord::AnyPartIn => EdgeRule::AnyPartIn,
            EdgeWord::WhollyIn => EdgeRule::WhollyIn,
            EdgeWord::TwoEdges => EdgeRule::TwoEdges,
        }
    }
}
