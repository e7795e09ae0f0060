//! What lost days do to a plan by stretches of the crew: sites that they push past a change fall to those who come after it.

use super::by_stretch::{PlanStretch, SitesInStretch};
use super::plan::{BudgetPlan, ZoneSites};
use super::prepared::Prepared;
use crate::budget::schedule::days;
use crate::budget::{DayPacking, Found, LostDays, Stretches, Today};
use crate::measures::counted;
use serde::Serialize;
use std::cell::RefCell;
use std::collections::BTreeMap;

/// What must be known beside a plan by stretches.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StretchesTold {
    /// The last change that it goes past: the first day after it.
    pub change: usize,
    /// Chance that no day before that is lost; `None`: lost days are not told.
    pub no_day_lost_before: Option<f64>,
    /// Chance that all of it is done in the days that can be booked.
    pub finished: Option<f64>,
    /// Days to dive on where one before the first change is lost.
    pub days_with_one_lost: usize,
    /// The plan for whichever crew is aboard; `None`: there is none.
    pub whichever: Option<WhicheverCrew>,
}

/// A plan that counts on no crew, by formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WhicheverCrew {
    pub days: usize,
    pub team_dives: usize,
    pub weakest: f64,
}

impl WhicheverCrew {
    pub fn of(found: &Found) -> Self {
        Self { days: found.days, team_dives: found.team_dives, weakest: found.weakest() }
    }
}

/// What is left of a plan by stretches when days are lost: after each stretch the rest is planned anew.
pub struct LeftOver<'a> {
    prepared: &'a Prepared<'a>,
    found: &'a Found,
    stretches: &'a Stretches,
    /// Team dives at a site, by stretch and zone.
    dives: Vec<Vec<usize>>,
    /// What is known of the day before the first.
    today: Today,
    /// By the days dived on in each stretch before one, the days that are needed from there.
    known: RefCell<BTreeMap<Vec<usize>, usize>>,
}

impl<'a> LeftOver<'a> {
    /// `None`: the plan is for whichever crew is aboard.
    pub fn of(prepared: &'a Prepared<'a>, found: &'a Found) -> Option<Self> {
        let stretches = &prepared.by_stretch.as_ref()?.stretches;
        let dives = stretches.dives(&found.units)?;
        Some(Self { prepared, found, stretches, dives, today: Today::NotTold, known: RefCell::default() })
    }

    /// The same after a day of which it is known whether it was lost.
    pub fn after(self, today: Today) -> Self {
        Self { today, ..self }
    }

    /// Days that are needed from a stretch on where so many were dived on in each before it.
    pub fn needed(&self, dived: &[usize]) -> usize {
        if let Some(&needed) = self.known.borrow().get(dived) {
            return needed;
        }
        let needed = self.work_out(dived);
        self.known.borrow_mut().insert(dived.to_vec(), needed);
        needed
    }

    fn work_out(&self, dived: &[usize]) -> usize {
        let mut packing = DayPacking::new(&self.prepared.day);
        let mut left = self.found.sites.clone();
        for (stretch, &dived) in dived.iter().enumerate() {
            let split = self.stretches.split_from(stretch, &mut packing, &left, &self.dives);
            let boat_days = days(&self.prepared.day, &split.sites[0], &self.dives[stretch]);
            let boats = self.prepared.expedition.boats.number.max(1);
            boat_days.iter().take(dived * boats).flatten().for_each(|visit| left[visit.zone] -= 1);
        }
        self.stretches.split_from(dived.len(), &mut packing, &left, &self.dives).days
    }

    /// Days of the stretches, of so many booked.
    fn runs(&self, booked: usize) -> Vec<usize> {
        let stretches = 0..self.prepared.number_of_stretches();
        let booked = booked.min(self.prepared.last_day);
        let before = |stretch: usize| self.prepared.days_before(stretch).min(booked);
        let ends = |stretch: usize| {
            if stretch + 1 < self.prepared.number_of_stretches() { before(stretch + 1) } else { booked }
        };
        stretches.map(|stretch| ends(stretch) - before(stretch)).collect()
    }

    /// Chance that all of it is done in so many days booked.
    pub fn finished(&self, lost: &LostDays, booked: usize) -> f64 {
        lost.enough_in_turn(self.today, &self.runs(booked), &mut |dived| self.needed(dived))
    }

    /// Days to dive on where one before the first change is lost.
    fn days_with_one_lost(&self) -> usize {
        let dived = self.prepared.days_before(1) - 1;
        dived + self.needed(&[dived])
    }

    /// `whichever`: the plan for whichever crew is aboard; so many days of the expedition are gone before the first.
    pub fn told(&self, whichever: Option<&Found>, days_gone: usize) -> Option<StretchesTold> {
        let (_, last) = self.prepared.stretches_of_plan(self.found).pop().filter(|(_, last)| last.from_day > 1)?;
        let before = last.from_day - 1;
        let lost = self.prepared.lost_days();
        Some(StretchesTold {
            change: days_gone + last.from_day,
            no_day_lost_before: lost.map(|lost| lost.at_least_after(self.today, before, before)),
            finished: lost.map(|lost| self.finished(&lost, self.prepared.bookable_days())),
            days_with_one_lost: self.days_with_one_lost(),
            whichever: whichever.map(WhicheverCrew::of),
        })
    }
}

impl StretchesTold {
    /// What it counts on, what happens where that fails, and what else there is.
    pub fn words(&self, plan: &BudgetPlan, bookable: usize) -> String {
        let in_hundred = |chance: f64| format!("{:.0} times in 100", 100.0 * chance);
        let crews = plan.stretches.iter().map(|of| format!("{} {}", counted(of.pairs, "pair"), of.days_words()));
        let zones = plan.zones.iter().map(zone_words);
        let chance = match (self.no_day_lost_before, self.finished) {
            (Some(none), Some(finished)) => format!(
                "no day before day {} is lost {}, and all of it is done in the {} there are, with what is left planned anew after \
                 each change, {} (chances of days left do not know that)",
                self.change,
                in_hundred(none),
                counted(bookable, "day"),
                in_hundred(finished)
            ),
            _ => "how many are lost is not told, and no chance can be given".to_owned(),
        };
        let other = match &self.whichever {
            Some(other) => format!(
                "The plan for whichever crew is aboard, which counts on no day, takes {} and {}, weakest margin {:.2} by formula",
                counted(other.days, "day"),
                counted(other.team_dives, "team dive"),
                other.weakest
            ),
            None => "No plan for whichever crew is aboard does the same".to_owned(),
        };
        let with_one_lost = match self.days_with_one_lost {
            days if days == plan.days => "as many days dived on".to_owned(),
            days => format!("{} dived on instead of {}", counted(days, "day"), plan.days),
        };
        format!(
            "The plan goes by stretches of the crew: {} ({}). It counts on every day before a change: a site that is not done by \
             then takes what those who come after it need. With one day lost before day {} it takes {with_one_lost}; {chance}.{} \
             {other}. What site sets do in a season of lost days, and own site sets of zones, are not told of such a plan.",
            crews.collect::<Vec<_>>().join(", "),
            zones.collect::<Vec<_>>().join("; "),
            plan.stretches.get(1).map_or(self.change, |of| of.from_day),
            cut_short(&plan.zones, &plan.stretches).unwrap_or_default(),
        )
    }
}

/// "rim 4 sites of 1 team dive, then 3 of 2"; "wall 8 sites of 1 team dive, then none of 2"
fn zone_words(zone: &ZoneSites) -> String {
    let of_stretch = |(place, of): (usize, &SitesInStretch)| match (place, of.sites) {
        (0, 0) => format!("no site of {}", counted(of.team_dives, "team dive")),
        (0, sites) => format!("{} of {}", counted(sites, "site"), counted(of.team_dives, "team dive")),
        (_, 0) => format!("none of {}", of.team_dives),
        (_, sites) => format!("{sites} of {}", of.team_dives),
    };
    let all: Vec<String> = zone.by_stretch.iter().enumerate().map(of_stretch).collect();
    format!("{} {}", zone.zone, all.join(", then "))
}

/// What is not known where the expedition ends with the first stretch.
fn cut_short(zones: &[ZoneSites], stretches: &[PlanStretch]) -> Option<String> {
    let few = |zone: &&ZoneSites| zone.by_stretch.first().is_some_and(|first| first.sites < 2);
    let few: Vec<&str> = zones.iter().filter(few).map(|zone| zone.zone.as_str()).collect();
    let next = stretches.get(1).filter(|_| !few.is_empty())?;
    Some(format!(
        " Cut short before day {} it has too few sites of {} to tell anything, and each zone is read by the people of its days.",
        next.from_day,
        few.join(" and ")
    ))
}
