//! The laws of animals and recruits and the units that are laid, in words for the methods text.

use super::words::{capital, exactly, plain};
use crate::design::{Study, Zone, tells_condition, tells_dead_parts};
use crate::measures::in_100;
use crate::reef::colonies::PartialMortality;
use crate::reef::{AnimalSpec, BetweenSites, PatchLaw};
use crate::survey::{MethodKind, MethodSpec, Placed};

/// Square metres of the unit in which densities of animals are told.
const TOLD_PER_M2: f64 = 100.0;

/// "rim: slate urchin 12 per 100 m2 ..."; `None` where no animals are counted.
pub fn animals_text(study: &Study) -> Option<String> {
    let zones: Vec<String> = study.zones.iter().filter(|zone| !zone.animals.is_empty()).map(animals_of_zone).collect();
    (!zones.is_empty()).then(|| {
        format!(
            "Large invertebrates as points, alone or in groups scattered normally about Poisson middles, whose density differs \
             between sites, years and patches: {}.",
            zones.join("; ")
        )
    })
}

fn animals_of_zone(zone: &Zone) -> String {
    let told = zone.animals.iter().map(|animal| {
        let spec = &animal.spec;
        let mut text = format!(
            "{} {} per 100 m2 ({}",
            animal.name.replace('_', " "),
            plain(TOLD_PER_M2 * spec.density_per_m2),
            law(spec)
        );
        if spec.hidden > 0.0 {
            text += &format!(", {} % not seen by day", plain(100.0 * spec.hidden));
        }
        if let Some(share) = animal.commercial_share() {
            text += &format!(", {} % of commercial size", plain(100.0 * share));
        }
        text + ")"
    });
    format!("{}: {}", zone.name, told.collect::<Vec<_>>().join(", "))
}

/// Partial mortality of the colonies of each zone; `None` where no dead parts are told.
pub fn dead_parts_text(study: &Study) -> Option<String> {
    let is_told = tells_dead_parts(&study.methods, &study.also_report);
    let of_zone = |zone: &Zone| {
        let law = zone.partial_mortality;
        let (colonies, dead) = law.at_reference();
        let source = if law == PartialMortality::USUAL { " (Ennis et al. 2020)" } else { "" };
        format!(
            "{} {} % of colonies of 15 cm, log odds rising by {} with every doubling of the diameter, those dead on {} % of their area in \
             the mean at 15 cm, {} % of them with recent mortality{source}",
            zone.name,
            in_100(colonies),
            plain(law.rise_per_doubling),
            in_100(dead),
            in_100(law.recent)
        )
    };
    let zones: Vec<String> = study.zones.iter().filter(|zone| zone.map.is_none()).map(of_zone).collect();
    (is_told && !zones.is_empty()).then(|| format!("Partial mortality: {}.", zones.join("; ")))
}

/// Condition of the colonies of each zone; `None` where none is told.
pub fn condition_text(study: &Study) -> Option<String> {
    let of_zone = |zone: &Zone| {
        let shares = zone.condition;
        format!(
            "{} {} % of colonies pale, {} % bleached, {} % diseased",
            zone.name,
            plain(100.0 * shares.pale),
            plain(100.0 * shares.bleached),
            plain(100.0 * shares.diseased)
        )
    };
    let zones: Vec<String> = study.zones.iter().filter(|zone| zone.map.is_none()).map(of_zone).collect();
    (tells_condition(&study.methods, &study.also_report) && !zones.is_empty())
        .then(|| format!("Condition of colonies, drawn anew at each visit, whatever their size: {}.", zones.join("; ")))
}

/// How the colonies of sites differ; `None` where they do by chance alone, or are not measured.
pub fn colony_variation_text(study: &Study) -> Option<String> {
    let is_read = study.methods.iter().any(|method| matches!(method.kind, MethodKind::CoralBelt { .. }));
    let of_zone = |zone: &Zone| {
        let (sizes, dead) = (zone.colony_variation.ln_diameter, zone.colony_variation.dead_parts);
        format!(
            "{} ln diameter with SD {}, of which {} is the site's year; the share with dead parts with SD {} points, {} of its year",
            zone.name,
            plain(sizes.between_sites),
            plain(sizes.site_year),
            plain(100.0 * dead.between_sites),
            plain(100.0 * dead.site_year)
        )
    };
    let zones: Vec<String> = study.zones.iter().filter(|zone| !zone.colony_variation.is_none()).map(of_zone).collect();
    (is_read && !zones.is_empty()).then(|| {
        format!(
            "Colonies differ between whole sites in one visit: {}. Diameters of a site are written so much larger or smaller, classes \
             of size and dead parts are read from them anew, and means over colonies, of belts and of the true site, move with them; \
             cover, numbers of colonies, the cover of measured colonies, which colonies belong to a belt and which are missed, and \
             pictures stay those of the typical site.",
            zones.join("; ")
        )
    })
}

/// Recruits of each zone; `None` where none are counted.
pub fn recruits_text(study: &Study) -> Option<String> {
    let told = study.zones.iter().filter_map(|zone| {
        let recruits = zone.recruits.as_ref()?;
        let mut text = format!(
            "{} {} per m2 of free hard bottom ({}, {} % of them under 2 cm)",
            zone.name,
            plain(recruits.spec.density_per_m2),
            law(&recruits.spec),
            plain(100.0 * recruits.share_under_2_cm())
        );
        if !recruits.cannot_live_on.is_empty() {
            text += &format!(", none on {}", recruits.cannot_live_on.join(", "));
        }
        Some(text)
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("Recruits as points on bottom that no colony covers: {}.", told.join("; ")))
}

/// "sites differ with SD 80 %, their years with SD 30 %, in groups of 4 within SD .5 m, ln density with SD 1 over patches of 25 m,
/// 20 % stay in place"
fn law(spec: &AnimalSpec) -> String {
    let spread = |spread: BetweenSites| match spread {
        BetweenSites::LnSd(sd) => format!("ln-SD {}", plain(sd)),
        BetweenSites::Share(share) => format!("SD {} %", plain(100.0 * share)),
    };
    let mut parts =
        vec![format!("sites differ with {}, their years with {}", spread(spec.between_sites), spread(spec.site_year))];
    parts.push(match spec.groups {
        Some(groups) => format!("in groups of {} with SD {} m", plain(groups.mean_size), plain(groups.spread_m)),
        None => "alone".into(),
    });
    if let Some(patches) = spec.patches {
        let scale = plain(patches.scale_m);
        parts.push(match patches.law {
            PatchLaw::LogNormal { ln_sd } => format!("ln density with SD {} over patches of {scale} m", plain(ln_sd)),
            PatchLaw::OfCoral { ln_sd, .. } => {
                format!("ln density with SD {} over the patches of the coral", plain(ln_sd))
            }
            PatchLaw::Gamma { k } => format!("density gamma with k {} over patches of {scale} m", plain(k)),
        });
    }
    if spec.stays > 0.0 {
        parts.push(format!("{} % at the same place at the second visit", plain(100.0 * spec.stays)));
    }
    parts.join(", ")
}

/// Every kind of unit that was laid, with its sizes, points and minutes; `None` where none lies on a reef. Fish are told
/// with their counts.
pub fn units_text(study: &Study) -> Option<String> {
    let told: Vec<String> = study.methods.iter().filter_map(units_of_method).collect();
    (!told.is_empty()).then(|| format!("Units: {}.", told.join("; ")))
}

fn units_of_method(method: &MethodSpec) -> Option<String> {
    let kind = &method.kind;
    if matches!(kind, MethodKind::Components(_)) || kind.fish_count().is_some() {
        return None;
    }
    let dimensions = kind.dimensions();
    let sizes: Vec<String> = dimensions.iter().map(|dimensions| dimensions.label()).collect();
    let (fewest, most) = (method.units.first()?, method.units.last()?);
    let mut text = format!(
        "{} of {} ({fewest} to {most} on a site; {} minutes to lay and {} to read one",
        capital(&kind.name().replace('_', " ")),
        sizes.join(" or "),
        exactly(method.minutes.lay),
        exactly(method.minutes.read)
    );
    if dimensions.len() > 1 {
        text += &format!(" of {}, others in proportion to their length and {}", sizes[0], dimensions[0].work_is());
    }
    if let Some(minutes) = method.minutes.ashore {
        text += &format!(", and {} ashore", exactly(minutes));
    }
    text += ")";
    if let MethodKind::CoralBelt { belt, .. } = kind {
        text += &format!(", which has the colonies {}", belt.edge.words());
    }
    if let MethodKind::PhotoQuadrats { frame, .. } = kind {
        let placed = |placed: Placed| match placed {
            Placed::Stratified => "one at a random place in each of equal parts",
            Placed::Random => "at random",
        };
        text +=
            &format!(", photographs {}, points on each {}", placed(frame.frames_placed), placed(frame.points_placed));
    }
    Some(text)
}
