//! How far a schedule stands in the days that are told, where sites can be reached on some days only: the search counts days
//! and knows no windows.

use super::draw::Draw;
use super::plan::BudgetPlan;
use super::prepared::Prepared;
use super::sites::window_words;
use super::visits::Visits;
use crate::budget::{Found, margins_in_hand};
use crate::design::Rates;
use crate::measures::counted;
use serde::Serialize;

/// What the days on which sites can be reached do to a schedule; there is none where they do nothing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Access {
    /// The day for diving with which the schedule ends; later than its number of days where some are left free.
    pub last_day: usize,
    /// Days before it on which nothing is done, because sites can be reached later only.
    pub free_days: Vec<usize>,
    /// Sites that are planned on days on which they cannot be reached, in whatever order.
    pub not_reached: Vec<String>,
    /// By formula with the others alone; `None`: all are reached, or too few are left to tell.
    pub weakest_without: Option<f64>,
    /// Of the plan with its free days; `None` where no rates are told or no day is free.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<f64>,
    /// By how much that is more than the money whose best use is scheduled; `None`: it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over: Option<f64>,
}

/// `visits`: of a plan that takes sites from a list; `there`: the money whose best use it is.
pub fn access(
    prepared: &Prepared,
    (found, plan): (&Found, &BudgetPlan),
    (draw, visits): (&Draw, &Visits),
    there: Option<f64>,
) -> Option<Access> {
    let free_days = visits.free_days();
    if free_days.is_empty() && visits.outside.is_empty() {
        return None;
    }
    let name = |&(zone, number, _): &(usize, usize, usize)| draw.site(zone, number).name.clone();
    let missed = |zone: usize| {
        // What is done on the dives of another zone is missed with it.
        let visited = prepared.dives_of(zone).map_or(zone, |of| of.deep);
        visits.outside.iter().filter(|(of, ..)| *of == visited).count() as u16
    };
    let reached: Vec<u16> =
        found.sites.iter().enumerate().map(|(zone, &sites)| sites.saturating_sub(missed(zone))).collect();
    let margins = margins_in_hand(&prepared.indicators, &prepared.weights(), &reached, &found.units);
    let weakest = margins.and_then(|margins| margins.into_iter().reduce(f64::min));
    let cost = plan.cost.as_ref().filter(|_| !free_days.is_empty());
    let money = cost.map(|cost| prepared.with_booked(cost, plan, plan.days + free_days.len()));
    // Rounding never decides.
    let over = money.zip(there).map(|(money, there)| money - there).filter(|over| *over > 0.5);
    Some(Access {
        last_day: visits.last_day(),
        money,
        over,
        free_days,
        not_reached: visits.outside.iter().map(name).collect(),
        weakest_without: weakest.filter(|_| !visits.outside.is_empty()),
    })
}

/// By how much the days told are not those in which the schedule stands, why, and what helps.
pub fn access_warnings(access: &Access, (draw, visits): (&Draw, &Visits), rates: Option<&Rates>) -> Vec<String> {
    let mut all = Vec::new();
    if !access.free_days.is_empty() {
        let late: Vec<String> = visits
            .waited_for
            .iter()
            .map(|&(zone, number)| {
                let site = draw.site(zone, number);
                format!("{} ({})", site.name, window_words(site))
            })
            .collect();
        all.push(format!(
            "Sites can be reached on some days only ({}): what is done in {} of diving ends on day {} of those for diving, with {} \
             free before (day {}). Days told elsewhere are those that are dived on: book {} for diving and what may be lost. Where a site cannot be waited for, write why into cannot_be_used, and the next spare takes its \
             place.",
            late.join(", "),
            counted(visits.days_dived(), "day"),
            access.last_day,
            counted(access.free_days.len(), "day"),
            access.free_days.iter().map(usize::to_string).collect::<Vec<_>>().join(", "),
            access.last_day
        ));
    }
    if let (Some(over), Some(rates)) = (access.over, rates) {
        all.push(format!(
            "With the days that are left free the plan costs {over:.0} {} more than there is, and none that was tried costs less: \
             let a spare take the place of the site that opens last (cannot_be_used), or tell less money.",
            rates.currency
        ));
    }
    for &(zone, number, day) in &visits.outside {
        let site = draw.site(zone, number);
        all.push(format!(
            "{} is planned on day {day}, on which it cannot be reached ({}), and no exchange of days does better, with those that \
             are free. Where it cannot be helped, write why into cannot_be_used, and the next spare takes its place.",
            site.name,
            window_words(site)
        ));
    }
    let (number, without) = (access.not_reached.len(), access.weakest_without);
    if let Some(weakest) = without {
        all.push(format!(
            "Without {} the weakest target comes to {weakest:.2} of what is asked, by formula: what the plan is said to achieve \
             counts {}.",
            if number == 1 { "the site that is not reached" } else { "the sites that are not reached" },
            if number == 1 { "it" } else { "them" }
        ));
    }
    all
}
