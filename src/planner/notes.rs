//! How to read what coral belts, recruit quadrats, line-intercept lines and counts of fish tell, and changes told as ratios,
//! with the numbers of the scenario.

use super::answer::Note;
use super::fish_notes::fish_notes;
use super::map_notes::map_notes;
use super::recruit_notes::{edge_of_quadrat, recruits_beside_colonies};
use super::words::{exactly, plain};
use super::written::animal_notes;
use crate::analysis::ColonyIndicator;
use crate::analysis::sizes::AGE_CAUTION;
use crate::design::{COLONY_DENSITY, Change, HARD_CORAL, Zone};
use crate::engine::{Indicator, Plan, Row};
use crate::measures::counted;
use crate::reef::colonies::mean_stretch;
use crate::survey::coral_belt::{CoralBelt, Detection, EdgeRule};
use crate::survey::{Dimensions, MethodKind, unit_of};
use crate::theory::{ReefTheory, ZoneTheory};

pub fn notes(plan: &Plan) -> Vec<Note> {
    let mut all = Vec::new();
    let several = plan.study.zones.len() > 1;
    for (number, (zone, theory)) in plan.study.zones.iter().zip(&plan.theories).enumerate() {
        let place = if several { format!(", {}", zone.name) } else { String::new() };
        let mut note = |about: &str, text: String| all.push(Note { about: format!("{about}{place}"), text });
        for method in &plan.study.methods {
            let MethodKind::CoralBelt { belt, .. } = &method.kind else { continue };
            for dimensions in method.kind.dimensions() {
                let about = format!("Coral belts, {}", dimensions.label());
                note(&about, edges_and_misses(plan, (zone, theory), (&method.kind, belt, dimensions)));
            }
        }
        for (about, text) in animal_notes(plan, zone) {
            note(&about, text);
        }
        let Some(theory) = theory.law() else {
            map_notes(plan, number).into_iter().for_each(|(about, text)| note(about, text));
            continue;
        };
        for method in &plan.study.methods {
            match &method.kind {
                MethodKind::LineIntercept { .. } => note("Line-intercept lines", size_bias(zone, theory)),
                MethodKind::RecruitQuadrats { quadrat_m, .. } => {
                    for &side in quadrat_m {
                        let about = format!("Recruit quadrats of {} x {0} cm", plain(100.0 * side));
                        note(&about, edge_of_quadrat(side));
                    }
                }
                _ => {}
            }
        }
        if let Some(text) = recruits_beside_colonies(plan, number) {
            note("Recruits", text);
        }
        let belt = plan.study.methods.iter().find_map(|method| match &method.kind {
            MethodKind::CoralBelt { belt, .. } => Some((belt, method.kind.dimensions().first().copied()?)),
            _ => None,
        });
        for text in deaths(plan, theory, belt) {
            note("Deaths of colonies", text);
        }
        if let Some(text) = unseen_before(plan, theory) {
            note("Unseen before", text);
        }
    }
    for (zone, of) in plan.study.zones.iter().enumerate() {
        if let Some((named, correlation)) = plan.study.places_of(zone) {
            let deep = &plan.study.zones[named].name;
            let text = format!(
                "Each of its sites lies at the place of one of {deep}. The two depths of a place are alike (the effects of their \
                 sites and years correlate by {}), so that the zones are not independent: in the mean over zones whole places are \
                 the replicates, and the degrees of freedom are those of places. Patches and waves along the reef are each depth's \
                 own.",
                plain(correlation)
            );
            all.push(Note { about: format!("Places with two depths, {}", of.name), text });
        }
    }
    let measures = plan.layout.readings.iter().filter_map(|reading| match reading.indicator {
        Indicator::Colonies { measure, .. } => Some(measure),
        _ => None,
    });
    let measures: Vec<ColonyIndicator> = measures.collect();
    let any_virtual = plan.theories.iter().any(|theory| theory.law().is_some());
    if !measures.is_empty() && plan.states > 1 && any_virtual {
        let text = "Between the visits colonies keep their size, and those that settle are drawn from the same law of sizes: \
                    tests of sizes speak of an imposed change only, not of growth. A loss of coral that takes colonies whatever \
                    their size changes their number, not their sizes.";
        all.push(Note { about: "Sizes of colonies".into(), text: text.into() });
    }
    if measures.contains(&ColonyIndicator::SizeStructure) && plan.states > 1 {
        let mut text = "Size structure is tested by the largest distance between the two distributions of diameters (of Kolmogorov and \
                        Smirnov), each site with colonies having one vote, and whole sites being exchanged, never colonies. It has no \
                        mean, so no interval and no number of belts that would do. How often it sees a change is told by formula too, an \
                        approximation (distributions as normal, at eight sizes): believe the simulation."
            .to_owned();
        let keeps_sizes = |change: &Change| change.deaths.is_none_or(|deaths| !deaths.moves_sizes());
        if plan.study.changes.iter().any(|change| change.indicator == HARD_CORAL && keeps_sizes(change)) {
            text += " Of a change in which colonies die whatever their size their sizes hardly move, and what it sees are its false \
                     alarms.";
        }
        all.push(Note { about: "Size structure".into(), text });
    }
    let growth = measures.iter().find_map(|measure| match measure {
        ColonyIndicator::AgeIndex { growth_m } => Some(*growth_m),
        _ => None,
    });
    if let Some(growth_m) = growth {
        let text = format!(
            "{AGE_CAUTION} Here it is the mean largest diameter over {} cm of growth across in a year (common practice, no source: \
             slow massive corals grow 1-2 cm a year across).",
            exactly(100.0 * growth_m)
        );
        all.push(Note { about: "Index of age".into(), text });
    }
    all.extend(fish_notes(plan));
    all
}

/// How far the interval of a change in percent reaches, where logarithms are compared: for each indicator, with the most units
/// on the most sites.
pub fn ratio_notes(rows: &[Row]) -> impl Iterator<Item = Note> + '_ {
    let mut largest: Vec<&Row> = Vec::new();
    for row in rows.iter().filter(|row| row.ratio_factor.is_some()) {
        let is_same = |other: &&mut &Row| other.indicator == row.indicator && other.method == row.method;
        match largest.iter_mut().find(is_same) {
            Some(kept) if (row.sites.total(), row.units) >= (kept.sites.total(), kept.units) => *kept = row,
            Some(_) => {}
            None => largest.push(row),
        }
    }
    largest.into_iter().filter_map(|row| {
        let factor = row.ratio_factor?;
        let text = format!(
            "A change is told as a ratio. With {} on each of {} sites, a survey that finds no change has an interval from {:.0} % \
             less to {:.0} % more than there was (by simulation); one that finds another ratio, from that over {} to that times {}.",
            counted(row.units, unit_of(&row.method)),
            row.sites.span(),
            100.0 * (1.0 - 1.0 / factor),
            100.0 * (factor - 1.0),
            three(factor),
            three(factor)
        );
        Some(Note { about: format!("Changes of {}", row.indicator.replace('_', " ")), text })
    })
}

/// What the edge rule, the smallest size that is seen and the ruler do to density and to the mean diameter; on a map the edges of
/// the map are in it too.
fn edges_and_misses(
    plan: &Plan,
    (zone, theory): (&Zone, &ReefTheory),
    (kind, belt, dimensions): (&MethodKind, &CoralBelt, Dimensions),
) -> String {
    let of = |name: &str, measure: ColonyIndicator| {
        let moments = match theory {
            ReefTheory::Virtual(theory) => theory.colony_moments(&plan.study, (belt, dimensions), measure),
            ReefTheory::Mapped(theory) => theory.moments(kind, dimensions, name),
        };
        (moments.mean[0], moments.truth[0])
    };
    let (written, there) = of(COLONY_DENSITY, ColonyIndicator::Density);
    let (wide, true_width) = of("colony_mean_diameter", ColonyIndicator::MeanDiameter);
    let rule = match belt.edge {
        EdgeRule::CentreIn => "Colonies count whose centre lies in the belt: density and sizes stay as they are",
        EdgeRule::TwoEdges => "Colonies at the edge count at two sides only: density and sizes stay as they are",
        EdgeRule::AnyPartIn => "Colonies count of which any part lies in the belt: too many, and large ones too often",
        EdgeRule::WhollyIn => "Colonies count that lie wholly in the belt: too few, and large ones too rarely",
    };
    let missed = match belt.detection {
        Detection::From { least_m } if least_m > 0.0101 => {
            format!("; those below {} cm are missed", plain(100.0 * least_m))
        }
        Detection::From { .. } => String::new(),
        Detection::Logistic { half_m, .. } => format!("; half of those of {} cm are missed", plain(100.0 * half_m)),
    };
    let more = 100.0 * (written / there - 1.0);
    let outcome = if more.abs() < 0.5 && (wide / true_width - 1.0).abs() < 0.005 {
        format!(
            "{} colonies per m2 are there and are written, {} cm across in the mean",
            three(there),
            three(100.0 * wide)
        )
    } else {
        format!(
            "{} colonies per m2 are written where {} are there ({:.0} % too {}), {} cm across in the mean instead of {} cm",
            three(written),
            three(there),
            more.abs(),
            if more >= 0.0 { "many" } else { "few" },
            three(100.0 * wide),
            three(100.0 * true_width),
        )
    };
    let edges = if zone.map.is_some() { ", the edges of the map included" } else { "" };
    let sizes = plan.study.changes.iter().any(|change| change.deaths.is_some_and(|deaths| deaths.moves_sizes()));
    let sizes = sizes || zone.map.as_ref().is_some_and(|map| map.later.is_some());
    let change = match (plan.states, sizes) {
        (1, _) => "",
        (_, true) => {
            " The same rule at both visits keeps a change in proportion only where it strikes all sizes alike."
        }
        (_, false) => " The same rule at both visits keeps a change in proportion.",
    };
    format!("{rule}{missed}. {outcome} (by formula{edges}).{change}")
}

/// Colonies of the second visit that were there before, under others.
fn unseen_before(plan: &Plan, theory: &ZoneTheory) -> Option<String> {
    let colonies = theory.colonies.as_ref().filter(|_| plan.states > 1 && plan.same_sites)?;
    let share = |state: usize| plain(100.0 * colonies.uncovered(state) / colonies.density(state));
    let mut text = format!(
        "Of 100 colonies that can be counted at the second visit about {} were there at the first, unseen under others, when \
         nothing is imposed",
        share(1)
    );
    for (index, change) in plan.study.changes.iter().enumerate().filter(|(_, change)| change.indicator == HARD_CORAL) {
        text += &format!(
            "; {} after a {} from {} to {} %{}",
            share(index + 2),
            if change.to < change.from { "fall" } else { "rise" },
            plain(100.0 * change.from),
            plain(100.0 * change.to),
            change.deaths.map_or(String::new(), |deaths| format!(", {}", deaths.short()))
        );
    }
    Some(text + " (by formula). They are new to the list, but no recruits.")
}

/// What deaths that do not take all colonies alike do to the number and the sizes of colonies, and to sites.
fn deaths(plan: &Plan, theory: &ZoneTheory, belt: Option<(&CoralBelt, Dimensions)>) -> Vec<String> {
    let changes = plan.study.changes.iter().enumerate();
    changes
        .filter_map(|(index, change)| {
            let deaths = change.deaths?;
            let mut text = format!(
                "A fall from {} to {} % that strikes {} is not the same on all sites: its true size differs between \
                 them by {} points (SD, by formula), by where it strikes and what stood there.",
                plain(100.0 * change.from),
                plain(100.0 * change.to),
                deaths.short(),
                plain(100.0 * theory.implied_change_sd[index]),
            );
            if let Some((belt, dimensions)) = belt {
                let of = |measure| theory.colony_moments(&plan.study, (belt, dimensions), measure).truth;
                let (density, width) = (of(ColonyIndicator::Density), of(ColonyIndicator::MeanDiameter));
                text += &format!(
                    " Colonies go from {} to {} per m2, their mean diameter from {} to {} cm.",
                    three(density[0]),
                    three(density[index + 2]),
                    three(100.0 * width[0]),
                    three(100.0 * width[index + 2]),
                );
            }
            if deaths.patches.is_some() && reads_means_of_colonies(plan) {
                text += " Means over colonies (sizes, shares of colonies) are taken belt by belt: a belt of survivors that was hit \
                         weighs as much as one that was not, though few colonies are left in it, so that what belts tell of the \
                         survivors leans towards the places that were hit. More belts do not help; weight belts by their colonies.";
            }
            Some(text)
        })
        .collect()
}

/// Whether anything is told as a mean over the colonies of a belt.
fn reads_means_of_colonies(plan: &Plan) -> bool {
    let is_so =
        |indicator: &Indicator| matches!(indicator, Indicator::Colonies { .. }) && indicator.is_of_what_is_met();
    plan.layout.readings.iter().any(|reading| is_so(&reading.indicator))
}

/// A line meets a colony with a chance in proportion to its diameter (as a disc; told as the largest one, as belts tell it).
fn size_bias(zone: &Zone, theory: &ZoneTheory) -> String {
    let typical = if zone.colony_variation.ln_diameter.between_sites > 0.0 { " of the typical site" } else { "" };
    let discs = &theory.shape.discs;
    format!(
        "A line meets colonies in proportion to their diameter. The cover that it tells is unbiased, but a size-frequency of \
         the colonies it meets is not that of the reef: colonies{typical} are {} cm across in the mean (the largest diameter), those under a \
         line {} cm (by formula). Weight each colony by one over its diameter, or measure sizes in belts.",
        three(200.0 * mean_stretch() * discs.mean_radius),
        three(100.0 * mean_stretch() * met_diameter(discs.mean_area, discs.mean_radius))
    )
}

/// Mean diameter of the discs that a line meets: E D^2 / E D, from their mean area and mean radius.
fn met_diameter(mean_area: f64, mean_radius: f64) -> f64 {
    2.0 * mean_area / (std::f64::consts::PI * mean_radius)
}

/// Three digits: 12.8, 0.157, 128.
pub fn three(value: f64) -> String {
    let decimals = (2 - libm::log10(value.abs().max(1e-9)).floor() as i32).max(0) as usize;
    format!("{value:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lognormal diameters: E D^2 / E D = median exp(1.5 s^2).
    #[test]
    fn a_line_meets_colonies_by_their_diameter() {
        let (median, sd) = (0.1f64, 0.75f64);
        let mean = median * (0.5 * sd * sd).exp();
        let square = median * median * (2.0 * sd * sd).exp();
        let met = met_diameter(std::f64::consts::PI * square / 4.0, 0.5 * mean);
        assert!((met / (median * (1.5 * sd * sd).exp()) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn three_digits_are_told() {
        assert_eq!([12.81, 0.1571, 128.2, 1.0].map(three), ["12.8", "0.157", "128", "1.00"].map(String::from));
    }
}
