//! `pilot` of belts in which animals were counted.

use super::failure::Failure;
use super::pilot::{Found, Pilot, YEARS_APART, missing, refused};
use crate::pilot::counts::{
    BeltArea, BeltsTaken, CountColumns, CountedColumn, FishFit, calibrate_animal, fit_counts, fit_fish, read_counts,
};
use crate::pilot::{Named, column_names};
use crate::report;
use crate::scenario::{
    CountPlan, PilotAnimals, as_fish, load_text, study_of_animals, usual_spreads, with_weighed_biomass, write,
};

/// Reads every kind of animal that was asked for, fits it and writes the scenario of animals that vary so.
pub(super) fn found(arguments: &Pilot, bytes: &[u8]) -> Result<Found, Failure> {
    let (name, short) = arguments.names();
    let taken = taken(arguments)?;
    let counted = counted(arguments)?;
    let mut zones: Vec<PilotAnimals> = Vec::new();
    let mut left_out = Vec::new();
    let (mut rows, mut missing_rows, mut told_years) = (0, 0, None);
    let mut doubts = Vec::new();
    for (animal, column) in counted {
        let columns = columns(arguments, &column_names(bytes), column);
        let data = read_counts(bytes, &name, &columns).map_err(|error| refused(&error))?;
        let fits = fit_counts(&data).map_err(|error| refused(&error))?;
        (rows, missing_rows) = (data.rows, data.missing);
        // Every column has the same names beside it.
        doubts = data.doubts;
        left_out.extend(fits.left_out);
        for fit in fits.zones {
            told_years = told_years.or(fit.years_apart.filter(|years| *years > 0.0));
            let calibrated = calibrate_animal(&fit, &taken, usual_spreads())
                .map_err(|error| Failure::other(format!("{name}: no animals vary as {animal} do: {error}")))?;
            let found = (animal.clone(), fit, calibrated);
            match zones.iter_mut().find(|zone| zone.zone == found.1.zone) {
                Some(zone) => zone.animals.push(found),
                None => zones.push(PilotAnimals { zone: found.1.zone.clone(), animals: vec![found] }),
            }
        }
    }
    let fish = fish(arguments, bytes, &name)?;
    let known_years = arguments.years_apart.or(told_years);
    let plan = CountPlan {
        file: &short,
        taken: &taken,
        years_apart: known_years.unwrap_or(YEARS_APART),
        years_are_known: known_years.is_some(),
        to: arguments.from_now_to,
    };
    let (mut study, mut beside) = study_of_animals(&zones, &plan);
    if let Some(fish) = &fish {
        as_fish(&mut study, &mut beside, fish);
        with_weighed_biomass(&mut study, &mut beside, fish, &short);
    }
    let scenario = write(&study, &beside);
    // What an option said may be what a scenario cannot say: names of animals, a change to nil.
    load_text(&short, &scenario).map_err(|error| Failure::bad_input(error.render()))?;
    let of_zone = |zone: &PilotAnimals| {
        let animals = zone.animals.iter();
        let animals =
            animals.map(|(name, fit, animal)| serde_json::json!({ "name": name, "fit": fit, "animal": animal }));
        serde_json::json!({ "zone": zone.zone, "animals": animals.collect::<Vec<_>>() })
    };
    let mut json = serde_json::json!({
        "file": name,
        "rows": rows,
        "missing": missing_rows,
        "doubts": doubts,
        "zones": zones.iter().map(of_zone).collect::<Vec<_>>(),
        "left_out": left_out,
        "scenario": scenario,
    });
    let mut told = report::pilot_doubts(&doubts) + &report::pilot_counts(&name, &zones, &left_out);
    if let Some(fish) = fish {
        told += &report::pilot_fish(&fish);
        json["fish"] = serde_json::json!(fish);
    }
    Ok(Found { told, scenario, json })
}

/// How fish school and what they weigh, where a column tells what they weigh.
fn fish(arguments: &Pilot, bytes: &[u8], name: &str) -> Result<Option<Vec<FishFit>>, Failure> {
    let Some(biomass) = &arguments.biomass else { return Ok(None) };
    let [(_, numbers)] = &counted(arguments)?[..] else {
        return Err(Failure::bad_input(
            "--biomass is what the fish of one column weigh; write one column after --count or --density".to_owned(),
        ));
    };
    let read = |column: CountedColumn| {
        let columns = columns(arguments, &column_names(bytes), column);
        read_counts(bytes, name, &columns).map_err(|error| refused(&error))
    };
    let grams = read(CountedColumn::GramsPer100M2(biomass.clone()))?;
    fit_fish(&read(numbers.clone())?, Some(&grams)).map(Some).map_err(|error| refused(&error))
}

/// Names of the animals with the columns that count them.
fn counted(arguments: &Pilot) -> Result<Vec<(String, CountedColumn)>, Failure> {
    let numbers = arguments.count.iter().cloned().map(CountedColumn::Number);
    let densities = arguments.density.iter().cloned().map(CountedColumn::Per100M2);
    let columns: Vec<CountedColumn> = numbers.chain(densities).collect();
    let names = if arguments.animal.is_empty() {
        columns.iter().map(|column| column.name().to_owned()).collect()
    } else {
        arguments.animal.clone()
    };
    if names.len() != columns.len() {
        return Err(Failure::bad_input(format!(
            "--animal has {} names for {} columns; write as many, in the same order",
            names.len(),
            columns.len()
        )));
    }
    Ok(names.into_iter().zip(columns).collect())
}

fn columns(arguments: &Pilot, names: &[String], counted: CountedColumn) -> CountColumns {
    let usual_unit = || names.iter().find(|name| *name == "belt" || *name == "line").cloned();
    let area = match (&arguments.area, arguments.width) {
        (Some(column), _) => BeltArea::Column(column.clone()),
        (None, width) => BeltArea::Same(arguments.length_m() * width.unwrap_or(1.0)),
    };
    let named = Named {
        zone: arguments.zone.clone(),
        site: arguments.site.clone(),
        unit: arguments.line.clone().or_else(usual_unit),
        visit: arguments.visit_column(names),
    };
    CountColumns { named, counted, area }
}

/// How the belts were laid, checked against the site.
fn taken(arguments: &Pilot) -> Result<BeltsTaken, Failure> {
    let width_m = arguments.width.ok_or_else(|| missing("--width 2 (metres), the width of a belt"))?;
    if arguments.same_marks {
        let message = "--same-marks is for lines of cover; animals move, and their belts are taken as laid anew";
        return Err(Failure::bad_input(message.to_owned()));
    }
    arguments.fits_site()?;
    Ok(BeltsTaken {
        length_m: arguments.length_m(),
        width_m,
        site_length_m: arguments.site_length,
        site_width_m: arguments.site_width,
    })
}
