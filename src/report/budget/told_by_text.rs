//! Which method tells an indicator that several read, and what the plan would take by the others.

use super::money_text::amount;
use super::report::BudgetReport;
use crate::design::{LeastOf, Scheduled};
use crate::measures::{counted, gathered};
use crate::planner::expedition::ToldBy;
use crate::report::digits::significant;
use crate::report::words::{method_words, plain, sentence};

/// "Hard coral and macroalgae are told by point-intercept lines, the best of 9 ways by formula"; `None` where no indicator of a
/// target is read by several methods.
pub fn told_by(report: &BudgetReport) -> Option<String> {
    let answer = &report.answer;
    let planned = answer.told_by.iter().find(|way| way.is_planned)?;
    let told = |(by, of): (String, Vec<String>)| {
        format!("{} {} told by {by}", of.join(" and "), if of.len() > 1 { "are" } else { "is" })
    };
    let own: Vec<String> = by_method(&planned.methods).into_iter().map(told).collect();
    Some(format!("{}, the best of {} ways by formula", sentence(&own.join(", ")), answer.told_by.len()))
}

/// What the plan would take otherwise: "By formula: 6 days, 11 team dives for all targets, told so; 7 days, 13 team dives for all
/// targets with hard coral by photo belts; the musts out of reach with hard coral by line-intercept lines."
pub fn told_otherwise(report: &BudgetReport) -> Option<String> {
    let answer = &report.answer;
    let planned = answer.told_by.iter().find(|way| way.is_planned)?;
    let others = answer.told_by.iter().filter(|way| !way.is_planned);
    let (out, others): (Vec<&ToldBy>, Vec<&ToldBy>) = others.partition(|way| is_out_of_reach(way));
    // Ways that take the same stand together.
    let alike = gathered(others.into_iter().map(|way| (takes(report, way), by(planned, way))));
    let others: String =
        alike.iter().map(|(takes, ways)| format!("; {takes} with {}", ways.join(", or with "))).collect();
    // Those that the same work keeps out of reach stand together.
    let out = least_changes(planned, &out).into_iter();
    let by_why = gathered(out.map(|way| (way.does_not_fit.as_deref(), by(planned, way))));
    let out_of_reach = |(why, ways): (Option<&str>, Vec<String>)| {
        let why = why.map_or(String::new(), |why| format!(" ({why})"));
        format!("; the musts out of reach with {}{why}", ways.join(", or with "))
    };
    let out: String = by_why.into_iter().map(out_of_reach).collect();
    let not_compared = match answer.ways_not_compared {
        0 => String::new(),
        ways => format!(" ({} to tell them not compared)", counted(ways, "more way")),
    };
    Some(format!("By formula: {}, told so{others}{out}{not_compared}.", takes(report, planned)))
}

/// The ways of a list out of which no other of the list is a part.
fn least_changes<'a>(planned: &ToldBy, out: &[&'a ToldBy]) -> Vec<&'a ToldBy> {
    let is_part = |part: &ToldBy, of: &ToldBy| {
        let (part, of) = (differ(planned, part), differ(planned, of));
        part.len() < of.len() && part.iter().all(|told| of.contains(told))
    };
    out.iter().copied().filter(|way| !out.iter().any(|other| is_part(other, way))).collect()
}

/// What a way tells by other methods than the planned one.
fn differ<'a>(planned: &ToldBy, way: &'a ToldBy) -> Vec<&'a [String; 2]> {
    way.methods.iter().filter(|told| !planned.methods.contains(told)).collect()
}

/// Whether nothing that it would take can be told.
fn is_out_of_reach(way: &ToldBy) -> bool {
    way.all.is_none() && way.musts.is_none() && way.weakest.is_none()
}

/// "hard coral by photo belts and macroalgae by line-intercept lines": in what a way differs from the planned one.
fn by(planned: &ToldBy, way: &ToldBy) -> String {
    let words = |(by, of): (String, Vec<String>)| format!("{} by {by}", of.join(" and "));
    by_method(differ(planned, way)).into_iter().map(words).collect::<Vec<_>>().join(" and ")
}

/// Methods with the indicators that they tell, in words.
fn by_method<'a>(told: impl IntoIterator<Item = &'a [String; 2]>) -> Vec<(String, Vec<String>)> {
    gathered(told.into_iter().map(|[of, by]| (method_words(by), plain(of))))
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
    let writes = way.writes.as_ref().map(|(of, writes)| {
        format!(
            "; it writes {} times what is there of {}, and is not chosen for that",
            significant(*writes, 2),
            plain(of)
        )
    });
    least + &weakest.unwrap_or_default() + &writes.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn way(methods: &[(&str, &str)]) -> ToldBy {
        let methods = methods.iter().map(|&(of, by)| [of.to_owned(), by.to_owned()]).collect();
        ToldBy { methods, ..ToldBy::default() }
    }

    #[test]
    fn ways_that_are_part_of_others_stand_for_them() {
        let planned = way(&[("hard_coral", "point_intercept"), ("macroalgae", "point_intercept")]);
        let one = way(&[("hard_coral", "line_intercept"), ("macroalgae", "point_intercept")]);
        let both = way(&[("hard_coral", "line_intercept"), ("macroalgae", "line_intercept")]);
        assert_eq!(by(&planned, &one), "hard coral by line-intercept lines");
        assert_eq!(by(&planned, &both), "hard coral and macroalgae by line-intercept lines");
        let mixed = way(&[("hard_coral", "line_intercept"), ("macroalgae", "photo_belt")]);
        assert_eq!(by(&planned, &mixed), "hard coral by line-intercept lines and macroalgae by photo belts");
        assert_eq!(least_changes(&planned, &[&both, &one, &mixed]), [&one]);
        assert_eq!(least_changes(&planned, &[&both, &mixed]), [&both, &mixed]);
    }
}
