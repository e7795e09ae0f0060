use super::doubt::Doubt;
use super::load::Loaded;
use crate::design::FishGroup;
use crate::planner::{fish_bias_parts, quick_fish_bias_parts};
use crate::reef::fish::Movement;
use crate::survey::{Dimensions, MethodKind};
use crate::theory::fish::{BiasCause, BiasParts};

/// What is written of what is there, up or down, from which on a number is in doubt.
const BIAS_TIMES: f64 = 3.0;

/// Groups of fish of whom several times as many are written as are there, or hardly any: each told once, for the units in which
/// it is worst, at the key of what makes most of it.
pub fn bias_doubts(loaded: &Loaded) -> Vec<Doubt> {
    let zones = loaded.study.zones.iter().enumerate();
    let groups = zones.flat_map(|(z, zone)| zone.fish.iter().enumerate().map(move |(index, group)| (z, index, group)));
    groups.filter_map(|(z, index, group)| of_group(loaded, &format!("zone[{z}].fish[{index}]"), group)).collect()
}

fn of_group(loaded: &Loaded, path: &str, group: &FishGroup) -> Option<Doubt> {
    let methods = loaded.study.methods.iter();
    let units = methods.flat_map(|method| method.kind.dimensions().into_iter().map(move |of| (&method.kind, of)));
    let told = units.filter_map(|(kind, dimensions)| Some((kind, dimensions, far_off((kind, dimensions), group)?)));
    let (kind, dimensions, parts) = told.max_by(|one, other| off(&one.2).total_cmp(&off(&other.2)))?;
    let side = libm::log(parts.density()).signum();
    let along = |density: f64| side * libm::log(density);
    let cause = parts.parts.iter().max_by(|one, other| along(one.density).total_cmp(&along(other.density)))?.cause;
    let (key, remedy) = match cause {
        BiasCause::Movement => (
            "speed_m_s",
            "Is its speed in metres a second? Then count it at one moment, or ahead: snapshot, abreast, moving_window.",
        ),
        BiasCause::Hidden => {
            ("seen_percent", "Is it in percent? Then such counts tell little of it; or it hides, and needs a way back.")
        }
        BiasCause::Distance => ("sight_scale_m", "Is it in metres? Then count it in narrower units."),
        BiasCause::Reaction => {
            ("shy_percent", "Write percent, negative for fish that come to look, and shy_scale_m in metres.")
        }
        BiasCause::Size => ("half_seen_cm", "Is it in centimetres? Then such counts tell little of fish of this size."),
        // Those of a method: the group is named.
        BiasCause::AfterDivers | BiasCause::Width | BiasCause::LengthError | BiasCause::Classes => {
            ("name", "Check what the method says of divers before, widths and lengths.")
        }
    };
    let written = 100.0 * parts.density();
    let message = format!(
        "{}: of 100 that are there {} are written in {}, {}, most of it by {}",
        group.name,
        if written < 10.0 { format!("{written:.1}") } else { format!("{written:.0}") },
        kind.units(),
        dimensions.label(),
        cause.words()
    );
    let usual = format!("{:.0} to {:.0}", 100.0 / BIAS_TIMES, 100.0 * BIAS_TIMES);
    Some(loaded.doubt_at(&format!("{path}.{key}"), message, usual, remedy))
}

/// The parts of a bias that is beyond the limit. Fish that turn take seconds, and a quick look finds too many of them.
fn far_off(units: (&MethodKind, Dimensions), group: &FishGroup) -> Option<BiasParts> {
    let is_far = |parts: &BiasParts| off(parts) > libm::log(BIAS_TIMES);
    let quick = quick_fish_bias_parts(units, group).filter(is_far)?;
    match group.spec.movement {
        Movement::Still | Movement::Straight { .. } => Some(quick),
        _ => fish_bias_parts(units, group).filter(is_far),
    }
}

fn off(parts: &BiasParts) -> f64 {
    libm::fabs(libm::log(parts.density()))
}
