//! Days to book in spite of those that are lost.

use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::season::{MOST_TO_BOOK, Odds};
use crate::budget::Today;
use serde::Serialize;

/// Days to book so that a plan is finished with the chance wanted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BookDays {
    /// "all targets", "the musts"
    pub plan: String,
    pub needs: usize,
    /// Chance with the days that can be booked now, of one visit.
    pub chance: f64,
    /// The chance that is wanted.
    pub wanted: f64,
    pub to_book: Option<usize>,
    /// The same for both visits, where a change takes two: were the second expedition like the first and their weather
    /// independent.
    pub to_book_for_both: Option<usize>,
    /// The same were each day lost by itself, and in spells: spells lower the chance of losing little and raise that of
    /// losing nothing.
    pub odds: Odds,
    /// Money with the planned days alone and with all days that are to be booked; `None` where no rates are told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<(f64, f64)>,
}

/// For each plan that there is, of the days that can be booked; `today`: what is known of the day before the first of them.
pub fn to_book(prepared: &Prepared, today: Today, plans: [(&str, &Option<BudgetPlan>); 2]) -> Vec<BookDays> {
    let Some(lost) = prepared.lost_days() else { return Vec::new() };
    let of = |(name, plan): (&str, &Option<BudgetPlan>)| {
        let plan = plan.as_ref()?;
        let needs = plan.days;
        let wanted = prepared.expedition.days.chance_wanted;
        // No fewer than the schedule takes.
        let with_free = |days: usize| days.max(plan.days_with_free());
        let to_book = lost.to_book_after(today, needs, wanted, MOST_TO_BOOK).map(with_free);
        let money = |booked: usize| {
            let cost = plan.cost.as_ref()?;
            Some((cost.total, prepared.with_booked(cost, plan, booked)))
        };
        Some(BookDays {
            plan: name.to_owned(),
            needs,
            chance: lost.at_least_after(today, needs, prepared.bookable_days()),
            wanted,
            to_book,
            to_book_for_both: (prepared.plan.study.question.visits() == 2)
                .then(|| lost.to_book_after(today, needs, wanted.sqrt(), MOST_TO_BOOK).map(with_free))
                .flatten(),
            odds: Odds::new(prepared, &lost, needs),
            money: to_book.and_then(money),
        })
    };
    plans.into_iter().filter_map(of).collect()
}
