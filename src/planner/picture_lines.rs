//! Units of methods that share lines, put on these lines in the picture.

use super::pictured::ReefPicture;
use crate::design::{Expedition, Study};

/// Puts the units of methods that are done on the lines of others (`on_line_of`) on these, number by number and each from the
/// start of its line; of each number the longest lies where it was laid.
pub fn on_their_lines(picture: &mut ReefPicture, study: &Study, expedition: &Expedition) {
    let mut hosts: Vec<usize> = Vec::new();
    for (method, work) in expedition.methods.iter().enumerate() {
        let Some(host) = work.on_line_of else { continue };
        let set_of = |method: usize| {
            let name = study.method_name(method);
            picture.sets.iter().position(|set| !set.is_round() && set.methods.iter().any(|(of, _)| *of == name))
        };
        let (Some(rider), Some(host)) = (set_of(method), set_of(host)) else { continue };
        if rider != host {
            picture.sets[rider].on = Some(host);
            hosts.push(host);
        }
    }
    hosts.dedup();
    for &host in &hosts {
        put_on_lines(picture, host);
    }
    if !hosts.is_empty() {
        picture.caption += " Methods that share lines are drawn on them, each from the start of its line (a dot); the simulation lays \
                            them without regard to each other.";
    }
}

/// The units of a set and of those on its lines.
fn put_on_lines(picture: &mut ReefPicture, host: usize) {
    let riders = (0..picture.sets.len()).filter(|&set| picture.sets[set].on == Some(host));
    let sets: Vec<Vec<usize>> = std::iter::once(host)
        .chain(riders)
        .map(|set| (0..picture.units.len()).filter(|&unit| picture.units[unit].set == set).collect())
        .collect();
    for number in 0..sets.iter().map(Vec::len).max().unwrap_or(0) {
        let here: Vec<usize> = sets.iter().filter_map(|units| units.get(number).copied()).collect();
        let lengths: Vec<f64> =
            picture.units.iter().map(|unit| (unit.to.0 - unit.from.0).hypot(unit.to.1 - unit.from.1)).collect();
        // The line itself, where no other is longer than it by more than rounding.
        let Some(leader) =
            here.iter().copied().reduce(|best, unit| if lengths[unit] > lengths[best] + 1e-6 { unit } else { best })
        else {
            continue;
        };
        let (from, to, whole) = (picture.units[leader].from, picture.units[leader].to, lengths[leader].max(1e-9));
        for unit in here.into_iter().filter(|&unit| unit != leader) {
            let share = lengths[unit] / whole;
            let unit = &mut picture.units[unit];
            unit.from = from;
            unit.to = (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
            unit.on = Some(leader);
        }
    }
}
