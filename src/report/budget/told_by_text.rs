//! Which method tells an indicator that several read, and what the plan would take by the others.

use super::money_text::amount;
use super::report::BudgetReport;
use crate::design::{LeastOf, Scheduled};
use crate::measures::counted;
use crate::planner::expedition::ToldBy;
use crate::report::words::{method_words, plain, sentence};

/// "Hard coral is told by photo-quadrat lines; by point-intercept lines all targets would take 12 days, 40 team dives"; `None`
/// where no indicator of a target is read by several methods.
pub fn told_by(report: &BudgetReport) -> Option<String> {
    let answer = &report.answer;
    let planned = answer.told_by.iter().find(|way| way.is_planned)?;
    let own: Vec<String> =
        planned.methods.iter().map(|[of, by]| format!("{} is told by {}", plain(of), method_words(by))).collect();
    let others = answer.told_by.iter().filter(|way| !way.is_planned);
    let (out, others): (Vec<&ToldBy>, Vec<&ToldBy>) = others.partition(|way| is_out_of_reach(way));
    let now = match others.iter().map(|way| instead(report, planned, way)).collect::<Vec<_>>() {
        others if others.is_empty() => format!("it is {}", takes(report, planned)),
        others => format!("{}, where it is {} now", others.join("; "), takes(report, planned)),
    };
    let out: Vec<String> = out.into_iter().map(|way| by(planned, way)).collect();
    let out = match out.as_slice() {
        [] => String::new(),
        out => format!("; the musts would be out of reach with {}", out.join(", or ")),
    };
    let not_compared = match answer.ways_not_compared {
        0 => String::new(),
        ways => format!(" ({} to tell them not compared)", counted(ways, "more way")),
    };
    Some(format!("{}; by formula, {now}{out}{not_compared}", sentence(&own.join(", "))))
}

/// Whether nothing that it would take can be told.
fn is_out_of_reach(way: &ToldBy) -> bool {
    way.all.is_none() && way.musts.is_none() && way.weakest.is_none()
}

/// "by point-intercept lines it would be 12 days, 40 team dives for all targets"
fn instead(report: &BudgetReport, planned: &ToldBy, way: &ToldBy) -> String {
    format!("{} it would be {}", by(planned, way), takes(report, way))
}

/// "hard coral by photo belts and macroalgae by line-intercept lines": in what a way differs from the planned one.
fn by(planned: &ToldBy, way: &ToldBy) -> String {
    let several = planned.methods.len() > 1;
    let differ = way.methods.iter().zip(&planned.methods).filter(|(other, own)| other != own);
    let by: Vec<String> = differ
        .map(|([of, by], _)| {
            let of = if several { format!("{} ", plain(of)) } else { String::new() };
            format!("{of}by {}", method_words(by))
        })
        .collect();
    by.join(" and ")
}

/// "10 days, 30 team dives for all targets"
fn takes(report: &BudgetReport, way: &ToldBy) -> String {
    let effort = |(days, dives)| format!("{}, {}", counted(days, "day"), counted(dives, "team dive"));
    let currency = report.expedition.rates.as_ref().map_or("", |rates| &rates.currency);
    let money = way.money.filter(|_| report.expedition.least == LeastOf::Money);
    let money = money.map_or(String::new(), |money| format!(", {}", amount(money, currency)));
    let least = match (way.all, way.musts) {
        (Some(all), _) => format!("{}{money} for all targets", effort(all)),
        (None, Some(musts)) => format!("{} for the musts, all targets out of reach", effort(musts)),
        (None, None) => "the musts out of reach".to_owned(),
    };
    let of_money = report.answer.scheduled_as() == Scheduled::BestOfMoney;
    let best = if of_money { "the money" } else { "the days" };
    let weakest = way
        .weakest
        .map(|weakest| format!("; the best use of {best} brings the weakest target to {weakest:.2} of what is asked"));
    least + &weakest.unwrap_or_default()
}
