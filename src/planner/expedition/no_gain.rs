//! What-ifs that move nothing: said in a few words, with the reason where it is known.

use super::prepared::Prepared;
use super::what_ifs::{STAYS, WhatIf, WhatIfKind};
use crate::budget::Found;

/// How the words of a what-if begin that is in vain.
pub const BRINGS_NOTHING: &str = "brings nothing";

/// "brings nothing: the other targets need as much", where a what-if takes what the expedition takes as it is; `found`: by what
/// design that is.
pub fn moves_nothing(what: &WhatIf, as_it_is: &WhatIf, (prepared, found): (&Prepared, &Found)) -> Option<String> {
    let is_cheaper = match (what.money_for_all, as_it_is.money_for_all) {
        (Some(now), Some(before)) => now < before - 0.5,
        _ => false,
    };
    let musts_too = what.musts == as_it_is.musts || !what.looks_at_musts();
    if what.all != as_it_is.all || !musts_too || what.why.is_some() || what.expeditions.is_some() || is_cheaper {
        return None;
    }
    let of_less = what.kind == WhatIfKind::Caution
        || what.what.contains(" fewer")
        || what.what.starts_with("one diver ill")
        || what.what.starts_with("changes seen");
    if of_less {
        return Some("costs nothing".to_owned());
    }
    let reason = reason(what, prepared, found).map_or(String::new(), |why| format!(": {why}"));
    Some(format!("{BRINGS_NOTHING}{reason}"))
}

/// Only what follows from the design and from the what-if's taking just as much.
fn reason(what: &WhatIf, prepared: &Prepared, found: &Found) -> Option<String> {
    let boats = prepared.expedition.boats.number.max(1);
    let first = |zones: Vec<usize>| zones.first().map_or(0, |&zone| usize::from(found.sites[zone]));
    let places: usize = prepared.plan.study.strata().into_iter().map(first).sum();
    let one_dive_each = found.team_dives == places;
    let zones = found.sites.iter().zip(&prepared.expedition.zones);
    let are_fewest = zones.into_iter().all(|(&sites, zone)| usize::from(sites) <= zone.least_sites);
    let is_of = |words: &str| what.what.starts_with(words);
    if one_dive_each && are_fewest && !is_of("one site a day more") {
        return Some("each zone has its fewest sites, and each site takes one team dive".into());
    }
    let pairs = prepared.expedition.pairs.len();
    match what.kind {
        // A target that is only softer may itself need as much as before.
        WhatIfKind::Target | WhatIfKind::Method if is_of("without") => Some("the other targets need as much".into()),
        WhatIfKind::Capacity if is_of("one pair more") && (pairs + 1) / boats == pairs / boats => {
            Some(format!("of the {boats} boats one alone would have it, and a site must fit whichever boat goes there"))
        }
        WhatIfKind::Capacity if is_of("one pair more") && one_dive_each => {
            Some("each site takes one team dive already, and more units at a site spare no site".into())
        }
        WhatIfKind::Capacity if is_of("one site a day more") => {
            let a_day = prepared.day.most_dives() * boats;
            (found.days == found.team_dives.div_ceil(a_day)).then(|| "the team dives fill the days as it is".into())
        }
        WhatIfKind::Capacity => {
            let name = what.what.strip_suffix(STAYS)?;
            let leaves = prepared.expedition.divers.iter().find(|diver| diver.name == name)?.to_day?;
            (found.days <= leaves).then(|| format!("the plan is over before {name} leaves"))
        }
        _ => None,
    }
}
