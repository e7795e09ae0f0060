//! Money of a visit that is under way or over: what was planned, what is spent, what the rest costs. By the user's rates and what
//! the sheets hold alone: bills are not known.

use super::done::FieldData;
use super::money::{Cost, CostItem, CostOf};
use super::prepared::Prepared;
use serde::Serialize;

/// Money of one visit, in the currency of its rates.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VisitMoney {
    pub currency: String,
    /// Of the whole visit by the plan that was under way; `None`: there was none.
    pub planned: Option<f64>,
    /// Up to now without the way home; of a visit that is over with it.
    pub spent: f64,
    /// What is planned next and the way home; `None`: the visit is over, or nothing can be planned.
    pub rest: Option<f64>,
    /// Days for diving that are gone, dived or lost, and dives of divers that are in what is spent.
    pub days_gone: usize,
    pub dives: usize,
    pub is_over: bool,
    /// Money that the scenario tells there is for a visit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub there: Option<f64>,
    /// What it is made of; rates that are not told are left out.
    pub items: Vec<VisitItem>,
}

/// A part of the money of a visit: numbers, each times the rate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VisitItem {
    pub of: CostOf,
    /// Method whose units it is; `None` but for the laboratory.
    pub method: Option<String>,
    pub rate: f64,
    pub planned: Option<f64>,
    pub spent: f64,
    pub rest: Option<f64>,
}

impl VisitMoney {
    /// All of it at the end, as far as the rest is planned.
    pub fn whole(&self) -> Option<f64> {
        if self.is_over { Some(self.spent) } else { self.rest.map(|rest| self.spent + rest) }
    }
}

impl Prepared<'_> {
    /// Money of a visit on which so many days for diving are gone; `rest`: the cost of what is planned next, `None` of a visit
    /// that is over and where nothing can be planned. `None` where no rates are told.
    pub(super) fn visit_money(
        &self,
        (data, visit): (&FieldData, usize),
        (days_gone, is_over): (usize, bool),
        (planned, rest): (Option<&Cost>, Option<&Cost>),
    ) -> Option<VisitMoney> {
        let rates = self.expedition.rates.as_ref()?;
        let days = &self.expedition.days;
        let divers = &self.expedition.divers;
        let (calendar_days, own_days): (usize, usize) = if is_over {
            (days.without_diving() + days_gone, divers.iter().map(|diver| diver.days_paid(days, days_gone)).sum())
        } else {
            (days.before_diving() + days_gone, divers.iter().map(|diver| diver.days_so_far(days, days_gone)).sum())
        };
        let dives = data.person_dives(visit, |day| self.pairs_by_name(day));
        let units =
            |task: usize| data.units.iter().filter(|unit| (unit.visit, unit.task) == (visit, task)).count() as f64;
        let person_days = own_days + rates.other_people * calendar_days;
        let spent = self.cost_items(rates, (calendar_days, person_days, dives), self.days_ashore(is_over), units);
        let number = |cost: Option<&Cost>, item: &CostItem| {
            let is_it = |of: &&CostItem| (of.of, &of.method) == (item.of, &item.method);
            cost.map(|cost| cost.items.iter().find(is_it).map_or(0.0, |of| of.number))
        };
        let of = |item: &CostItem| VisitItem {
            of: item.of,
            method: item.method.clone(),
            rate: item.rate,
            planned: number(planned, item),
            spent: item.number,
            rest: number(rest, item),
        };
        Some(VisitMoney {
            currency: rates.currency.clone(),
            planned: planned.map(|cost| cost.total),
            spent: spent.iter().map(|item| item.money).sum(),
            rest: rest.map(|cost| cost.total),
            days_gone,
            dives,
            is_over,
            there: self.expedition.money,
            items: spent.iter().map(of).collect(),
        })
    }

    fn pairs_by_name(&self, day: usize) -> Vec<[&str; 2]> {
        let name = |diver: usize| self.expedition.divers[diver].name.as_str();
        let pairs = self.expedition.pairs_on_day(day);
        pairs.into_iter().map(|(one, other)| [name(one), name(other)]).collect()
    }
}
