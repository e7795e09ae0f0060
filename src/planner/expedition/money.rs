//! What a plan costs by the user's rates. Nothing here has a usual value: without rates there is no money.
//!
//! Everything is for one visit. A change takes one expedition at each visit; the second may cost otherwise.

use super::indicators::amounts;
use super::plan::{BudgetPlan, ZoneSites};
use super::prepared::{Prepared, Team};
use crate::budget::{Found, Prices};
use crate::design::{LeastOf, Rates};
use serde::Serialize;
use std::sync::Arc;

/// Money of a plan, in the currency of its rates.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cost {
    pub currency: String,
    pub total: f64,
    /// What it is made of; rates that are not told are left out.
    pub items: Vec<CostItem>,
    /// Days from leaving to being back with just the days for diving that the plan needs, dived on or left free.
    pub days: usize,
    /// All of it over the dives of divers, over the sites, and over the units of all methods at all sites.
    pub per_dive: f64,
    pub per_site: f64,
    pub per_unit: f64,
    /// With all days for diving that there are, where the plan does not need more.
    pub with_all_days: Option<f64>,
    /// One day more, whatever is done on it.
    pub a_day: f64,
}

/// A part of a cost: `number` times `rate`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CostItem {
    pub of: CostOf,
    /// Method whose units it is; `None` but for the laboratory.
    pub method: Option<String>,
    pub number: f64,
    pub rate: f64,
    pub money: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CostOf {
    Fixed,
    Days,
    PersonDays,
    /// Dives of divers.
    Dives,
    HoursAshore,
    Laboratory,
    /// Person-days of preparation, and of work afterwards.
    DaysBefore,
    DaysAfter,
}

impl Prepared<'_> {
    /// Days that all people are paid for with so many days for diving: each diver's own, and all days of the others.
    fn person_days(&self, rates: &Rates, diving: usize) -> usize {
        let days = &self.expedition.days;
        let own = self.expedition.divers.iter().map(|diver| diver.days_paid(days, diving));
        own.sum::<usize>() + rates.other_people * (days.without_diving() + diving)
    }

    /// What so many days for diving cost, whatever is done on them.
    fn of_days(&self, rates: &Rates, diving: usize) -> f64 {
        let all = self.expedition.days.without_diving() + diving;
        let ashore = self.days_ashore(true).into_iter().map(|(_, days)| days).sum::<f64>();
        rates.fixed
            + rates.per_day * all as f64
            + rates.per_person_day * self.person_days(rates, diving) as f64
            + rates.ashore_per_person_day * ashore
    }

    /// Person-days before and after a visit; `is_over`: those after it too.
    pub(super) fn days_ashore(&self, is_over: bool) -> [(CostOf, f64); 2] {
        let told = self.expedition.days_ashore;
        let after = if is_over { told.after } else { None };
        [(CostOf::DaysBefore, told.before.unwrap_or(0.0)), (CostOf::DaysAfter, after.unwrap_or(0.0))]
    }

    /// What a plan costs, by its cost, where so many days for diving are booked.
    pub fn with_booked(&self, cost: &Cost, plan: &BudgetPlan, booked: usize) -> f64 {
        let of_days = |days: usize| self.expedition.rates.as_ref().map_or(0.0, |rates| self.of_days(rates, days));
        cost.total + of_days(booked) - of_days(plan.days_with_free())
    }

    /// The most days for diving, of those that can be booked, that so much money pays for with a plan.
    pub fn days_paid(&self, plan: &BudgetPlan, money: f64) -> usize {
        let pays = |days: &usize| {
            // Rounding never decides.
            plan.cost.as_ref().is_some_and(|cost| self.with_booked(cost, plan, *days) <= money * (1.0 + 1e-9))
        };
        let least = plan.days_with_free();
        (least..=self.bookable_days()).take_while(pays).last().unwrap_or(least)
    }

    /// Hours ashore for a unit of a task.
    fn hours_ashore(&self, task: usize) -> f64 {
        let method = self.tasks.methods[task];
        self.plan.study.methods[method].ashore_minutes(self.dimensions[method]).unwrap_or(0.0) / 60.0
    }

    /// What the search goes by; `None` where no rates are told.
    pub fn prices(&self) -> Option<Prices<'_>> {
        let rates = self.expedition.rates.as_ref()?;
        let a_unit = |task: usize| {
            self.expedition.methods[self.tasks.methods[task]].laboratory_cost
                + rates.ashore_per_hour * self.hours_ashore(task)
        };
        Some(Prices {
            of_days: Arc::new(|diving| self.of_days(rates, diving)),
            opens: Arc::new(|sites| self.opens.day(sites)),
            a_pair_dive: 2.0 * rates.per_dive,
            a_unit: (0..self.tasks.methods.len()).map(a_unit).collect(),
            pair_dives: Arc::new(|stretch, zone, units| self.pair_dives(stretch, zone, units)),
            come_first: self.expedition.least == LeastOf::Money,
        })
    }

    /// At one site, by whichever team of a stretch.
    pub(super) fn pair_dives(&self, stretch: usize, zone: usize, units: &[u8]) -> usize {
        if let Some(of) = self.dives_of(zone) {
            let of_team = |team: &Team| self.place_work(of, team, units).len();
            return if of.deep == zone { self.teams.iter().map(of_team).max().unwrap_or(0) } else { 0 };
        }
        let team_dives = self.dives_in(stretch, zone, units).unwrap_or(0);
        let teams = self.teams.iter().filter(|team| self.stretch_of(team.from_day) == stretch);
        teams.map(|team| self.work_of_team(team, zone, units, team_dives).work.len()).max().unwrap_or(0)
    }

    /// All that a design costs; `None` where no rates are told.
    pub fn money(&self, found: &Found) -> Option<f64> {
        let zones = self.zones();
        self.search(&zones).money(found)
    }

    /// What is achieved of each target, from its margin.
    pub fn achieved(&self, margins: &[f64]) -> Vec<f64> {
        let targets = self.expedition.targets.iter().zip(&self.tasks.told_by).zip(margins);
        targets.map(|((target, &(_, reading)), &margin)| amounts(self.plan, target, reading, margin).1).collect()
    }

    /// So many days, days of people, dives of divers, days ashore and units of each task by the rates that are told.
    pub(super) fn cost_items(
        &self,
        rates: &Rates,
        (days, person_days, dives): (usize, usize, usize),
        ashore: [(CostOf, f64); 2],
        units: impl Fn(usize) -> f64,
    ) -> Vec<CostItem> {
        let tasks = 0..self.tasks.methods.len();
        let hours: f64 = tasks.clone().map(|task| units(task) * self.hours_ashore(task)).sum();
        let item =
            |of: CostOf, number: f64, rate: f64| CostItem { of, method: None, number, rate, money: number * rate };
        let mut items = vec![
            item(CostOf::Fixed, 1.0, rates.fixed),
            item(CostOf::Days, days as f64, rates.per_day),
            item(CostOf::PersonDays, person_days as f64, rates.per_person_day),
            item(CostOf::Dives, dives as f64, rates.per_dive),
            item(CostOf::HoursAshore, hours, rates.ashore_per_hour),
        ];
        items.extend(ashore.map(|(of, days)| item(of, days, rates.ashore_per_person_day)));
        items.extend(tasks.map(|task| CostItem {
            method: Some(self.tasks.tasks[task].name.clone()),
            ..item(CostOf::Laboratory, units(task), self.expedition.methods[self.tasks.methods[task]].laboratory_cost)
        }));
        let told = self.expedition.days_ashore;
        items.retain(|item| match item.of {
            CostOf::DaysBefore => item.rate > 0.0 && told.before.is_some(),
            CostOf::DaysAfter => item.rate > 0.0 && told.after.is_some(),
            _ => item.rate > 0.0,
        });
        items
    }

    /// The same with its parts; `diving`: days for diving, those with them that are left free.
    pub fn cost(&self, diving: usize, zones: &[ZoneSites], units: &[u8]) -> Option<Cost> {
        let rates = self.expedition.rates.as_ref()?;
        let days = self.expedition.days.without_diving() + diving;
        let sites: usize = zones.iter().map(|zone| zone.sites).sum();
        let at_new_sites: usize = zones.iter().map(|zone| 2 * zone.pair_dives_at_all()).sum();
        let dives = at_new_sites + 2 * self.pair_dives_to_finish();
        let lacking = |task: usize| self.finishing.iter().map(|begun| f64::from(begun.lacks[task])).sum::<f64>();
        let of_task = |task: usize| f64::from(units[task]) * sites as f64 + lacking(task);
        let items =
            self.cost_items(rates, (days, self.person_days(rates, diving), dives), self.days_ashore(true), of_task);
        let total = items.iter().map(|item| item.money).sum::<f64>();
        let all_units: f64 = (0..units.len()).map(of_task).sum();
        Some(Cost {
            currency: rates.currency.clone(),
            total,
            items,
            days,
            per_dive: total / dives.max(1) as f64,
            per_site: total / sites.max(1) as f64,
            per_unit: total / all_units.max(1.0),
            with_all_days: (diving <= self.bookable_days())
                .then(|| total + self.of_days(rates, self.bookable_days()) - self.of_days(rates, diving)),
            a_day: self.of_days(rates, diving + 1) - self.of_days(rates, diving),
        })
    }
}
