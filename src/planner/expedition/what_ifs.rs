//! What one day, pair, site or method more or less is worth, by formula. Where diving is touched, only towards caution: no
//! more dives a day, no longer bottom time, no deeper site, no shorter interval is ever priced.

use super::prepared::Prepared;
use crate::budget::{Found, Hold, Search};
use crate::design::{Expedition, Standby};
use rayon::prelude::*;
use serde::Serialize;

/// The least effort under one change of the expedition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WhatIf {
    /// "one pair fewer"
    pub what: String,
    /// Days and team dives for all targets, and for the musts; `None`: out of reach.
    pub all: Option<(usize, usize)>,
    pub musts: Option<(usize, usize)>,
}

/// How the case is called in which a pair stays up.
pub const PAIR_STAYS_UP: &str = "a pair stays up on each dive";

pub fn what_ifs(prepared: &Prepared, all: &Option<Found>, musts: &Option<Found>) -> Vec<WhatIf> {
    let takes = |found: &Option<Found>| found.as_ref().map(|found| (found.days, found.team_dives));
    let mut others: Vec<(String, Expedition)> = Vec::new();
    let mut changed = |what: String, change: &dyn Fn(&mut Expedition)| {
        let mut expedition = prepared.expedition.clone();
        change(&mut expedition);
        others.push((what, expedition));
    };
    let expedition = prepared.expedition;
    if expedition.pairs.len() > 1 {
        changed("one pair fewer".into(), &|expedition| {
            expedition.pairs.pop();
            expedition.boats.number = expedition.boats.number.min(expedition.pairs.len());
        });
    }
    if expedition.standby == Standby::AsTheDivingOfficerDecides && expedition.pairs.len() > 1 {
        changed(PAIR_STAYS_UP.into(), &|expedition| expedition.standby = Standby::APairStaysUp);
    }
    if expedition.boats.dives_a_day > 1 {
        let fewer = expedition.boats.dives_a_day - 1;
        changed(if fewer == 1 { "one dive a day".into() } else { format!("{fewer} dives a day") }, &|expedition| {
            expedition.boats.dives_a_day = fewer
        });
    }
    if let Some(sites) = expedition.boats.sites_a_day {
        if sites < expedition.boats.dives_a_day {
            changed(format!("{} sites a day", sites + 1), &|expedition| {
                expedition.boats.sites_a_day = Some(sites + 1);
            });
        }
        if sites > 1 {
            changed(
                format!("{} a day", if sites == 2 { "one site".into() } else { format!("{} sites", sites - 1) }),
                &|expedition| {
                    expedition.boats.sites_a_day = Some(sites - 1);
                },
            );
        }
    }
    for (zone, name) in prepared.plan.study.zones.iter().map(|zone| &zone.name).enumerate() {
        changed(format!("5 minutes less on the bottom, {name}"), &|expedition| {
            expedition.zones[zone].bottom_minutes -= 5.0;
        });
    }
    let mut names: Vec<&String> = expedition.targets.iter().map(|target| &target.indicator).collect();
    names.dedup();
    if names.len() > 1 {
        for name in names {
            changed(format!("without the target on {}", name.replace('_', " ")), &|expedition| {
                expedition.targets.retain(|target| &target.indicator != name);
            });
        }
    }
    let ill = one_ill(expedition);
    let as_it_is = WhatIf { what: "as it is".into(), all: takes(all), musts: takes(musts) };
    let of = |(what, expedition): (String, Expedition)| {
        let other = Prepared::new(prepared.plan, &expedition).ok()?;
        let zones = other.zones();
        let search: Search = other.search(&zones);
        Some(WhatIf { what, all: takes(&search.least(Hold::All)), musts: takes(&search.least(Hold::Musts)) })
    };
    let cases = others.len();
    let mut found: Vec<Option<WhatIf>> = others.into_par_iter().chain(ill).map(of).collect();
    // Of those in which one diver is missing the worst.
    let ill = found.split_off(cases);
    let cost = |takes: &Option<(usize, usize)>| takes.unwrap_or((usize::MAX, usize::MAX));
    let worst = ill.into_iter().flatten().rev().max_by_key(|what| (cost(&what.all), cost(&what.musts)));
    std::iter::once(as_it_is).chain(found.into_iter().flatten()).chain(worst).collect()
}

/// One diver of each pair missing all the time: a spare who is aboard on as many days takes the place, else the partner
/// stays up too.
fn one_ill(expedition: &Expedition) -> Vec<(String, Expedition)> {
    let paired = |diver: usize| expedition.pairs.iter().any(|&(one, other)| one == diver || other == diver);
    let divers = &expedition.divers;
    let spare = |ill: usize| {
        let covers = |of: usize| {
            divers[of].from_day <= divers[ill].from_day
                && divers[of].to_day.unwrap_or(usize::MAX) >= divers[ill].to_day.unwrap_or(usize::MAX)
        };
        (0..divers.len()).find(|&diver| !paired(diver) && covers(diver))
    };
    let mut all: Vec<(String, Expedition)> = Vec::new();
    for ill in (0..divers.len()).filter(|&diver| paired(diver)) {
        let mut other = expedition.clone();
        match spare(ill) {
            Some(spare) => other.pairs.iter_mut().for_each(|pair| {
                for place in [&mut pair.0, &mut pair.1] {
                    *place = if *place == ill { spare } else { *place };
                }
            }),
            None => other.pairs.retain(|&(one, other)| one != ill && other != ill),
        }
        other.boats.number = other.boats.number.min(other.pairs.len());
        if !other.pairs.is_empty() && all.iter().all(|(_, known)| known.pairs != other.pairs) {
            all.push((format!("one diver ill throughout (worst: {})", divers[ill].name), other));
        }
    }
    all
}
