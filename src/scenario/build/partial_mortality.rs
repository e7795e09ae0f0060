//! Partial mortality of the colonies of a zone: from its table, with an account of every number that tells.

use super::animals::shared;
use crate::design::{Zone, tells_dead_parts};
use crate::reef::colonies::{PartialMortality, log_odds};
use crate::scenario::Matter;
use crate::scenario::file::{PartialMortalityTable, ScenarioFile};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::shown::{number, percent};
use crate::survey::MethodSpec;

/// The law of a table; what is left out is as in the records.
pub fn law(table: Option<&PartialMortalityTable>) -> PartialMortality {
    const USUAL: PartialMortality = PartialMortality::USUAL;
    let Some(table) = table else { return USUAL };
    let odds = |percent: f64| log_odds(percent / 100.0);
    PartialMortality {
        log_odds: table.colonies_percent.map_or(USUAL.log_odds, |share| odds(share.get())),
        rise_per_doubling: table.rise_per_doubling.map_or(USUAL.rise_per_doubling, |rise| rise.get()),
        dead_log_odds: table.dead_percent.map_or(USUAL.dead_log_odds, |share| odds(share.get())),
        recent: shared(table.recent_percent, USUAL.recent),
    }
}

/// Lists what a zone's own table says; of zones without one, where dead parts are told, what is taken instead.
pub fn note(file: &ScenarioFile, methods: &[MethodSpec], zones: &[Zone], ledger: &mut Ledger) {
    let is_told = tells_dead_parts(methods, &file.also_report);
    let mut usual = Vec::new();
    for (index, (table, zone)) in file.zone.iter().zip(zones).enumerate() {
        match &table.partial_mortality {
            Some(own) => note_own(own, zone, &format!("zone[{index}].partial_mortality"), ledger),
            None if zone.map.is_none() => usual.push(zone.name.as_str()),
            None => {}
        }
    }
    if !is_told || usual.is_empty() {
        return;
    }
    let of_hundred =
        |longest_m: f64| format!("{:.0} in 100", 100.0 * PartialMortality::USUAL.share_with_dead_parts(longest_m));
    let value = format!(
        "of colonies of 15 cm {} have dead parts, of 30 cm {}, of 60 cm {}, as in colony records of the US Virgin Islands \
         (Ennis et al. 2020); [zone.partial_mortality] sets it",
        of_hundred(0.15),
        of_hundred(0.3),
        of_hundred(0.6)
    );
    let of_some = if usual.len() < zones.len() { format!(" ({})", usual.join(", ")) } else { String::new() };
    ledger.assume(Matter::Life, format!("partial mortality of colonies{of_some}"), value);
}

fn note_own(table: &PartialMortalityTable, zone: &Zone, path: &str, ledger: &mut Ledger) {
    let law = zone.partial_mortality;
    let (colonies, dead) = law.at_reference();
    let rounded = |share: f64| percent((share * 1e4).round() / 1e4);
    let mut note = |key: &str, what: &str, is_written: bool, value: String| {
        ledger.note(path, key, format!("{}: {what}", zone.name), Noted::when(is_written, value), &table.source);
    };
    let what = "colonies of 15 cm with dead parts";
    note("colonies_percent", what, table.colonies_percent.is_some(), rounded(colonies));
    let what = "rise of their log odds with every doubling of the diameter";
    note("rise_per_doubling", what, table.rise_per_doubling.is_some(), number(law.rise_per_doubling));
    let what = "dead share of a colony of 15 cm that has dead parts";
    note("dead_percent", what, table.dead_percent.is_some(), rounded(dead));
    let what = "colonies with recent mortality, of those with dead parts";
    note("recent_percent", what, table.recent_percent.is_some(), rounded(law.recent));
}
