//! Money in words: only where the user told rates.

use super::days_left::wanted_words;
use super::plan_text::with_sites;
use super::report::BudgetReport;
use super::target_words::promise;
use crate::design::LeastOf;
use crate::measures::counted;
use crate::planner::expedition::{BookDays, BudgetPlan, VisitMoney};
use crate::report::digits::trimmed;
use crate::report::words::count_method;

/// "74,140 EUR"; below a hundred with two decimals.
pub fn amount(money: f64, currency: &str) -> String {
    if money.abs() < 100.0 {
        return format!("{} {currency}", trimmed(money, 2));
    }
    format!("{} {currency}", grouped(money))
}

/// Without decimals, digits in threes: 1234567 -> "1,234,567".
pub fn grouped(money: f64) -> String {
    let whole = money.round();
    let digits = format!("{:.0}", whole.abs());
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    if whole < 0.0 { format!("-{text}") } else { text }
}

/// What a plan costs, with the days that are to be booked for it; `None` without rates.
pub fn money_words(report: &BudgetReport, plan: &BudgetPlan) -> Option<String> {
    let cost = plan.cost.as_ref()?;
    let booked = booked(report, plan).map_or(String::new(), |(book, days, money)| {
        format!(
            "; {} if the {} for diving are booked with which {} are finished {}",
            amount(money, &cost.currency),
            counted(days, "day"),
            book.plan,
            wanted_words(book.wanted)
        )
    });
    let times = report.scenario.question.visits();
    let all_days = cost.with_all_days.filter(|_| plan.days_with_free() < report.answer.bookable_days);
    let all_days = all_days.map_or(String::new(), |money| {
        let both = if times == 2 {
            format!(", {} for two such visits", amount(2.0 * money, &cost.currency))
        } else {
            String::new()
        };
        format!(
            "; {} with all {} that you have ({} for diving){both}",
            amount(money, &cost.currency),
            counted(report.expedition.days.all, "day"),
            report.answer.bookable_days
        )
    });
    let free = match plan.free_days {
        0 => String::new(),
        free => format!(" and {free} left free at the least, because some of its sites can be reached later only"),
    };
    let of_visits = match times {
        2 => format!(" for one visit, {} for two alike (a change takes two)", amount(2.0 * cost.total, &cost.currency)),
        _ => String::new(),
    };
    Some(format!(
        "{}{of_visits}: {} from leaving to being back, {} of them for diving{free}{all_days}{booked}. The whole cost divided by the person-dives: {} \
         each; by the sites: {}; by the units: {}",
        amount(cost.total, &cost.currency),
        counted(cost.days, "day"),
        plan.days,
        amount(cost.per_dive, &cost.currency),
        amount(cost.per_site, &cost.currency),
        amount(cost.per_unit, &cost.currency)
    ))
}

/// "the best use of 60,000 crowns"; `None` where it is not asked for.
pub fn best_of_money(report: &BudgetReport) -> Option<String> {
    let money = report.answer.for_money.as_ref()?.money;
    let currency = report.expedition.rates.as_ref().map_or("", |rates| &rates.currency);
    Some(format!("the best use of {}", amount(money, currency)))
}

/// What the money there is buys.
pub fn for_money(report: &BudgetReport) -> Option<String> {
    let of = report.answer.for_money.as_ref()?;
    let currency = report.expedition.rates.as_ref().map_or("", |rates| &rates.currency);
    let money = amount(of.money, currency);
    let Some(plan) = &of.plan else {
        let cost = of.fewest_sites.map_or("which the days do not hold".to_owned(), |fewest| {
            format!("which cost {}", amount(fewest, currency))
        });
        return Some(format!("{money} do not pay for the fewest sites on one visit, {cost}"));
    };
    let units: Vec<String> = plan.site_set.iter().map(|task| count_method(&task.method, task.units)).collect();
    let targets = plan.margins.iter().map(|margin| promise(report, margin).trim_end_matches('.').to_owned());
    let cost = plan.cost.as_ref().map_or(String::new(), |cost| format!(", for {}", amount(cost.total, currency)));
    Some(format!(
        "{money} for one visit buy {}{cost}; at each site {}. With it: {}",
        with_sites(plan),
        units.join(", "),
        targets.collect::<Vec<_>>().join("; ")
    ))
}

/// What the rest costs, where rates were given.
pub fn money_of_rest(plan: &BudgetPlan) -> Option<String> {
    let cost = plan.cost.as_ref()?;
    Some(format!("It costs {} with the way home, by your rates", amount(cost.total, &cost.currency)))
}

/// What a visit has cost so far and what it will have cost, or what it cost in the end.
pub fn visit_money(money: &VisitMoney) -> String {
    let shown = |sum: f64| amount(sum, &money.currency);
    let against = |whole: f64| match money.planned {
        None => String::new(),
        Some(planned) => {
            let more = match (whole - planned).round() {
                0.0 => "as much".to_owned(),
                more if more > 0.0 => format!("{} more", shown(more)),
                less => format!("{} less", shown(-less)),
            };
            format!(", where {} were planned ({more})", shown(planned))
        }
    };
    let counted_in = format!(
        "{} for diving gone, dived or lost as the sheets number them, {} of divers, and the units done",
        counted(money.days_gone, "day"),
        counted(money.dives, "dive")
    );
    if money.is_over {
        return format!("By your rates this visit cost {}{}: {counted_in}", shown(money.spent), against(money.spent));
    }
    let rest = match (money.rest, money.whole()) {
        (Some(rest), Some(whole)) => format!(
            "; what is planned next costs {} with the way home. Together {}{}",
            shown(rest),
            shown(whole),
            against(whole)
        ),
        _ => "; for the rest nothing can be planned".to_owned(),
    };
    format!(
        "By your rates {} are spent up to now ({counted_in}){rest}{}",
        shown(money.spent),
        money.there.map_or(String::new(), |there| format!(". {}", of_what_there_is(money, there)))
    )
}

/// Whether the rest is within the money there is for the visit.
fn of_what_there_is(money: &VisitMoney, there: f64) -> String {
    let shown = |sum: f64| amount(sum, &money.currency);
    let left = there - money.spent;
    if left <= 0.0 {
        return format!("Nothing is left of the {} there are", shown(there));
    }
    let after = match money.rest.map(|rest| left - rest) {
        None => String::new(),
        Some(after) if after >= 0.0 => format!(": enough, with {} to spare", shown(after)),
        Some(lacks) => format!(
            ": {} too few (the rest goes by the days left, not by the money; fewer days: --days-left)",
            shown(-lacks)
        ),
    };
    format!("Of the {} there are {} are left{after}", shown(there), shown(left))
}

/// What money of a visit leaves out.
pub const VISIT_MONEY: &str = "By the rates of the scenario and what the sheets hold alone: bills are not known. Of the divers of a pair both are counted where one has a unit; days after the last that the sheets number are not counted.";

/// Said where money comes first but a list goes by days and dives.
pub fn by_effort(report: &BudgetReport) -> Option<&'static str> {
    let is_money = report.expedition.least == LeastOf::Money && report.expedition.rates.is_some();
    is_money.then_some("These go by days and team dives, not by money, although the plan is the one of least money.")
}

/// The row of days to book for a plan, with the days and their money.
pub fn booked<'a>(report: &'a BudgetReport, plan: &BudgetPlan) -> Option<(&'a BookDays, usize, f64)> {
    let answer = &report.answer;
    let is_all = answer.schedules_all();
    let name = if is_all { "all targets" } else { "the musts" };
    let is_musts = answer.musts.as_ref().is_some_and(|musts| musts.days == plan.days);
    let book = answer.book.iter().find(|book| book.plan == name && (is_all || is_musts))?;
    Some((book, book.to_book?, book.money?.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_have_digits_in_threes() {
        let shown = |money: f64| amount(money, "crowns");
        assert_eq!(shown(74140.4), "74,140 crowns");
        assert_eq!(shown(1_234_567.0), "1,234,567 crowns");
        assert_eq!([shown(999.0), shown(100.0)], ["999 crowns", "100 crowns"]);
        assert_eq!([shown(9.5), shown(0.0), shown(-4360.0)], ["9.5 crowns", "0 crowns", "-4,360 crowns"]);
    }
}
