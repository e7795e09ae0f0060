//! The virtual reef whose lines vary as those of a pilot: named reef, patches, sizes, spread of sites.

use super::candidate::{Candidate, OneVisit, TOLERANCE, Taken};
use super::digits::{rounded, rounded_up};
use super::fit::PilotFit;
use crate::reef::{NamedReef, ReefSpec, SizeLaw};
use crate::theory::root;
use serde::Serialize;
use thiserror::Error;

/// A reef that gives the components of one zone of a pilot. Shares and metres.
#[derive(Clone, Debug, Serialize)]
pub struct CalibratedReef {
    /// The named reef it was made from.
    pub named: &'static str,
    pub reef: ReefSpec,
    pub cover: f64,
    /// SD of the true cover of whole sites in one visit.
    pub between_sites_sd: f64,
    /// What had to be done besides scaling the patches.
    pub notes: Vec<ReefNote>,
}

/// What the reader must know of how the reef was found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "note", rename_all = "snake_case")]
pub enum ReefNote {
    /// Sites of the pilot differ by less than the named reef varies along its length.
    AlongLowered { usual: f64, along_sd: f64 },
    /// Even without variation along the reef, or with the least spread that is written, lines of one site share more than
    /// those of the pilot.
    SitesStillDiffer { pilot_sd: f64, reef_sd: f64 },
    /// Colonies are smaller than on the named reef, because even without patches lines would differ too much.
    SizesReduced { usual_median_m: f64, median_m: f64 },
    /// Even without patches the numbers of colonies of belts differ by more than the pilot's (SDs over the mean).
    BeltsStillDiffer { pilot: f64, gives: f64 },
}

/// Why no reef of the law varies as the pilot does; SDs in shares of cover.
#[derive(Clone, Copy, Debug, PartialEq, Error, Serialize)]
#[serde(tag = "reason", rename_all = "snake_case")]
pub enum OutOfReach {
    #[error("lines differ by less (SD {} points) than on the most even reef there is here (SD {} points)", points(*found), points(*least))]
    LinesTooEven { found: f64, least: f64 },
    #[error("lines differ by more (SD {} points) than on the patchiest reef that can be computed (SD {} points)", points(*found), points(*most))]
    LinesTooPatchy { found: f64, most: f64 },
    #[error("sites of this mean cover cannot differ by so much on a virtual reef; the most is an SD of {} points", points(*most))]
    SitesTooFar { most: f64 },
    #[error("the density of colonies would vary by more than can be computed")]
    TooPatchyToCompute,
    #[error(
        "so many colonies of this size would cover {} % of the bottom; are diameters in centimetres, and is the area of a belt \
         right?",
        points(*cover)
    )]
    TooMuchCover { cover: f64 },
    #[error("no line shows any coral, so there is no reef to build")]
    NoCoral,
    #[error("all lines of a site read the same, so nothing tells how the reef varies")]
    LinesDoNotVary,
}

impl OutOfReach {
    /// Whether the components by themselves still make a plan.
    pub fn leaves_components(self) -> bool {
        !matches!(self, OutOfReach::NoCoral | OutOfReach::LinesDoNotVary)
    }
}

fn points(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

/// What a pilot of colonies wants of the reef: sizes, cover, and variance between belts of a site and covariance of two of
/// them, with numbers told as the cover that so many colonies make (squared shares).
#[derive(Clone, Copy, Debug)]
pub(super) struct ColonyGoal {
    pub sizes: SizeLaw,
    pub cover: f64,
    pub within: f64,
    pub pair: f64,
}

/// The named reef with these sizes, its patches scaled until the numbers of belts vary as the pilot's, as far as they do.
pub(super) fn calibrate_colonies(
    named: NamedReef,
    asked: &ColonyGoal,
    taken: &Taken,
) -> Result<CalibratedReef, OutOfReach> {
    let cover = rounded(100.0 * asked.cover) / 100.0;
    if !(cover > 0.0 && cover < MOST_COVER) {
        return Err(OutOfReach::TooMuchCover { cover: asked.cover });
    }
    let goal = Goal { cover, within: asked.within, pair: asked.pair.max(1e-10), taken: *taken, sizes_are_told: true };
    let start = ReefSpec { sizes: asked.sizes, ..named.spec() };
    fitted(named, start, &goal, asked.pair.sqrt())
}

/// The least spread of sites that is written (a share): a hundredth of a point. No pilot tells less from nil, and what is
/// less would stand in the scenario as a number that looks measured and is rounding.
pub const LEAST_BETWEEN_SITES_SD: f64 = 1e-4;

/// More of the bottom is not covered on any reef here.
const MOST_COVER: f64 = 0.97;

/// What the pilot wants of the reef.
struct Goal {
    cover: f64,
    /// Variance between lines of a site at one visit.
    within: f64,
    /// Covariance of two lines of one site at one visit: sites and their years.
    pair: f64,
    taken: Taken,
    /// Whether the law of sizes is the pilot's own and must stay.
    sizes_are_told: bool,
}

/// Finds the reef: the named one whose lines vary most nearly as the pilot's, its patches scaled until they vary exactly
/// so, with the spread of whole sites that gives the pilot's spread of sites.
///
/// # Errors
/// Where no reef of the law varies so.
pub fn calibrate_reef(fit: &PilotFit, taken: &Taken) -> Result<CalibratedReef, OutOfReach> {
    if !(fit.mean > 0.0 && fit.mean < 1.0) {
        return Err(OutOfReach::NoCoral);
    }
    if !(fit.between_lines.sd > 0.0) {
        return Err(OutOfReach::LinesDoNotVary);
    }
    let site_year = fit.site_year.map_or(0.0, |component| component.sd);
    let pair = fit.between_sites.sd.powi(2) + site_year.powi(2);
    let goal = Goal {
        cover: rounded(100.0 * fit.mean) / 100.0,
        within: fit.between_lines.sd.powi(2),
        // Nil is no spread to aim at: a thousandth of a point stands for it.
        pair: pair.max(1e-10),
        taken: *taken,
        sizes_are_told: false,
    };
    let named = nearest(&goal)?;
    fitted(named, named.spec(), &goal, pair.sqrt())
}

/// A named reef, or one with sizes of its own, with patches and variation along the reef as the goal wants them; `pilot_sd`
/// is the spread of sites to tell of.
fn fitted(named: NamedReef, start: ReefSpec, goal: &Goal, pilot_sd: f64) -> Result<CalibratedReef, OutOfReach> {
    let mut notes = Vec::new();
    let mut spec = start;
    let mut visit;
    let mut rounds = 0;
    loop {
        (spec, visit) = with_lines(spec, goal)?;
        rounds += 1;
        if !visit.is_above(goal.pair) || spec.along.sd == 0.0 || rounds == 4 {
            break;
        }
        spec = with_less_along(spec, goal)?;
    }
    let usual = named.spec();
    if goal.sizes_are_told && visit.within > 1.02 * goal.within {
        let (pilot_sd, reef_sd) = (goal.within.sqrt(), visit.within.sqrt());
        notes.push(ReefNote::BeltsStillDiffer { pilot: pilot_sd / goal.cover, gives: reef_sd / goal.cover });
    }
    if spec.sizes != start.sizes {
        notes.push(ReefNote::SizesReduced { usual_median_m: usual.sizes.median_m, median_m: spec.sizes.median_m });
    }
    if spec.along.sd != usual.along.sd {
        notes.push(ReefNote::AlongLowered { usual: usual.along.sd, along_sd: spec.along.sd });
    }
    let between_sites_sd = rounded_up(100.0 * visit.between_sites_sd, 4) / 100.0;
    if visit.pair > goal.pair * 1.01 || between_sites_sd < LEAST_BETWEEN_SITES_SD {
        notes.push(ReefNote::SitesStillDiffer { pilot_sd, reef_sd: visit.pair.sqrt().max(LEAST_BETWEEN_SITES_SD) });
    }
    Ok(CalibratedReef {
        named: named.name(),
        reef: spec,
        cover: goal.cover,
        between_sites_sd: between_sites_sd.max(LEAST_BETWEEN_SITES_SD),
        notes,
    })
}

/// The named reef whose lines vary most nearly as the pilot's at its cover.
fn nearest(goal: &Goal) -> Result<NamedReef, OutOfReach> {
    let mut best: Option<(f64, NamedReef)> = None;
    let mut failed = OutOfReach::TooPatchyToCompute;
    for reef in NamedReef::ALL.into_iter().filter(|reef| reef.suits(goal.cover)) {
        match Candidate::new(reef.spec(), goal.cover, goal.taken).with_pair(goal.pair) {
            Ok(visit) => {
                let distance = libm::log(visit.within / goal.within).abs();
                if best.is_none_or(|(least, _)| distance < least) {
                    best = Some((distance, reef));
                }
            }
            Err(reason) => failed = reason,
        }
    }
    best.map(|(_, reef)| reef).ok_or(failed)
}

/// Scales the patches until lines vary as the pilot's; where even a reef without patches varies by more, its colonies
/// shrink towards those of hard ground with few corals.
fn with_lines(start: ReefSpec, goal: &Goal) -> Result<(ReefSpec, OneVisit), OutOfReach> {
    let patches = |sd: f64| -> Result<(ReefSpec, OneVisit), OutOfReach> {
        let mut spec = start;
        spec.patch.sd = sd;
        Ok((spec, Candidate::new(spec, goal.cover, goal.taken).with_pair(goal.pair)?))
    };
    let gap = |visit: &OneVisit| libm::log(visit.within / goal.within);
    let first = patches(start.patch.sd)?;
    if gap(&first.1).abs() < TOLERANCE {
        return Ok(first);
    }
    let solved =
        |low: f64, high: f64| root(low, high, SD_TOLERANCE, |sd| patches(sd).map_or(f64::NAN, |found| gap(&found.1)));
    if gap(&first.1) > 0.0 {
        // Most often the answer is near: the named reef was chosen for it.
        let near = 0.8 * start.patch.sd;
        let mut low = near;
        if gap(&patches(near)?.1) > 0.0 {
            low = 0.0;
            let least = patches(0.0)?;
            if gap(&least.1) > 0.0 && goal.sizes_are_told {
                return Ok(least);
            }
            if gap(&least.1) > 0.0 {
                return with_small_colonies(least.0, goal);
            }
        }
        let high = if low == 0.0 { near } else { start.patch.sd };
        let sd = solved(low, high).ok_or(OutOfReach::TooPatchyToCompute)?;
        return patches(rounded(sd));
    }
    let mut high = start.patch.sd;
    let mut most = first.1;
    let low = loop {
        let low = high;
        high = (1.3 * high).max(0.1);
        let too_patchy = OutOfReach::LinesTooPatchy { found: goal.within.sqrt(), most: most.within.sqrt() };
        if high > LARGEST_PATCH_SD {
            return Err(too_patchy);
        }
        most = patches(high).map_err(|_| too_patchy)?.1;
        if gap(&most) >= 0.0 {
            break low;
        }
    };
    let sd = solved(low, high).ok_or(OutOfReach::TooPatchyToCompute)?;
    patches(rounded(sd))
}

/// Accuracy of an SD of ln density that is solved for: it is written with three digits.
const SD_TOLERANCE: f64 = 1e-4;

/// Beyond, ln density varies by more than the quadrature serves (a variance of 4 with sites and along-reef part).
const LARGEST_PATCH_SD: f64 = 1.95;

fn with_small_colonies(start: ReefSpec, goal: &Goal) -> Result<(ReefSpec, OneVisit), OutOfReach> {
    let small = NamedReef::LowCoverHardGround.spec().sizes;
    let between = |share: f64| -> Result<(ReefSpec, OneVisit), OutOfReach> {
        // Never larger than they are: the outer slope has a narrower law of sizes than hard ground.
        let part = |from: f64, to: f64| rounded(from * libm::pow(to.min(from) / from, share));
        let sizes = SizeLaw {
            median_m: part(start.sizes.median_m, small.median_m),
            ln_sd: part(start.sizes.ln_sd, small.ln_sd),
            max_m: part(start.sizes.max_m, small.max_m),
        };
        let spec = ReefSpec { sizes, ..start };
        Ok((spec, Candidate::new(spec, goal.cover, goal.taken).with_pair(goal.pair)?))
    };
    let gap = |visit: &OneVisit| libm::log(visit.within / goal.within);
    let least = between(1.0)?;
    if gap(&least.1) > 0.0 {
        return Err(OutOfReach::LinesTooEven { found: goal.within.sqrt(), least: least.1.within.sqrt() });
    }
    let share = root(0.0, 1.0, SD_TOLERANCE, |share| between(share).map_or(f64::NAN, |found| gap(&found.1)));
    between(share.ok_or(OutOfReach::TooPatchyToCompute)?)
}

/// Lowers the variation along the reef until sites that do not differ for good differ as the pilot's do.
fn with_less_along(start: ReefSpec, goal: &Goal) -> Result<ReefSpec, OutOfReach> {
    let along = |sd: f64| -> Result<(ReefSpec, OneVisit), OutOfReach> {
        let mut spec = start;
        spec.along.sd = sd;
        Ok((spec, Candidate::new(spec, goal.cover, goal.taken).with_pair(goal.pair)?))
    };
    let gap = |visit: &OneVisit| visit.pair / goal.pair - (1.0 + 0.5 * TOLERANCE);
    let none = along(0.0)?;
    if gap(&none.1) > 0.0 {
        return Ok(none.0);
    }
    let sd = root(0.0, start.along.sd, SD_TOLERANCE, |sd| along(sd).map_or(f64::NAN, |found| gap(&found.1)));
    // Rounded down, so that the spread of sites stays within reach.
    Ok(along((sd.unwrap_or(0.0) * 1e4).floor() / 1e4)?.0)
}
