//! Days to book in spite of those that are lost.

use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::season::{MOST_TO_BOOK, Odds};
use crate::budget::{LostDays, Today, is_enough};
use serde::Serialize;

/// Chance that a plan is finished in so many days booked.
pub type Finished<'a> = &'a dyn Fn(&LostDays, usize) -> f64;

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
/// is finished when so many days as it takes were dived on, but where it tells how else.
pub fn to_book(
    prepared: &Prepared,
    today: Today,
    plans: [(&str, &Option<BudgetPlan>, Option<Finished>); 2],
) -> Vec<BookDays> {
    let Some(lost) = prepared.lost_days() else { return Vec::new() };
    let of = |(name, plan, finished): (&str, &Option<BudgetPlan>, Option<Finished>)| {
        let plan = plan.as_ref()?;
        let days_left = |lost: &LostDays, booked: usize| lost.at_least_after(today, plan.days, booked);
        // Beside it nothing is known of the day before.
        let any_day = |lost: &LostDays, booked: usize| lost.at_least(plan.days, booked);
        let (finished, odds) = (finished.unwrap_or(&days_left), finished.unwrap_or(&any_day));
        let needs = plan.days;
        let wanted = prepared.expedition.days.chance_wanted;
        // No fewer than the schedule takes.
        let with_free = |days: usize| days.max(plan.days_with_free());
        let fewest = |lost: &LostDays, wanted: f64| {
            (needs..=MOST_TO_BOOK).find(|&booked| is_enough(finished(lost, booked), wanted))
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
            odds: Odds::of(prepared, &lost, needs, odds),
            money: to_book.and_then(money),
        })
    };
    plans.into_iter().filter_map(of).collect()
}
