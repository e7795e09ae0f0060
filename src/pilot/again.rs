//! What lies between the visits of a pilot: how well marks are found again, and what a site's years do.

use super::calibrate::CalibratedReef;
use super::candidate::{Candidate, TOLERANCE, Taken};
use super::fit::PilotFit;
use crate::design::{Places, Sites, Tape, Visits};
use crate::theory::{CoralError, UnitMoments, root};
use serde::Serialize;

/// The time between visits as the pilot shows it, and what follows for each zone.
#[derive(Clone, Debug, Serialize)]
pub struct CalibratedVisits {
    pub visits: Visits,
    /// The kind of marks whose renewal and drift are taken.
    pub tape: Tape,
    pub marks: Marks,
    pub zones: Vec<CalibratedYears>,
}

/// What the pilot says of marks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "marks", rename_all = "snake_case")]
pub enum Marks {
    /// No correlation was observed: the distance is assumed.
    NotObserved,
    /// The distance gives the observed correlation.
    Fitted,
    /// Marked lines remember more than the law gives at marks found exactly.
    BetterThanExact { observed: f64, given: f64 },
    /// Marked lines remember less than the law gives at marks found this badly.
    WorseThan { metres: f64, observed: f64, given: f64 },
}

/// The years of a site in one zone, and what the theory of the whole zone gives.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CalibratedYears {
    pub site_year_sd: f64,
    pub years: Years,
    pub gives: Given,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Years {
    /// From the pilot.
    Fitted,
    /// The pilot cannot tell.
    Assumed,
    /// The drift of the reef's patches alone moves sites by as much as the pilot's or more: nothing is added to it.
    LessThanDrift,
    /// More than the sites themselves leave room for: the most there is.
    AllThereIs,
}

/// Components that the theory of the calibrated zone gives, as the fit names them (SDs in shares).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Given {
    pub between_lines: f64,
    pub between_sites: f64,
    pub site_year: f64,
    /// At the marks, between the two visits; without marks there is none.
    pub same_mark_correlation: Option<f64>,
}

/// A zone whose reef is known.
pub struct ZoneToDate<'a> {
    pub fit: &'a PilotFit,
    pub reef: &'a CalibratedReef,
    /// What to take for a site's years where the pilot cannot tell.
    pub usual_site_year_sd: f64,
}

/// Farthest that marks are taken to be missed by (SD per axis, metres): beyond, call them new places.
const FARTHEST_M: f64 = 3.0;

/// Finds the displacement of tapes that gives the observed correlation of marked lines between consecutive visits, and
/// for each zone the spread of a site's years.
///
/// # Errors
/// What the law refuses of a reef that was just calibrated, which does not happen but for rounding.
pub fn calibrate_visits(
    zones: &[ZoneToDate],
    taken: &Taken,
    same_marks: bool,
    years_apart: f64,
) -> Result<CalibratedVisits, CoralError> {
    let candidates: Vec<Candidate> =
        zones.iter().map(|zone| Candidate::new(zone.reef.reef, zone.reef.cover, *taken)).collect();
    let all = Zones { zones, candidates: &candidates, same_marks, years_apart };
    let (known, relay_sd_m, marks) = if same_marks { all.marks()? } else { all.unmarked()? };
    let visits = all.visits(known.tape, relay_sd_m);
    let gives = (0..zones.len()).map(|zone| all.given(zone, &known, visits)).collect::<Result<Vec<_>, _>>()?;
    let zones = known.site_years.iter().zip(gives);
    let zones = zones.map(|(&(site_year_sd, years), gives)| CalibratedYears { site_year_sd, years, gives }).collect();
    Ok(CalibratedVisits { visits, tape: known.tape, marks, zones })
}

struct Zones<'a> {
    zones: &'a [ZoneToDate<'a>],
    candidates: &'a [Candidate],
    same_marks: bool,
    years_apart: f64,
}

/// A kind of marks with what its renewal and drift leave to the years of each zone's sites; the displacement of tapes
/// plays no part in them.
struct Known {
    tape: Tape,
    site_years: Vec<(f64, Years)>,
}

impl Zones<'_> {
    fn visits(&self, tape: Tape, relay_sd_m: f64) -> Visits {
        let (_, renewal_per_year, drift_years) = tape.values();
        let places = if self.same_marks { Places::SameMarks } else { Places::NewPlaces };
        Visits { years_apart: self.years_apart, sites: Sites::Same, places, relay_sd_m, renewal_per_year, drift_years }
    }

    fn known(&self, tape: Tape) -> Result<Known, CoralError> {
        let visits = Visits { places: Places::NewPlaces, ..self.visits(tape, 0.0) };
        let site_years = (0..self.zones.len()).map(|zone| self.site_years(zone, visits)).collect::<Result<_, _>>()?;
        Ok(Known { tape, site_years })
    }

    fn unmarked(&self) -> Result<(Known, f64, Marks), CoralError> {
        Ok((self.known(Tape::AsFound)?, Tape::AsFound.values().0, Marks::NotObserved))
    }

    /// Mean over the zones that have an observed correlation, weighted by pairs of readings; `None` where none has.
    fn weighted(&self, value: impl Fn(usize, f64) -> Result<f64, CoralError>) -> Result<Option<f64>, CoralError> {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (zone, of_zone) in self.zones.iter().enumerate() {
            if let Some(mark) = of_zone.fit.same_mark_correlation {
                let weight = mark.pairs as f64;
                sum += weight * value(zone, mark.correlation)?;
                weights += weight;
            }
        }
        Ok((weights > 0.0).then(|| sum / weights))
    }

    /// What theory gives for marks that are missed by so much.
    fn correlation(&self, known: &Known, relay_sd_m: f64) -> Result<f64, CoralError> {
        let visits = self.visits(known.tape, relay_sd_m);
        let mean =
            self.weighted(|zone, _| Ok(self.given(zone, known, visits)?.same_mark_correlation.unwrap_or(0.0)))?;
        Ok(mean.unwrap_or(0.0))
    }

    /// The kind of marks nearest to the observed correlation, and the displacement that gives it.
    fn marks(&self) -> Result<(Known, f64, Marks), CoralError> {
        let Some(observed) = self.weighted(|_, observed| Ok(observed))? else { return self.unmarked() };
        let mut nearest = (f64::INFINITY, self.known(Tape::AsFound)?);
        for tape in Tape::ALL {
            let known = self.known(tape)?;
            let distance = (self.correlation(&known, tape.values().0)? - observed).abs();
            if distance < nearest.0 {
                nearest = (distance, known);
            }
        }
        let known = nearest.1;
        let exact = self.correlation(&known, 0.0)?;
        if observed >= exact {
            return Ok((known, 0.0, Marks::BetterThanExact { observed, given: exact }));
        }
        let far = self.correlation(&known, FARTHEST_M)?;
        if observed <= far {
            return Ok((known, FARTHEST_M, Marks::WorseThan { metres: FARTHEST_M, observed, given: far }));
        }
        let gap = |relay: f64| self.correlation(&known, relay).map_or(f64::NAN, |given| given - observed);
        let relay = root(0.0, FARTHEST_M, 1e-4, gap).unwrap_or(known.tape.values().0);
        Ok((known, (relay * 1000.0).round() / 1000.0, Marks::Fitted))
    }

    fn moments(&self, zone: usize, site_year_sd: f64, visits: Visits) -> Result<UnitMoments, CoralError> {
        self.candidates[zone].two_visits(self.zones[zone].reef.between_sites_sd, site_year_sd, visits)
    }

    fn site_years(&self, zone: usize, visits: Visits) -> Result<(f64, Years), CoralError> {
        let of_zone = &self.zones[zone];
        let moments = |sd: f64| self.moments(zone, sd, visits);
        let (sd, years) = match of_zone.fit.site_year {
            Some(component) => fitted_years(component.sd * component.sd, moments)?,
            None => match moments(of_zone.usual_site_year_sd) {
                Err(CoralError::SiteYearOutOfReach(most)) => (0.5 * most, Years::Assumed),
                _ => (of_zone.usual_site_year_sd, Years::Assumed),
            },
        };
        // A thousandth of a point, cut so as not to pass the most there is.
        Ok(((sd * 1e5 + 1e-9).floor() / 1e3 / 100.0, years))
    }

    fn given(&self, zone: usize, known: &Known, visits: Visits) -> Result<Given, CoralError> {
        Ok(given(&self.moments(zone, known.site_years[zone].0, visits)?))
    }
}

/// The spread of a site's years with which two visits to different lines of one site lose the variance asked.
fn fitted_years(
    asked: f64,
    moments: impl Fn(f64) -> Result<UnitMoments, CoralError>,
) -> Result<(f64, Years), CoralError> {
    let lost = |found: &UnitMoments| found.pair[0] - found.across[1];
    let drift = lost(&moments(0.0)?);
    if drift >= asked {
        // What is asked holds the drift of a year already, so the law adds nothing to it.
        return Ok((asked.sqrt(), Years::LessThanDrift));
    }
    let mut variance = asked;
    for _ in 0..12 {
        match moments(variance.sqrt()) {
            Ok(found) => {
                let gap = asked - lost(&found);
                if gap.abs() < TOLERANCE * asked {
                    break;
                }
                variance = (variance + gap).max(0.0);
            }
            Err(CoralError::SiteYearOutOfReach(most)) => return Ok((most * (1.0 - 1e-6), Years::AllThereIs)),
            Err(other) => return Err(other),
        }
    }
    Ok((variance.sqrt(), Years::Fitted))
}

fn given(moments: &UnitMoments) -> Given {
    let within = moments.variance[0] - moments.pair[0];
    let correlation = (moments.same_marks[1] - moments.across[1]) / within;
    Given {
        between_lines: within.max(0.0).sqrt(),
        between_sites: moments.across[1].max(0.0).sqrt(),
        site_year: (moments.pair[0] - moments.across[1]).max(0.0).sqrt(),
        same_mark_correlation: correlation.is_finite().then_some(correlation),
    }
}
