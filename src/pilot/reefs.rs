//! All zones of a pilot as virtual reefs, with what lies between the visits.

use super::again::{CalibratedVisits, CalibratedYears, ZoneToDate, calibrate_visits};
use super::calibrate::{CalibratedReef, OutOfReach, calibrate_reef};
use super::candidate::Taken;
use super::fit::PilotFit;
use crate::theory::CoralError;
use serde::Serialize;

/// The zones of a pilot that virtual reefs can follow, and those they cannot.
#[derive(Clone, Debug, Serialize)]
pub struct PilotReefs {
    pub zones: Vec<ZoneReef>,
    /// Nothing where no zone has a reef.
    pub visits: Option<CalibratedVisits>,
    pub without: Vec<NoReef>,
}

#[derive(Clone, Debug, Serialize)]
pub struct ZoneReef {
    #[serde(skip)]
    pub fit: PilotFit,
    pub zone: Option<String>,
    pub reef: CalibratedReef,
    pub years: CalibratedYears,
}

/// A zone that no reef of the law can follow.
#[derive(Clone, Debug, Serialize)]
pub struct NoReef {
    #[serde(skip)]
    pub fit: PilotFit,
    pub zone: Option<String>,
    pub reason: OutOfReach,
}

/// Calibrates every zone. `usual_site_year_sd` tells what to take for the years of a site where the pilot cannot tell, from
/// cover and spread of sites (shares); `years_apart` are those between consecutive visits.
///
/// # Errors
/// What the law refuses of a reef that was just calibrated, which does not happen but for rounding.
pub fn reefs_of_pilot(
    fits: &[PilotFit],
    taken: &Taken,
    same_marks: bool,
    years_apart: f64,
    usual_site_year_sd: impl Fn(f64, f64) -> f64,
) -> Result<PilotReefs, CoralError> {
    let (mut found, mut without) = (Vec::new(), Vec::new());
    for fit in fits {
        match calibrate_reef(fit, taken) {
            Ok(reef) => found.push((fit, reef)),
            Err(reason) => without.push(NoReef { fit: fit.clone(), zone: fit.zone.clone(), reason }),
        }
    }
    if found.is_empty() {
        return Ok(PilotReefs { zones: Vec::new(), visits: None, without });
    }
    let to_date: Vec<ZoneToDate> = found
        .iter()
        .map(|(fit, reef)| ZoneToDate {
            fit,
            reef,
            usual_site_year_sd: usual_site_year_sd(reef.cover, reef.between_sites_sd),
        })
        .collect();
    let visits = calibrate_visits(&to_date, taken, same_marks, years_apart)?;
    let zones = found.into_iter().zip(&visits.zones).map(|((fit, reef), years)| ZoneReef {
        fit: fit.clone(),
        zone: fit.zone.clone(),
        reef,
        years: *years,
    });
    Ok(PilotReefs { zones: zones.collect(), visits: Some(visits.clone()), without })
}
