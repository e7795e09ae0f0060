//! Days to book in spite of those that are lost.

use super::lost_in_stretch::LeftOver;
use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::season::{MOST_TO_BOOK, Odds};
use crate::budget::{LostDays, Today, fewest_to_book};
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

/// For each plan that there is, of the days that can be booked; `today`: what is known of the day before the first of them. A plan
/// is finished when so many days as it takes were dived on; one by stretches of the crew when nothing of it is left over.
pub fn to_book(
    prepared: &Prepared,
    today: Today,
    plans: [(&str, &Option<BudgetPlan>, &Option<LeftOver>); 2],
) -> Vec<BookDays> {
    let Some(lost) = prepared.lost_days() else { return Vec::new() };
    let of = |(name, plan, left_over): (&str, &Option<BudgetPlan>, &Option<LeftOver>)| {
        let plan = plan.as_ref()?;
        let finished_after = |today: Today, lost: &LostDays, booked: usize| match left_over {
            Some(left_over) => left_over.finished(lost, booked),
            None => lost.at_least_after(today, plan.days, booked),
        };
        let finished = |lost: &LostDays, booked: usize| finished_after(today, lost, booked);
        let needs = plan.days;
        let wanted = prepared.expedition.days.chance_wanted;
        // No fewer than the schedule takes.
        let with_free = |days: usize| days.max(plan.days_with_free());
        let fewest = |lost: &LostDays, wanted: f64| {
            fewest_to_book((needs, MOST_TO_BOOK), wanted, |booked| finished(lost, booked))
        };
        let to_book = fewest(&lost, wanted).map(with_free);
        let money = |booked: usize| {
            let cost = plan.cost.as_ref()?;
            Some((cost.total, prepared.with_booked(cost, plan, booked)))
        };
        Some(BookDays {
            plan: name.to_owned(),
            needs,
            chance: finished(&lost, prepared.bookable_days()),
            wanted,
            to_book,
            to_book_for_both: (prepared.plan.study.question.visits() == 2)
                .then(|| fewest(&lost, wanted.sqrt()).map(with_free))
                .flatten(),
            // Beside it nothing is known of the day before.
            odds: Odds::of(prepared, &lost, needs, &|lost, booked| finished_after(Today::NotTold, lost, booked)),
            money: to_book.and_then(money),
        })
    };
    plans.into_iter().filter_map(of).collect()
}
