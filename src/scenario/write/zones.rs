use super::fish::write_group;
use super::table::{Writer, percent_text, quoted, trimmed};
use crate::design::{Animal, ColonyVariation, MapScale, Recruits, Zone, ZoneMap};
use crate::reef::colonies::{ConditionShares, PartialMortality};
use crate::reef::{AnimalSpec, BetweenSites, NamedReef, PatchLaw, ReefSpec};

/// One zone with its categories.
pub fn write(writer: &mut Writer, index: usize, zone: &Zone, several: bool) {
    let path = format!("zone[{index}]");
    writer.table(&path, "[[zone]]");
    writer.text("name", &zone.name);
    if let Some(map) = &zone.map {
        return write_mapped(writer, &path, (zone, map), several);
    }
    writer.counts("sites", &zone.sites);
    if let Some(existing) = zone.existing {
        writer.number("existing", existing as f64);
    }
    if several {
        writer.number("weight", zone.weight);
    }
    if let Some(same) = &zone.same_places {
        writer.text("same_places_as", &same.as_zone);
        writer.number("place_correlation", same.correlation);
    }
    writer.number("length_m", zone.length_m);
    writer.number("width_m", zone.width_m);
    if zone.reef_is_a_range {
        writer.text("reef", "unknown");
    } else {
        writer.text("reef", &zone.reef_name);
        write_overrides(writer, zone);
    }
    writer.line("cover_percent", &percent_text(zone.cover));
    writer.line("between_sites_points", &percent_text(zone.between_sites_sd));
    writer.line("site_year_points", &percent_text(zone.site_year_sd));
    if zone.year_sd > 0.0 {
        writer.line("year_points", &percent_text(zone.year_sd));
    }
    writer.source();
    write_partial_mortality(writer, &path, &zone.partial_mortality);
    write_condition(writer, &path, &zone.condition);
    write_colony_variation(writer, &path, &zone.colony_variation);
    for (place, category) in zone.categories.iter().enumerate() {
        writer.table(&format!("{path}.category[{place}]"), "[[zone.category]]");
        writer.text("name", &category.name);
        writer.line("cover_percent", &percent_text(category.cover));
        writer.line("between_sites_points", &percent_text(category.between_sites_sd));
        writer.number("patch_m", category.scale_m);
        writer.source();
    }
    for (place, animal) in zone.animals.iter().enumerate() {
        writer.table(&format!("{path}.animal[{place}]"), "[[zone.animal]]");
        write_animal(writer, animal);
    }
    for (place, group) in zone.fish.iter().enumerate() {
        writer.table(&format!("{path}.fish[{place}]"), "[[zone.fish]]");
        write_group(writer, group);
    }
    if let Some(recruits) = &zone.recruits {
        writer.table(&format!("{path}.recruits"), "[zone.recruits]");
        write_recruits(writer, recruits);
    }
}

/// A mapped zone: the map tells the rest.
fn write_mapped(writer: &mut Writer, path: &str, (zone, map): (&Zone, &ZoneMap), several: bool) {
    if several {
        writer.number("weight", zone.weight);
    }
    if let MapScale::List { .. } = map.scale {
        writer.number("length_m", zone.length_m);
        writer.number("width_m", zone.width_m);
    }
    writer.source();
    writer.table(&format!("{path}.map"), "[zone.map]");
    writer.text("file", &map.file);
    if let Some((file, _)) = &map.later {
        writer.text("file_after", file);
    }
    match &map.scale {
        MapScale::Picture { pixel_m, legend } => {
            writer.line("pixel_cm", &percent_text(*pixel_m));
            let names = legend.iter().map(|(colour, name)| format!("{} = {}", quoted(colour), quoted(name)));
            writer.line("legend", &format!("{{ {} }}", names.collect::<Vec<_>>().join(", ")));
        }
        MapScale::List { metres_per_unit } => writer.number("metres_per_unit", *metres_per_unit),
    }
    writer.source();
}

/// Where it is not as in the records: the shares that are not, and the rise.
fn write_partial_mortality(writer: &mut Writer, path: &str, law: &PartialMortality) {
    const USUAL: PartialMortality = PartialMortality::USUAL;
    if *law == USUAL {
        return;
    }
    writer.table(&format!("{path}.partial_mortality"), "[zone.partial_mortality]");
    let (colonies, dead) = law.at_reference();
    let shares = [
        ("colonies_percent", colonies, law.log_odds == USUAL.log_odds),
        ("dead_percent", dead, law.dead_log_odds == USUAL.dead_log_odds),
        ("recent_percent", law.recent, law.recent == USUAL.recent),
    ];
    for (key, share, _) in shares.into_iter().filter(|(_, _, is_usual)| !is_usual) {
        writer.line(key, &trimmed(100.0 * share));
    }
    writer.number("rise_per_doubling", law.rise_per_doubling);
    writer.source();
}

/// Where it is not as in a quiet year: the shares that are not.
fn write_condition(writer: &mut Writer, path: &str, shares: &ConditionShares) {
    const USUAL: ConditionShares = ConditionShares::USUAL;
    if *shares == USUAL {
        return;
    }
    writer.table(&format!("{path}.condition"), "[zone.condition]");
    let shares = [
        ("pale_percent", shares.pale, USUAL.pale),
        ("bleached_percent", shares.bleached, USUAL.bleached),
        ("diseased_percent", shares.diseased, USUAL.diseased),
    ];
    for (key, share, _) in shares.into_iter().filter(|(_, share, usual)| share != usual) {
        writer.line(key, &percent_text(share));
    }
    writer.source();
}

/// The spreads as they are written, by their keys.
pub fn written_spreads(variation: &ColonyVariation) -> [(&'static str, f64); 4] {
    let (sizes, dead) = (variation.ln_diameter, variation.dead_parts);
    [
        ("ln_diameter_between_sites", sizes.between_sites),
        ("ln_diameter_site_year", sizes.site_year),
        ("dead_parts_between_sites_points", 100.0 * dead.between_sites),
        ("dead_parts_site_year_points", 100.0 * dead.site_year),
    ]
}

/// Where sites differ by more than chance.
fn write_colony_variation(writer: &mut Writer, path: &str, variation: &ColonyVariation) {
    if variation.is_none() {
        return;
    }
    writer.table(&format!("{path}.colony_variation"), "[zone.colony_variation]");
    for (key, sd) in written_spreads(variation).into_iter().filter(|(_, sd)| *sd > 0.0) {
        writer.line(key, &trimmed(sd));
    }
    writer.source();
}

fn write_recruits(writer: &mut Writer, recruits: &Recruits) {
    let spec = &recruits.spec;
    writer.number("density_per_m2", spec.density_per_m2);
    writer.line("under_2_cm_percent", &percent_text(recruits.share_under_2_cm()));
    write_spread(writer, spec);
    writer.line("still_recruits_percent", &percent_text(spec.stays));
    let names: Vec<String> = recruits.cannot_live_on.iter().map(|name| quoted(name)).collect();
    writer.line("cannot_live_on", &format!("[{}]", names.join(", ")));
    writer.source();
}

fn write_animal(writer: &mut Writer, animal: &Animal) {
    let spec = &animal.spec;
    writer.text("name", &animal.name);
    writer.line("density_per_100_m2", &trimmed(100.0 * spec.density_per_m2));
    write_spread(writer, spec);
    writer.line("hidden_percent", &percent_text(spec.hidden));
    if let Some(share) = animal.commercial_share() {
        writer.line("commercial_percent", &percent_text(share));
    }
    writer.line("stays_percent", &percent_text(spec.stays));
    writer.source();
}

/// How they differ between sites and years, and how they lie on a site.
pub(super) fn write_spread(writer: &mut Writer, spec: &AnimalSpec) {
    for (key, spread) in [("between_sites_percent", spec.between_sites), ("site_year_percent", spec.site_year)] {
        if let BetweenSites::Share(share) = spread {
            writer.line(key, &percent_text(share));
        }
    }
    if let Some(groups) = spec.groups {
        writer.number("group_size", groups.mean_size);
        writer.number("group_spread_m", groups.spread_m);
    }
    if let Some(patches) = spec.patches {
        match patches.law {
            PatchLaw::LogNormal { ln_sd } => writer.number("patch_sd", ln_sd),
            PatchLaw::Gamma { k } => writer.number("patch_k", k),
            // Those follow from the reef.
            PatchLaw::OfCoral { .. } => return,
        }
        writer.number("patch_scale_m", patches.scale_m);
    }
}

/// Values of the reef that are not those of the reef it is named after.
fn write_overrides(writer: &mut Writer, zone: &Zone) {
    let named = NamedReef::from_name(&zone.reef_name).unwrap_or(NamedReef::ForeReef).spec();
    for ((key, own), (_, usual)) in values(&zone.reef).into_iter().zip(values(&named)) {
        if own != usual {
            writer.number(key, own);
        }
    }
}

fn values(reef: &ReefSpec) -> [(&'static str, f64); 7] {
    [
        ("diameter_median_m", reef.sizes.median_m),
        ("diameter_ln_sd", reef.sizes.ln_sd),
        ("diameter_max_m", reef.sizes.max_m),
        ("patch_sd", reef.patch.sd),
        ("patch_scale_m", reef.patch.scale_m),
        ("along_sd", reef.along.sd),
        ("along_scale_m", reef.along.scale_m),
    ]
}
