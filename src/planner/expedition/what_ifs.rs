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
        });
    }
    if expedition.standby == Standby::AsTheDivingOfficerDecides && expedition.pairs.len() > 1 {
        changed("a pair stays up on each dive".into(), &|expedition| expedition.standby = Standby::APairStaysUp);
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
    let as_it_is = WhatIf { what: "as it is".into(), all: takes(all), musts: takes(musts) };
    let of = |(what, expedition): (String, Expedition)| {
        let other = Prepared::new(prepared.plan, &expedition).ok()?;
        let zones = other.zones();
        let search: Search = other.search(&zones);
        Some(WhatIf { what, all: takes(&search.least(Hold::All)), musts: takes(&search.least(Hold::Musts)) })
    };
    let found: Vec<Option<WhatIf>> = others.into_par_iter().map(of).collect();
    std::iter::once(as_it_is).chain(found.into_iter().flatten()).collect()
}
