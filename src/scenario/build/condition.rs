//! The condition of the colonies of a zone: from its table, with an account of every number that tells.

use super::animals::shared;
use crate::design::{Zone, tells_condition};
use crate::reef::colonies::ConditionShares;
use crate::scenario::Matter;
use crate::scenario::file::{ConditionTable, ScenarioFile};
use crate::scenario::ledger::{Ledger, Noted};
use crate::scenario::shown::percent;
use crate::survey::MethodSpec;

/// The shares of a table; what is left out is as in a quiet year.
pub fn shares(table: Option<&ConditionTable>) -> ConditionShares {
    const USUAL: ConditionShares = ConditionShares::USUAL;
    let Some(table) = table else { return USUAL };
    ConditionShares {
        pale: shared(table.pale_percent, USUAL.pale),
        bleached: shared(table.bleached_percent, USUAL.bleached),
        diseased: shared(table.diseased_percent, USUAL.diseased),
    }
}

/// Lists what a zone's own table says; of zones without one, where conditions are told, what is taken instead.
pub fn note(file: &ScenarioFile, methods: &[MethodSpec], zones: &[Zone], ledger: &mut Ledger) {
    let mut usual = Vec::new();
    for (index, (table, zone)) in file.zone.iter().zip(zones).enumerate() {
        match &table.condition {
            Some(own) => note_own(own, zone, &format!("zone[{index}].condition"), ledger),
            None if zone.map.is_none() => usual.push(zone.name.as_str()),
            None => {}
        }
    }
    if !tells_condition(methods, &file.also_report) || zones.iter().all(|zone| zone.map.is_some()) {
        return;
    }
    let value = "by chance alone, as that of real sites does not; no key sets it";
    ledger.assume(
        Matter::Spreads,
        "how the condition of colonies differs between sites and years".into(),
        value.into(),
    );
    if usual.is_empty() {
        return;
    }
    let ConditionShares { pale, bleached, diseased } = ConditionShares::USUAL;
    let value = format!(
        "{} of them pale, {} bleached, {} diseased, a guess at a quiet year; [zone.condition] sets it",
        percent(pale),
        percent(bleached),
        percent(diseased)
    );
    let of_some = if usual.len() < zones.len() { format!(" ({})", usual.join(", ")) } else { String::new() };
    ledger.assume(Matter::Life, format!("condition of colonies{of_some}"), value);
}

fn note_own(table: &ConditionTable, zone: &Zone, path: &str, ledger: &mut Ledger) {
    let shares = zone.condition;
    let mut note = |key: &str, what: &str, is_written: bool, share: f64| {
        let about = format!("{}: colonies that are {what} at a visit", zone.name);
        ledger.note(path, key, about, Noted::when(is_written, percent(share)), &table.source);
    };
    note("pale_percent", "pale", table.pale_percent.is_some(), shares.pale);
    note("bleached_percent", "bleached", table.bleached_percent.is_some(), shares.bleached);
    note("diseased_percent", "diseased", table.diseased_percent.is_some(), shares.diseased);
}
