//! How the sites of a zone differ in what their colonies are like: from its table, with an account of every number.

use crate::design::{ColonyVariation, SiteSpread, Zone, tells_kinds_of_colonies};
use crate::scenario::Matter;
use crate::scenario::file::{ColonyVariationTable, ScenarioFile, ZoneTable};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::shown::{number, points};
use crate::survey::MethodSpec;

/// What a table says; what is left out is nil.
pub fn of(table: Option<&ColonyVariationTable>) -> ColonyVariation {
    let Some(table) = table else { return ColonyVariation::default() };
    let share = |points: f64| points / 100.0;
    ColonyVariation {
        ln_diameter: SiteSpread {
            between_sites: table.ln_diameter_between_sites.map_or(0.0, |sd| sd.get()),
            site_year: table.ln_diameter_site_year.map_or(0.0, |sd| sd.get()),
        },
        dead_parts: SiteSpread {
            between_sites: table.dead_parts_between_sites_points.map_or(0.0, |sd| share(sd.get())),
            site_year: table.dead_parts_site_year_points.map_or(0.0, |sd| share(sd.get())),
        },
    }
}

/// Lists what a zone's own table says; where means over colonies are told, that zones without one have no such spread.
pub fn note(file: &ScenarioFile, methods: &[MethodSpec], zones: &[Zone], ledger: &mut Ledger) {
    let even = |(table, zone): (&ZoneTable, &Zone)| {
        (table.colony_variation.is_none() && zone.map.is_none()).then(|| zone.name.clone())
    };
    let even: Vec<String> = file.zone.iter().zip(zones).filter_map(even).collect();
    if !even.is_empty() && tells_kinds_of_colonies(methods, &file.also_report) {
        let of_some = if even.len() < zones.len() { format!(" ({})", even.join(", ")) } else { String::new() };
        let value = "by chance alone, as real sites do not; [zone.colony_variation] sets it";
        ledger.assume(Matter::Spreads, format!("how colonies of sites differ{of_some}"), value.into());
    }
    for (index, (table, zone)) in file.zone.iter().zip(zones).enumerate() {
        let Some(own) = &table.colony_variation else { continue };
        let path = format!("zone[{index}].colony_variation");
        let variation = zone.colony_variation;
        let mut note = |key: &str, what: &str, is_written: bool, value: String| {
            ledger.note(&path, key, format!("{}: {what}", zone.name), Noted::when(is_written, value), &own.source);
        };
        let (sizes, dead) = (variation.ln_diameter, variation.dead_parts);
        let what = "spread between sites of ln diameter of colonies";
        note("ln_diameter_between_sites", what, own.ln_diameter_between_sites.is_some(), number(sizes.between_sites));
        let what = "spread of a site's year of ln diameter of colonies";
        note("ln_diameter_site_year", what, own.ln_diameter_site_year.is_some(), number(sizes.site_year));
        let what = "spread between sites of the share of colonies with dead parts";
        let is_written = own.dead_parts_between_sites_points.is_some();
        note("dead_parts_between_sites_points", what, is_written, points(dead.between_sites));
        let what = "spread of a site's year of the share of colonies with dead parts";
        note("dead_parts_site_year_points", what, own.dead_parts_site_year_points.is_some(), points(dead.site_year));
    }
}
